"""A half-sine shock on a mounted pack: how much of its peak the pack feels.

Shock response of one mass on a spring with a damper, its foot moved with a half sine: closed
solution during the pulse, free decay after it (any handbook of vibration). The static equivalent
is the peak times the greatest absolute acceleration over it.
"""

from __future__ import annotations

from functools import cache
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

__all__ = ["DAMPING", "MOST_FACTOR", "half_sine_factor"]

DAMPING = 0.05  # of critical: screwed plastic and metal; common practice, no source
MOST_FACTOR = 1.652  # at that damping, where f D is 0.82: found by this module, tested
SAMPLES = 2001  # over the pulse, and over a period after it: 1e-6 of the peak


@cache
def half_sine_factor(cycles: float, *, damping: float = DAMPING) -> float:
    """Greatest absolute acceleration over the pulse's peak, a ratio.

    ``cycles``: natural frequency times the pulse's duration, f D. Small values: 4 f D (a step in
    speed); large ones: 1 (the pack follows its frame). Raises ValueError for values not above 0, or
    a damping from 0 up to 1 that is outside."""
    if not cycles > 0 or not 0 <= damping < 1:
        raise ValueError(f"cycles must be above 0, damping from 0 to 1, got {cycles}, {damping}")
    if damping == 0.0 and abs(cycles - 0.5) < 1e-6:  # resonance without damping: one step aside
        cycles = 0.5 + 1e-5
    own, forced = 2.0 * pi * cycles, pi  # angular frequencies, the pulse's duration as unit of time
    decay = damping * own
    a, b = own**2 - forced**2, 2.0 * decay * forced
    p, q = -a / (a**2 + b**2), b / (a**2 + b**2)  # z = p sin + q cos, relative to the foot
    during = np.linspace(0.0, 1.0, SAMPLES)
    free = _free(during, -q, -p * forced, own=own, damping=damping)
    moved = p * np.sin(forced * during) + q * np.cos(forced * during) + free[0]
    speed = forced * (p * np.cos(forced * during) - q * np.sin(forced * during)) + free[1]
    after = _free(
        np.linspace(0.0, 1.0 / cycles, SAMPLES), moved[-1], speed[-1], own=own, damping=damping
    )
    felt = [2.0 * decay * v + own**2 * z for z, v in ((moved, speed), after)]
    return float(max(np.abs(one).max() for one in felt))


def _free(
    at: NDArray[np.float64], moved: float, speed: float, *, own: float, damping: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Free decay from where it is and how fast: shift and speed at moments."""
    decay, ringing = damping * own, own * sqrt(1.0 - damping**2)
    second = (speed + decay * moved) / ringing
    fade, c, s = np.exp(-decay * at), np.cos(ringing * at), np.sin(ringing * at)
    shift = fade * (moved * c + second * s)
    return shift, fade * (ringing * (second * c - moved * s)) - decay * shift
