"""The hottest moment of a duty cycle until the pack is empty.

Cells warm over many minutes. A cycle that repeats often warms the pack as its root mean square
does, and its last passes are then followed step by step on top of that; one that repeats a few
times is followed from the start.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from layouts.checks import Check
from layouts.heat.model import HeatModel, at_load
from layouts.heat.rating import SOURCE
from layouts.heat.temperature_limits import TemperatureLimits
from layouts.heat.warming import at_rest, state_of, stepped_through, warmed
from layouts.ratings.cycle import DutyCycle

__all__ = ["CycleHeat", "cycle_heat", "cycle_temperature_check"]

FOLLOWED = 12  # passes that are followed from the start
LAST = 3  # passes that are followed at the end of many
STEPS_A_ROW = 16  # at most; a row needs no steps shorter than
STEP_S = 5.0  # this, since cells take minutes
NO_TIME = 1e-9  # of a run: rounding of sums


@dataclass(frozen=True, kw_only=True, slots=True)
class CycleHeat:
    """The hottest can in a cycle run from full to empty: ``hottest_c``, which (``cell``, from 0),
    and after ``at_s``. ``passes``: how often the cycle runs until then, the last one in part."""

    hottest_c: float
    cell: int
    at_s: float
    passes: float


def cycle_heat(model: HeatModel, cycle: DutyCycle, *, charge_ah: float) -> CycleHeat:
    """From rest at ambient until the charge is out at the cycle's mean current.

    Each row in steps of a sixteenth or of some seconds; the last rows end where the charge does.
    """
    total_s = 3600.0 * charge_ah / cycle.mean_a
    passes = total_s / cycle.period_s
    state, at_s, until_s = at_rest(model), 0.0, total_s
    if passes > FOLLOWED:
        at_s = (math.ceil(passes) - LAST) * cycle.period_s
        until_s = at_s + LAST * cycle.period_s
        state = state_of(model, warmed(at_load(model, cycle.rms_a), at_s))
    best = CycleHeat(
        hottest_c=model.ambient_c + float(state.cell_k.max()),
        cell=int(np.argmax(state.cell_k)),
        at_s=at_s,
        passes=passes,
    )
    rows = _rows_of(cycle, until_s - at_s)
    lengths = [seconds / steps for _, seconds, steps in rows for _ in range(steps)]
    states = stepped_through(model, rows, start=state)
    for length, one in zip(lengths, states, strict=True):
        at_s += length
        hottest_c = model.ambient_c + float(one.cell_k.max())
        if hottest_c > best.hottest_c:
            best = CycleHeat(
                hottest_c=hottest_c, cell=int(np.argmax(one.cell_k)), at_s=at_s, passes=passes
            )
    return best


def _rows_of(cycle: DutyCycle, seconds: float) -> list[tuple[float, float, int]]:
    """(amps, seconds, steps) of the cycle's rows, again and again, for so many seconds."""
    rows: list[tuple[float, float, int]] = []
    left_s = seconds
    while left_s > NO_TIME * seconds:
        for amps, row_s in cycle.rows:
            held_s = min(row_s, left_s)
            if held_s > NO_TIME * seconds:
                rows.append((amps, held_s, min(STEPS_A_ROW, math.ceil(held_s / STEP_S))))
            left_s -= held_s
    return rows


def cycle_temperature_check(of: CycleHeat, limits: TemperatureLimits) -> Check:
    """The hottest cell of the cycle against what cells and plastic withstand."""
    return Check(
        id="cycle_temperature",
        about=f"hottest cell while the duty cycle runs until the pack is empty ({of.passes:.3g} "
        f"times), against the limit of the {limits.named}",
        holds=of.hottest_c <= limits.lowest_c,
        value=of.hottest_c,
        limit=limits.lowest_c,
        unit="\N{DEGREE SIGN}C",
        source=SOURCE,
        remedy="more cells in parallel, cells of lower resistance, lower or shorter pulses, or "
        "longer rests (load.cycle)",
        at_least=False,
        where=f"cell {of.cell + 1}",
    )
