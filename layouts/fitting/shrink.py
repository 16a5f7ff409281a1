"""By how much a pack that does not fit would have to be smaller, along each of its own axes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from layouts.fitting.body import PackBody
from layouts.fitting.gap import moved
from layouts.fitting.obstacles import Obstacle
from layouts.fitting.refine import thinned

__all__ = ["Shrink", "shrink_words", "shrinks"]

FloatArray = NDArray[np.float64]

NAMES = ("length (x)", "width (y)", "height (z)")
MOST = 0.5  # a pack that must lose more of a side than this is another pack
ROUNDS = 12
STEP_MM = 25.0  # that the pack is shifted in a round at most
POINTS_MM = 8.0
CLOSE_MM = 0.02  # rounds end when no point overlaps by more


@dataclass(frozen=True, kw_only=True, slots=True)
class Shrink:
    """``less_mm`` taken off the pack's side along its own ``axis``, evenly, would let it fit.

    None where no half of it would. About right: parts are scaled, and judged by their points.
    """

    axis: int
    less_mm: float | None

    @property
    def words(self) -> str:
        """In words."""
        assert self.less_mm is not None
        return f"about {self.less_mm:.1f} mm less in the pack's {NAMES[self.axis]}"


def shrinks(body: PackBody, obstacles: Sequence[Obstacle], pose: FloatArray) -> tuple[Shrink, ...]:
    """For each of the pack's axes, those that help first, the least first."""
    points = np.vstack([body.hull, thinned(body.points, body.middle_mm, POINTS_MM)])
    found = [
        Shrink(axis=axis, less_mm=_less_mm(points, body, obstacles, pose, axis))
        for axis in range(3)
    ]
    return tuple(sorted(found, key=lambda one: np.inf if one.less_mm is None else one.less_mm))


def shrink_words(found: Sequence[Shrink]) -> list[str]:
    """One phrase of those that would do, none where none does."""
    words = [one.words for one in found if one.less_mm is not None]
    return [f"it would fit with {', or '.join(words)}"] if words else []


def _less_mm(
    points: FloatArray,
    body: PackBody,
    obstacles: Sequence[Obstacle],
    pose: FloatArray,
    axis: int,
) -> float | None:
    """Rounds of a linear program: the least shrinking, with any shift, that clears all points."""
    side = float(body.high_mm[axis] - body.low_mm[axis])
    less, shift = 0.0, np.zeros(3)
    along = pose[:3, axis]
    for _ in range(ROUNDS):
        scaled = points.copy()
        off = scaled[:, axis] - body.middle_mm[axis]
        scaled[:, axis] -= off * less / side
        there = moved(scaled, pose) + shift
        gaps, ways, offs = [], [], []
        for one in obstacles:
            seen = one.surface.signed(there)
            near = seen.distance_mm < STEP_MM
            gaps.append(seen.distance_mm[near])
            ways.append(seen.way[near])
            offs.append(off[near])
            if one.floor:
                gaps.append(there[:, 2])
                ways.append(np.tile((0.0, 0.0, 1.0), (len(there), 1)))
                offs.append(off)
        gap, way, lever = np.concatenate(gaps), np.vstack(ways), np.concatenate(offs)
        if gap.min(initial=0.0) > -CLOSE_MM:
            return less
        # columns: shift x, y, z, shrinking, overlap that is left
        grows = -(lever / side) * (way @ along)
        answer = linprog(
            (0.0, 0.0, 0.0, 1.0, 1e3),
            A_ub=np.column_stack([-way, -grows, -np.ones(len(gap))]),
            b_ub=gap,
            bounds=[
                *[(-STEP_MM, STEP_MM)] * 3, (-less, MOST * side - less), (0.0, None),
            ],
            method="highs",
        )  # fmt: skip
        if answer.x is None:
            return None
        shift = shift + answer.x[:3]
        less += float(answer.x[3])
    return None
