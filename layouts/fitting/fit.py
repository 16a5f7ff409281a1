"""Does a finished pack fit a space: the pose with the largest smallest gap, and what limits it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.fitting.body import PackBody
from layouts.fitting.climbing import BENT, ENOUGH_MM, EQUAL_MM, MEASURED, Climber, Reached, rank
from layouts.fitting.gap import moved
from layouts.fitting.obstacles import Obstacle, obstacles_of
from layouts.fitting.posing import Posed, posed
from layouts.fitting.tilted import TiltedSearch, tilted_poses
from layouts.fitting.turns import GRID_DEG, Turn, lead_way, oddness, turns_of, upright_turns
from layouts.fitting.voxels import Place, best_places
from layouts.pack import Side
from layouts.spaces.space import Space

__all__ = ["Searched", "SpaceFit", "best_pose", "fit_as_given", "fit_in_space"]

FloatArray = NDArray[np.float64]

ROUGH_KEPT = 48  # of all turns, after a look in large voxels
FINE_KEPT = 6  # of those, after a look in small ones
TURN_GAIN_MM = 0.2  # a turn off the right angle must be worth so much, or the pack stands straight
TILT_GAIN_MM = 0.5  # and one about any axis so much


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Searched:
    """Which turns a search began with.

    ``about_one_axis``: about the space's ``axes``, along walls and by steps; ``tilted``: those
    about any axis, None where they were not searched; ``stands``: as it fits on a floor.
    ``planned``: the pose is that of the plan, and none was searched."""

    right_angled: int
    about_one_axis: int
    axes: str
    tilted: TiltedSearch | None
    stands: bool
    planned: bool = False

    @property
    def words(self) -> str:
        """In one line, with what may have been missed."""
        if self.planned:
            return "the pose is the one that the pack was planned for; no other was searched"
        told = (
            f"turns searched: {self.right_angled} at right angles, {self.about_one_axis} about "
            f"{' or '.join(self.axes)} (along walls, and every {GRID_DEG:g} degrees); "
        )
        more = self.tilted
        if more is None:
            told += "none about other axes" + (", as the pack fits on the floor" * self.stands)
        elif not more.refined:
            told += f"{more.by_width} about other axes, in each of which it is too wide"
        else:
            every = f"{more.in_voxels} of them " if more.by_width else ""
            told += f"{more.by_width or more.in_voxels} about other axes"
            told += f", {every}at every place, the best {more.refined} refined about any axis"
        return f"{told}. A pose between these may have been missed"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SpaceFit:
    """How a pack stands in a space, and what is reported of it.

    ``pose`` (4, 4): from the pack's coordinates to the space's, determinant +1.
    ``smallest_gap_mm``: exact to ``TOLERANCE_MM``; negative where it overlaps, measured at points.
    ``size_mm``: the pack's outside as posed. ``searched``: what was searched for it."""

    best: Posed
    size_mm: tuple[float, float, float]
    searched: Searched

    @property
    def pose(self) -> FloatArray:
        """The pose."""
        return self.best.pose

    @property
    def smallest_gap_mm(self) -> float:
        """The smallest gap."""
        return self.best.smallest_gap_mm


def fit_in_space(
    bodies: Mapping[str, PackBody],
    space: Space,
    *,
    side: Side = Side.PLUS_X,
    upright: bool = False,
    tilted: bool = True,
    obstacles: Sequence[Obstacle] | None = None,
) -> SpaceFit:
    """The pose at which the smallest gap of a pack in a space is largest.

    ``bodies``: the pack's body for each way that its wires may turn (one will do). ``side``: where
    the leads should leave, in the space's plan: decides between equally good poses. ``upright``:
    only cells upright with the leads towards ``side``, give or take 45 degrees. ``tilted``: turns
    about any axis too, where without them the pack does not fit or, in a space without a floor,
    has less than ``ENOUGH_MM``. ``obstacles``: the space's own, where available. Raises ValueError
    for a space with neither free space nor body in it."""
    obstacles = obstacles_of(space) if obstacles is None else obstacles
    if not obstacles:
        raise ValueError("a space needs a free space or a body to stay out of")
    low = np.array(space.low_mm)
    box = (low, low + np.array(space.box_mm))
    turns = upright_turns(obstacles, side) if upright else turns_of(obstacles, side)
    bounds = None if any(one.room for one in obstacles) else box
    climber = Climber(bodies, obstacles, bounds)
    matrices = [turn.matrix for turn in turns]
    places = best_places(
        next(iter(bodies.values())), obstacles, matrices,
        box_mm=box, keep=(ROUGH_KEPT, FINE_KEPT), enough_mm=climber.enough_mm,
    )  # fmt: skip
    found = _refined(climber, turns, places, side, upright)
    best = best_pose(found, side, enough_mm=climber.enough_mm)
    held = best.fits and any(one.floor for one in obstacles)
    more = None
    least = best.smallest_gap_mm + TILT_GAIN_MM if best.fits else 0.0
    if tilted and not upright and not held and least < ENOUGH_MM:
        more = tilted_poses(climber, found, np.array(matrices), box, side=side, least_mm=least)
        fitting = [one for one in more.found if one.fits and one.smallest_gap_mm >= least]
        best = best_pose(fitting, side, enough_mm=climber.enough_mm) if fitting else best
    there = moved(bodies[best.bend_to].points, best.pose)
    size = there.max(axis=0) - there.min(axis=0)
    x, y, z = (float(side_mm) for side_mm in size)
    return SpaceFit(best=best, size_mm=(x, y, z), searched=_searched(turns, more, held))


def fit_as_given(
    bodies: Mapping[str, PackBody], obstacles: Sequence[Obstacle], pose: FloatArray
) -> SpaceFit:
    """A pack in an upright pose that is given (4, 4), wires turned the way that leaves most."""
    found = [posed(body, obstacles, pose, bend_to=bend) for bend, body in bodies.items()]
    best = max(found, key=lambda one: one.smallest_gap_mm)
    turn = np.degrees(np.arctan2(pose[1, 0], pose[0, 0])) % 360.0
    best = replace(best, words=f"as planned: upright, turned by {turn:g} degrees in the plan")
    there = moved(bodies[best.bend_to].points, pose)
    x, y, z = (float(side_mm) for side_mm in there.max(axis=0) - there.min(axis=0))
    searched = Searched(
        right_angled=0, about_one_axis=0, axes="", tilted=None, stands=False, planned=True
    )
    return SpaceFit(best=best, size_mm=(x, y, z), searched=searched)


def _searched(turns: Sequence[Turn], more: TiltedSearch | None, held: bool) -> Searched:
    about = [turn for turn in turns if turn.angle_deg != 0.0]
    return Searched(
        right_angled=len(turns) - len(about),
        about_one_axis=len(about),
        axes="".join(sorted({"xyz"[turn.axis] for turn in about})),
        tilted=more,
        stands=held,
    )


def _refined(
    climber: Climber,
    turns: Sequence[Turn],
    places: Sequence[Place],
    side: Side,
    upright: bool,
) -> list[Posed]:
    """The rough places refined with points far apart, the best of them closely and measured."""
    first = next(iter(climber.bodies))
    poses: list[Reached] = []
    for place in sorted(places, key=lambda one: turns[one.number].angle_deg != 0.0):
        turn = turns[place.number]
        most = max((one.gap_mm for one in poses), default=-np.inf)
        if (turn.angle_deg != 0.0 and most >= ENOUGH_MM) or place.promise_mm < most:
            continue
        start = climber.roughly(climber.start(place), first, axes=(), step_mm=5.0)
        poses.append(replace(start, axes=(turn.axis,)))
        if turn.angle_deg == 0.0 and start.gap_mm >= ENOUGH_MM:
            continue
        more = climber.roughly(start.pose, first, axes=(turn.axis,), step_mm=4.0)
        if upright and not _leads_leave(more.pose, side):
            continue
        if more.gap_mm > start.gap_mm + (TURN_GAIN_MM if turn.angle_deg == 0.0 else 0.0):
            poses.append(more)
    poses = sorted(poses, key=lambda one: rank(one, side))[:BENT]
    poses += climber.other_bends(poses)
    # of equally good ones the first bend comes first
    poses.sort(key=lambda one: rank(one, side))
    found = []
    for one in poses[:MEASURED]:
        pose = climber.closely(one)
        if upright and not _leads_leave(pose, side):
            pose = one.pose
        found.append(climber.measured(pose, one.bend_to))
    return found


def best_pose(found: Sequence[Posed], side: Side, *, enough_mm: float = np.inf) -> Posed:
    """The largest gap; of those that are as good within ``EQUAL_MM`` the most usual stand.

    More usual: straight, upright, leads towards ``side``. Gaps of ``enough_mm`` and more are
    equally good.
    """
    gaps = [min(one.smallest_gap_mm, enough_mm) for one in found]
    equal = [
        one
        for one, gap in zip(found, gaps, strict=True)
        if gap >= max(gaps) - EQUAL_MM and (one.fits or max(gaps) < 0.0)
    ]
    return min(equal, key=lambda one: (oddness(one.pose[:3, :3], side), -one.smallest_gap_mm))


def _leads_leave(pose: FloatArray, side: Side) -> bool:
    """Whether the leads leave towards a side of the plan, give or take 45 degrees."""
    return bool(pose[:3, 0] @ lead_way(side) >= np.sqrt(0.5) - 1e-6)
