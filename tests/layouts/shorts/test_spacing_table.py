"""Spacing between potentials: never less than the table, and the user's floor under it."""

from __future__ import annotations

import pytest

from layouts.shorts.spacing_table import clearance_mm, creepage_mm, pollution_degree, spacing


def test_volts_between_rows_take_the_next_higher_row() -> None:
    """54.6 V counts as 63 V, 3.6 V as 10 V, and 50.1 V no longer as 50 V."""
    assert creepage_mm(54.6) == creepage_mm(63.0) == 1.25
    assert creepage_mm(3.6) == creepage_mm(10.0) == 0.4
    assert creepage_mm(50.1) > creepage_mm(50.0)


def test_more_volts_never_ask_for_less() -> None:
    """Both distances rise with the volts, and with the pollution degree."""
    volts = [1.0 + 3.7 * k for k in range(270)]
    for degree in (2, 3):
        for distance in (creepage_mm, clearance_mm):
            found = [distance(v, degree) for v in volts]
            assert found == sorted(found)
    assert all(creepage_mm(v, 3) > creepage_mm(v, 2) for v in volts)


def test_rounding_of_a_string_takes_no_higher_row() -> None:
    """A sum of cells that is 63 V but for its rounding counts as 63 V."""
    assert creepage_mm(63.0 * (1 + 1e-15)) == creepage_mm(63.0)


def test_the_users_floor_and_creepage_over_clearance() -> None:
    """A floor of 2 mm holds for both; without one creepage is at least the way through air."""
    floored = spacing(54.6, closed=True, floor_mm=2.0)
    assert (floored.creepage_mm, floored.clearance_mm) == (2.0, 2.0)
    plain = spacing(54.6, closed=False)
    assert plain.pollution_degree == pollution_degree(closed=False) == 3
    assert plain.creepage_mm == 2.0 and plain.clearance_mm == 0.8
    assert all(
        spacing(v, closed=c).creepage_mm >= spacing(v, closed=c).clearance_mm
        for v in (5.0, 60.0, 140.0, 290.0, 590.0, 990.0)
        for c in (True, False)
    )


@pytest.mark.parametrize("volts", [0.0, -3.0, float("nan"), 1000.5])
def test_volts_that_the_table_does_not_have(volts: float) -> None:
    """None, below zero, no number, and above the last row."""
    with pytest.raises(ValueError, match="volts must be"):
        creepage_mm(volts)


def test_other_pollution_degrees_are_refused() -> None:
    """Only 2 and 3 have rows here."""
    with pytest.raises(ValueError, match="pollution_degree must be 2 or 3, got 1"):
        creepage_mm(50.0, 1)
    with pytest.raises(ValueError, match="floor_mm must not be below zero"):
        spacing(50.0, closed=True, floor_mm=-1.0)
