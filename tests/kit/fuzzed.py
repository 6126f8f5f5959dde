"""Requests and projects that nobody would write, and what must hold for each."""

import time
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Flaky, Unsatisfiable
from made_records import layout, run_folder
from odd_texts import changed_text
from served import API, PROJECTS, Client, with_ticket

from optimizer.project.hand import Hand
from optimizer.project.included import Included
from optimizer.project.loading import LoadedProject
from optimizer.service.offered import project_of
from optimizer.service.refusals import RefusedError

BUSY = (503, 504)
"""Refusals that a full queue and a piece of work that takes too long are due."""

ENDLESS = "follow_run"
SLOW_SECONDS = 5.0
"""By the clock: what takes longer on a walk is told whole, to be asked again."""

SECONDS_MOST = 20.0
"""Of processor time, as others may be at work on the machine; a service is asked in the process that it is in."""


Times = dict[str, list[float]]
"""Seconds by what was asked."""


def shelf(folder: Path) -> Path:
    """A results folder with runs that requests may hit: ended, waiting, broken."""
    results = folder / "results"
    run_folder(results / "0", [layout("0")], finished="2026-11-02T10:01:00+00:00")
    with_ticket(run_folder(results / "A", [layout("A")]), state="waiting")
    (run_folder(results / "00", [layout("0")]) / "run.json").write_text("{")
    return results


def operations(client: Client, examples: int, seconds: float) -> tuple[Times, list[str]]:
    """Seconds of each request to each operation of the API document but the endless one, and what failed.

    examples : at most of each operation; seconds : over all, each operation an equal share
    """
    import schemathesis

    schema = schemathesis.openapi.from_url(f"http://127.0.0.1:{client.port}{API}/openapi.json", timeout=120)
    found = [each.ok() for each in schema.get_all_operations()]
    chosen = [each for each in found if each.definition.raw["operationId"] != ENDLESS]
    counted, failures = Times(), []
    for operation in chosen:
        sent, failed = _fuzzed(operation, examples, seconds / len(chosen))
        counted[operation.label] = sent
        failures += [f"{operation.label}: {each}" for each in failed]
    return counted, failures


def _fuzzed(operation: Any, examples: int, seconds: float) -> tuple[list[float], list[str]]:
    """Seconds of requests to one operation, half of them as documented and half not, of each at least one; failures,
    one of each kind."""
    from schemathesis import GenerationMode
    from schemathesis.core.failures import FailureGroup
    from schemathesis.specs.openapi.checks import content_type_conformance, response_schema_conformance

    failures: dict[str, str] = {}
    begun, sent = time.monotonic(), list[float]()
    for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
        until = begun + seconds * (0.5 if mode is GenerationMode.POSITIVE else 1.0)

        def one(case: Any, until: float = until, before: int = len(sent)) -> None:
            if time.monotonic() > until and len(sent) > before:
                return
            asked = time.process_time()
            try:
                answer = case.call(timeout=60)
                sent.append(answer.elapsed)
                assert time.process_time() - asked < SECONDS_MOST, "it took too long"
                assert answer.status_code < 500 or answer.status_code in BUSY, f"{answer.status_code}: {answer.text}"
                case.validate_response(answer, checks=[response_schema_conformance, content_type_conformance])
            except (Exception, FailureGroup) as error:
                failures.setdefault(type(error).__name__, f"{error}"[:2000])

        strategy = operation.as_strategy(generation_mode=mode)
        _drawn(strategy, one, (examples + 1) // 2)
    return sent, list(failures.values())


def walks(client: Client, count: int, steps: int, seconds: float) -> tuple[Times, list[str]]:
    """Seconds of each request to each operation on walks along the links of the API document, and what failed.

    count, steps : walks, and requests of each at most; seconds : after which no walk begins
    """
    import schemathesis
    from hypothesis.stateful import run_state_machine_as_test
    from schemathesis.core.failures import FailureGroup
    from schemathesis.specs.openapi.checks import content_type_conformance, response_schema_conformance

    schema = schemathesis.openapi.from_url(f"http://127.0.0.1:{client.port}{API}/openapi.json", timeout=120)
    counted = Times()
    failures: dict[str, str] = {}

    class Walk(schema.exclude(operation_id=ENDLESS).as_state_machine()):  # type: ignore[misc]
        def get_call_kwargs(self, _case: Any) -> dict[str, Any]:
            return {"timeout": 300}

        def validate_response(self, response: Any, case: Any, **_: Any) -> None:
            label = f"{case.operation.label} {response.status_code}"
            counted.setdefault(label, []).append(response.elapsed)
            if response.elapsed > SLOW_SECONDS:
                print(f"{response.elapsed:.1f} s {label}: {case.body!r:.20000}", flush=True)
            try:
                assert response.status_code < 500 or response.status_code in BUSY, response.text
                case.validate_response(response, checks=[response_schema_conformance, content_type_conformance])
            except (Exception, FailureGroup) as error:
                failures.setdefault(f"{case.operation.label} {type(error).__name__}", f"{error}"[:2000])

    checks = list(HealthCheck)
    limits = settings(
        max_examples=2, stateful_step_count=steps, phases=[Phase.generate], deadline=None, database=None,
        suppress_health_check=checks,
    )  # fmt: skip
    begun = time.monotonic()
    for _ in range(count):  # each by itself: the service remembers, and the first of two is the plainest
        if time.monotonic() - begun > seconds:
            break
        with suppress(Flaky):
            run_state_machine_as_test(Walk, settings=limits)
    return counted, [f"{name}: {said}" for name, said in failures.items()]


def _drawn(strategy: Any, one: Any, examples: int) -> None:
    checks = list(HealthCheck)
    limits = settings(max_examples=examples, phases=[Phase.generate], deadline=None, suppress_health_check=checks)
    with suppress(Unsatisfiable):  # nothing of that kind can be sent
        limits(given(strategy)(lambda case: one(case)))()


@cache
def demos() -> list[str]:
    """The texts of the demo projects."""
    return [path.read_text(encoding="utf-8") for path in sorted(PROJECTS.glob("*.toml"))]


def mutated() -> st.SearchStrategy[str]:
    """A demo project, changed in a place or some."""
    return st.builds(changed_text, st.sampled_from(demos()), st.randoms(use_true_random=False))


def check_project(text: str, hand: Included[Hand] | None = None) -> str:
    """What a text is, perhaps with another hand: `sound` or `told`; anything else, or too long a time, is an error."""
    begun = time.thread_time()
    try:
        assert isinstance(project_of(PROJECTS, text, hand), LoadedProject)
        return "sound"
    except RefusedError as error:
        refusal = error
    finally:
        assert time.thread_time() - begun < SECONDS_MOST
    assert refusal.status == 422
    assert refusal.problems
    lines = text.count("\n") + 1
    assert all(each.message and (each.line is None or 1 <= each.line <= lines) for each in refusal.problems)
    return "told"
