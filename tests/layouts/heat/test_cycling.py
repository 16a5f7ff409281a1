"""The hottest moment of a duty cycle: against a general integrator, and against every step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from layouts.heat import cycling as module
from layouts.heat.cycling import cycle_heat
from layouts.heat.model import at_load, network_of
from layouts.heat.warming import warmed
from layouts.ratings.cycle import DutyCycle
from tests.layouts.heat.models import honeycomb_model


@pytest.mark.parametrize(
    "cycle",
    [
        DutyCycle(amps=(12.0, 2.0), seconds=(400.0, 800.0)),
        DutyCycle(amps=(2.0, 14.0, 0.0), seconds=(60.0, 20.0, 40.0)),
    ],
    ids=["a few long passes", "many short passes"],
)
def test_a_general_integrator_finds_the_same_peak(cycle: DutyCycle) -> None:
    """One cell in still air, C dT/dt = q(t) - G T row by row: the highest end of a row, to 3 %."""
    model = honeycomb_model(1, 1, cell_w=0.6, cased=False)  # 0.6 W at 5 A
    w_k = float(network_of(model).held_w_k[0])
    charge_ah, kelvin, seconds, most = 2.0, 0.0, 0.0, 0.0
    total_s = 3600.0 * charge_ah / cycle.mean_a
    while seconds < total_s:
        for amps, row_s in cycle.rows:
            watt = 0.6 * (amps / 5.0) ** 2

            def rate(_: float, at: np.ndarray, watt: float = watt) -> np.ndarray:
                return np.asarray((watt - w_k * at) / 70.0)

            held_s = min(row_s, total_s - seconds) if total_s < 12 * cycle.period_s else row_s
            if held_s <= 0.0:
                break
            held = solve_ivp(rate, (0.0, held_s), [kelvin], rtol=1e-8, atol=1e-8)
            kelvin, seconds = float(held.y[0, -1]), seconds + row_s
            most = max(most, kelvin)
    found = cycle_heat(model, cycle, charge_ah=charge_ah)
    assert found.hottest_c - 25.0 == pytest.approx(most, rel=0.03)
    assert found.passes == pytest.approx(total_s / cycle.period_s)


def test_the_mean_and_last_passes_stand_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty cells in a box: within 0.3 K of every pass followed."""
    model = honeycomb_model(4, 5)
    cycle = DutyCycle(amps=(60.0, 10.0), seconds=(30.0, 90.0))
    short = cycle_heat(model, cycle, charge_ah=25.0)
    assert short.passes > 20
    monkeypatch.setattr(module, "FOLLOWED", 10_000)
    every = cycle_heat(model, cycle, charge_ah=25.0)
    assert short.hottest_c == pytest.approx(every.hottest_c, abs=0.3)
    assert short.cell == every.cell


def test_a_constant_cycle_is_a_plain_warming() -> None:
    """The same current as one row of a minute: as warm at the end, within 1 % of the rise."""
    model = honeycomb_model(3, 4)
    cycle = DutyCycle(amps=(20.0,), seconds=(60.0,))
    plain = warmed(at_load(model, 20.0), 3600.0 * 16.0 / 20.0).hottest_c
    found = cycle_heat(model, cycle, charge_ah=16.0)
    assert found.hottest_c - 25.0 == pytest.approx(plain - 25.0, rel=0.01)


def test_higher_pulses_of_the_same_mean_are_warmer() -> None:
    """The mean square counts: 40 A for half of the time is warmer than 20 A all the time."""
    model = honeycomb_model(3, 4)
    even = DutyCycle(amps=(20.0,), seconds=(60.0,))
    pulsed = DutyCycle(amps=(40.0, 0.0), seconds=(30.0, 30.0))
    cold = replace(model, ambient_c=5.0)
    warm = [cycle_heat(cold, one, charge_ah=16.0).hottest_c for one in (even, pulsed)]
    assert warm[1] - 5.0 > 1.7 * (warm[0] - 5.0)
