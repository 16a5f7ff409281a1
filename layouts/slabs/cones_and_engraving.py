"""What is not a slab: cones on circles (lead-ins, countersinks) and figures sunk from below."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.slabs.body import ConeWall, WallFace
from layouts.slabs.crossings import SNAP_MM, meeting_points_mm
from layouts.slabs.curves import curve_distances_mm, curve_points_mm
from layouts.slabs.errors import SolidError
from layouts.slabs.faces import PieceLoop, Plan
from layouts.slabs.profile import Arc, Line, Loop, Point, loop_area_mm2, segment_start

__all__ = ["Cone", "ConeRings", "Engraved", "EngravedPieces", "cone_rings", "engraved_pieces"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

# A circle whose pieces miss or overlap by more than this is not whole: float noise only.
WHOLE_RAD = 1e-7


@dataclass(frozen=True, slots=True)
class Cone:
    """A circle of the plan that becomes ``top_radius_mm`` wide at the top of the cone slab."""

    centre: Point
    radius_mm: float
    top_radius_mm: float


@dataclass(frozen=True, slots=True)
class Engraved:
    """A figure sunk into the lowest face: outer loops counter-clockwise, its holes clockwise."""

    loops: Sequence[Loop]
    depth_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class ConeRings:
    """The cones, with the circles at their tops as pieces that follow the plan's own."""

    vertices: FloatArray
    ends: IntArray
    circles: FloatArray
    turns: FloatArray
    on_ring: BoolArray
    cones: tuple[ConeWall, ...]
    top_loops: tuple[PieceLoop, ...]
    volume_mm3: float


@dataclass(frozen=True, kw_only=True, slots=True)
class EngravedPieces:
    """Sunk figures as pieces that follow the plan's own and the cones'."""

    vertices: FloatArray
    ends: IntArray
    circles: FloatArray
    turns: FloatArray
    walls: tuple[WallFace, ...]
    bottom_loops: tuple[PieceLoop, ...]
    floors: Mapping[float, list[PieceLoop]]
    volume_mm3: float


def cone_rings(
    plan: Plan,
    left: BoolArray,
    right: BoolArray,
    cones: Sequence[Cone],
    cone_slab: int | None,
    heights: Sequence[tuple[float, float]],
) -> ConeRings:
    """Find the circles of the cones among the plan's pieces; material: (slabs, pieces) bool.

    SolidError if a circle is not there whole, if material goes on above it, or if the cone
    runs into something else.
    """
    on_ring = np.zeros(len(plan.ends), bool)
    if not cones:
        return ConeRings(**_no_pieces(), on_ring=on_ring, cones=(), top_loops=(), volume_mm3=0.0)
    if cone_slab is None or not 0 <= cone_slab < len(heights):
        raise SolidError(
            f"cones are given for slab {cone_slab}",
            remedy=f"name a slab from 0 to {len(heights) - 1}",
        )
    z0, z1 = heights[cone_slab]
    of_cone = _pieces_of_cones(plan, left[cone_slab] != right[cone_slab], cones)
    on_ring[of_cone >= 0] = True
    order = np.flatnonzero(on_ring)
    order = order[np.lexsort((plan.turns[order, 0] % math.tau, of_cone[order]))]
    found = np.searchsorted(of_cone[order], np.arange(len(cones) + 1))
    above = cone_slab + 1
    blocked = (left[above] | right[above]) if above < len(heights) else np.zeros(len(on_ring), bool)
    first_vertex, first_piece = len(plan.vertices), len(plan.ends)
    tops, walls, loops, volume = [], [], [], []
    for k, cone in enumerate(cones):
        lower = order[found[k] : found[k + 1]]
        side = _ring_side(plan, cone, lower, left[cone_slab], blocked)
        start = float(plan.turns[lower[0], 0])
        tops.append((*cone.centre, cone.top_radius_mm, start))
        walls.append(ConeWall(tuple(lower.tolist()), z0, first_piece + k, z1, side))
        loops.append(((first_piece + k, side),))
        r, q = cone.radius_mm, cone.top_radius_mm
        volume.append(side * math.pi * (z1 - z0) * ((r * r + r * q + q * q) / 3 - r * r))
    touched = (left[cone_slab] != right[cone_slab]) | (
        (left[above] != right[above]) if above < len(heights) else False
    )
    _refuse_met_cones(plan, cones, np.flatnonzero(touched & ~on_ring))
    table = np.array(tops)
    circles, start_rad = table[:, :3], table[:, 3]
    reach = circles[:, 2:] * np.column_stack([np.cos(start_rad), np.sin(start_rad)])
    number = first_vertex + np.arange(len(cones))
    return ConeRings(
        vertices=circles[:, :2] + reach,
        ends=np.column_stack([number, number]),
        circles=circles,
        turns=np.column_stack([start_rad, np.full(len(cones), math.tau)]),
        on_ring=on_ring,
        cones=tuple(walls),
        top_loops=tuple(loops),
        volume_mm3=math.fsum(volume),
    )


def _no_pieces() -> dict[str, NDArray[Any]]:
    """Columns of no pieces at all."""
    return {
        "vertices": np.empty((0, 2)),
        "ends": np.empty((0, 2), np.int64),
        "circles": np.empty((0, 3)),
        "turns": np.empty((0, 2)),
    }


def _pieces_of_cones(plan: Plan, walled: BoolArray, cones: Sequence[Cone]) -> IntArray:
    """For each piece the cone whose circle it lies on, or -1."""
    of_cone = np.full(len(plan.ends), -1)
    arcs = np.flatnonzero(walled & (plan.circles[:, 2] > 0))
    wanted = np.array([(*cone.centre, cone.radius_mm) for cone in cones])
    gap, nearest = cKDTree(wanted).query(plan.circles[arcs], distance_upper_bound=SNAP_MM)
    hit = np.isfinite(gap)
    of_cone[arcs[hit]] = nearest[hit]
    return of_cone


def _ring_side(plan: Plan, cone: Cone, lower: IntArray, left: BoolArray, blocked: BoolArray) -> int:
    """Side of the material (+1 within) of a cone's circle; SolidError if it can't be a cone."""
    where = f"the cone at ({cone.centre[0]:.3f}, {cone.centre[1]:.3f})"
    if not cone.top_radius_mm > 0 or abs(cone.top_radius_mm - cone.radius_mm) < SNAP_MM:
        raise SolidError(
            f"{where} goes from radius {cone.radius_mm:g} to {cone.top_radius_mm:g} mm",
            remedy="give a top radius above 0 that differs from the circle's",
        )
    if abs(math.fsum(plan.turns[lower, 1].tolist()) - math.tau) > WHOLE_RAD:
        raise SolidError(
            f"{where} finds no whole wall of radius {cone.radius_mm:g} mm in its slab",
            remedy="nothing may cut the circle there; check its radius and the slab's number",
        )
    if len(set(left[lower].tolist())) > 1:
        raise SolidError(
            f"{where} has material inside on one part and outside on another",
            remedy="give the circle material on one side only",
        )
    if blocked[lower].any():
        raise SolidError(
            f"{where} has material above its rim",
            remedy="let the material end at the cone slab's top",
        )
    return 1 if left[lower[0]] else -1


def _refuse_met_cones(plan: Plan, cones: Sequence[Cone], others: IntArray) -> None:
    """SolidError if a cone reaches another one or another wall of its slab or the one above."""
    centres = np.array([cone.centre for cone in cones])
    outer = np.array([max(cone.radius_mm, cone.top_radius_mm) for cone in cones])
    inner = np.array([min(cone.radius_mm, cone.top_radius_mm) for cone in cones])
    near = cKDTree(centres).query_pairs(2 * float(outer.max()), output_type="ndarray")
    gap = np.hypot(*(centres[near[:, 0]] - centres[near[:, 1]]).T) - outer[near].sum(axis=1)
    if len(near) and gap.min() < SNAP_MM:
        x, y = centres[near[int(np.argmin(gap)), 0]]
        raise SolidError(
            f"the cone at ({x:.3f}, {y:.3f}) reaches its neighbour ({gap.min():.4f} mm)",
            remedy="take a smaller top radius",
        )
    ends, circles, turns = plan.ends[others], plan.circles[others], plan.turns[others]
    boxes = shapely.box(*(centres - outer[:, None]).T, *(centres + outer[:, None]).T)
    low, high = plan.low[others], plan.high[others]
    piece, cone = shapely.STRtree(boxes).query(shapely.box(*low.T, *high.T))
    distance = curve_distances_mm(
        plan.vertices, ends[piece], circles[piece], turns[piece], centres[cone]
    )
    middle = curve_points_mm(plan.vertices, ends[piece], circles[piece], turns[piece])
    off_centre = np.hypot(*(middle - centres[cone]).T)
    met = (distance < outer[cone] + SNAP_MM) & (off_centre > inner[cone] - SNAP_MM)
    if met.any():
        x, y = centres[cone[met][0]]
        raise SolidError(
            f"the cone at ({x:.3f}, {y:.3f}) runs into another wall",
            remedy="take a smaller top radius or move what is beside it",
        )


def engraved_pieces(
    plan: Plan,
    left: BoolArray,
    right: BoolArray,
    engraved: Sequence[Engraved],
    slab_mm: tuple[float, float],
    *,
    first_vertex: int,
) -> EngravedPieces:
    """Figures as pieces, numbered after the plan's and ``first_vertex`` cone pieces.

    left, right : material beside the plan's pieces in the lowest slab.
    SolidError if a figure is too deep, empty, or does not lie wholly within the lowest face.
    """
    if not engraved:
        return EngravedPieces(**_no_pieces(), walls=(), bottom_loops=(), floors={}, volume_mm3=0.0)
    z0, z1 = slab_mm
    vertex, piece = len(plan.vertices) + first_vertex, len(plan.ends) + first_vertex
    points: list[Point] = []
    ends: list[tuple[int, int]] = []
    curves: list[tuple[float, float, float, float, float]] = []
    group: list[int] = []
    walls: list[WallFace] = []
    floors: dict[float, list[PieceLoop]] = {}
    bottom: list[PieceLoop] = []
    volume = 0.0
    for figure in engraved:
        area = _sound_area_mm2(figure, z1 - z0)
        volume += area * figure.depth_mm
        for loop in figure.loops:
            items = []
            for k, segment in enumerate(loop):
                points.append(segment_start(segment))
                here, there = vertex + k, vertex + (k + 1) % len(loop)
                sign = -1 if isinstance(segment, Arc) and segment.sweep_rad < 0 else 1
                ends.append((here, there) if sign > 0 else (there, here))
                curves.append(_curve(segment))
                items.append((piece + k, sign))
                walls.append(WallFace(piece + k, z0, z0 + figure.depth_mm, -sign))
                group.append(len(bottom) + 1)
            floors.setdefault(figure.depth_mm, []).append(tuple(items))
            bottom.append(tuple((k, -sign) for k, sign in reversed(items)))
            vertex, piece = vertex + len(loop), piece + len(loop)
    table = np.array(curves)
    pieces = EngravedPieces(
        vertices=np.array(points, float),
        ends=np.array(ends, np.int64),
        circles=table[:, :3],
        turns=table[:, 3:],
        walls=tuple(walls),
        bottom_loops=tuple(bottom),
        floors=floors,
        volume_mm3=volume,
    )
    _refuse_met_figures(plan, left != right, pieces, np.array(group), first_vertex)
    return pieces


def _sound_area_mm2(figure: Engraved, slab_mm: float) -> float:
    """The figure's area; SolidError where it is empty or deeper than the slab is high."""
    if not 0 < figure.depth_mm < slab_mm:
        raise SolidError(
            f"a figure is sunk {figure.depth_mm:g} mm into a slab of {slab_mm:g} mm",
            remedy="stay between 0 and the lowest slab's height",
        )
    area = math.fsum(loop_area_mm2(loop) for loop in figure.loops)
    if not area > 0:
        raise SolidError(
            "a sunk figure has no area of its own",
            remedy="run its outer loops counter-clockwise and its holes clockwise",
        )
    return area


def _curve(segment: Line | Arc) -> tuple[float, float, float, float, float]:
    """Centre, radius, first angle and sweep of a segment run counter-clockwise; 0 for a line."""
    if isinstance(segment, Line):
        return (0.0, 0.0, 0.0, 0.0, 0.0)
    start = segment.start_rad + min(segment.sweep_rad, 0.0)
    return (*segment.centre, segment.radius_mm, start, abs(segment.sweep_rad))


def _refuse_met_figures(
    plan: Plan, bottom: BoolArray, figures: EngravedPieces, group: IntArray, first_vertex: int
) -> None:
    """SolidError unless every figure lies clear within the material of the lowest face."""
    edge = np.flatnonzero(bottom)
    own = figures.ends - len(plan.vertices) - first_vertex
    met = meeting_points_mm(
        np.vstack([plan.vertices[plan.ends[edge, 0]], figures.vertices[own[:, 0]]]),
        np.vstack([plan.vertices[plan.ends[edge, 1]], figures.vertices[own[:, 1]]]),
        np.vstack([plan.circles[edge], figures.circles]),
        np.vstack([plan.turns[edge], figures.turns]),
        np.concatenate([np.zeros(len(edge), np.int64), group]),
    )
    material = plan.loop_set(edge, np.ones(len(edge), int), np.zeros(len(edge), np.int64))
    within = material.contains(figures.vertices, np.zeros(len(figures.vertices), np.int64))
    outside = figures.vertices[~within]
    inner = Plan(figures.vertices, own, figures.circles, figures.turns)
    every = np.arange(len(own))
    taken = inner.loop_set(every, np.ones(len(own), int), np.zeros(len(own), np.int64))
    points = curve_points_mm(plan.vertices, plan.ends[edge], plan.circles[edge], plan.turns[edge])
    swallowed = points[taken.contains(points, np.zeros(len(points), np.int64))]
    bad = np.vstack([met, outside, swallowed])
    if len(bad):
        x, y = bad[0]
        raise SolidError(
            f"a sunk figure runs into something or out of the lowest face at ({x:.3f}, {y:.3f})",
            remedy="move it or make it smaller",
        )
