"""Body to a triangle mesh from the same plan: watertight by construction, nothing is welded.

Each piece becomes points once, the same on every level; faces, walls and cones all use these.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from layouts.slabs.body import Body, vertex_levels_mm
from layouts.slabs.errors import SolidError
from layouts.slabs.inside import ranges

__all__ = ["CrossingChordsError", "Mesh", "PlanPoints", "joined_mesh", "mesh"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

# No chord spans more than this, however coarse the chord height: a circle has 6 corners at least.
WIDEST_CHORD_RAD = math.pi / 3
# A triangle turned over by more than this area means that curves cross; less is float noise.
TURNED_OVER_MM2 = 1e-9
# Triangles that cover less of their rings than this leave something out.
LOST_AREA_SHARE = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Triangles: ``vertices_mm`` (n, 3), ``faces`` (m, 3), counter-clockwise from outside."""

    vertices_mm: FloatArray
    faces: IntArray

    def volume_mm3(self) -> float:
        """Volume within [mm3], by the divergence theorem about the box's middle."""
        middle = (self.vertices_mm.min(axis=0) + self.vertices_mm.max(axis=0)) / 2
        a, b, c = np.moveaxis((self.vertices_mm - middle)[self.faces], 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def joined_mesh(meshes: Sequence[Mesh]) -> Mesh:
    """Several meshes as one, each a shell of its own; at least one."""
    counts = [len(one.vertices_mm) for one in meshes]
    firsts = np.cumsum(counts) - counts
    return Mesh(
        np.vstack([one.vertices_mm for one in meshes]),
        np.vstack([one.faces + first for one, first in zip(meshes, firsts, strict=True)]),
    )


class CrossingChordsError(SolidError):
    """Two curves pass each other nearer than a chord's height: finer chords part them."""


def mesh(body: Body, chord_mm: float = 0.01, area_true: bool = True) -> Mesh:
    """Triangle mesh of a body.

    Parameters
    ----------
    chord_mm : greatest height of an arc over its chords.
    area_true : move the inner points of every arc out a little, so that the polygon has the
        arc's own area and the mesh the body's own volume (inner points are up to 2/3 chord
        outside the arc, chord middles up to 2/3 chord inside it). Else points lie on the arcs.

    Raises
    ------
    SolidError : chord_mm is not above 0.
    CrossingChordsError : chord_mm is so coarse that neighbouring curves cross.
    """
    if not chord_mm > 0:
        raise SolidError(f"chord_mm is {chord_mm:g}", remedy="it must be above 0; 0.01 is fine")
    plan = PlanPoints(body, chord_mm, area_true)
    levels = sorted(
        {face.z_mm for face in body.faces}
        | {z for wall in body.walls for z in (wall.z0_mm, wall.z1_mm)}
    )
    number = {z: k for k, z in enumerate(levels)}
    size = len(plan.xy)
    triangles = [
        _level_triangles(body, plan, number, chord_mm),
        *_wall_triangles(body, plan, number),
        _cone_triangles(body, plan, number),
    ]
    faces = np.vstack(triangles)
    used = np.zeros(size * len(levels), bool)
    used[faces.ravel()] = True
    kept = np.flatnonzero(used)
    renumbered = np.cumsum(used) - 1
    vertices = np.column_stack([plan.xy[kept % size], np.array(levels)[kept // size]])
    return Mesh(vertices, renumbered[faces])


class PlanPoints:
    """The points of all pieces: vertices of the plan first, then the inner points of each arc.

    xy : (n, 2) float [mm]. chords : (m,) chords of each piece. start : (m,) its first inner point.
    """

    def __init__(self, body: Body, chord_mm: float, area_true: bool) -> None:
        radius, sweep = body.circles[:, 2], body.turns[:, 1]
        finest = radius.copy()  # both rings of a cone get the larger circle's chords
        tops = np.array([cone.upper for cone in body.cones], np.int64)
        for cone in body.cones:
            lower = list(cone.lower)
            finest[lower] = np.maximum(finest[lower], radius[cone.upper])
        arc = radius > 0
        height = chord_mm / np.where(arc, finest, 1.0)
        step = np.minimum(2 * np.arccos(np.maximum(1 - height, 0.0)), WIDEST_CHORD_RAD)
        chords = np.where(arc, np.ceil(sweep / step - 1e-9), 1).astype(np.int64)
        whole = body.ends[:, 0] == body.ends[:, 1]
        least = np.where(whole, 3, 2 if area_true else 1)
        chords = np.where(arc, np.maximum(chords, least), 1)
        factor = np.ones(len(chords))
        if area_true:
            k, total = chords[arc], sweep[arc]
            s = np.sin(total / k)
            # (k - 2) s x^2 + 2 s x = sweep: end points stay, inner points move to x * radius
            root = (np.sqrt(s * s + (k - 2) * s * total) - s) / (np.maximum(k - 2, 1) * s)
            factor[arc] = np.where(k == 2, total / (2 * s), root)
        chords[tops] = 1  # these follow the circle below, see _add_tops
        inner = chords - 1
        first = len(body.vertices)
        self.start = first + np.cumsum(inner) - inner
        of = np.repeat(np.arange(len(inner)), inner)
        along = (ranges(np.ones_like(inner), inner)) / chords[of]
        angle = body.turns[of, 0] + along * sweep[of]
        reach = (radius * factor)[of, None]
        points = body.circles[of, :2] + reach * np.column_stack([np.cos(angle), np.sin(angle)])
        self.xy = np.vstack([body.vertices, points])
        self.chords = chords
        self.ends = body.ends
        if len(tops):
            self._add_tops(body, angle, factor)

    def _add_tops(self, body: Body, angle: FloatArray, factor: FloatArray) -> None:
        """Points of the circles at the cones' tops: the same angles and factors as below."""
        first = len(body.vertices)
        added, size = [], len(self.xy)
        for cone in body.cones:
            parts, factors = [], []
            for k, piece in enumerate(cone.lower):
                begin = self.start[piece] - first
                inner = angle[begin : begin + self.chords[piece] - 1]
                if k:
                    parts.append(body.turns[piece, :1])
                    factors.append(np.ones(1))
                parts.append(inner)
                factors.append(np.full(len(inner), factor[piece]))
            turn, reach = np.concatenate(parts), np.concatenate(factors)
            cx, cy, radius = body.circles[cone.upper]
            reach = reach * radius
            added.append(np.column_stack([cx + reach * np.cos(turn), cy + reach * np.sin(turn)]))
            self.start[cone.upper] = size
            self.chords[cone.upper] = len(turn) + 1
            size += len(turn)
        self.xy = np.vstack([self.xy, *added])

    def along(self, pieces: IntArray, signs: IntArray) -> tuple[IntArray, IntArray]:
        """Point numbers along pieces run in the given directions, each without its last point.

        Returns the numbers, joined, and how many belong to each piece.
        """
        count = self.chords[pieces]
        of = np.repeat(np.arange(len(pieces)), count)
        step = ranges(np.zeros_like(count), count)
        forward = signs[of] > 0
        begin = np.where(signs > 0, self.ends[pieces, 0], self.ends[pieces, 1])
        start = self.start[pieces][of]
        inner = np.where(forward, start + step - 1, start + count[of] - 1 - step)
        return np.where(step == 0, begin[of], inner), count


def _level_triangles(
    body: Body, plan: PlanPoints, number: dict[float, int], chord_mm: float
) -> IntArray:
    """Triangles of all level faces."""
    items = np.array(
        [item for face in body.faces for loop in face.loops for item in loop], np.int64
    )
    points, count = plan.along(items[:, 0], items[:, 1])
    in_loop = np.array([len(loop) for face in body.faces for loop in face.loops])
    ends = np.cumsum(count)[np.cumsum(in_loop) - 1]
    rings = np.split(points, ends[:-1])
    size = len(plan.xy)
    found, senses = [], []
    ring = 0
    for face in body.faces:
        own = rings[ring : ring + len(face.loops)]
        ring += len(face.loops)
        joined = np.concatenate(own)
        # collinear points are kept, so neighbouring faces share every edge
        t = joined[np.asarray(manifold3d.triangulate([plan.xy[r] for r in own]), np.int64)]
        # where two loops meet in a point, a triangle may have that point twice: it has no area
        # and its two other edges cancel
        if len(np.unique(joined)) < len(joined):
            t = t[(t[:, 0] != t[:, 1]) & (t[:, 1] != t[:, 2]) & (t[:, 2] != t[:, 0])]
        found.append(t + number[face.z_mm] * size)
        senses.append(np.full(len(t), face.sense))
    triangles, sense = np.vstack(found), np.concatenate(senses)
    _refuse_crossed(plan.xy, triangles % size, rings, chord_mm)
    turned: IntArray = np.where(sense[:, None] > 0, triangles, triangles[:, ::-1])
    return turned


def _refuse_crossed(
    xy: FloatArray, triangles: IntArray, rings: Sequence[IntArray], chord_mm: float
) -> None:
    """Raises where triangles of the levels lie upside down or don't make up the rings' area."""
    a, b, c = np.moveaxis(xy[triangles], 1, 0)
    twice = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    here = np.concatenate(rings)
    there = np.concatenate([np.roll(ring, -1) for ring in rings])
    (x0, y0), (x1, y1) = xy[here].T, xy[there].T
    off = abs(float((x0 * y1 - x1 * y0).sum() - twice.sum()))
    if twice.min() < -2 * TURNED_OVER_MM2 or off > LOST_AREA_SHARE * float(twice.sum()):
        x, y = a[int(np.argmin(twice))]
        raise CrossingChordsError(
            f"at chord_mm = {chord_mm:g} neighbouring curves cross near ({x:.3f}, {y:.3f})",
            remedy="take finer chords",
        )


def _wall_triangles(body: Body, plan: PlanPoints, number: dict[float, int]) -> list[IntArray]:
    """Triangles of all walls; where another level meets a wall's end, its edge there is cut."""
    size = len(plan.xy)
    pieces = np.array([wall.piece for wall in body.walls], np.int64)
    low = np.array([number[wall.z0_mm] for wall in body.walls], np.int64)
    high = np.array([number[wall.z1_mm] for wall in body.walls], np.int64)
    side = np.array([wall.side for wall in body.walls], np.int64)
    met = _levels_met(body, number)
    # walls whose first or last upright edge has levels between its ends
    cut = [_between(met, body.ends[pieces, end], low, high) for end in (0, 1)]
    here, count = plan.along(pieces, np.ones_like(pieces))
    of = np.repeat(np.arange(len(pieces)), count)
    last = np.cumsum(count) - 1
    there = np.empty_like(here)
    there[:-1] = here[1:]
    there[last] = plan.ends[pieces, 1]
    first = last - count + 1
    plain = np.ones(len(here), bool)
    plain[first[cut[0]]] = False
    plain[last[cut[1]]] = False
    a, b, w = here[plain], there[plain], of[plain]
    a0, b0, a1, b1 = a + low[w] * size, b + low[w] * size, a + high[w] * size, b + high[w] * size
    quads = np.vstack([np.column_stack([a0, b0, b1]), np.column_stack([a0, b1, a1])])
    doubled = np.concatenate([side[w], side[w]])
    triangles = [np.where(doubled[:, None] > 0, quads, quads[:, ::-1])]
    special = np.flatnonzero(~plain)
    rest: list[tuple[int, int, int]] = []
    for k in special.tolist():
        wall = int(of[k])
        z0, z1 = int(low[wall]), int(high[wall])
        left, right = [z0, z1], [z0, z1]
        if k == first[wall] and cut[0][wall]:
            left = [z for z in met[int(body.ends[pieces[wall], 0])] if z0 <= z <= z1]
        if k == last[wall] and cut[1][wall]:
            right = [z for z in met[int(body.ends[pieces[wall], 1])] if z0 <= z <= z1]
        rising = zip_strip(
            [int(here[k]) + z * size for z in left], [int(there[k]) + z * size for z in right]
        )
        rest += rising if side[wall] > 0 else [t[::-1] for t in rising]
    if rest:
        triangles.append(np.array(rest, np.int64))
    return triangles


def _levels_met(body: Body, number: dict[float, int]) -> dict[int, list[int]]:
    """For each vertex the numbers of the levels met there, rising."""
    return {v: [number[z] for z in zs] for v, zs in vertex_levels_mm(body).items()}


def _between(
    met: dict[int, list[int]], vertices: IntArray, low: IntArray, high: IntArray
) -> NDArray[np.bool_]:
    """Whether a vertex meets a level strictly between low and high."""
    return np.array(
        [
            any(z0 < z < z1 for z in met[v])
            for v, z0, z1 in zip(vertices.tolist(), low.tolist(), high.tolist(), strict=True)
        ],
        bool,
    )


def zip_strip(left: Sequence[int], right: Sequence[int]) -> list[tuple[int, int, int]]:
    """Triangles between two rising chains of points, counter-clockwise, ``left`` at the left."""
    triangles = []
    i = j = 0
    while i < len(left) - 1 or j < len(right) - 1:
        if j == len(right) - 1 or (i < len(left) - 1 and i <= j):
            triangles.append((left[i], right[j], left[i + 1]))
            i += 1
        else:
            triangles.append((left[i], right[j], right[j + 1]))
            j += 1
    return triangles


def _cone_triangles(body: Body, plan: PlanPoints, number: dict[float, int]) -> IntArray:
    """Triangles of all cones: both rings have points at the same angles."""
    if not body.cones:
        return np.empty((0, 3), np.int64)
    size = len(plan.xy)
    found = []
    for cone in body.cones:
        lower = np.array(cone.lower, np.int64)
        low, _ = plan.along(lower, np.ones_like(lower))
        upper = np.array([cone.upper], np.int64)
        high, _ = plan.along(upper, np.ones_like(upper))
        a0, a1 = low + number[cone.z0_mm] * size, high + number[cone.z1_mm] * size
        b0, b1 = np.roll(a0, -1), np.roll(a1, -1)
        t = np.vstack([np.column_stack([a0, b0, b1]), np.column_stack([a0, b1, a1])])
        found.append(t if cone.side > 0 else t[:, ::-1])
    return np.vstack(found)
