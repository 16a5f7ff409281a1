"""Volts of strings against the controller's window and the chemistry: each check once failing."""

from __future__ import annotations

import pytest

from layouts.errors import PlanError
from layouts.ratings.windows import (
    StringVolts,
    chemistry_caution,
    controller_cutoff_check,
    controller_high_check,
    controller_low_check,
    string_volts,
)


def thirteen() -> StringVolts:
    """13 cells of the 4.2 V class: 36.4, 46.8, 54.6 V."""
    return string_volts(series=13, empty_v=2.8, nominal_v=3.6, full_v=4.2)


def test_a_full_pack_above_the_controller_fails() -> None:
    """54.6 V is within 54.6 V for all its rounding, not within 54 V."""
    assert controller_high_check(thirteen(), highest_v=54.6).holds
    assert not controller_high_check(thirteen(), highest_v=54.0).holds


def test_a_cut_off_below_the_cells_least_fails() -> None:
    """13 x 2.8 = 36.4 V: a cut-off of 36 V drains the cells too far."""
    assert controller_cutoff_check(thirteen(), cutoff_v=36.4).holds
    found = controller_cutoff_check(thirteen(), cutoff_v=36.0)
    assert not found.holds and "36.4 V or higher" in found.remedy


def test_a_controller_for_more_volts_fails() -> None:
    """One that needs 48 V at least stops above 46.8 V nominal."""
    assert controller_low_check(thirteen(), lowest_v=40.0).holds
    assert not controller_low_check(thirteen(), lowest_v=48.0).holds


def test_volts_that_do_not_rise_are_refused() -> None:
    """Nominal above full, and equal ones: reported with all three."""
    for volts in ((2.8, 4.3, 4.2), (3.6, 3.6, 4.2)):
        with pytest.raises(PlanError, match=r"cell\.nominal_v: .*must rise"):
            string_volts(series=13, empty_v=volts[0], nominal_v=volts[1], full_v=volts[2])


def test_a_chemistry_without_volts_is_refused() -> None:
    """Zero volts are named; so is a string of none."""
    with pytest.raises(ValueError, match="empty_v must be above zero"):
        string_volts(series=13, empty_v=0.0, nominal_v=3.6, full_v=4.2)
    with pytest.raises(ValueError, match="series must be a whole number"):
        string_volts(series=0, empty_v=2.8, nominal_v=3.6, full_v=4.2)


def test_more_volts_than_the_chemistry_is_known_for_are_said() -> None:
    """4.35 V of an nmc cell and 4.2 V of an lfp one; usual volts and unknown names say nothing."""
    said = chemistry_caution(chemistry="nmc", full_v=4.35)
    assert said is not None and "4.2 V" in said
    assert chemistry_caution(chemistry="lfp", full_v=4.2) is not None
    assert chemistry_caution(chemistry="nmc", full_v=4.2) is None
    assert chemistry_caution(chemistry="own", full_v=5.0) is None
