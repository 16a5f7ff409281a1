"""Every position of a body in a space at once, roughly: voxels, one Fourier transform a turn.

For ranking only: a voxel counts by its middle, nothing is rounded up. What is found here is
refined and measured on the meshes themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.ndimage import distance_transform_edt

from layouts.fitting.body import PackBody
from layouts.fitting.obstacles import Obstacle

__all__ = ["Place", "SignedGrid", "best_places", "solid_voxels"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

ROUGH_CELLS = 25_000  # every turn is looked at in so many voxels
FINE_CELLS = 150_000  # and the best of them in so many
PAD = 2  # voxels round the space
AWRY = (0.000131, 0.000173)  # voxel columns stand so far (in voxels) off the grid: off most edges


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Place:
    """A rough place: ``score`` larger is better (clearance in mm, or minus the share of the body
    that overlaps); ``number``: of its turn (3, 3) among those tried; ``shift_mm`` (3,): moves the
    turned body's origin there; ``size_mm``: of the voxels."""

    number: int
    turn: FloatArray
    shift_mm: FloatArray
    score: float
    size_mm: float

    @property
    def promise_mm(self) -> float:
        """The largest gap that may be hoped for here: two voxels more than it looks."""
        return max(self.score, 0.0) + 2.0 * self.size_mm


def solid_voxels(
    corners: FloatArray, low: FloatArray, size: float, shape: tuple[int, int, int]
) -> BoolArray:
    """Voxels (of ``size`` from corner ``low``) whose middles lie in closed surfaces (m, 3, 3).

    Each upright column of middles is pierced by the triangles; what winds round a middle once
    or more counts as inside, so that overlapping solids count as one.
    """
    plan = (corners[:, :, :2] - low[:2]) / size - 0.5 - np.array(AWRY)
    height = (corners[:, :, 2] - low[2]) / size - 0.5
    first = np.maximum(np.ceil(plan.min(axis=1)), 0).astype(np.int64)
    last = np.minimum(np.floor(plan.max(axis=1)), np.array(shape[:2]) - 1).astype(np.int64)
    count = np.maximum(last - first + 1, 0)
    total = count[:, 0] * count[:, 1]
    owner = np.repeat(np.arange(len(corners)), total)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(total) - total, total)
    ix = first[owner, 0] + step // np.maximum(count[owner, 1], 1)
    iy = first[owner, 1] + step % np.maximum(count[owner, 1], 1)
    a = plan[owner, 0]
    ab, ac = plan[owner, 1] - a, plan[owner, 2] - a
    twice = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0]
    off = np.column_stack([ix, iy]) - a
    safe = np.where(twice != 0, twice, 1.0)
    v = (off[:, 0] * ac[:, 1] - off[:, 1] * ac[:, 0]) / safe
    w = (ab[:, 0] * off[:, 1] - ab[:, 1] * off[:, 0]) / safe
    hit = (twice != 0) & (v >= 0) & (w >= 0) & (v + w <= 1)
    z = height[owner, 0] * (1 - v - w) + height[owner, 1] * v + height[owner, 2] * w
    level = np.clip(np.ceil(z), 0, shape[2]).astype(np.int64)
    change = np.zeros((shape[0], shape[1], shape[2] + 1), np.int32)
    np.add.at(change, (ix[hit], iy[hit], level[hit]), -np.sign(twice[hit]).astype(np.int32))
    inside: BoolArray = np.cumsum(change[:, :, :-1], axis=2) > 0
    return inside


class SignedGrid:
    """Rough distances to a surface at any point, by look-up: right to three voxels or so."""

    def __init__(
        self, corners: FloatArray, middles: FloatArray, *, size_mm: float, margin_mm: float,
        room: bool,
    ) -> None:  # fmt: skip
        """``corners`` (m, 3, 3): closed surfaces; ``middles`` (k, 3): points all over them, not
        much farther apart than ``size_mm``; ``room``: distances count positive inside."""
        low = corners.min(axis=(0, 1)) - margin_mm
        self.size_mm = size_mm
        self._low = low
        nx, ny, nz = (
            int(n) + 1 for n in np.ceil((corners.max(axis=(0, 1)) + margin_mm - low) / size_mm)
        )
        inside = solid_voxels(corners, low, size_mm, (nx, ny, nz))
        empty = np.ones((nx, ny, nz), np.bool_)
        empty[tuple(((middles - low) / size_mm).astype(np.int64).T)] = False
        distance = distance_transform_edt(empty) * size_mm
        self._signed = np.where(inside == room, distance, -distance)

    def at(self, points: FloatArray) -> FloatArray:
        """(n,) about how far points (n, 3) are, negative where they may not be."""
        place = (points - self._low) / self.size_mm
        held = np.clip(place, 0, np.array(self._signed.shape) - 1).astype(np.int64)
        beyond = np.linalg.norm(np.maximum(np.abs(place - held - 0.5) - 0.5, 0.0), axis=1)
        value = self._signed[tuple(held.T)]
        far: FloatArray = value + np.where(value < 0, -beyond, beyond) * self.size_mm
        return far


class _Grid:
    """The blocked voxels of a space, and their transform."""

    def __init__(self, obstacles: Sequence[Obstacle], low: FloatArray, high: FloatArray,
                 size: float) -> None:  # fmt: skip
        self.size = size
        self.low = low - PAD * size
        nx, ny, nz = (int(n) + 2 * PAD for n in np.ceil((high - low) / size - 1e-6))
        self.shape = (nx, ny, nz)
        blocked = np.zeros(self.shape, np.bool_)
        for one in obstacles:
            corners = one.solid.vertices_mm[one.solid.faces]
            filled = solid_voxels(corners, self.low, size, self.shape)
            blocked |= ~filled if one.room else filled
        self.floor = any(one.floor for one in obstacles)
        self.transform = fft.rfftn(blocked.astype(np.float32))

    def overlap(self, kernel: BoolArray) -> FloatArray | None:
        """Blocked voxels under the kernel at every position; None where it is too large."""
        room = np.array(self.shape) - np.array(kernel.shape)
        if (room < 0).any():
            return None
        padded = fft.rfftn(kernel.astype(np.float32), s=self.shape)
        count = fft.irfftn(self.transform * np.conj(padded), s=self.shape)
        x, y, z = room + 1
        valid: FloatArray = np.rint(count[:x, :y, :z]).astype(np.float64)
        return valid


def best_places(
    body: PackBody,
    obstacles: Sequence[Obstacle],
    turns: Sequence[FloatArray],
    *,
    box_mm: tuple[FloatArray, FloatArray],
    keep: tuple[int, int],
    enough_mm: float = np.inf,
) -> list[Place]:
    """The best place of each turn (3, 3), the best first: in large voxels, then in small ones.

    Of places whose clearance is the same, or at least ``enough_mm``, the most central one.

    ``box_mm``: least and greatest corner of the space; without a free space the body's middle must
    lie within it. ``keep``: at most so many turns are kept after each look."""
    numbers = list(range(len(turns)))
    places: list[Place] = []
    for cells, most in zip((ROUGH_CELLS, FINE_CELLS), keep, strict=True):
        seen = _looked_at(body, obstacles, [turns[n] for n in numbers], box_mm, cells, enough_mm)
        places = [replace(place, number=numbers[place.number]) for place in seen[:most]]
        numbers = [place.number for place in places]
    return places


def _looked_at(
    body: PackBody,
    obstacles: Sequence[Obstacle],
    turns: Sequence[FloatArray],
    box_mm: tuple[FloatArray, FloatArray],
    cells: int,
    enough_mm: float,
) -> list[Place]:
    """The best place of each turn in about so many voxels, the best first."""
    bounded = any(one.room for one in obstacles)
    reach = np.linalg.norm(body.high_mm - body.low_mm) / 2
    low, high = box_mm
    if not bounded:
        low, high = low - reach, high + reach
    size = float((np.prod(high - low) / cells) ** (1 / 3))
    body_low = body.low_mm
    shape = tuple(int(n) for n in np.ceil((body.high_mm - body_low) / size - 1e-6))
    corners = np.concatenate([s.vertices_mm[s.faces] for s in body.solids])
    filled = solid_voxels(corners, body_low, size, (shape[0], shape[1], shape[2]))
    middles = body_low + (np.argwhere(filled) + 0.5) * size
    # parts thinner than a voxel count by their points
    extra = body.points[:: max(1, len(body.points) // 4000)]
    middles = np.vstack([middles, extra])
    places = []
    for grow in (0.0, 1.0):
        # a second time with a larger grid where no turn goes into the space's box at all
        more = grow * np.maximum(2 * reach - (high - low), 0.0) / 2
        grid = _Grid(obstacles, low - more, high + more, size)
        for number, turn in enumerate(turns):
            found = _best_place(
                grid, number, turn, middles, None if bounded else box_mm, body.middle_mm, enough_mm
            )
            if found is not None:
                places.append(found)
        if places:
            break
    places.sort(key=lambda place: -place.score)  # stable: earlier turns win ties
    return places


def _best_place(
    grid: _Grid,
    number: int,
    turn: FloatArray,
    middles: FloatArray,
    box_mm: tuple[FloatArray, FloatArray] | None,
    body_middle: FloatArray,
    enough_mm: float,
) -> Place | None:
    turned = middles @ turn.T
    least = turned.min(axis=0) - grid.size / 4
    index = ((turned - least) / grid.size).astype(np.int64)
    kernel = np.zeros(tuple(int(n) + 1 for n in index.max(axis=0)), np.bool_)
    kernel[tuple(index.T)] = True
    overlap = grid.overlap(kernel)
    if overlap is None:
        return None
    shift0 = grid.low - least
    if box_mm is not None:
        centre = turn @ body_middle + shift0
        for axis in range(3):
            at = centre[axis] + np.arange(overlap.shape[axis]) * grid.size
            out = (at < box_mm[0][axis]) | (at > box_mm[1][axis])
            where = [slice(None)] * 3
            where[axis] = out
            overlap[tuple(where)] = np.inf
    base = PAD if grid.floor else 0
    if grid.floor and overlap.shape[2] > PAD:
        overlap = overlap[:, :, PAD:]
    elif grid.floor:
        base = 0
    fewest = float(overlap.min())
    free = overlap <= fewest
    if not np.isfinite(fewest):
        return None
    clearance = np.minimum(_clearance(free, grid.floor), enough_mm / grid.size)
    top = clearance.max()
    # of equally good places the most central one
    best = np.argwhere(clearance >= top - 1e-6)
    middle = (np.array(overlap.shape) - 1) / 2
    off = (best - middle) ** 2
    if grid.floor:
        off[:, 2] = best[:, 2] * 1e3  # the lowest
    pick = best[int(off.sum(axis=1).argmin())] + (0, 0, base)
    score = float(top) * grid.size if fewest == 0 else -fewest / float(kernel.sum())
    shift = shift0 + pick * grid.size
    return Place(number=number, turn=turn, shift_mm=shift, score=score, size_mm=grid.size)


def _clearance(free: BoolArray, floor: bool) -> FloatArray:
    """Distance in voxels of every free position to one that is not; a floor carries, is no gap."""
    below = free.shape[2] if floor else 1
    padded = np.pad(free, ((1, 1), (1, 1), (below if floor else 1, 1)))
    if floor:
        padded[1:-1, 1:-1, :below] = free[:, :, :1]
    distance: FloatArray = distance_transform_edt(padded)[1:-1, 1:-1, below:-1]
    return distance
