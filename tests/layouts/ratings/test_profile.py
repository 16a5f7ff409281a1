"""Profiles as read from a file: rows, lengths, and everything that can be wrong with them."""

from __future__ import annotations

import pytest

from layouts.errors import PlanError
from layouts.ratings.profile import Entry, load_profile


def test_each_row_lasts_until_the_next() -> None:
    """Uneven rows, the last only ends it; times may begin anywhere."""
    found = load_profile([100, 110, 140], [50, -20, 999], [10, 5, 0])
    assert found.steps == ((10.0, 50.0, 10.0), (30.0, -20.0, 5.0))
    assert load_profile([0, 5], [7, 0]).steps == ((5.0, 7.0, 0.0),)


@pytest.mark.parametrize(
    ("seconds", "watts", "told"),
    [
        ([0, 1, 2], [5, "fast", 0], r"row 2: watts is not a number \('fast'\)"),
        ([0, "1", 2], [5, 5, 0], r"row 2: seconds is not a number"),
        ([0, 1, 2], [5, None, 0], r"row 2: watts has a gap"),
        ([0, 1, 2], [5, "", 0], r"row 2: watts has a gap"),
        ([0, 1, 2], [5, float("nan"), 0], r"row 2: watts has a gap"),
        ([0, float("inf"), 2], [5, 5, 0], r"row 2: seconds has a gap or is infinite"),
        ([0, True, 2], [5, 5, 0], r"row 2: seconds is not a number"),
        ([0, 2, 2], [5, 5, 0], r"row 3: seconds don't increase \(2, then 2\)"),
        ([0, 2, 1], [5, 5, 0], r"row 3: seconds don't increase"),
        ([0, 1, 2], [5, 5], r"columns differ in length \(seconds 3, watts 2\)"),
        ([0], [5], r"fewer than two rows"),
        ([], [], r"fewer than two rows"),
    ],
)
def test_bad_rows_are_told(seconds: list[Entry], watts: list[Entry], told: str) -> None:
    """Text, gaps, infinite values, times out of order, too few rows: field and row are named."""
    with pytest.raises(PlanError, match=told) as error:
        load_profile(seconds, watts)
    assert error.value.field == "load.profile" and error.value.remedy


def test_speed_below_zero_is_told() -> None:
    """A direction is no speed."""
    with pytest.raises(PlanError, match=r"row 2: speed_km_h is below zero \(-3\)"):
        load_profile([0, 1, 2], [5, 5, 0], [4, -3, 0])
