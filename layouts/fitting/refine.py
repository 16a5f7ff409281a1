"""From a rough place to the best one nearby: the smallest gap made as large as it can be.

Near the best place the gap of each point is all but linear in small moves. So a linear program
finds the move for which the smallest of all gaps grows most, within a step that is trusted;
the step shrinks where the true gap has not grown. Gaps count negative inside, so a body is also
pushed out of what it overlaps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from layouts.fitting.body import PackBody
from layouts.fitting.gap import body_distances, inverse, moved
from layouts.fitting.obstacles import Obstacle
from layouts.fitting.turns import about, by_vector
from layouts.fitting.voxels import SignedGrid

__all__ = ["NearPoints", "ObstacleSamples", "Refiner", "thinned"]

FloatArray = NDArray[np.float64]

MOST_ROWS = 700  # of the linear program: the nearest contacts
BAND_MM = 2.0  # contacts this much farther than the nearest count, besides what a step changes
MOST_STEP_MM = 15.0
MOST_A_WAY = 16  # nearest points that are measured in each of 64 parts of the body's box
GRID_CELLS = 200_000  # of the rough distances round an obstacle, at most
MARGIN_MM = 20.0  # beside it
STEPS = 40
DOWN = 1e-4  # a body is let down to the floor where that costs no gap
ALIKE = 0.98  # contacts in ways nearer than this (cosine) limit the same movement
IDLE = 1e-5  # of a millimetre's gap: a move by one that gains less is not made
BINDING = 1e-3  # of a linear program's multipliers


@dataclass(frozen=True, slots=True, eq=False)
class NearPoints:
    """Near points: ``gap_mm`` (n,), ``at_mm`` (n, 3) on the body in the space, ``way`` (n, 3) in
    which the body must move for the gap to grow, ``floor`` (n,): not to be passed, no gap."""

    gap_mm: FloatArray
    at_mm: FloatArray
    way: FloatArray
    floor: NDArray[np.bool_]

    @property
    def least_mm(self) -> float:
        """The smallest gap; what lies below the floor counts too."""
        gaps = np.where(self.floor, np.where(self.gap_mm < 0, self.gap_mm, np.inf), self.gap_mm)
        return float(gaps.min())


def thinned(points: FloatArray, middle: FloatArray, size_mm: float) -> FloatArray:
    """One point a cube of ``size_mm``, the farthest from the middle."""
    cell = np.floor((points - points.min(axis=0)) / size_mm).astype(np.int64)
    _, ny, nz = cell.max(axis=0) + 1
    key = (cell[:, 0] * ny + cell[:, 1]) * nz + cell[:, 2]
    far = ((points - middle) ** 2).sum(axis=1)
    order = np.argsort(-far, kind="stable")
    _, first = np.unique(key[order], return_index=True)
    kept: FloatArray = points[np.sort(order[first])]
    return kept


class ObstacleSamples:
    """Obstacles made ready for a search: points on them, thinned, and rough distances."""

    def __init__(
        self, obstacles: Sequence[Obstacle], *, size_mm: float, like: ObstacleSamples | None = None
    ) -> None:
        """``size_mm``: about how far apart points stay; ``like``: one with the same obstacles."""
        self.obstacles = obstacles
        self.points: list[FloatArray] = []
        self.grids: list[SignedGrid] = [] if like is None else like.grids
        self.size_mm = size_mm
        self.floor = any(one.floor for one in obstacles)
        for one in obstacles:
            its = np.vstack([one.surface.middle, one.surface.small.reshape(-1, 3)])
            self.points.append(thinned(its, (one.low_mm + one.high_mm) / 2, size_mm))
            if like is not None:
                continue
            room = np.prod(one.high_mm - one.low_mm + 2 * MARGIN_MM)
            size = float((room / GRID_CELLS) ** (1 / 3))
            corners = one.solid.vertices_mm[one.solid.faces]
            # a body that stands on it is in the free space, whatever the last digit says
            if one.floor:
                corners[corners[:, :, 2] <= 0.0] -= (0.0, 0.0, MARGIN_MM)
            self.grids.append(
                SignedGrid(
                    corners,
                    one.surface.middle,
                    size_mm=max(size, one.surface.spacing_mm),
                    margin_mm=MARGIN_MM,
                    room=one.room,
                )
            )


class Refiner:
    """A body in a field of obstacles: gaps at any pose, and better poses nearby."""

    def __init__(
        self,
        body: PackBody,
        samples: ObstacleSamples,
        *,
        settle_mm: float,
        enough_mm: float = np.inf,
    ) -> None:
        """``settle_mm``: a gain that is not worth a step; ``enough_mm``: a gap not worth one."""
        self.settle_mm = settle_mm
        self.enough_mm = enough_mm
        self.body = body
        self._field = samples
        self._share = min(samples.size_mm / 300.0, 0.03)  # by which distances may be too large
        few = thinned(body.points, body.middle_mm, samples.size_mm)
        self._points = np.vstack([body.hull, few])
        self._own = SignedGrid(
            np.concatenate([solid.vertices_mm[solid.faces] for solid in body.solids]),
            body.surface.middle, size_mm=body.surface.spacing_mm, margin_mm=MARGIN_MM, room=False,
        )  # fmt: skip

    def contacts(self, pose: FloatArray, *, within_mm: float) -> NearPoints:
        """Gaps at a pose, all those at most ``within_mm`` above the smallest, or about."""
        points = moved(self._points, pose)
        back = inverse(pose)
        theirs = [moved(one, back) for one in self._field.points]
        forward = [grid.at(points) for grid in self._field.grids]
        backward = [self._own.at(one) for one in theirs]
        looks = [one.min(initial=np.inf) for one in (*forward, *backward)]
        least = min(looks, default=np.inf)
        gaps, at, way = [], [], []
        for number, one in enumerate(self._field.obstacles):
            slack = 3.0 * self._field.grids[number].size_mm
            near = points[self._nearest(self._points, forward[number], least + within_mm + slack)]
            if len(near):
                seen = one.surface.signed(near, share=self._share)
                gaps.append(seen.distance_mm)
                at.append(near)
                way.append(seen.way)
            slack = 3.0 * self._own.size_mm
            here = theirs[number]
            near = here[self._nearest(here, backward[number], least + within_mm + slack)]
            if len(near):
                distance, on_body, away = body_distances(self.body, near, share=self._share)
                gaps.append(distance)
                at.append(moved(on_body, pose))
                way.append(away @ pose[:3, :3].T)
        floor = [np.zeros(len(one), np.bool_) for one in gaps]
        if self._field.floor:
            gaps.append(points[:, 2])
            at.append(points)
            way.append(np.tile((0.0, 0.0, 1.0), (len(points), 1)))
            floor.append(np.ones(len(points), np.bool_))
        if not gaps:
            nothing = np.zeros((0, 3))
            return NearPoints(np.zeros(0), nothing, nothing, np.zeros(0, np.bool_))
        return NearPoints(
            np.concatenate(gaps), np.vstack(at), np.vstack(way), np.concatenate(floor)
        )

    def _nearest(
        self, local: FloatArray, rough_mm: FloatArray, most_mm: float
    ) -> NDArray[np.int64]:
        """Points that may lie nearer than ``most_mm``: in each way from the body's middle the
        nearest few, by their rough distances. ``local`` (n, 3): in the pack's coordinates."""
        kept = np.flatnonzero(rough_mm <= most_mm)
        if len(kept) <= MOST_A_WAY:
            return kept
        half = (self.body.high_mm - self.body.low_mm) / 2
        share = (local[kept] - self.body.middle_mm) / half
        part = np.clip(np.floor((share + 1.0) * 2.0), 0, 3).astype(np.int64) @ (16, 4, 1)
        order = kept[np.lexsort((rough_mm[kept], part))]
        part = np.sort(part)
        first = np.searchsorted(part, part)
        out: NDArray[np.int64] = order[np.arange(len(order)) - first < MOST_A_WAY]
        return out

    def improved(
        self,
        pose: FloatArray,
        *,
        axes: tuple[int, ...],
        step_mm: float,
        bounds_mm: tuple[FloatArray, FloatArray] | None = None,
        centred: bool = False,
    ) -> tuple[FloatArray, float]:
        """The best pose nearby and its smallest gap; turned too, about the space's ``axes``.

        With all three of them the body is turned about any axis.
        ``bounds_mm``: box that the middle of the body's box must stay in. ``centred``: ways that
        the smallest gap leaves free are used to make the other gaps as large as they can be.
        """
        held: list[tuple[FloatArray, float]] = []
        best = -np.inf
        if self._field.floor:
            below = float(moved(self.body.hull, pose)[:, 2].min())
            if below < 0.0:
                pose = pose.copy()
                pose[2, 3] -= below
        for _ in range(3 if centred else 1):
            pose, best, binding = self._climbed(pose, axes, step_mm, bounds_mm, held)
            if axes or not len(binding) or not np.isfinite(best):
                break
            # what limits the gap stays; the other ways are then centred as well as they can be
            held = [*held, *((way, gap) for way, gap in binding)]
            if np.linalg.matrix_rank(np.array([way for way, _ in held]), tol=0.2) == 3:
                break
        found = self.contacts(pose, within_mm=BAND_MM)
        return pose, found.least_mm if len(found.gap_mm) else np.inf

    def _climbed(
        self,
        pose: FloatArray,
        axes: tuple[int, ...],
        step: float,
        bounds: tuple[FloatArray, FloatArray] | None,
        held: list[tuple[FloatArray, float]],
    ) -> tuple[FloatArray, float, list[tuple[FloatArray, float]]]:
        """Steps up until they are too small; also the ways and gaps that limit at the end."""
        here = self.contacts(pose, within_mm=_band(step))
        if not len(here.gap_mm):
            return pose, np.inf, []
        best = _free_least(here, held)
        binding: list[tuple[FloatArray, float]] = []
        half = float(np.linalg.norm(self.body.high_mm - self.body.low_mm)) / 2
        for _ in range(STEPS):
            if best >= self.enough_mm:
                break
            middle = moved(self.body.middle_mm, pose)
            move, turn, hoped, binding = _move(here, held, step, axes, middle, half, bounds)
            if hoped < best + self.settle_mm:
                break
            tried = _moved_pose(pose, move, axes, turn, middle)
            there = self.contacts(tried, within_mm=_band(min(step * 1.5, MOST_STEP_MM)))
            gap = _free_least(there, held) if len(there.gap_mm) else np.inf
            if gap > best + 1e-9 and _keeps(there, held):
                grown = gap - best
                pose, here, best = tried, there, gap
                if grown < self.settle_mm:
                    break
                step = min(step * 1.5, MOST_STEP_MM)
            else:
                step /= 3.0
                if step < self.settle_mm:
                    break
            if not np.isfinite(best):
                break
        return pose, best, binding


def _band(step_mm: float) -> float:
    """How much farther than the nearest a contact may be and still matter within a step."""
    return min(2.0 * step_mm, 8.0) + BAND_MM


def _alike(contacts: NearPoints, held: list[tuple[FloatArray, float]]) -> NDArray[np.bool_]:
    """(n,) contacts that limit a movement whose gap is settled already."""
    alike = contacts.floor.copy()
    for way, _ in held:
        alike |= contacts.way @ way > ALIKE
    return alike


def _free_least(contacts: NearPoints, held: list[tuple[FloatArray, float]]) -> float:
    """The smallest gap of those not settled yet; of the overlaps, where any is worse."""
    free = ~_alike(contacts, held)
    least = float(contacts.gap_mm[free].min()) if free.any() else np.inf
    below = contacts.gap_mm[contacts.floor]
    if len(below) and below.min() < -1e-9:
        least = min(least, float(below.min()))
    return least


def _keeps(contacts: NearPoints, held: list[tuple[FloatArray, float]]) -> bool:
    """Whether settled gaps are kept."""
    for way, gap in held:
        alike = contacts.way @ way > ALIKE
        if (
            alike.any()
            and contacts.gap_mm[alike & ~contacts.floor].min(initial=np.inf) < gap - 1e-4
        ):
            return False
    return True


def _move(
    contacts: NearPoints,
    held: list[tuple[FloatArray, float]],
    step: float,
    axes: tuple[int, ...],
    middle: FloatArray,
    half: float,
    bounds: tuple[FloatArray, FloatArray] | None,
) -> tuple[FloatArray, FloatArray, float, list[tuple[FloatArray, float]]]:
    """The best small move (3,) and turns [rad] about each axis by a linear program, the gap that
    it promises, and what limits it."""
    rows = _near_rows(contacts, step)
    way, gap = contacts.way[rows].copy(), contacts.gap_mm[rows].copy()
    lever = np.cross(contacts.at_mm[rows] - middle, way)[:, axes]
    # columns: move x, y, z, the gap, each turn as the way of a point half the body's size off
    grows = np.ones(len(rows))
    settled = contacts.floor[rows].copy()
    gap[settled] = np.maximum(gap[settled], 0.0)
    for held_way, held_gap in held:
        alike = (way @ held_way > ALIKE) & ~settled
        gap[alike] -= held_gap
        # the distance from a rim grows aslant: only what counts for the settled gap is kept
        way[alike] = held_way
        settled |= alike
    grows[settled] = 0.0
    # three more columns: how far each move is, so that what makes no difference is left alone
    count = len(rows)
    first = 4 + len(axes)
    matrix = np.zeros((count + 6, first + 3))
    matrix[:count, :first] = np.column_stack([-way, grows, -lever / half])
    for side in range(3):
        for row, sign in ((count + 2 * side, 1.0), (count + 2 * side + 1, -1.0)):
            matrix[row, side], matrix[row, first + side] = sign, -1.0
    most = np.concatenate([np.maximum(gap, np.where(settled, 0.0, gap)), np.zeros(6)])
    limits = _move_limits(middle, step, bounds)
    down = DOWN if contacts.floor.any() else 0.0
    top = float(gap.max(initial=0.0)) + 4 * step + 1.0
    answer = linprog(
        (0.0, 0.0, down, -1.0, *[0.0] * len(axes), *[IDLE] * 3),
        A_ub=matrix,
        b_ub=most,
        bounds=[*limits, (None, top), *[(-step, step)] * len(axes), *[(0.0, step)] * 3],
        method="highs",
    )
    if answer.x is None:  # settled gaps can't be kept to the last bit: stay
        return np.zeros(3), np.zeros(len(axes)), -np.inf, []
    tight = np.flatnonzero((answer.ineqlin.marginals[:count] < -BINDING) & ~settled)
    binding = _distinct(way[tight], contacts.gap_mm[rows][tight])
    return answer.x[:3], answer.x[4:first] / half, float(answer.x[3]), binding


def _near_rows(contacts: NearPoints, step: float) -> NDArray[np.int64]:
    """Contacts that matter within a step: the nearest on obstacles, then those on the floor."""
    walls = np.flatnonzero(~contacts.floor)
    gaps = contacts.gap_mm[walls]
    band = gaps.min(initial=np.inf) + _band(step)
    walls = walls[gaps <= band]
    walls = walls[np.argsort(contacts.gap_mm[walls], kind="stable")[:MOST_ROWS]]
    floor = np.flatnonzero(contacts.floor)
    floor = floor[np.argsort(contacts.gap_mm[floor], kind="stable")[:60]]
    return np.concatenate([walls, floor])


def _move_limits(
    middle: FloatArray, step: float, bounds: tuple[FloatArray, FloatArray] | None
) -> list[tuple[float, float]]:
    """Least and most move along x, y, z; ``bounds``: box that the middle stays in."""
    if bounds is None:
        return [(-step, step)] * 3
    return [
        (max(-step, min(0.0, low - at)), min(step, max(0.0, high - at)))
        for at, low, high in zip(middle, *bounds, strict=True)
    ]


def _distinct(ways: FloatArray, gaps: FloatArray) -> list[tuple[FloatArray, float]]:
    found: list[tuple[FloatArray, float]] = []
    for way, gap in zip(ways, gaps.tolist(), strict=True):
        if all(float(way @ other) <= ALIKE for other, _ in found):
            found.append((way, gap))
    return found


def _moved_pose(
    pose: FloatArray,
    move: FloatArray,
    axes: tuple[int, ...],
    angles_rad: FloatArray,
    middle: FloatArray,
) -> FloatArray:
    """A pose turned about the body's middle and shifted."""
    out = pose.copy()
    if angles_rad.any():
        if len(axes) == 1:  # keeps a turn about that axis exactly one
            turn = about(axes[0], float(np.degrees(angles_rad[0])))
        else:
            vector = np.zeros(3)
            vector[list(axes)] = angles_rad
            turn = by_vector(vector)
        out[:3, :3] = turn @ pose[:3, :3]
        out[:3, 3] = turn @ (pose[:3, 3] - middle) + middle
    out[:3, 3] += move
    return out
