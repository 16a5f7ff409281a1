"""How much load a set of brackets can bear at all, along and about each axis: limit loads.

By linear programming: forces within their caps that balance the load. That takes for granted that
brackets share the load at will, which print does not do: it tells whether a pack is held, never
how well. Once more without friction: what rubs never holds alone."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.optimize import linprog

from layouts.brackets.holding import FrameHold, HeldBody
from layouts.mounting.elastic import rows_of
from layouts.physics import GRAVITY_M_S2

__all__ = ["level_shortfall", "limit_loads"]

MOST_N = 1e6  # far more than any bracket bears: the programme needs an end


def limit_loads(
    body: HeldBody,
    chosen: Sequence[FrameHold],
    *,
    friction: bool = True,
    axes: Sequence[int] = range(6),
) -> tuple[tuple[float, float], ...]:
    """(+, -) for each axis: force [N] for 0 to 2, moment about the centre of gravity [N m] for 3 to
    5; 0 where it is not held at all."""
    rows, length = rows_of(body, chosen), body.half_diagonal_mm
    fixed = np.zeros(len(rows.slips), dtype=np.bool_) if friction else rows.slips
    bounds = [
        (0.0, 0.0) if still else (low, high)
        for low, high, still in zip(rows.least, rows.most, fixed, strict=True)
    ]
    found = []
    for axis in axes:
        both = []
        for sign in (1.0, -1.0):
            load = np.zeros(6)
            load[axis] = sign if axis < 3 else sign * 1000.0 / length
            answer = linprog(
                np.append(np.zeros(len(bounds)), -1.0),
                A_eq=np.column_stack([rows.wrenches.T, load]),
                b_eq=np.zeros(6),
                bounds=[*bounds, (0.0, MOST_N)],
            )
            both.append(max(0.0, float(answer.x[-1])) if answer.status == 0 else 0.0)
        found.append((both[0], both[1]))
    return tuple(found)


def level_shortfall(body: HeldBody, chosen: Sequence[FrameHold]) -> tuple[int, float, float] | None:
    """The level axis along which holds without friction bear least of the load: (axis, limit and
    load in N); None where they bear all of it."""
    limits = limit_loads(body, chosen, friction=False, axes=(0, 1))
    loads = [body.mass_kg * GRAVITY_M_S2 * body.load_g[axis] for axis in (0, 1)]
    short = [
        (min(limit) / load, axis, min(limit), load)
        for axis, (limit, load) in enumerate(zip(limits, loads, strict=True))
        if min(limit) < load
    ]
    return None if not short else min(short)[1:]
