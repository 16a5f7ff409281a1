"""Does a finished pack fit a space: the pose with the largest smallest gap, and what limits it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.fitting.body import PackBody
from layouts.fitting.gap import TOLERANCE_MM, Gap, exact_gap, moved
from layouts.fitting.obstacles import Obstacle, obstacles_of
from layouts.fitting.refine import ObstacleSamples, Refiner
from layouts.fitting.turns import about, turn_words, turns_of, upright_turns
from layouts.fitting.voxels import Place, rough_places
from layouts.pack import Side
from layouts.spaces.space import Space

__all__ = ["Posed", "SpaceFit", "Tightest", "best_pose", "fit_in_space", "posed"]

FloatArray = NDArray[np.float64]

ROUGH_CELLS = 25_000  # every turn is looked at in so many voxels
FINE_CELLS = 150_000  # and the best of them in so many
ROUGH_KEPT = 48
FINE_KEPT = 6
BENT = 2  # of the refined ones the other ways for the wires are tried at
MEASURED = 2  # of all those
ENOUGH_MM = 5.0  # with such a gap a pack is not turned off the right angle for more
# and where nothing but bodies to stay out of bounds a space, it stands centrally rather than
# ever farther off them
TURN_GAIN_MM = 0.2  # a turn off the right angle must be worth so much, or the pack stands straight
EQUAL_MM = 0.05  # poses whose gaps differ by less are equally good: the more usual one is taken
COARSE_GAIN_MM = 0.02  # while poses are compared, less is not worth another step
CLOSE_GAIN_MM = 2e-4
COARSE_MM = 10.0  # points of bodies so far apart while poses are compared
CLOSE_MM = 5.0  # and for the last steps


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


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SpaceFit:
    """How a pack stands in a space, and what is reported of it.

    ``pose`` (4, 4): from the pack's coordinates to the space's, determinant +1.
    ``smallest_gap_mm``: exact to ``TOLERANCE_MM``; negative where it overlaps, measured at points.
    ``size_mm``: the pack's outside as posed."""

    best: Posed
    size_mm: tuple[float, float, float]
    tried: int

    @property
    def pose(self) -> FloatArray:
        """The pose."""
        return self.best.pose

    @property
    def smallest_gap_mm(self) -> float:
        """The smallest gap."""
        return self.best.smallest_gap_mm


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


def fit_in_space(
    bodies: Mapping[str, PackBody],
    space: Space,
    *,
    side: Side = Side.PLUS_X,
    upright: bool = False,
    obstacles: Sequence[Obstacle] | None = None,
) -> SpaceFit:
    """The pose at which the smallest gap of a pack in a space is largest.

    ``bodies``: the pack's body for each way that its wires may turn (one will do). ``side``: where
    the leads should leave, in the space's plan: decides between equally good poses. ``upright``:
    only cells upright with the leads towards ``side``, give or take 45 degrees. ``obstacles``: the
    space's own, where available. Raises ValueError for a space with neither free space nor body in
    it."""
    obstacles = obstacles_of(space) if obstacles is None else obstacles
    if not obstacles:
        raise ValueError("a space needs a free space or a body to stay out of")
    low = np.array(space.low_mm)
    box = (low, low + np.array(space.box_mm))
    body = next(iter(bodies.values()))
    turns = upright_turns(obstacles, side) if upright else turns_of(obstacles, side)
    bounds = None if any(one.room for one in obstacles) else box
    enough = np.inf if bounds is None else ENOUGH_MM
    places = rough_places(
        body, obstacles, turns, box_mm=box, cells=ROUGH_CELLS, keep=ROUGH_KEPT, enough_mm=enough
    )
    places = rough_places(
        body, obstacles, [place.turn for place in places], box_mm=box, cells=FINE_CELLS,
        keep=FINE_KEPT, enough_mm=enough,
    )  # fmt: skip
    found = _refined(bodies, obstacles, places, bounds, side, upright)
    best = best_pose(found, side, enough_mm=enough)
    there = moved(bodies[best.bend_to].points, best.pose)
    size = there.max(axis=0) - there.min(axis=0)
    return SpaceFit(best=best, size_mm=_point(size), tried=len(turns))


def _refined(
    bodies: Mapping[str, PackBody],
    obstacles: Sequence[Obstacle],
    places: Sequence[Place],
    bounds: tuple[FloatArray, FloatArray] | None,
    side: Side,
    upright: bool,
) -> list[Posed]:
    """The rough places refined with points far apart, the best of them closely and measured."""
    first = next(iter(bodies))
    enough = np.inf if bounds is None else ENOUGH_MM
    samples = ObstacleSamples(obstacles, size_mm=COARSE_MM)
    rough = Refiner(bodies[first], samples, settle_mm=COARSE_GAIN_MM, enough_mm=enough)
    poses: list[tuple[float, FloatArray, int, str]] = []
    for place in sorted(places, key=lambda one: one.turn.angle_deg != 0.0):
        turn = place.turn
        pose = np.eye(4)
        pose[:3, :3], pose[:3, 3] = turn.matrix, place.shift_mm
        most = max((gap for gap, *_ in poses), default=-np.inf)
        if (turn.angle_deg != 0.0 and most >= ENOUGH_MM) or place.promise_mm < most:
            continue
        pose, gap = rough.improved(pose, axis=None, step_mm=5.0, bounds_mm=bounds)
        poses.append((min(gap, enough), pose, turn.axis, first))
        if turn.angle_deg == 0.0 and gap >= ENOUGH_MM:
            continue
        turned, more = rough.improved(pose, axis=turn.axis, step_mm=4.0, bounds_mm=bounds)
        if upright and not _leads_leave(turned, side):
            continue
        if more > gap + (TURN_GAIN_MM if turn.angle_deg == 0.0 else 0.0):
            poses.append((min(more, enough), turned, turn.axis, first))
    poses = sorted(poses, key=lambda one: _rank(one[0], one[1], side))[:BENT]
    for bend in [name for name in bodies if name != first]:
        other = Refiner(bodies[bend], samples, settle_mm=COARSE_GAIN_MM, enough_mm=enough)
        for _, pose, axis, _ in poses[:BENT]:
            pose, gap = other.improved(pose, axis=None, step_mm=4.0, bounds_mm=bounds)
            poses.append((min(gap, enough), pose, axis, bend))
    # of equally good ones the first bend comes first
    poses.sort(key=lambda one: _rank(one[0], one[1], side))
    near = ObstacleSamples(obstacles, size_mm=CLOSE_MM, like=samples)
    found = []
    for _, pose, axis, bend in poses[:MEASURED]:
        fine = Refiner(bodies[bend], near, settle_mm=CLOSE_GAIN_MM, enough_mm=enough)
        straight = _straight(pose[:3, :3])
        at, _ = fine.improved(
            pose, axis=None if straight else axis, step_mm=0.5, bounds_mm=bounds, centred=straight
        )
        if upright and not _leads_leave(at, side):
            at = pose
        found.append(_let_down(posed(bodies[bend], obstacles, at, bend_to=bend), bodies, obstacles))
    return found


def _rank(gap_mm: float, pose: FloatArray, side: Side) -> tuple[object, ...]:
    """Larger gaps first, in steps of ``EQUAL_MM``; of equal ones the more usual stand."""
    return -round(gap_mm / EQUAL_MM), *_oddness(pose[:3, :3], side)


def _let_down(found: Posed, bodies: Mapping[str, PackBody], obstacles: Sequence[Obstacle]) -> Posed:
    """The pack stands on the floor, where there is one and that makes no gap smaller."""
    body = bodies[found.bend_to]
    above = float(moved(body.hull, found.pose)[:, 2].min())
    if above == 0.0 or not found.fits or not any(one.floor for one in obstacles):
        return found
    pose = found.pose.copy()
    pose[2, 3] -= above
    down = posed(body, obstacles, pose, bend_to=found.bend_to)
    return down if down.smallest_gap_mm >= found.smallest_gap_mm - TOLERANCE_MM else found


def _straight(turn: FloatArray) -> bool:
    return bool(np.abs(np.abs(turn).max(axis=0) - 1.0).max() < 1e-12)


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
    return min(equal, key=lambda one: (_oddness(one.pose[:3, :3], side), -one.smallest_gap_mm))


def _leads_leave(pose: FloatArray, side: Side) -> bool:
    """Whether the leads leave towards a side of the plan, give or take 45 degrees."""
    return bool(pose[:3, 0] @ _way_of(side) >= np.sqrt(0.5) - 1e-6)


def _way_of(side: Side) -> FloatArray:
    ways = {Side.PLUS_X: 0, Side.PLUS_Y: 1, Side.MINUS_X: 2, Side.MINUS_Y: 3}
    return about(2, 90.0 * ways[side])[:, 0]


def _oddness(turn: FloatArray, side: Side) -> tuple[bool, float, float]:
    wanted = _way_of(side)
    return not _straight(turn), -round(float(turn[2, 2]), 3), -round(float(turn[:, 0] @ wanted), 3)
