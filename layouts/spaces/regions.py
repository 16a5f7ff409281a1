"""What of the plan is free between two heights; the space turned; the space as triangles."""

from __future__ import annotations

from dataclasses import replace
from enum import Enum
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from layouts.spaces.space import Prism, Solid, Space
from layouts.spaces.triangles import section, shadow, surface_shadow

__all__ = [
    "free_region",
    "free_width_mm",
    "prism_solid",
    "seen_from_pack",
    "space_mesh",
    "turned",
]

TOUCH_MM = 1e-3  # bodies that only touch a slab don't count: above float32 noise of files
CRUMB_MM2 = 1e-6  # areas left between edges that should meet
STRAIGHT_MM = 1e-7  # a corner nearer than this to its neighbours' line is none
WIDTH_PLAY_MM = 0.05  # how far from the true centre the largest circle may be looked for

# axis: which old coordinate becomes x, y, z: cyclic, so that nothing is mirrored
_ORDERS = {"x": (1, 2, 0), "y": (2, 0, 1), "z": (0, 1, 2)}


def free_region(space: Space, z0_mm: float, z1_mm: float) -> Polygon | MultiPolygon:
    """The area of the plan that is free over the whole height from ``z0_mm`` to ``z1_mm``.

    The free space's section less what its own surface and the keep-outs cover in between. Empty
    where the heights leave the free space. Without a free space the box round the keep-outs bounds
    it. Exact for the given outlines and triangles."""
    if not z1_mm > z0_mm:
        raise ValueError(f"no height between {z0_mm} and {z1_mm}")
    low, high = z0_mm + TOUCH_MM, z1_mm - TOUCH_MM
    if low >= high:  # a sheet thinner than that: its middle decides
        low = high = (z0_mm + z1_mm) / 2
        low, high = low - TOUCH_MM / 10, high + TOUCH_MM / 10
    if isinstance(space.room, Prism):
        free = _prism_plan(space.room, low, high)
    elif isinstance(space.room, Solid):
        free = _solid_plan(space.room, low, high)
    else:
        free = _box_plan(space, low, high)
    for solid in space.keep_out:
        if not free.is_empty:
            free = free.difference(shadow(solid, low, high))
    return _areas(free)


def turned(space: Space, axis: Literal["x", "y", "z"] | Enum) -> tuple[Space, NDArray[np.float64]]:
    """The space turned so that ``axis`` becomes z, and the (4, 4) that takes its points there.

    x, y, z follow each other as before, so the turn is proper (determinant +1). An upright box
    at the origin stays one; any other prism becomes a mesh where it no longer stands upright.
    ``open_sides`` are named anew.
    """
    order = list(_ORDERS[axis.value if isinstance(axis, Enum) else axis])
    pose = np.eye(4)
    pose[:3, :3] = np.eye(3)[order]
    if order == [0, 1, 2]:
        return space, pose
    room = space.room
    if isinstance(room, Prism):
        box = _box_of(room)
        room = _turned_solid(prism_solid(room), order) if box is None else _box_prism(box, order)
    elif isinstance(room, Solid):
        room = _turned_solid(room, order)
    keep_out = tuple(_turned_solid(solid, order) for solid in space.keep_out)
    sides = space.open_sides
    if sides is not None:
        sides = tuple(side[0] + "xyz"[order.index("xyz".index(side[1]))] for side in sides)
    return replace(space, room=room, keep_out=keep_out, open_sides=sides), pose


@lru_cache(maxsize=8)
def seen_from_pack(space: Space) -> Space:
    """The space in axes parallel to the pack's, its origin kept, where ``space.place`` turns the
    pack; else the space itself. A prism stays one where its floor stays below."""
    if space.place is None or np.array_equal(space.place.turn, np.eye(3)):
        return space
    back = np.array(space.place.turn, dtype=np.float64).T
    room = space.room
    if isinstance(room, Prism) and space.place.is_upright:
        outline, *holes = (
            tuple((float(x), float(y)) for x, y in np.array(ring) @ back[:2, :2].T)
            for ring in (room.outline_mm, *room.holes_mm)
        )
        room = replace(room, outline_mm=outline, holes_mm=tuple(holes))
    elif isinstance(room, Prism):
        room = prism_solid(room)
    if isinstance(room, Solid):
        room = replace(room, vertices_mm=room.vertices_mm @ back.T)
    keep_out = tuple(
        replace(solid, vertices_mm=solid.vertices_mm @ back.T) for solid in space.keep_out
    )
    return replace(space, room=room, keep_out=keep_out, open_sides=None, place=None)


def space_mesh(space: Space) -> list[Solid]:
    """The space as closed meshes: the free space first, where there is one, then the keep-outs."""
    room = prism_solid(space.room) if isinstance(space.room, Prism) else space.room
    return [*(() if room is None else (room,)), *space.keep_out]


def prism_solid(prism: Prism, *, name: str = "room") -> Solid:
    """A prism as a closed mesh facing outwards; its corners are those of the rings alone."""
    rings = [np.array(ring) for ring in (prism.outline_mm, *prism.holes_mm)]
    plan = np.concatenate(rings)
    count = len(plan)
    index = {(x, y): i for i, (x, y) in enumerate(plan.tolist())}
    area = Polygon(prism.outline_mm, prism.holes_mm)
    cut = shapely.get_parts(shapely.constrained_delaunay_triangles(area))
    corners = shapely.get_coordinates(shapely.orient_polygons(cut)).reshape(-1, 4, 2)[:, :3]
    top = np.array([index[x, y] for x, y in corners.reshape(-1, 2).tolist()]).reshape(-1, 3)
    first, then = [], []
    start = 0
    for ring in rings:
        numbers = np.arange(start, start + len(ring))
        first.append(numbers)
        then.append(np.roll(numbers, -1))
        start += len(ring)
    here, there = np.concatenate(first), np.concatenate(then)
    walls = np.concatenate(
        [
            np.column_stack([here, there, there + count]),
            np.column_stack([here, there + count, here + count]),
        ]
    )
    low = np.column_stack([plan, np.zeros(count)])
    return Solid(
        name=name,
        vertices_mm=np.concatenate([low, low + [0.0, 0.0, prism.height_mm]]),
        faces=np.concatenate([top[:, ::-1], top + count, walls]).astype(np.int64),
    )


def free_width_mm(space: Space) -> float:
    """At least the diameter of the largest ball in the free space, keep-outs not counted.

    Nothing wider goes in, however it is turned. Exact to twice ``WIDTH_PLAY_MM`` for prisms; for a
    mesh the largest circle in its shadows along x, y and z. Infinite where there is none."""
    if space.room is None:
        return float("inf")
    room = Space(room=space.room)
    if isinstance(room.room, Prism):
        plan = Polygon(room.room.outline_mm, room.room.holes_mm)
        return min(room.room.height_mm, _circle_mm(plan))
    seen = (_overall(turned(room, axis)[0]) for axis in ("x", "y", "z"))
    return min(*room.box_mm, *(_circle_mm(plan) for plan in seen))


def _prism_plan(prism: Prism, low: float, high: float) -> BaseGeometry:
    if low < 0.0 or high > prism.height_mm:
        return Polygon()
    return Polygon(prism.outline_mm, prism.holes_mm)


def _solid_plan(room: Solid, low: float, high: float) -> BaseGeometry:
    heights = room.vertices_mm[:, 2]
    if low < heights.min() or high > heights.max():
        return Polygon()
    return section(room, low, high).difference(surface_shadow(room, low, high))


def _box_plan(space: Space, low: float, high: float) -> BaseGeometry:
    (x, y, z), (a, b, c) = space.low_mm, space.box_mm
    return shapely.box(x, y, x + a, y + b) if low >= z and high <= z + c else Polygon()


def _areas(shape: BaseGeometry) -> Polygon | MultiPolygon:
    """The areas of a shape, without crumbs, lines, points and corners on a straight side."""
    plain = shapely.simplify(shape, STRAIGHT_MM)
    parts = [part for part in shapely.get_parts(plain) if part.area > CRUMB_MM2]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def _box_of(prism: Prism) -> tuple[float, float, float] | None:
    """Sides of a prism that is an upright box with a corner at the origin, else None."""
    bare = Space(room=prism)
    return bare.box_mm if bare.is_box else None


def _box_prism(box_mm: tuple[float, float, float], order: list[int]) -> Prism:
    a, b, c = (box_mm[axis] for axis in order)
    return Prism(outline_mm=((0.0, 0.0), (a, 0.0), (a, b), (0.0, b)), height_mm=c)


def _turned_solid(solid: Solid, order: list[int]) -> Solid:
    return replace(solid, vertices_mm=np.ascontiguousarray(solid.vertices_mm[:, order]))


def _overall(space: Space) -> BaseGeometry:
    """The whole shadow of a mesh space in the plan."""
    assert isinstance(space.room, Solid)
    heights = space.room.vertices_mm[:, 2]
    return shadow(space.room, float(heights.min()) - 1.0, float(heights.max()) + 1.0)


def _circle_mm(plan: BaseGeometry) -> float:
    """Diameter of the largest circle in an area, at most ``WIDTH_PLAY_MM`` twice too large."""
    widest: float = max(
        shapely.maximum_inscribed_circle(part, tolerance=WIDTH_PLAY_MM).length
        for part in shapely.get_parts(plan)
    )
    return 2.0 * (widest + WIDTH_PLAY_MM)
