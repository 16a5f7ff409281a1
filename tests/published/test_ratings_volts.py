"""Volts of strings and touch limits against outside figures; the trade's check value."""

from __future__ import annotations

import pytest

from layouts.formats import chemistries
from layouts.ratings.limits import rate
from layouts.ratings.touch_voltage import DRY_V, HARM_V, WET_V, touch
from layouts.ratings.windows import string_volts

# Volts of a cell as public data sheets print them: 3.6, 4.2 and 2.5 V of three cells of the
# 4.2 V class; 3.2, 3.65 and 2.5 V of an iron phosphate cell. Strings are S times that.
STRINGS = {
    ("nmc", 10): (36.0, 42.0),
    ("nmc", 13): (46.8, 54.6),
    ("nmc", 14): (50.4, 58.8),
    ("nmc", 15): (54.0, 63.0),
    ("lfp", 4): (12.8, 14.6),
    ("lfp", 16): (51.2, 58.4),
    ("lfp", 17): (54.4, 62.05),
}


@pytest.mark.parametrize(("string", "volts"), STRINGS.items())
def test_strings(string: tuple[str, int], volts: tuple[float, float]) -> None:
    """Nominal and full volts of seven usual strings."""
    name, series = string
    cell = chemistries()[name]
    found = string_volts(series=series, empty_v=2.5, nominal_v=cell.nominal_v, full_v=cell.full_v)
    assert (found.nominal_v, found.full_v) == pytest.approx(volts, rel=1e-12)


def test_the_largest_strings_a_dry_hand_may_touch() -> None:
    """14 cells of 4.2 V and 16 of 3.65 V stay at or below 60 V, one more does not."""
    for name, series in (("nmc", 14), ("lfp", 16)):
        full = chemistries()[name].full_v
        assert not touch(highest_v=series * full, wet=False).exceeds
        assert touch(highest_v=(series + 1) * full, wet=False).exceeds


def test_touch_limits_stand_to_each_other_as_the_standards_do() -> None:
    """Extra-low voltage ends at 50 V of alternating and 120 V of ripple-free direct current (IEC
    Electrotechnical Vocabulary, from IEC 61558-1), parts to be touched at 25 V and 60 V (IEC
    60598-1:2008 clause 8.2.3, as quoted in a public forum): direct current has the same ratio."""
    assert HARM_V / 50 == DRY_V / 25 == 2.4
    # household appliances stay lower yet: 42.4 V (the household standard's clause 8.1.4, as quoted
    # in the same forum); the limit for wet hands, a judgement, lies below that
    assert WET_V < 42.4 < DRY_V


def test_the_check_value_of_the_trade() -> None:
    """13S7P of 2.6 Ah and 20 A cells: 91 cells, 18.2 Ah, 140 A, 46.8 V, 54.6 V (plain products)."""
    found = rate(
        series=13,
        parallel=7,
        capacity_ah=2.6,
        continuous_a=20.0,
        empty_v=2.8,
        nominal_v=3.6,
        full_v=4.2,
    )
    assert 13 * 7 == 91
    assert found.capacity_ah == pytest.approx(18.2, rel=1e-12)
    assert found.cells_a == 140.0
    assert (found.nominal_v, found.full_v) == pytest.approx((46.8, 54.6), rel=1e-12)
    assert found.energy_wh == pytest.approx(18.2 * 46.8, rel=1e-12)
