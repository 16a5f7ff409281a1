"""Poses made better step by step: first among points far apart, the best of them closely."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.fitting.body import PackBody
from layouts.fitting.obstacles import Obstacle
from layouts.fitting.posing import Posed, let_down, posed
from layouts.fitting.refine import ObstacleSamples, Refiner
from layouts.fitting.turns import oddness, straight
from layouts.fitting.voxels import Place
from layouts.pack import Side

__all__ = ["BENT", "ENOUGH_MM", "EQUAL_MM", "MEASURED", "Climber", "Reached", "rank"]

FloatArray = NDArray[np.float64]
Bounds = tuple[FloatArray, FloatArray]

ENOUGH_MM = 5.0  # with such a gap a pack is not turned off the right angle for more
# and where nothing but bodies to stay out of bounds a space, it stands centrally rather than
# ever farther off them
BENT = 2  # of the refined poses the other ways for the wires are tried at
MEASURED = 2  # of all those
EQUAL_MM = 0.05  # poses whose gaps differ by less are equally good: the more usual one is taken
COARSE_GAIN_MM = 0.02  # while poses are compared, less is not worth another step
CLOSE_GAIN_MM = 2e-4
COARSE_MM = 10.0  # points of bodies so far apart while poses are compared
CLOSE_MM = 5.0  # and for the last steps


@dataclass(frozen=True, slots=True, eq=False)
class Reached:
    """A pose (4, 4) with its gap among points far apart, the axes it may still be turned about,
    and the way its wires turn."""

    gap_mm: float
    pose: FloatArray
    axes: tuple[int, ...]
    bend_to: str


def rank(one: Reached, side: Side) -> tuple[object, ...]:
    """Larger gaps first, in steps of ``EQUAL_MM``; of equal ones the more usual stand."""
    return -round(one.gap_mm / EQUAL_MM), *oddness(one.pose[:3, :3], side)


class Climber:
    """A pack's bodies, one for each way that its wires turn, in a field of obstacles."""

    def __init__(
        self,
        bodies: Mapping[str, PackBody],
        obstacles: Sequence[Obstacle],
        bounds_mm: Bounds | None,
    ) -> None:
        """``bounds_mm``: box that the body's middle stays in, where no free space bounds it."""
        self.bodies = bodies
        self.obstacles = obstacles
        self.enough_mm = np.inf if bounds_mm is None else ENOUGH_MM
        self._bounds = bounds_mm
        self._far = ObstacleSamples(obstacles, size_mm=COARSE_MM)
        self._near: ObstacleSamples | None = None
        self._rough: dict[str, Refiner] = {}
        self._fine: dict[str, Refiner] = {}

    def start(self, place: Place) -> FloatArray:
        """The pose (4, 4) of a rough place."""
        pose = np.eye(4)
        pose[:3, :3], pose[:3, 3] = place.turn, place.shift_mm
        return pose

    def roughly(
        self, pose: FloatArray, bend_to: str, *, axes: tuple[int, ...], step_mm: float
    ) -> Reached:
        """The best pose nearby, shifted, and turned about axes."""
        if bend_to not in self._rough:
            self._rough[bend_to] = Refiner(
                self.bodies[bend_to], self._far, settle_mm=COARSE_GAIN_MM, enough_mm=self.enough_mm
            )
        pose, gap = self._rough[bend_to].improved(
            pose, axes=axes, step_mm=step_mm, bounds_mm=self._bounds
        )
        return Reached(min(gap, self.enough_mm), pose, axes, bend_to)

    def other_bends(self, found: Sequence[Reached]) -> list[Reached]:
        """The same poses with the wires turned all other ways, shifted as that asks for."""
        out = []
        for bend in self.bodies:
            for one in found:
                if one.bend_to != bend:
                    there = self.roughly(one.pose, bend, axes=(), step_mm=4.0)
                    out.append(Reached(there.gap_mm, there.pose, one.axes, bend))
        return out

    def closely(self, one: Reached) -> FloatArray:
        """The best pose nearby; a straight one stays straight and is centred."""
        if self._near is None:
            self._near = ObstacleSamples(self.obstacles, size_mm=CLOSE_MM, like=self._far)
        if one.bend_to not in self._fine:
            self._fine[one.bend_to] = Refiner(
                self.bodies[one.bend_to],
                self._near,
                settle_mm=CLOSE_GAIN_MM,
                enough_mm=self.enough_mm,
            )
        square = straight(one.pose[:3, :3])
        pose, _ = self._fine[one.bend_to].improved(
            one.pose,
            axes=() if square else one.axes,
            step_mm=0.5,
            bounds_mm=self._bounds,
            centred=square,
        )
        return pose

    def measured(self, pose: FloatArray, bend_to: str) -> Posed:
        """Measured exactly, let down to the floor."""
        body = self.bodies[bend_to]
        return let_down(posed(body, self.obstacles, pose, bend_to=bend_to), body, self.obstacles)
