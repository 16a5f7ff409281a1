"""Short-circuit currents worked by hand, the most and the least."""

from __future__ import annotations

import pytest

from layouts.ratings.short_circuit import alternating_resistance, least_fault, prospective


def test_the_most_by_hand() -> None:
    """13S7P of 14 mohm, 4 mohm of strips: 54.6 V / (26 + 4) mohm = 1820 A, 260 A a cell."""
    found = prospective(
        series=13,
        parallel=7,
        full_v=4.2,
        resistance=alternating_resistance(ac_mohm=14.0, dc_mohm=30.0),
        strips_ohm=0.004,
    )
    assert found.ohm == pytest.approx(0.030, rel=1e-12)
    assert found.current_a == pytest.approx(1820.0, rel=1e-12)
    assert found.cell_a == pytest.approx(260.0, rel=1e-12)
    assert not found.assumed


def test_a_third_is_assumed_where_only_the_other_resistance_is_known() -> None:
    """30 mohm of direct current become 10, and it is said."""
    found = alternating_resistance(ac_mohm=None, dc_mohm=30.0)
    assert found.mohm == pytest.approx(10.0) and found.assumed
    assert "assumed" in found.source and "no source" in found.source
    short = prospective(series=1, parallel=1, full_v=4.2, resistance=found, strips_ohm=0.0)
    assert short.assumed and short.current_a == pytest.approx(420.0)


def test_a_lead_lowers_the_current() -> None:
    """10 mohm of cell, 10 of lead: half the current."""
    cell = alternating_resistance(ac_mohm=10.0, dc_mohm=30.0)
    near, far = (
        prospective(
            series=1, parallel=1, full_v=4.2, resistance=cell, strips_ohm=0.0, lead_ohm=ohm
        ).current_a
        for ohm in (0.0, 0.010)
    )
    assert far == pytest.approx(near / 2, rel=1e-12)


def test_the_least_by_hand() -> None:
    """10S4P of 14 mohm, cold x 3, strips of 5, hot wire of 2.45 mohm: 28 V/112.45 mohm = 249 A."""
    found = least_fault(
        series=10,
        parallel=4,
        empty_v=2.8,
        dc_mohm=14.0,
        strips_ohm=0.005,
        area_mm2=6.0,
        length_mm=350.0,
    )
    wire = 1.7241e-8 * (1 + 55 * 0.00393) * 0.7 / 6e-6
    assert found.ohm == pytest.approx(0.105 + 0.005 + wire, rel=1e-12)
    assert found.current_a == pytest.approx(249.0, abs=0.5)


def test_the_least_is_below_the_most() -> None:
    """Same pack: empty and cold against full and warm."""
    cell = alternating_resistance(ac_mohm=9.0, dc_mohm=14.0)
    most = prospective(series=10, parallel=4, full_v=4.2, resistance=cell, strips_ohm=0.005)
    least = least_fault(
        series=10,
        parallel=4,
        empty_v=2.8,
        dc_mohm=14.0,
        strips_ohm=0.005,
        area_mm2=6.0,
        length_mm=350.0,
    )
    assert least.current_a < most.current_a / 4


def test_zero_resistance_is_refused() -> None:
    """No cell without resistance, none side by side, and none warmer in the cold."""
    with pytest.raises(ValueError, match="dc_mohm must be above zero"):
        alternating_resistance(ac_mohm=None, dc_mohm=0.0)
    with pytest.raises(ValueError, match="ac_mohm must be above zero"):
        alternating_resistance(ac_mohm=0.0, dc_mohm=10.0)
    cell = alternating_resistance(ac_mohm=9.0, dc_mohm=14.0)
    with pytest.raises(ValueError, match="parallel must be a whole number"):
        prospective(series=1, parallel=0, full_v=4.2, resistance=cell, strips_ohm=0.0)
    with pytest.raises(ValueError, match="cold_ratio must be at least 1"):
        least_fault(
            series=1,
            parallel=1,
            empty_v=2.8,
            dc_mohm=14.0,
            strips_ohm=0.0,
            area_mm2=6.0,
            length_mm=350.0,
            cold_ratio=0.5,
        )
