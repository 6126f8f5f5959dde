"""Optuna's study of a run: made, told, and taken up again after any kind of end.

A study's place is the path of a journal file or a database.
"""

from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import optuna
from optuna.trial import Trial, TrialState

from optimizer.records.files import RecordError
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import trial_number
from optimizer.records.verdict import LayoutVerdict
from optimizer.search.journal_mark import Mark, forget_mark
from optimizer.search.one_writer import FAILED_BY, OneWriter
from optimizer.search.sampler import FrontSampler
from optimizer.words import cut

if TYPE_CHECKING:
    from optimizer.search.database import Database

STUDY_NAME = "search"
AGAIN_OF = "again_of"

LOST_MOST = 10_000
"""So many trials at most a machine takes with it when it dies: a journal is forced to the disk every second."""


def _kept_in(place: "Path | Database", wanted: Collection[int] = ()) -> dict[str, Any]:
    """Storage and name of the study, as Optuna takes them; of the trials wanted parameters stay known."""
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    if isinstance(place, Path):
        return {"storage": OneWriter(place, wanted), "study_name": STUDY_NAME}
    return {"storage": place.open(), "study_name": place.study}


def new_study(
    place: "Path | Database", names: tuple[str, ...], sampler: FrontSampler, first: Iterable[Mapping[str, Any]] = ()
) -> optuna.Study:
    """A study in a new journal or in a database; `first` are the parameters of trials that wait to be solved first."""
    if isinstance(place, Path):
        forget_mark(place)
    study = optuna.create_study(**_kept_in(place), sampler=sampler, directions=["minimize"] * len(names))
    enqueue_missing(study, first)
    return study


def enqueue_missing(study: optuna.Study, first: Iterable[Mapping[str, Any]]) -> None:
    """Let a study's first trials wait with these parameters, those that it has not got yet."""
    for params in list(first)[_count(study) :]:
        study.enqueue_trial(dict(params))


def tell_result(study: optuna.Study, trial: Trial, record: LayoutRecord | LayoutVerdict, names: Iterable[str]) -> None:
    """Tell the study what a trial came to; what a kill left half told is told no second time."""
    known = study._storage.get_trial_system_attrs(trial._trial_id)
    for name, value in (("violation_mm", record.violation_mm), ("wrong_notes", float(record.wrong_notes))):
        if f"constraints:{name}" not in known:
            trial.set_constraint(name, value)
    study.tell(trial, [record.objectives[name] for name in names])


def tell_failure(study: optuna.Study, trial: Trial, why: str) -> None:
    """Tell the study that a trial came to nothing."""
    trial.set_user_attr(FAILED_BY, why)
    study.tell(trial, state=TrialState.FAIL)


def reopened_study(
    place: "Path | Database", names: tuple[str, ...], sampler: FrontSampler, layouts: Mapping[str, LayoutRecord]
) -> optuna.Study:
    """The study of an earlier start.

    A trial that was under way is told from its layout where that was saved, and else waits to be solved again with the
    numbers it had. Numbers of layouts that the study does not know, lost with the machine, are not given out again.

    Raises
    ------
    RecordError
        for a journal that makes no sense, and for a layout of a trial so far beyond the study's that no dying machine
        can have lost all between
    """
    saved_of = {trial_number(name): layout for name, layout in layouts.items()}
    study = _loaded(place, sampler, [number for number in saved_of if number is not None])
    again = {trial.user_attrs.get(AGAIN_OF) for trial in study.get_trials(deepcopy=False)}
    for frozen in study.get_trials(deepcopy=False, states=(TrialState.RUNNING,)):
        saved = saved_of.get(frozen.number)
        if saved is not None:
            tell_result(study, Trial(study, frozen._trial_id), saved, names)
            continue
        numbers = frozen.system_attrs.get("fixed_params", {}) | frozen.params
        if numbers and frozen.number not in again:
            study.enqueue_trial(numbers, user_attrs={AGAIN_OF: frozen.number})
        study.tell(frozen.number, state=TrialState.FAIL)
    known = _count(study)
    least = trials_behind(layouts)
    if least - known > LOST_MOST:
        raise RecordError(
            f"there is a layout of trial {least - 1}, but the search's memory ends with trial {known - 1}: that layout "
            "is not of this run, or most of its memory is lost; the run cannot be taken up"
        )
    for _ in range(known, least):
        study.add_trial(optuna.trial.create_trial(state=TrialState.FAIL))
    sampler.begin_at(max(known, least))
    return study


def _loaded(place: "Path | Database", sampler: FrontSampler, wanted: Collection[int]) -> optuna.Study:
    """The study as it stands; a journal whose lines make no sense together is told."""
    if not isinstance(place, Path):
        return optuna.load_study(**_kept_in(place), sampler=sampler)
    try:
        return optuna.load_study(**_kept_in(place, wanted), sampler=sampler)
    except (LookupError, TypeError, ValueError, AttributeError, AssertionError) as error:
        said = cut(f"{type(error).__name__}: {error}")
        raise RecordError(f"{place} makes no sense ({said}); the run cannot be taken up") from None


def _settled(study: optuna.Study) -> Mark:
    """What of a study stands in its journal alone; nothing of one in a database."""
    return study._storage.settled if isinstance(study._storage, OneWriter) else Mark()


def _count(study: optuna.Study) -> int:
    """How many trials a study has, in any state."""
    return _settled(study).trials + len(study.get_trials(deepcopy=False))


def mark(study: optuna.Study, layouts: Iterable[str]) -> None:
    """Mark beside its journal how far a study is settled; parameters stay known of trials that made these layouts. A
    study in a database needs no mark."""
    if isinstance(study._storage, OneWriter):
        numbers = map(trial_number, layouts)
        study._storage.write_mark([number for number in numbers if number is not None])


def trials_behind(layouts: Iterable[str]) -> int:
    """How many trials there must have been for layouts of these ids to be there."""
    numbers = [trial_number(name) for name in layouts]
    return max((number for number in numbers if number is not None), default=-1) + 1


def params_of_trials(study: optuna.Study) -> dict[int, Mapping[str, Any]]:
    """Parameters by number of the finished trials that are known, those with a layout among them."""
    trials = study.get_trials(deepcopy=False, states=(TrialState.COMPLETE,))
    return {**_settled(study).params, **{trial.number: trial.params for trial in trials}}


def finished_trials(study: optuna.Study) -> tuple[int, int]:
    """How many trials a study calls done, and how many failed; those left under way by a stop are neither."""
    trials, before = study.get_trials(deepcopy=False), _settled(study)
    done = sum(trial.state == TrialState.COMPLETE for trial in trials)
    return before.done + done, before.failed + sum(FAILED_BY in trial.user_attrs for trial in trials)
