"""A body at a pose: measured, told in words, let down to the floor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.fitting.body import PackBody
from layouts.fitting.gap import TOLERANCE_MM, Gap, exact_gap, moved
from layouts.fitting.obstacles import Obstacle
from layouts.fitting.turns import turn_words

__all__ = ["Posed", "Tightest", "let_down", "posed"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Tightest:
    """The tightest spot: points in the space's coordinates, on the pack and on what is nearest.

    ``ours``: the part or need; ``theirs``: the free space's wall or the name of what to stay out
    of."""

    at_mm: tuple[float, float, float]
    other_mm: tuple[float, float, float]
    ours: str
    theirs: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Posed:
    """A pack at a pose (4, 4) in a space: gap (negative: how deep it overlaps) and tightest spot.

    ``bend_to``: the way the wires turn behind their glands.
    """

    pose: FloatArray
    smallest_gap_mm: float
    tightest: Tightest
    bend_to: str
    words: str
    gap: Gap

    @property
    def fits(self) -> bool:
        """Whether nothing overlaps; touching is allowed."""
        return self.smallest_gap_mm >= 0.0


def posed(
    body: PackBody, obstacles: Sequence[Obstacle], pose: FloatArray, *, bend_to: str = ""
) -> Posed:
    """A body at a pose, measured exactly."""
    gap = exact_gap(body, obstacles, pose)
    if abs(gap.gap_mm) <= TOLERANCE_MM:
        gap = replace(gap, gap_mm=max(gap.gap_mm, 0.0))
    theirs = "the floor of the space"
    if gap.obstacle >= 0:
        theirs = obstacles[gap.obstacle].named(gap.obstacle_face)
    return Posed(
        pose=pose,
        smallest_gap_mm=gap.gap_mm,
        tightest=Tightest(
            at_mm=_point(gap.at_mm),
            other_mm=_point(gap.other_mm),
            ours=body.name_of(gap.face),
            theirs=theirs,
        ),
        bend_to=bend_to,
        words=turn_words(pose[:3, :3]),
        gap=gap,
    )


def _point(point: FloatArray) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in point)
    return x, y, z


def let_down(found: Posed, body: PackBody, obstacles: Sequence[Obstacle]) -> Posed:
    """The pack stands on the floor, where there is one and that makes no gap smaller."""
    above = float(moved(body.hull, found.pose)[:, 2].min())
    if above == 0.0 or not found.fits or not any(one.floor for one in obstacles):
        return found
    pose = found.pose.copy()
    pose[2, 3] -= above
    down = posed(body, obstacles, pose, bend_to=found.bend_to)
    return down if down.smallest_gap_mm >= found.smallest_gap_mm - TOLERANCE_MM else found
