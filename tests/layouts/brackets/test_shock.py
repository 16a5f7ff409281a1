"""Half-sine shock: tabled factors, another integrator, and the two ends of the spectrum."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from layouts.brackets.shock import DAMPING, MOST_FACTOR, half_sine_factor


def integrated(cycles: float, damping: float) -> float:
    """The same by Runge-Kutta: z'' + 2 d w z' + w^2 z = -sin(pi t) over a pulse of 1 s."""
    own = 2.0 * math.pi * cycles

    def rate(t: float, state: np.ndarray) -> list[float]:
        moved, speed = state
        foot = math.sin(math.pi * t) if t < 1.0 else 0.0
        return [speed, -2.0 * damping * own * speed - own**2 * moved - foot]

    step = min(1.0, 1.0 / cycles) / 100.0
    end = 1.0 + 1.0 / cycles
    found = solve_ivp(rate, (0.0, end), [0.0, 0.0], rtol=1e-8, atol=1e-12, max_step=step).y
    return float(np.abs(2.0 * damping * own * found[1] + own**2 * found[0]).max())


@pytest.mark.parametrize("cycles", [0.1, 0.5, 0.82, 2.5])
@pytest.mark.parametrize("damping", [0.0, DAMPING])
def test_another_integrator_agrees(cycles: float, damping: float) -> None:
    """To a thousandth of the peak."""
    expected = pytest.approx(integrated(cycles, damping), abs=1e-3)
    assert half_sine_factor(cycles, damping=damping) == expected


def test_the_peak_of_the_spectrum() -> None:
    """Undamped 1.77 near 0.81, a handbook figure, from memory; damped the constant here."""
    free = minimize_scalar(lambda c: -half_sine_factor(c, damping=0.0), bounds=(0.6, 1.1))
    assert -free.fun == pytest.approx(1.77, abs=0.005) and free.x == pytest.approx(0.81, abs=0.01)
    damped = minimize_scalar(lambda c: -half_sine_factor(c), bounds=(0.6, 1.1))
    assert -damped.fun == pytest.approx(MOST_FACTOR, abs=5e-4)
    assert max(half_sine_factor(c) for c in np.geomspace(0.01, 30.0, 60)) <= MOST_FACTOR


def test_the_ends_of_the_spectrum() -> None:
    """A slow pack feels a step in speed, 2/pi of peak times duration: 4 f D; a stiff one 1."""
    assert half_sine_factor(0.01, damping=0.0) == pytest.approx(0.04, rel=2e-3)
    assert half_sine_factor(40.0) == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize(("cycles", "damping"), [(0.0, 0.05), (-1.0, 0.05), (1.0, 1.0)])
def test_what_has_no_answer_is_refused(cycles: float, damping: float) -> None:
    """No frequency, or no ringing."""
    with pytest.raises(ValueError, match="cycles"):
        half_sine_factor(cycles, damping=damping)
