"""A duty cycle: its means and stretches by hand, its run in balance, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from layouts.errors import PlanError
from layouts.ratings.cycle import DutyCycle, Pulse
from layouts.ratings.run_time import Curve, cycle_time
from layouts.ratings.windows import string_volts

VOLTS = string_volts(series=10, empty_v=2.8, nominal_v=3.6, full_v=4.2)
CYCLE = DutyCycle(amps=(40.0, 30.0, 10.0, 0.0, 30.0), seconds=(5.0, 15.0, 60.0, 10.0, 10.0))


def test_means_worked_by_hand() -> None:
    """100 s: 200 + 450 + 600 + 0 + 300 = 1550 As; 8000 + 13,500 + 6000 + 9000 = 36,500 A2s."""
    assert CYCLE.period_s == 100.0
    assert CYCLE.mean_a == pytest.approx(15.5)
    assert CYCLE.rms_a == pytest.approx(math.sqrt(365.0))


def test_stretches_run_past_the_end_into_the_start() -> None:
    """At 30 A or more: the last 10 s, then 5 and 15 s of the next pass."""
    assert CYCLE.pulses == (Pulse(amps=40.0, seconds=5.0), Pulse(amps=30.0, seconds=30.0))
    twice = DutyCycle(amps=(20.0, 0.0, 20.0, 0.0), seconds=(3.0, 50.0, 7.0, 40.0))
    assert twice.pulses == (Pulse(amps=20.0, seconds=7.0),)


def test_a_constant_current_has_no_pulse() -> None:
    """One row, or rows alike; a row little above the mean is a pulse."""
    assert DutyCycle(amps=(9.0,), seconds=(1.0,)).pulses == ()
    assert DutyCycle(amps=(9.0, 9.0), seconds=(1.0, 4.0)).pulses == ()
    assert [one.amps for one in DutyCycle(amps=(9.1, 9.0), seconds=(1.0, 1.0)).pulses] == [9.1]


@pytest.mark.parametrize("cutoff_v", [None, 30.0, 36.0])
def test_energy_is_in_balance_over_the_run(cutoff_v: float | None) -> None:
    """What leaves the cells by the curve is delivered and lost; charge is current times time."""
    found = cycle_time(CYCLE, volts=VOLTS, capacity_ah=12.0, ohm=0.08, cutoff_v=cutoff_v)
    assert found.taken_wh == pytest.approx(found.given_wh + found.lost_wh, rel=1e-9)
    whole = (found.passes - 1) * 100.0
    assert whole - 1e-6 < found.seconds <= whole + 100.0
    amp_s = (found.passes - 1) * 1550.0
    for amps, seconds in CYCLE.rows:
        held_s = min(max(found.seconds - whole, 0.0), seconds)
        amp_s, whole = amp_s + amps * held_s, whole + seconds
    assert found.charge_ah * 3600.0 == pytest.approx(amp_s, rel=1e-9)
    assert found.ended_by == ("empty" if cutoff_v is None else "cut-off")


def test_the_loss_of_whole_passes_is_that_of_the_root_mean_square() -> None:
    """36,500 A2s x 0.08 ohm a pass; 2790 Ah/3600 is 18 passes, which end just empty."""
    found = cycle_time(CYCLE, volts=VOLTS, capacity_ah=18 * 1550.0 / 3600.0, ohm=0.08)
    assert found.lost_wh == pytest.approx(18 * 36_500.0 * 0.08 / 3600.0, rel=1e-9)
    assert found.seconds == pytest.approx(1800.0)


def test_another_integrator_agrees_on_the_cut_off() -> None:
    """20 A constant from 0.1 ohm: the charge at which the terminals reach 33 V, by Runge-Kutta."""
    curve = Curve(volts=VOLTS, capacity_ah=12.0)

    def low(_: float, left: np.ndarray) -> float:
        return curve.at(float(left[0])) - 2.0 - 33.0

    low.terminal = True  # type: ignore[attr-defined]
    other = solve_ivp(lambda _, __: [-20.0], (0.0, 1.0), [12.0], events=low, rtol=1e-10)
    steady = DutyCycle(amps=(20.0,), seconds=(7.0,))
    found = cycle_time(steady, volts=VOLTS, capacity_ah=12.0, ohm=0.1, cutoff_v=33.0)
    assert found.seconds / 3600.0 == pytest.approx(float(other.t_events[0][0]), rel=1e-6)


def test_amps_that_leave_no_volts_end_the_run() -> None:
    """40 A through 2 ohm is more than the pack's 42 V."""
    found = cycle_time(CYCLE, volts=VOLTS, capacity_ah=12.0, ohm=2.0)
    assert (found.ended_by, found.seconds) == ("no operating point", 0.0)


@pytest.mark.parametrize(
    ("amps", "seconds", "why"),
    [
        ((1.0,), (0.0,), "takes no time"),
        ((1.0, 2.0), (3.0,), "without amps or seconds"),
        ((), (), "without amps or seconds"),
        ((-1.0, 5.0), (3.0, 3.0), "below 0"),
        ((0.0, 0.0), (3.0, 3.0), "takes no current"),
    ],
)
def test_what_has_no_mean_is_refused(
    amps: tuple[float, ...], seconds: tuple[float, ...], why: str
) -> None:
    """Each by the key of the pack file."""
    with pytest.raises(PlanError, match=why) as told:
        DutyCycle(amps=amps, seconds=seconds)
    assert told.value.field == "load.cycle"
