"""How thick a region is: at its rims, and strips of material or air narrower than a width.

The thickness at a point of the rim is the diameter of the largest circle that touches the rim
there and lies within the material (or the air), as a ball that shrinks until it is empty finds
it; from memory: Ma, Bae, Choi, 3D medial axis point approximation using nearest neighbors and the
normal field, 2012. Strips are what an opening by a disc takes from the material (a closing adds to
it), where such circles span it between two rims.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

__all__ = [
    "NarrowStrip", "RimThickness", "SeenEdges", "narrow_strips", "rim_thickness", "strips_of",
]  # fmt: skip

FloatArray = NDArray[np.float64]

CORNER_DEG = 39.0  # two rims that meet at more are a corner, which a printed line rounds; judged
STRIP_LONG_MM = 1.0  # shorter ones are notches that a printed line rounds; judged
QUARTER_SEGMENTS = 16  # of a disc: its chords stray by 0.5 % of its radius
BACK_SHARE = 0.01  # offset back by so much more: slivers of chords do not stay
FINE_MM = 1e-3  # edges of cut meshes shorter than this have wild normals
EDGE_SNAP_MM = 1e-3  # edges are told apart: far below a line, far above float noise
STEP_MM = 0.2  # between samples of a rim: half a line
TOP_MM = 6.0  # thicker walls are not told apart
SHRINKS = 25  # a ball halves at least every few steps: far more than are needed
BALL_NOISE_MM = 1e-4
DIGITS = 6  # of a thickness: a wall drawn at a limit is not below it by float noise
LINE_OFF_MM = 0.1  # a circle that touches the other rim's line is this near to that by samples
LEVEL_WALLS = 0.5  # 1 - n1.n2: from here on the touch on the line is well conditioned
TAIL = 0.1  # share of samples at crossings and ends on either side
NEAR_MM = 0.05  # samples so near to a strip belong to it


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RimThickness:
    """Points of rims (n, 2) [mm], the thickness there (n,) [mm], the length of rim that each
    stands for (n,) [mm]. Corners are left out."""

    points_mm: FloatArray
    thickness_mm: FloatArray
    along_mm: FloatArray

    def of(self, kept: NDArray[np.bool_]) -> RimThickness:
        """Some of the points."""
        return RimThickness(
            points_mm=self.points_mm[kept],
            thickness_mm=self.thickness_mm[kept],
            along_mm=self.along_mm[kept],
        )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class NarrowStrip:
    """A strip narrower than was asked for: its own rims, ``width_mm``: the least of them,
    ``long_mm``: along it."""

    region: BaseGeometry
    rims: RimThickness
    long_mm: float

    @property
    def width_mm(self) -> float:
        """Where it is narrowest."""
        return float(self.rims.thickness_mm.min())

    @property
    def narrow_to_broad(self) -> float:
        """1 where it is of one width, near 0 where it is a wedge; its ends are left aside."""
        narrow, broad = np.quantile(self.rims.thickness_mm, (TAIL, 1.0 - TAIL)).tolist()
        return float(narrow / broad)


class SeenEdges:
    """Edges of rims that were measured before: most come again in the next section."""

    def __init__(self) -> None:
        self._seen: set[bytes] = set()
        self._last: set[bytes] = set()

    def new(self, ends: FloatArray) -> NDArray[np.bool_]:
        """(m,) which of the edges (m, 4) [mm] come for the first time."""
        keys = [row.tobytes() for row in np.round(ends / EDGE_SNAP_MM).astype(np.int64)]
        fresh = np.array([key not in self._seen for key in keys], bool)
        self._last = set(keys) - self._seen
        self._seen |= self._last
        return fresh

    def forget_last(self) -> None:
        """Those that came for the first time the last time are to come as new ones again."""
        self._seen -= self._last


def narrow_strips(
    region: BaseGeometry, width_mm: float, *, of_air: bool = False
) -> tuple[NarrowStrip, ...]:
    """Strips of material narrower than a width; ``of_air``: of air, between two rims."""
    half = width_mm / 2.0
    if of_air:
        lost = _offset(_offset(region, half), -half * (1.0 + BACK_SHARE)).difference(region)
    else:
        lost = region.difference(_offset(_offset(region, -half), half * (1.0 + BACK_SHARE)))
    pieces = shapely.get_parts(lost)
    return strips_of(region, pieces, width_mm, of_air=of_air)


def strips_of(
    region: BaseGeometry, pieces: Sequence[BaseGeometry], width_mm: float, *, of_air: bool = False
) -> tuple[NarrowStrip, ...]:
    """Those of some pieces, of a region or of its air, that are strips narrower than a width."""
    long = [one for one in pieces if one.length > 2.0 * STRIP_LONG_MM]
    if not long:
        return ()
    grown = shapely.buffer(long, NEAR_MM)
    rims = rim_thickness(region, of_air=of_air, near=shapely.union_all(grown))
    rims = rims.of(rims.thickness_mm < width_mm)
    piece, at = shapely.STRtree(shapely.points(rims.points_mm)).query(grown, "contains")
    strips = []
    for k, one in enumerate(long):
        own = np.zeros(len(rims.points_mm), bool)
        own[at[piece == k]] = True
        there = rims.of(own)
        long_mm = float(there.along_mm.sum()) / 2.0
        if long_mm > STRIP_LONG_MM:
            strips.append(NarrowStrip(region=one, rims=there, long_mm=long_mm))
    return tuple(strips)


def _offset(region: BaseGeometry, by_mm: float) -> BaseGeometry:
    moved: BaseGeometry = shapely.buffer(region, by_mm, quad_segs=QUARTER_SEGMENTS)
    return moved


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Samples:
    """Points (n, 2) along rims, unit normals (n, 2) into the material, the length of rim of each
    (n,), and which are asked."""

    points: FloatArray
    normals: FloatArray
    along: FloatArray
    asked: NDArray[np.intp]


def _rim_samples(region: BaseGeometry, seen: SeenEdges | None) -> _Samples | None:
    """None: a region without rims."""
    oriented = shapely.orient_polygons(shapely.simplify(region, FINE_MM))
    rings = shapely.get_rings(shapely.get_parts(oriented))
    if not len(rings):
        return None
    at, ring = shapely.get_coordinates(rings, return_index=True)
    step = np.diff(at, axis=0)
    long = np.hypot(*step.T)
    edge = np.flatnonzero((ring[1:] == ring[:-1]) & (long > 0.0))
    fresh = np.ones(len(edge), bool)
    if seen is not None:
        fresh = seen.new(np.column_stack([at[edge], at[edge + 1]]))
    parts = np.ceil(long[edge] / STEP_MM).astype(int)
    on = np.repeat(edge, parts)
    number = np.arange(len(on)) - np.repeat(np.cumsum(parts) - parts, parts)
    share = (number + 0.5) / np.repeat(parts, parts)
    unit = step[on] / long[on, None]
    return _Samples(
        points=at[on] + share[:, None] * step[on],
        # outer rings run counter-clockwise, holes clockwise: material lies to the left of both
        normals=np.column_stack([-unit[:, 1], unit[:, 0]]),
        along=long[on] / np.repeat(parts, parts),
        asked=np.flatnonzero(np.repeat(fresh, parts)),
    )


def rim_thickness(
    region: BaseGeometry,
    *,
    of_air: bool = False,
    near: BaseGeometry | None = None,
    seen: SeenEdges | None = None,
    top_mm: float = TOP_MM,
) -> RimThickness:
    """Thickness of the material, or of the air, at samples of all rims, up to ``top_mm``.

    ``near``: only at samples in this region; ``seen``: only at edges that are new to it, which it
    then knows. Points without an opposite rim are left out.
    """
    samples = _rim_samples(region, seen)
    asked = np.empty(0, np.intp) if samples is None else samples.asked
    if samples is not None and near is not None:
        shapely.prepare(near)
        asked = asked[shapely.contains_xy(near, *samples.points[asked].T)]
    if samples is None or not len(asked):
        return RimThickness(
            points_mm=np.empty((0, 2)), thickness_mm=np.empty(0), along_mm=np.empty(0)
        )
    normals = -samples.normals if of_air else samples.normals
    touching = _balls(samples.points, normals, asked, top_mm)
    thick, kept = _exact(samples.points, normals, asked, *touching)
    thick = np.round(thick, DIGITS)
    return RimThickness(
        points_mm=samples.points[asked], thickness_mm=thick, along_mm=samples.along[asked]
    ).of(kept)


def _balls(
    points: FloatArray, normals: FloatArray, asked: NDArray[np.intp], top_mm: float
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Radius of the largest empty circle at each asked sample, and the sample that it touches
    besides (-1: none up to ``top_mm``)."""
    tree = cKDTree(points, compact_nodes=False, balanced_tree=False)
    radius = np.full(len(asked), top_mm / 2.0)
    touched = np.full(len(asked), -1)
    live = np.arange(len(asked))
    for _ in range(SHRINKS):
        own = asked[live]
        centres = points[own] + normals[own] * radius[live, None]
        distance, nearest = tree.query(centres)
        across = points[nearest] - points[own]
        along = np.einsum("ij,ij->i", across, normals[own])
        smaller = np.einsum("ij,ij->i", across, across) / (2.0 * np.maximum(along, 1e-9))
        shrinks = (
            (nearest != own)
            & (distance < radius[live] - BALL_NOISE_MM)
            & (along > BALL_NOISE_MM)
            & (smaller < radius[live] - BALL_NOISE_MM)
        )
        live = live[shrinks]
        radius[live], touched[live] = smaller[shrinks], nearest[shrinks]
        if not len(live):
            break
    return radius, touched


def _exact(
    points: FloatArray,
    normals: FloatArray,
    asked: NDArray[np.intp],
    radius: FloatArray,
    touched: NDArray[np.intp],
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Diameters of circles that touch the other rim's line, and which of them span a wall.

    A circle that touches a rim at p and the line through q with normal n2:
    2 r = 2 e.n2 / (n1.n2 - 1), with e = q - p; plane geometry. Samples alone lie up to half a
    step beside the touch.
    """
    other = np.maximum(touched, 0)
    facing = np.einsum("ij,ij->i", normals[asked], normals[other])
    reach = np.einsum("ij,ij->i", points[other] - points[asked], normals[other])
    on_line = -2.0 * reach / np.maximum(1.0 - facing, LEVEL_WALLS)
    used = (1.0 - facing > LEVEL_WALLS) & (np.abs(on_line - 2.0 * radius) < LINE_OFF_MM)
    opposite = facing <= -math.cos(math.radians(CORNER_DEG))
    return np.where(used, on_line, 2.0 * radius), (touched >= 0) & opposite
