"""What limits cost: multipliers against arithmetic, against SciPy, and against solving again."""

import json
import re
from dataclasses import replace

import jsonschema
import numpy as np
import pytest
import scipy
from made_records import run_folder
from shelf import PIPE, pipe
from stand_in_clock import Clock

from optimizer.analysis import prices
from optimizer.analysis.as_saved import choices_of
from optimizer.analysis.multipliers import LEAST_CENTS, Limit, Price, Tried, checked, priced, settled, tightened
from optimizer.analysis.prices import prices_of, recorded, remark, worded
from optimizer.commands.cli import main
from optimizer.geometry.layout import STEP, Parametrisation
from optimizer.records.files import read_record
from optimizer.records.kinds import schema_text
from optimizer.records.layout import saved_numbers
from optimizer.records.prices import PricesRecord
from optimizer.solving.fitting import Fitting
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Evaluation, Problem
from optimizer.solving.refine import refine
from optimizer.solving.starts import Starts
from optimizer.solving.time_left import TimeLeft
from optimizer.solving.variants import Held
from optimizer.views.price_tables import NOT_AT_REST

NOTHING = np.zeros(0)


class Slide:
    """Two numbers of which two notes hang: e = (a - 3, 2 (b - 1)) cents; a <= 1, and b's range ends at 0.2."""

    weight, main = np.ones(2), np.array([True, True])
    parametrisation = Parametrisation(
        None, np.array([-10.0, -10.0]), np.array([10.0, 0.2]), ("diameter_mm.a", "diameter_mm.b"), ()
    )

    def evaluate(self, x):
        """Values and Jacobians."""
        errors, limits = np.array([x[0] - 3.0, 2.0 * (x[1] - 1.0)]), np.array([x[0] - 1.0])
        none = np.zeros((0, 2))
        return (
            Evaluation(errors, NOTHING, NOTHING, limits),
            Evaluation(np.diag([1.0, 2.0]), none, none, np.array([[1.0, 0.0]])),
        )


def test_multipliers_by_hand():
    # At rest a = 1 - 0.02 (kept to spare for rounding), b = 0.2: e = (-2.02, -1.6), RMS = sqrt((2.02^2 + 1.6^2) / 2)
    # = 1.82214. d RMS / d e_i = e_i / (2 RMS); a loses 1 cent, b 2 cents for each millimetre:
    # 2.02 / 3.64428 = 0.55429 and 2 * 1.6 / 3.64428 = 0.87809.
    rest = settled(Slide(), np.zeros(2), ("wall",))
    assert rest.cents == pytest.approx(1.82214, abs=1e-5)
    found = {limit.name: price for limit, price in rest.prices.items()}
    assert found == pytest.approx({"diameter_mm.b": 0.87809, "wall": 0.55429}, abs=1e-4)
    assert list(found) == ["diameter_mm.b", "wall"]
    assert [limit.side for limit in rest.prices] == ["high", "constraint"]


def test_a_slope_through_two_resolves_is_the_one_at_rest():
    # RMS^2 is a parabola of the step here, so that the line through its two mean slopes meets the slope at rest.
    rest = settled(Slide(), np.zeros(2), ("wall",))
    for price in priced(Slide(), rest, ("wall",)):
        assert [one.step for one in price.tried] == [0.2, 0.5]
        assert price.ratio == pytest.approx(1.0, abs=1e-4)
        assert remark(price) == ""


def test_a_held_number_stays_and_the_others_move():
    held = Held(Slide(), np.array([0.0, -4.0]), np.array([True, False]))
    outcome = refine(held, np.array([0.0]), Emphasis())
    assert held.whole(outcome.x) == pytest.approx([0.98, -4.0], abs=1e-4)
    assert held.parametrisation.names == ("diameter_mm.a",)


def narrow():
    """The practice pipe with too little room for its bell end and lowest hole."""
    text = PIPE.replace("end_mm = [300, 340]", "end_mm = [318, 340]")
    return pipe(text.replace("diameter_mm = [5, 11]", "diameter_mm = [5, 7]"))


@pytest.fixture(scope="module")
def rested():
    """The narrow pipe at rest, with its problem and the names of its constraints."""
    problem = Problem(narrow())
    names = tuple(item.name for item in problem.constraints.items)
    return problem, settled(problem, Starts(problem).at(), names), names


def test_prices_of_the_practice_pipe_hold_when_it_is_solved_again(rested):
    problem, rest, names = rested
    assert rest.kept
    prices = list(priced(problem, rest, names))
    assert len(prices) >= 2
    assert [price.limit for price in prices] == list(rest.prices)
    same = [price for price in prices if sum(one.same_limits for one in price.tried) == 2]
    assert same
    for price in same:
        assert price.ratio == pytest.approx(1.0, abs=0.2), price.limit
    for price in prices:
        others = [one for one in price.tried if not one.same_limits]
        assert bool(others) == any(word in remark(price) for word in (" over within", "no room", "binds no more"))


def test_prices_know_no_flat_bottom(rested):
    # However much the project lets tuning be in a search, a limit costs what it costs.
    _, rest, names = rested
    loaded = narrow()
    search = loaded.project.search.model_copy(update={"same_tuning_cents": 20.0})
    problem = Problem(replace(loaded, project=loaded.project.model_copy(update={"search": search})))
    found = settled(problem, Starts(problem).at(), names)
    assert found.prices == rest.prices
    assert max(found.prices.values()) > 0.01


def test_a_tightened_limit_is_what_scipy_finds_too(rested):
    # SLSQP (SciPy) on the same problem, the dearest limit tightened by 0.2 mm: no dearer, no cheaper by a thousandth.
    problem, rest, names = rested
    limit = next(iter(rest.prices))
    step = limit.unit.steps[0]
    other = tightened(problem, limit, step, len(names))
    ours = settled(other, np.clip(rest.x, other.parametrisation.low, other.parametrisation.high), names)
    share = problem.weight / np.sum(problem.weight)
    force = np.any(other.evaluate(rest.x)[1].constraint, axis=1)
    theirs = scipy.optimize.minimize(
        lambda x: share @ np.asarray(other.evaluate(x)[0].errors) ** 2,
        ours.x,
        jac=lambda x: 2.0 * (share * other.evaluate(x)[0].errors) @ other.evaluate(x)[1].errors,
        bounds=list(zip(other.parametrisation.low, other.parametrisation.high, strict=True)),
        constraints={
            "type": "ineq",
            "fun": lambda x: -other.evaluate(x)[0].constraint[force] - 0.02,
            "jac": lambda x: -other.evaluate(x)[1].constraint[force],
        },
        method="SLSQP",
        options={"ftol": 1e-10},
    )
    assert np.sqrt(theirs.fun) == pytest.approx(ours.cents, rel=1e-3)
    slope = (theirs.fun - rest.cents**2) / (2.0 * rest.cents * step) * limit.unit.size
    assert slope == pytest.approx(rest.prices[limit], rel=0.2)


def test_a_range_moves_in_units_of_its_step(rested):
    problem, _, names = rested
    number = problem.parametrisation.names.index("end_mm")
    moved = tightened(problem, Limit("end_mm", "low", number), 0.5, len(names)).parametrisation
    difference = moved.low - problem.parametrisation.low
    assert difference[number] * STEP["end_mm"] == pytest.approx(0.5)
    assert np.count_nonzero(difference) == 1
    assert np.array_equal(moved.high, problem.parametrisation.high)


def tried(step, came_in=(), still_binds=True, kept=True):
    return Tried(step, 0.1, 0.5, kept, came_in, still_binds, NOTHING)


def test_what_takes_over_is_said():
    limit = Limit("reach.L1-L2", "constraint", 0)
    over = Price(limit, 0.5, (tried(0.2), tried(0.5, ("web.g1-g2",))))
    assert remark(over) == "web.g1-g2 takes over within 0.5 mm"
    assert over.by_solving == 0.5
    two = Price(limit, 0.5, (tried(0.2, ("diameter_mm.g1", "touch_offset_mm.g2")),))
    assert remark(two) == "diameter of g1, touch offset of g2 take over within 0.2 mm"
    assert remark(Price(limit, 0.5, (tried(0.2, still_binds=False),))) == "binds no more within 0.2 mm"
    assert remark(Price(limit, 0.5, (tried(0.2, kept=False),))) == "no room 0.2 mm further"
    assert remark(Price(limit, 0.5)) == "not re-solved"
    assert remark(Price(limit, 0.9, (tried(0.2), tried(0.5)))) == "differs: curved"


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (Limit("reach.L1-L2", "constraint", 0), "L1-L2: 1 mm less reach"),
        (Limit("diameter_mm.g1", "low", 0), "g1 at least 1 mm wider"),
        (Limit("diameter_mm.g1", "high", 0), "g1 at most 1 mm narrower"),
        (Limit("piece_long.2", "constraint", 0), "piece 2 at most 1 mm shorter"),
        (Limit("reed_volume_cm3", "low", 0), "reed at least 0.1 cm3 larger"),
        (Limit("bore_scale", "high", 0), "bore at most 1 % narrower"),
        (Limit("thumb.g9", "constraint", 0), "thumb g9: 1 mm more"),
    ],
)
def test_limits_in_words(limit, words):
    assert worded(limit) == words


def told(capsys, *arguments):
    """Run the command: exit code, standard output, standard error."""
    code = main([str(argument) for argument in arguments])
    streams = capsys.readouterr()
    return code, streams.out, streams.err


def test_the_command_prices_a_run_and_writes_it_down(record, tmp_path, capsys):
    run = run_folder(tmp_path / "pipe-run", [record], project_text=PIPE)
    written = tmp_path / "out" / "prices.json"
    for path, layout in ((run, ("--layout", "t00001")), (run / "layouts" / "t00001.json", ("--json", written))):
        code, out, err = told(capsys, "prices", path, *layout)
        assert code == 0
        assert "Lantern Hall Practice Pipe, layout t00001: what does it cost" in out
        assert "one key or plate fewer is left out" in out
        assert "limits" in err
    jsonschema.Draft202012Validator(json.loads(schema_text("prices"))).validate(json.loads(written.read_text()))
    found = read_record(written, PricesRecord)
    assert f"rests at {found.cents:.3f} cents RMS (as saved {record.objectives['tuning']:.3f})" in out
    assert f"written: {written}" in out
    assert (found.layout, found.kept, found.plates_off) == ("t00001", True, [])
    dearest = [price.by_multiplier for price in found.prices]
    assert dearest == sorted(dearest, reverse=True)
    for price in found.prices:
        assert price.by_multiplier >= found.least_cents
        plain = price.by_multiplier if price.by_solving is None else price.by_solving
        figures = (re.escape(each) for each in (price.sentence, f"{plain:+.2f}", f"{price.by_multiplier:.3f}"))
        assert re.search(r"(?m)^{} +{} .* {} ".format(*figures), out)


def test_plates_that_there_is_no_time_for_are_named(monkeypatch):
    # The clock stands in: limits are priced for as long as there is time, then no plate is taken off.
    loaded = pipe(PIPE.replace('by = "L1",', 'by = "L1", cover = "either",'))
    fitting = Fitting(loaded)
    made = fitting.judged([fitting.solve(0)], "t00001")
    assert made.feasible
    assert [hole.id for hole in made.holes if hole.cover == "plate"] == ["g4"]
    clock = Clock(monkeypatch)
    assert [off.hole for off in prices_of(loaded, made, 100.0, lambda done, of: None).plates_off] == ["g4"]

    def late(done, of):
        clock.now += 100.0

    found = prices_of(loaded, made, 100.0, late)
    assert (found.plates_off, found.plates_untried) == ([], ["g4"])
    assert sum(bool(price.tried) for price in found.prices) <= 1


def test_no_solve_is_begun_that_would_end_too_late(monkeypatch):
    # Settling takes 60 of 100 s, and as much is counted for what comes next: every limit has its multiplier alone.
    loaded = pipe(PIPE)
    fitting = Fitting(loaded)
    made = fitting.judged([fitting.solve(0)], "t00001")
    clock = Clock(monkeypatch)
    monkeypatch.setattr(prices, "settled", clock.takes(60.0, prices.settled))
    found = prices_of(loaded, made, 100.0, lambda done, of: None)
    assert found.prices
    assert not any(price.tried for price in found.prices)


def test_a_solve_is_cut_off_when_its_time_is_up(monkeypatch):
    # Each look at the slide takes 10 s of 15: one step is taken, and that it rests there is not known.
    clock = Clock()
    monkeypatch.setattr(Slide, "evaluate", clock.takes(10.0, Slide.evaluate))
    problem, whole = Slide(), settled(Slide(), np.zeros(2), ("wall",))
    assert whole.rests
    clock.now = 1000.0
    cut = settled(problem, np.zeros(2), ("wall",), TimeLeft(1015.0, clock))
    assert not cut.rests
    limit = next(iter(whole.prices))
    assert checked(problem, whole, limit, ("wall",), TimeLeft(clock.now + 5.0, clock)).tried == ()


def test_a_layout_that_is_not_at_rest_in_time_is_told(record, tmp_path, capsys):
    run = run_folder(tmp_path, [record], project_text=PIPE)
    code, out, _ = told(capsys, "prices", run, "--minutes", 1e-6, "--json", tmp_path / "prices.json")
    assert (code, NOT_AT_REST in out) == (0, True)
    found = read_record(tmp_path / "prices.json", PricesRecord)
    assert (found.rests, [price.tried for price in found.prices if price.tried]) == (False, [])


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("--layout", "t99999"), "has no layout 't99999'; it has t00001"),
        (("--minutes", 0), "--minutes must be more than 0"),
        ((), "layout t00001 does not keep its limits, so they have no price yet"),
    ],
)
def test_prices_say_what_to_mend(arguments, sentence, record, tmp_path, capsys):
    run = run_folder(tmp_path, [record.model_copy(update={"feasible": False})], project_text=PIPE)
    code, out, err = told(capsys, "prices", run, *arguments)
    assert (code, out, sentence in err) == (2, "", True)


def test_a_price_is_written_down_as_it_was_found(rested):
    problem, rest, names = rested
    price = checked(problem, rest, next(iter(rest.prices)), names)
    found = recorded(price, rest, problem)
    assert (found.limit, found.side, found.unit) == (price.limit.name, price.limit.side, price.limit.unit.name)
    assert (found.by_multiplier, found.by_solving, found.ratio) == (price.by_multiplier, price.by_solving, price.ratio)
    assert [(one.step, one.dearer_cents) for one in found.tried] == [
        (one.step, one.dearer_cents if one.kept else None) for one in price.tried
    ]
    last = [one for one in price.tried if one.kept][-1]
    grown = {
        (note.written, note.register): abs(after) - abs(before)
        for note, after, before in zip(problem.notes, last.errors, rest.errors, strict=True)
    }
    most = found.most_moved
    assert most.grows_cents == grown[most.written, most.register_number]
    assert abs(most.grows_cents) == max(map(abs, grown.values()))


def test_choices_come_back_from_a_layout(record, problem):
    choices = choices_of(problem.loaded, record)
    assert (choices.plates, choices.fingerings, choices.joints) == ((), (), ())
    assert LEAST_CENTS > 0
    numbers = saved_numbers(record, problem.project)
    assert numbers["joint_mm"] == []
