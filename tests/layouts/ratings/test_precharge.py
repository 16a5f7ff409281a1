"""Precharge: by hand, and against the resistor's own integral."""

from __future__ import annotations

import math

import pytest

from layouts.ratings.precharge import inrush_a, precharge, precharge_caution, resistor_for


def test_a_controller_by_hand() -> None:
    """2 mF at 54.6 V through 100 ohm: 2.98 J, 0.6 s and 0.92 s, 0.546 A, 29.8 W at first."""
    found = precharge(capacitance_f=0.002, full_v=54.6, ohm=100.0)
    assert found.joules == pytest.approx(0.001 * 54.6**2, rel=1e-12)
    assert found.seconds_95 == pytest.approx(0.2 * 2.995732, rel=1e-6)
    assert found.seconds_99 == pytest.approx(0.2 * 4.605170, rel=1e-6)
    assert found.peak_a == pytest.approx(0.546) and found.peak_w == pytest.approx(29.8116)


def test_the_resistor_takes_what_the_capacitance_stores() -> None:
    """The integral of V^2/R exp(-2t/RC) is C V^2/2, whatever the ohms."""
    for ohm in (10.0, 470.0):
        found = precharge(capacitance_f=0.001, full_v=42.0, ohm=ohm)
        constant_s = ohm * 0.001
        assert found.peak_w * constant_s / 2 == pytest.approx(found.joules, rel=1e-12)


@pytest.mark.parametrize("capacitance_f", [1e-4, 4.7e-4, 1e-3, 2.2e-3, 1e-2])
def test_the_resistor_taken_is_in_time_and_the_largest_so(capacitance_f: float) -> None:
    """Within a second, and the next of the series would not be."""
    ohm = resistor_for(capacitance_f=capacitance_f)
    found = precharge(capacitance_f=capacitance_f, full_v=42.0)
    assert found.ohm == ohm and found.seconds_99 <= 1.0
    assert ohm * 1.55 * capacitance_f * math.log(100.0) > 1.0  # the series' widest step is 1.55


def test_a_small_capacitance_is_not_worth_a_word() -> None:
    """0.1 mF at 42 V stores 0.09 J; 2 mF stores 1.8 J and is reported with its inrush."""
    small = precharge(capacitance_f=1e-4, full_v=42.0)
    assert precharge_caution(small, without_a=800.0) is None
    said = precharge_caution(precharge(capacitance_f=0.002, full_v=42.0), without_a=800.0)
    assert said is not None and "1.8 J" in said and "800 A" in said


def test_bare_contacts_meet_all_the_current() -> None:
    """42 V over 50 mohm: 840 A at first."""
    assert inrush_a(full_v=42.0, ohm=0.05) == pytest.approx(840.0)


def test_no_capacitance_no_resistor_no_time_is_refused() -> None:
    """Each by name; a resistor below all standard ones needs more seconds."""
    with pytest.raises(ValueError, match="capacitance_f must be above zero"):
        precharge(capacitance_f=0.0, full_v=42.0)
    with pytest.raises(ValueError, match="ohm must be above zero"):
        precharge(capacitance_f=0.001, full_v=42.0, ohm=0.0)
    with pytest.raises(ValueError, match="allow more seconds"):
        resistor_for(capacitance_f=1000.0, seconds_99=1e-3)
