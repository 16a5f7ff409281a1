"""The whole answer to "does it fit": pose, clearances, insertion paths, what to shrink."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.fitting.body import PackBody
from layouts.fitting.fit import SpaceFit, fit_as_given, fit_in_space
from layouts.fitting.obstacles import Obstacle, obstacles_of
from layouts.fitting.posing import Posed, posed
from layouts.fitting.shrink import Shrink, shrinks
from layouts.fitting.way_in import Travel, travels
from layouts.pack import Side
from layouts.spaces.space import Space

__all__ = ["FitResult", "verdict"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FitResult:
    """What is reported of a pack in a space.

    ``servicing``: service clearances at the same pose, each by its name; ``travels``: all straight
    ways out of the place, the free ones first (none where the pack does not fit); ``shrinks``: for
    each of the pack's axes by how much less it would fit (none where it does)."""

    fit: SpaceFit
    obstacles: tuple[Obstacle, ...]
    servicing: tuple[tuple[str, Posed], ...]
    travels: tuple[Travel, ...]
    shrinks: tuple[Shrink, ...]

    @property
    def way_in(self) -> Travel | None:
        """A straight path, reversed: the pack goes in against ``way``; None where there is none."""
        return next((one for one in self.travels if one.free_mm is None), None)

    @property
    def words(self) -> str:
        """The verdict with its tightest spot, in one line."""
        tightest, gap = self.fit.best.tightest, self.fit.smallest_gap_mm
        x, y, z = (round(value, 1) + 0.0 for value in tightest.at_mm)
        what = f"{tightest.ours} against {tightest.theirs}"
        if gap >= 0.0:
            return f"fits: smallest gap {gap:.2f} mm, {what}, at ({x:g}, {y:g}, {z:g})"
        return f"does not fit: {what}, interferes by {-gap:.2f} mm, at ({x:g}, {y:g}, {z:g})"


def verdict(
    bodies: Mapping[str, PackBody],
    servicing: Mapping[str, PackBody],
    space: Space,
    *,
    side: Side = Side.PLUS_X,
    upright: bool = False,
    given: NDArray[np.float64] | None = None,
) -> FitResult:
    """Search the pose and report all of it; see ``fit_in_space`` for what is given.

    ``servicing``: bodies of the service clearances, by name. ``given`` (4, 4): the pose that the
    pack was planned for; none other is looked for."""
    obstacles = obstacles_of(space)
    if given is None:
        fit = fit_in_space(bodies, space, side=side, upright=upright, obstacles=obstacles)
    else:
        fit = fit_as_given(bodies, obstacles, given)
    body = bodies[fit.best.bend_to]
    fits = fit.best.fits
    return FitResult(
        fit=fit,
        obstacles=obstacles,
        servicing=tuple((name, posed(one, obstacles, fit.pose)) for name, one in servicing.items()),
        travels=travels(body, obstacles, fit.pose) if fits else (),
        shrinks=() if fits else shrinks(body, obstacles, fit.pose),
    )
