"""Run time and range: energy in balance, closed forms, another integrator, and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from layouts.errors import PlanError
from layouts.ratings import run_time as module
from layouts.ratings.profile import Profile, load_profile
from layouts.ratings.run_time import Curve, RunTime, run_time
from layouts.ratings.windows import StringVolts, string_volts

VOLTS = string_volts(series=13, empty_v=2.8, nominal_v=3.6, full_v=4.2)
RIDE = load_profile([0, 60, 90, 120, 150], [450, 1200, -150, 0, 0], [22, 30, 25, 0, 0])


def ran(profile: Profile, *, ohm: float = 0.06, cutoff_v: float | None = None) -> RunTime:
    """A pack of 13S, 18.2 Ah under a profile."""
    return run_time(profile, volts=VOLTS, capacity_ah=18.2, ohm=ohm, cutoff_v=cutoff_v)


@pytest.mark.parametrize("cutoff_v", [None, 36.4, 40.0])
@pytest.mark.parametrize("ohm", [1e-9, 0.06, 0.25])
def test_energy_is_in_balance(ohm: float, cutoff_v: float | None) -> None:
    """What leaves the cells by the curve is what was given and lost, to 1e-9."""
    found = ran(RIDE, ohm=ohm, cutoff_v=cutoff_v)
    assert found.taken_wh == pytest.approx(found.given_wh + found.lost_wh, rel=1e-9)
    assert found.passes > 10 and found.charge_ah > 8.0


def test_without_resistance_the_area_below_the_curve_is_the_energy() -> None:
    """18.2 Ah x (36.4 + 2 x 46.8 + 54.6)/4 V = 839.93 Wh: 400 W last 2.099825 h."""
    found = ran(load_profile([0, 100], [400, 0]), ohm=1e-9)
    assert found.ended_by == "empty"
    assert found.taken_wh == pytest.approx(839.93, rel=1e-9)
    assert found.seconds / 3600 == pytest.approx(839.93 / 400, rel=1e-6)


def test_another_integrator_agrees() -> None:
    """700 W behind 0.1 ohm: dq/dt = -I(q) by an adaptive Runge-Kutta, to 1e-5."""
    curve = Curve(volts=VOLTS, capacity_ah=18.2)

    def rate(_: float, left: np.ndarray) -> list[float]:
        open_v = curve.at(float(left[0]))
        return [-(open_v - (open_v**2 - 4 * 0.1 * 700.0) ** 0.5) / 0.2]

    def empty(_: float, left: np.ndarray) -> float:
        return float(left[0])

    empty.terminal = True  # type: ignore[attr-defined]
    other = solve_ivp(rate, (0.0, 5.0), [18.2], events=empty, rtol=1e-10, atol=1e-10)
    found = ran(load_profile([0, 1000], [700, 0]), ohm=0.1)
    assert found.seconds / 3600 == pytest.approx(float(other.t_events[0][0]), rel=1e-5)


def test_steps_are_fine_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten times finer steps change the time by less than 1e-5."""
    profile = load_profile([0, 10_000], [900, 0])
    coarse = ran(profile, ohm=0.1)
    monkeypatch.setattr(module, "STEPS_OF_CHARGE", 4000)
    assert coarse.seconds == pytest.approx(ran(profile, ohm=0.1).seconds, rel=1e-5)


def test_range_is_speed_times_time() -> None:
    """A steady 25 km/h: kilometres are hours x 25; without speed there are none."""
    steady = ran(load_profile([0, 60], [300, 0], [25, 0]))
    assert steady.distance_km == pytest.approx(25 * steady.seconds / 3600, rel=1e-12)
    assert ran(load_profile([0, 60], [300, 0])).distance_km is None


def test_rest_costs_time_and_no_charge() -> None:
    """As long at rest as under load: twice the time, the same charge."""
    busy = ran(load_profile([0, 60], [400, 0]))
    lazy = ran(load_profile([0, 60, 120], [400, 0, 0]))
    assert lazy.seconds == pytest.approx(2 * busy.seconds, abs=61.0)
    assert lazy.charge_ah == pytest.approx(busy.charge_ah, rel=1e-9)


def test_the_cut_off_is_met_exactly() -> None:
    """A steady load ends where volts under load are the limit, with charge left."""
    found = ran(load_profile([0, 60], [700, 0]), cutoff_v=40.0)
    assert found.ended_by == "cut-off"
    assert found.lowest_v == pytest.approx(40.0, rel=1e-12)
    left = Curve(volts=VOLTS, capacity_ah=18.2).at(18.2 - found.charge_ah)
    assert left == pytest.approx(40.0 + 0.06 * 700.0 / 40.0, abs=0.01)


def test_more_resistance_ends_sooner() -> None:
    """Loss and sag: less time and less given with each."""
    found = [ran(RIDE, ohm=ohm, cutoff_v=36.4) for ohm in (0.02, 0.06, 0.12)]
    assert found[0].seconds > found[1].seconds > found[2].seconds
    assert found[0].given_wh > found[1].given_wh > found[2].given_wh


def test_watts_out_of_reach_end_the_run() -> None:
    """1200 W behind 0.5 ohm: at 48.99 V there is no operating point left."""
    found = ran(load_profile([0, 60], [1200, 0]), ohm=0.5)
    assert found.ended_by == "no operating point"
    left = Curve(volts=VOLTS, capacity_ah=18.2).at(18.2 - found.charge_ah)
    assert left == pytest.approx((4 * 0.5 * 1200.0) ** 0.5, rel=5e-3)


def test_a_full_pack_refuses_what_is_given_back() -> None:
    """The first descent comes before any use: 200 W for 36 s are 2 Wh refused."""
    found = run_time(
        load_profile([0, 36, 3636], [-200, 300, 0]),
        volts=VOLTS,
        capacity_ah=18.2,
        ohm=0.06,
        repeat=False,
    )
    assert found.refused_wh == pytest.approx(2.0, rel=1e-9)
    assert (found.ended_by, found.passes) == ("end of profile", 1)
    assert found.seconds == pytest.approx(3636.0, rel=1e-12)
    assert found.given_wh == pytest.approx(300.0, rel=1e-9)


def test_what_is_given_back_is_used_again() -> None:
    """A pack brought back to full by braking takes no more; the rest is refused, the sum agrees."""
    found = run_time(
        load_profile([0, 360, 1080], [300, -200, 0]),
        volts=VOLTS,
        capacity_ah=18.2,
        ohm=0.06,
        repeat=False,
    )
    assert found.charge_ah == pytest.approx(0.0, abs=1e-12)
    assert found.given_wh < 0.0  # losses are made up by what came back
    assert found.given_wh == pytest.approx(30.0 - (40.0 - found.refused_wh), rel=1e-9)
    assert found.taken_wh == pytest.approx(found.given_wh + found.lost_wh, abs=1e-9)


def test_the_curve_passes_its_three_points() -> None:
    """Full, nominal at half, empty; its area is that of two trapezes."""
    curve = Curve(volts=VOLTS, capacity_ah=10.0)
    assert [curve.at(q) for q in (10.0, 5.0, 0.0)] == pytest.approx([54.6, 46.8, 36.4])
    assert curve.energy_wh(10.0) == pytest.approx(5 * (54.6 + 46.8) / 2 + 5 * (46.8 + 36.4) / 2)
    assert curve.energy_wh(2.5) == pytest.approx(2.5 * (36.4 + 41.6) / 2)


def test_a_load_that_takes_nothing_has_no_end() -> None:
    """Rest only, and braking only: reported, not run without end."""
    for watts in (0.0, -100.0):
        with pytest.raises(PlanError, match=r"load\.profile: takes no more .* never ends"):
            ran(load_profile([0, 60], [watts, 0]))


def test_too_many_steps_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A profile of short rows and few watts runs into the budget of steps."""
    monkeypatch.setattr(module, "MOST_STEPS", 50)
    with pytest.raises(PlanError, match="takes more than 50 steps"):
        ran(load_profile([0, 1, 2], [10, 10, 0]))


def test_a_cut_off_above_full_is_refused() -> None:
    """60 V for a pack of 54.6 V."""
    with pytest.raises(PlanError, match=r"load\.discharge_cutoff_v: is not below the full pack"):
        ran(RIDE, cutoff_v=60.0)


def test_zero_resistance_and_no_charge_are_refused() -> None:
    """Named as they are everywhere."""
    with pytest.raises(ValueError, match="ohm must be above zero"):
        ran(RIDE, ohm=0.0)
    flat = StringVolts(empty_v=36.4, nominal_v=46.8, full_v=54.6)
    with pytest.raises(ValueError, match="capacity_ah must be above zero"):
        run_time(RIDE, volts=flat, capacity_ah=0.0, ohm=0.06)
