"""The questions of `begin` in a terminal: each is asked until its answer will do, and no answer is lost meanwhile."""

from collections.abc import Callable
from typing import Any, TypeVar

from optimizer.beginning.answers import FAMILIES, AnswersError, answers_of
from optimizer.beginning.meant import meant
from optimizer.beginning.questions import Question, questions
from optimizer.beginning.shipped import KINDS, files_in, there
from optimizer.project.demos import demos_folder
from optimizer.project.faults import Fault

Made = TypeVar("Made")


def asked(told: dict[str, Any], make: Callable[[dict[str, Any]], Made]) -> Made:
    """What is made of the answers that were told and of those that are asked for.

    Parameters
    ----------
    told : answers that were given already
    make : makes it of the answers, or raises what is wrong with which of them, which is then asked for again

    Raises
    ------
    Fault
        where the answers end before the questions, or what is wrong is no answer's doing
    """
    print("Enter takes what stands in brackets.")
    left_open: set[str] = set()
    while True:
        while question := _next(told, left_open):
            _ask(question, told, left_open)
        try:
            return make(told)
        except AnswersError as error:
            again = {finding.path for finding in error.findings}
            if not again & (told.keys() | left_open):
                raise
            print(*error.told, sep="\n")
            left_open -= again
            for answer in again:
                told.pop(answer, None)


def _next(told: dict[str, Any], left_open: set[str]) -> Question | None:
    """The first question that is not answered yet."""
    family = told["family"] if told.get("family") in FAMILIES else FAMILIES[0]
    listed = questions(family, told.get("note_names", "english"), files_in(demos_folder()))
    return next((each for each in listed if each.answer not in told and each.answer not in left_open), None)


def _ask(question: Question, told: dict[str, Any], left_open: set[str]) -> None:
    """Ask until the answer will do."""
    print(f"\n{question.words}")
    if question.kind != "yes or no":
        wide = max((len(value) for value, _ in question.choices), default=0)
        print(*(f"  {value:<{wide}}  {words}\n" for value, words in question.choices), sep="", end="")
    while True:
        try:
            said = input(f"[{question.usual or question.left_open}] ").strip() or question.usual
        except EOFError:
            raise Fault("the answers ended before the questions; nothing was written") from None
        if not said:
            left_open.add(question.answer)
            return
        said = _as_meant(question, said)
        wrong = _wrong(question, {**told, question.answer: said})
        if not wrong:
            told[question.answer] = said
            return
        print(*wrong, sep="\n")


def _as_meant(question: Question, said: str) -> str:
    """A number with its decimal point; else the choice that an answer begins, where it begins one alone."""
    if question.kind == "number":
        return said.replace(",", ".")
    begun = [value for value, _ in question.choices if value.startswith(said.lower())]
    return begun[0] if len(begun) == 1 else said


def _wrong(question: Question, told: dict[str, Any]) -> list[str]:
    """What is wrong with an answer, by itself or with those before it, in words that follow the question."""
    answer = question.answer
    if question.kind == "yes or no" and told[answer] not in dict(question.choices):
        return ["please answer yes or no"]
    try:
        if answer in KINDS:
            there(answer, told[answer])
        else:
            meant(answers_of({name: value for name, value in told.items() if name not in KINDS}))
    except AnswersError as error:
        return [finding.sentence.removeprefix(f"{answer}: ") for finding in error.findings if finding.path == answer]
    return []
