"""The mock-up's outside held against the assembly's: what a 3 mm ball can touch of both.

The outside of a body is its outermost skin, holes that reach in followed to their end; so a
dummy that is not closed shows its inner walls, and fails. Gaps narrower than 3 mm may be
closed or not: a ball of 3 mm reaches into neither.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from generators.dummy.sections import GAP_MM
from layouts.checks import Check

__all__ = ["Apart", "OutsideMesh", "compare", "outer_surface", "share_check", "surface_check"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

WITHIN_MM = 0.2  # the mock-up's outside lies so near to the assembly's
MOST_SHARE = 0.15  # of the pack's filament
SAMPLES = 6_000  # points on each outside
SEED = 20250
NO_AREA_MM2 = 1e-12  # triangles below this are rounding
EDGE_MM = 3.0  # triangles are parted until no edge is longer, to be found by their middles
FIRST = 4  # triangles looked at for each point before all that might be nearer
TOUCHES_MM = 1e-3
LOT = 2_000  # points at a time: bounds the memory
# A ball that just touches both sides of a gap of its own size gets in: sums of floats differ,
# and chords stand off their arcs.
BALL_SLACK = 0.02  # of the ball's radius
# Across a crack much narrower than that slack a ball lies in the far side's material and seems
# free: a small one on the way detects that.
SMALLER_BALLS_MM = (0.1,)


@dataclass(frozen=True, slots=True, eq=False)
class OutsideMesh:
    """An outside: triangles (m, 3, 3) [mm], counter-clockwise seen from outside."""

    corners_mm: FloatArray

    def _areas(self) -> FloatArray:
        a, b, c = np.moveaxis(self.corners_mm, 1, 0)
        return np.asarray(np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2)

    def samples(self, count: int, seed: int) -> tuple[FloatArray, FloatArray]:
        """(n, 3) points spread evenly by area, and (n, 3) normals that point outwards."""
        random = np.random.default_rng(seed)
        areas = self._areas()
        chosen = random.choice(len(areas), size=count, p=areas / areas.sum())
        u, v = random.random((2, count))
        over = u + v > 1.0
        u, v = np.where(over, 1.0 - u, u), np.where(over, 1.0 - v, v)
        a, b, c = np.moveaxis(self.corners_mm[chosen], 1, 0)
        normal = np.cross(b - a, c - a)
        normal /= np.linalg.norm(normal, axis=1, keepdims=True)
        return a + u[:, None] * (b - a) + v[:, None] * (c - a), normal


@dataclass(frozen=True, kw_only=True, slots=True)
class Apart:
    """How far the two outsides lie apart at most [mm], and where, (x, y, z).

    ``to_dummy_mm``: from the assembly's points to the mock-up; ``to_pack_mm``: the other way.
    ``closed_share``: share of all points that lie over a gap of the other one."""

    to_dummy_mm: float
    to_dummy_at: tuple[float, float, float]
    to_pack_mm: float
    to_pack_at: tuple[float, float, float]
    closed_share: float
    samples: int


def outer_surface(body: manifold3d.Manifold) -> OutsideMesh:
    """The outermost skins of a body; a hole that reaches in from outside is followed to its end.

    Inner voids, and loose bodies within them, are left out. Raises ValueError for an empty body.
    """
    skins = sorted(
        (skin for skin in body.decompose() if skin.volume() > 0.0),
        key=lambda skin: skin.volume(),
        reverse=True,
    )
    if not skins:
        raise ValueError("an empty body has no outside")
    # a skin alone bounds everything within it, voids filled
    outside: list[manifold3d.Manifold] = []
    for skin in skins:
        if all((skin ^ whole).volume() < skin.volume() / 2 for whole in outside):
            outside.append(skin)
    found = []
    for skin in outside:
        mesh = skin.to_mesh64()
        points = np.asarray(mesh.vert_properties)[:, :3]
        found.append(points[np.asarray(mesh.tri_verts, dtype=np.int64)])
    corners = np.concatenate(found)
    sides = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return OutsideMesh(np.ascontiguousarray(corners[np.linalg.norm(sides, axis=1) > NO_AREA_MM2]))


class _Near:
    """Distances from points to a surface."""

    def __init__(self, surface: OutsideMesh) -> None:
        self._corners = _parted(surface.corners_mm, EDGE_MM)
        middles = self._corners.mean(axis=1)
        reach = np.linalg.norm(self._corners - middles[:, None], axis=2).max()
        self._reach = float(reach) + 1e-9  # no triangle reaches farther from its middle
        self._tree = cKDTree(middles)

    def distances(self, points: FloatArray) -> FloatArray:
        """(n,) distance of each point from the surface [mm], exact."""
        best = self._first(points)
        # a nearer triangle has its middle within this; where the first ones touch, none is nearer
        far = np.flatnonzero(best > TOUCHES_MM)
        for lot in np.array_split(far, len(far) // LOT + 1):
            owner, triangles = self._around(points[lot], best[lot])
            owner = lot[owner]
            apart = _to_triangles(points[owner], self._corners[triangles])
            np.minimum.at(best, owner, apart)
        return best

    def clear(self, points: FloatArray, radius_mm: float) -> NDArray[np.bool_]:
        """(n,) whether a ball about each point touches the surface nowhere."""
        clear = np.asarray(self._first(points) >= radius_mm)
        left = np.flatnonzero(clear)
        for lot in np.array_split(left, len(left) // LOT + 1):
            owner, triangles = self._around(points[lot], np.full(len(lot), radius_mm))
            owner = lot[owner]
            apart = _to_triangles(points[owner], self._corners[triangles])
            clear[owner[apart < radius_mm]] = False
        return clear

    def _first(self, points: FloatArray) -> FloatArray:
        """Distance from the nearest of a few triangles: never less than the true one."""
        count = min(FIRST, len(self._corners))
        _, found = self._tree.query(points, k=count)
        found = np.asarray(found).reshape(len(points), count)
        best = np.full(len(points), np.inf)
        for k in range(count):
            best = np.minimum(best, _to_triangles(points, self._corners[found[:, k]]))
        return best

    def _around(self, points: FloatArray, within_mm: FloatArray) -> tuple[IntArray, IntArray]:
        """Pairs of a point and a triangle that may be nearer to it than ``within_mm`` (n,)."""
        lists = self._tree.query_ball_point(points, within_mm + self._reach)
        counts = np.array([len(one) for one in lists], dtype=np.int64)
        triangles = np.fromiter(itertools.chain.from_iterable(lists), np.int64, counts.sum())
        return np.repeat(np.arange(len(points)), counts), triangles


def _parted(corners: FloatArray, edge_mm: float) -> FloatArray:
    """Triangles halved at their longest edges until none is longer than ``edge_mm``."""
    done = []
    todo = corners
    while len(todo):
        edges = np.linalg.norm(todo - np.roll(todo, -1, axis=1), axis=2)
        longest = edges.argmax(axis=1)
        small = edges.max(axis=1) <= edge_mm
        done.append(todo[small])
        todo, longest = todo[~small], longest[~small]
        row = np.arange(len(todo))
        a, b = todo[row, longest], todo[row, (longest + 1) % 3]
        c, middle = todo[row, (longest + 2) % 3], (a + b) / 2
        todo = np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])
    return np.concatenate(done)


def _to_triangles(points: FloatArray, corners: FloatArray) -> FloatArray:
    """(n,) distance of each point from its own triangle."""
    a, b, c = np.moveaxis(corners, 1, 0)
    normal = np.cross(b - a, c - a)
    length = np.sqrt(np.einsum("ij,ij->i", normal, normal))
    unit = normal / np.maximum(length, 1e-30)[:, None]
    height = np.einsum("ij,ij->i", points - a, unit)
    foot = points - height[:, None] * unit
    inside = length > 1e-15
    best = np.full(len(points), np.inf)
    for p, q in ((a, b), (b, c), (c, a)):
        side, way = q - p, points - p
        inside &= np.einsum("ij,ij->i", np.cross(side, foot - p), unit) >= 0.0
        span = np.maximum(np.einsum("ij,ij->i", side, side), 1e-30)
        t = np.clip(np.einsum("ij,ij->i", way, side) / span, 0.0, 1.0)
        off = way - t[:, None] * side
        best = np.minimum(best, np.einsum("ij,ij->i", off, off))
    return np.asarray(np.where(inside, np.abs(height), np.sqrt(best)))


def compare(
    pack: OutsideMesh, dummy: OutsideMesh, *, samples: int = SAMPLES, seed: int = SEED
) -> Apart:
    """Sample both outsides and measure each to the other, where a 3 mm ball reaches."""
    near_pack, near_dummy = _Near(pack), _Near(dummy)
    points, there, covered = _measured(pack.samples(samples, seed), near_pack, near_dummy)
    probes, back, gap = _measured(dummy.samples(samples, seed + 1), near_dummy, near_pack)
    worst, far = int(there.argmax()), int(back.argmax())
    return Apart(
        to_dummy_mm=float(there[worst]),
        to_dummy_at=_place(points[worst]),
        to_pack_mm=float(back[far]),
        to_pack_at=_place(probes[far]),
        closed_share=float(np.concatenate([covered, gap]).mean()),
        samples=samples,
    )


def _measured(
    sampled: tuple[FloatArray, FloatArray], own: _Near, other: _Near
) -> tuple[FloatArray, FloatArray, NDArray[np.bool_]]:
    """Those points of one outside that a ball touches, how far the other one is from each.

    The third: whether a point off the other outside lies over a gap of it that the ball does not
    get into, even pushed in as far as the allowance: then its distance counts as 0.
    """
    points, normals = sampled
    radius = GAP_MM / 2
    for ball in (radius, *SMALLER_BALLS_MM):
        touched = own.clear(points + ball * normals, ball * (1.0 - BALL_SLACK))
        points, normals = points[touched], normals[touched]
    if not len(points):
        raise ValueError("a ball of 3 mm touches the outside nowhere")
    apart = other.distances(points)
    off = np.flatnonzero(apart > WITHIN_MM)
    gap = np.zeros(len(points), dtype=bool)
    if len(off):
        pushed = points[off] + (radius - WITHIN_MM) * normals[off]
        gap[off] = ~other.clear(pushed, radius * (1.0 - BALL_SLACK))
    return points, np.where(gap, 0.0, apart), gap


def _place(point: FloatArray) -> tuple[float, float, float]:
    x, y, z = (round(float(v), 2) for v in point)
    return x, y, z


def surface_check(apart: Apart) -> Check:
    """Both outsides within 0.2 mm of each other."""
    ways = (
        (apart.to_dummy_mm, apart.to_dummy_at, "the mock-up is short of material"),
        (apart.to_pack_mm, apart.to_pack_at, "the mock-up has excess material"),
    )
    worst, at, what = max(ways)
    return Check(
        id="dummy_outside",
        about=f"deviation of the mock-up's outside from the assembly's, {apart.samples} points "
        "on each (inner voids closed, gaps under 3 mm closed or not)",
        holds=worst <= WITHIN_MM,
        value=worst,
        limit=WITHIN_MM,
        unit="mm",
        source="geometry",
        remedy="a fault of the tool, not of the pack file: keep the file and the log",
        at_least=False,
        where=f"{what}, largest at x {at[0]:g}, y {at[1]:g}, z {at[2]:g}",
    )


def share_check(dummy_mm3: float, pack_mm3: float) -> Check:
    """The mock-up's filament against that of all printed parts, both taken as solid."""
    share = dummy_mm3 / pack_mm3
    return Check(
        id="dummy_filament",
        about="filament of the printed mock-up as a share of the pack's printed parts",
        holds=share <= MOST_SHARE,
        value=share,
        limit=MOST_SHARE,
        unit="share",
        source="common practice, no source",
        remedy="a smaller printer.nozzle_mm, since the mock-up's walls are one line wide; "
        "or make the mock-up of card (--sheets)",
        at_least=False,
    )
