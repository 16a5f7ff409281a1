"""Melting and heating of wire: relations that must hold, refusals, and a check that fails."""

from __future__ import annotations

import pytest

from layouts.ratings.melting import (
    adiabatic_end_c,
    adiabatic_k,
    preece_a,
    wire_fault_check,
    withstood_s,
)


def test_short_faults_obey_current_squared_times_time() -> None:
    """Four times the time at half the current."""
    slow = withstood_s(current_a=100.0, area_mm2=4.0)
    assert slow == pytest.approx(4 * withstood_s(current_a=200.0, area_mm2=4.0), rel=1e-12)


def test_wire_too_thin_for_its_fuse_fails() -> None:
    """105 A for 5 s: 6 mm2 outlasts it, 1.5 mm2 does not (2.5 s by hand from k = 111)."""
    assert wire_fault_check(opens_at_a=105.0, opens_s=5.0, area_mm2=6.0).holds
    found = wire_fault_check(opens_at_a=105.0, opens_s=5.0, area_mm2=1.5)
    assert not found.holds
    assert found.value == pytest.approx((adiabatic_k(from_c=75, to_c=160) * 1.5 / 105) ** 2)
    assert found.value == pytest.approx(2.5, abs=0.15)


def test_what_the_formulas_do_not_hold_for_is_refused() -> None:
    """Unknown metals, cooling instead of heating, no current."""
    with pytest.raises(ValueError, match="no constant of Preece for 'gold'"):
        preece_a(diameter_mm=1.0, metal="gold")
    with pytest.raises(ValueError, match="no heat of 'gold'"):
        adiabatic_k(from_c=20.0, to_c=160.0, metal="gold")
    with pytest.raises(ValueError, match="to_c must be above"):
        adiabatic_k(from_c=160.0, to_c=160.0)
    with pytest.raises(ValueError, match="current_a must be above zero"):
        withstood_s(current_a=0.0, area_mm2=4.0)


def test_the_end_temperature_and_the_time_withstood_are_one_relation() -> None:
    """After the time that a current is withstood, the conductor is at the end temperature."""
    for current_a, from_c, to_c in ((400.0, 75.0, 160.0), (60.0, 30.0, 75.0)):
        seconds = withstood_s(current_a=current_a, area_mm2=4.0, from_c=from_c, to_c=to_c)
        end_c = adiabatic_end_c(from_c=from_c, current_a=current_a, area_mm2=4.0, seconds=seconds)
        assert end_c == pytest.approx(to_c, rel=1e-12)
    with pytest.raises(ValueError, match="no heat of 'tin'"):
        adiabatic_end_c(from_c=20, current_a=1, area_mm2=1, seconds=1, metal="tin")
