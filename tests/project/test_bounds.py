"""Ranges of numbers, in sentences."""

import pytest

from optimizer.project.allowed_ranges import A4_HZ, MINUTES, SEED, Bounds


@pytest.mark.parametrize(
    ("bounds", "right", "wrong"),
    [
        (
            MINUTES,
            (1e-9, 2.5, 1e6),
            {0: "must be more than 0, but got 0", 1e7: "must be at most 1000000, but got 10000000"},
        ),
        (
            SEED,
            (0, 2**32 - 1),
            {-1: "must be at least 0, but got -1", 2**32: "must be at most 4294967295, but got 4294967296"},
        ),
        (
            A4_HZ,
            (380, 440.0, 480),
            {
                379.5: "must lie between 380 and 480 Hz, but got 379.5",
                float("nan"): "must lie between 380 and 480 Hz, but got nan",
            },
        ),
        (
            Bounds(above=0, most=100, unit="cents"),
            (0.1, 100),
            {
                0: "must be more than 0 and at most 100 cents, but got 0",
                float("inf"): "must be more than 0 and at most 100 cents, but got inf",
            },
        ),
        (
            Bounds(least=1, most=9),
            (1, 9),
            {0: "must be between 1 and 9, but got 0", 10: "must be between 1 and 9, but got 10"},
        ),
        (Bounds(least=1), (1, 10**12), {0: "must be at least 1, but got 0"}),
    ],
)
def test_what_lies_outside_is_told(bounds, right, wrong):
    assert [bounds.wrong(value) for value in right] == [None] * len(right)
    assert {value: bounds.wrong(value) for value in wrong} == wrong
