"""Loads in amps and watts, and motors that give back: by hand, out of reach, and failing."""

from __future__ import annotations

import pytest

from layouts.ratings.load import (
    asked_currents,
    largest_w,
    load_check,
    operating_point,
    regeneration,
    regeneration_cells_check,
    regeneration_volts_check,
)


def test_the_operating_point_by_hand() -> None:
    """10 V behind 1 ohm, 16 W: I^2 - 10 I + 16 = 0 gives 2 A (and 8 A, which is none)."""
    found = operating_point(watts=16.0, open_v=10.0, ohm=1.0)
    assert found is not None
    assert found.current_a == pytest.approx(2.0, rel=1e-12)
    assert found.volts == pytest.approx(8.0, rel=1e-12)
    assert found.lost_w == pytest.approx(4.0, rel=1e-12)


def test_what_the_source_gives_is_what_is_taken_and_lost() -> None:
    """V0 I = P + I^2 R, also for watts given back, and for next to no resistance."""
    for watts in (-900.0, -1e-3, 1e-3, 500.0, 3000.0):
        for ohm in (1e-12, 0.05, 0.2):
            found = operating_point(watts=watts, open_v=50.0, ohm=ohm)
            assert found is not None
            assert found.current_a * 50.0 == pytest.approx(watts + found.lost_w, rel=1e-9)
            assert (found.current_a > 0) == (watts > 0)


def test_the_largest_watts_are_at_half_the_volts() -> None:
    """10 V behind 1 ohm: 25 W at 5 V; above that no operating point."""
    assert largest_w(open_v=10.0, ohm=1.0) == 25.0
    edge = operating_point(watts=25.0, open_v=10.0, ohm=1.0)
    assert edge is not None and edge.volts == pytest.approx(5.0)
    assert operating_point(watts=25.001, open_v=10.0, ohm=1.0) is None


def test_watts_ask_more_amps_than_volts_at_rest_say() -> None:
    """1000 W of 28 V behind 50 mohm: 38.3 A, not the 35.7 A without resistance."""
    found = asked_currents(open_v=28.0, ohm=0.05, continuous_w=1000.0)
    assert found.continuous_a == pytest.approx((28 - 584**0.5) / 0.1, rel=1e-9)
    assert found.peak_a is None and found.operates


def test_the_larger_of_amps_and_watts_counts() -> None:
    """Both given: each of continuous and peak takes its larger one."""
    found = asked_currents(
        open_v=28.0, ohm=0.05, continuous_a=20.0, continuous_w=1000.0, peak_a=90.0, peak_w=1200.0
    )
    assert found.continuous_a is not None and found.continuous_a > 38.0
    assert found.peak_a == 90.0


def test_watts_out_of_reach_fail_and_the_most_is_told() -> None:
    """28 V behind 50 mohm gives 3920 W at most: 4000 W fail, and no peak current is given."""
    found = asked_currents(open_v=28.0, ohm=0.05, continuous_w=500.0, peak_w=4000.0)
    check = load_check(found)
    assert check is not None and not check.holds
    assert check.id == "load" and check.limit == pytest.approx(3920.0)
    assert "3920 W" in check.about
    assert found.peak_a is None and found.continuous_a is not None
    fine = load_check(asked_currents(open_v=28.0, ohm=0.05, continuous_w=3900.0))
    assert fine is not None and fine.holds


def test_amps_alone_have_no_operating_point_to_miss() -> None:
    """Nothing is checked where no power is required."""
    assert load_check(asked_currents(open_v=28.0, ohm=0.05, continuous_a=20.0)) is None


def test_braking_into_a_full_pack_by_hand() -> None:
    """20 A through 50 mohm raise 42 V to 43 V; it may start below 41 V; 1 mF rises 20 kV/s."""
    back = regeneration(current_a=20.0, full_v=42.0, ohm=0.05, highest_v=50.0, capacitance_f=0.001)
    assert (back.full_pack_v, back.stop_v) == pytest.approx((43.0, 41.0))
    assert back.open_v_s == pytest.approx(20_000.0)
    assert back.seconds_to_limit == pytest.approx(8.0 / 20_000.0)


def test_braking_without_a_known_capacitance() -> None:
    """Nothing is said of a board that opens."""
    back = regeneration(current_a=20.0, full_v=42.0, ohm=0.05)
    assert back.open_v_s is None and back.seconds_to_limit is None


def test_a_controller_that_cannot_bear_its_own_braking_fails() -> None:
    """43 V against 42.5 V."""
    back = regeneration(current_a=20.0, full_v=42.0, ohm=0.05)
    assert regeneration_volts_check(back, highest_v=43.0).holds
    found = regeneration_volts_check(back, highest_v=42.5)
    assert not found.holds and "41.0 V" in found.remedy


def test_braking_above_the_cells_charge_current_fails() -> None:
    """Four cells of 4.8 A take 19.2 A; a board of 10 A takes 10."""
    assert regeneration_cells_check(current_a=19.2, cell_charge_a=4.8, parallel=4).holds
    assert not regeneration_cells_check(current_a=20.0, cell_charge_a=4.8, parallel=4).holds
    found = regeneration_cells_check(
        current_a=12.0, cell_charge_a=4.8, parallel=4, board_charge_a=10.0
    )
    assert not found.holds and found.limit == 10.0


@pytest.mark.parametrize(
    ("given", "name"),
    [({"ohm": 0.0}, "ohm"), ({"open_v": 0.0}, "open_v"), ({"watts": float("nan")}, "watts")],
)
def test_no_resistance_no_volts_no_number(given: dict[str, float], name: str) -> None:
    """Each is refused by name."""
    with pytest.raises(ValueError, match=f"{name} must be"):
        operating_point(**{"watts": 10.0, "open_v": 10.0, "ohm": 1.0, **given})
