"""Screws, nuts and inserts near the strips: loose metal that may take on any potential."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.holders.fastening import CellBlock
from layouts.pack import Pack
from layouts.parts.fasteners import Into
from layouts.parts.screw import PlacedScrew
from layouts.parts.tie_screw import SUNK_MM, tie_screw
from layouts.shorts.bare import ANYWHERE, FLOATING, Bare
from layouts.shorts.values import PRINT_MM

__all__ = ["Metal", "metal_parts"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Metal:
    """Loose metal: its n parts, and which of them are one piece, ``body`` (n,)."""

    parts: Bare
    body: NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _MetalPart:
    """Shape and radius in the plan, heights, what is gained up to the face.

    Parts of one ``body`` are one piece; "" is a piece by itself.
    """

    name: str
    shape: BaseGeometry
    radius_mm: float
    low_mm: float
    high_mm: float
    wall_mm: float = 0.0
    tile: int = ANYWHERE
    body: str = ""


def metal_parts(
    pack: Pack, cell_layout: CellLayout, cell_block: CellBlock, placed: Sequence[PlacedScrew]
) -> Metal:
    """All loose metal of a pack; each may lie anywhere in the hole that is made for it.

    ``placed``: screws of enclosure and brackets; those into the frame's own metal are no loose
    metal.
    """
    parts = _ties(pack, cell_layout, cell_block)
    for one in placed:
        if one.into is Into.INSERT:
            parts += _placed(one)
        if one.into is Into.NUT:
            parts += _with_nut(one)
    bodies = [part.body or f"part {k}" for k, part in enumerate(parts)]
    known = {body: k for k, body in enumerate(dict.fromkeys(bodies))}
    bare = Bare(
        shapes=np.array([part.shape for part in parts], dtype=np.object_),
        radius_mm=_numbers([part.radius_mm + PRINT_MM for part in parts]),
        potential=np.full(len(parts), FLOATING, dtype=np.int64),
        node=np.full(len(parts), ANYWHERE, dtype=np.int64),
        wall_mm=_numbers([part.wall_mm for part in parts]),
        tile=np.array([part.tile for part in parts], dtype=np.int64),
        low_mm=_numbers([part.low_mm for part in parts]),
        high_mm=_numbers([part.high_mm for part in parts]),
        name=lambda k: parts[k].name,
    )
    return Metal(parts=bare, body=np.array([known[body] for body in bodies], dtype=np.int64))


def _numbers(values: list[float]) -> NDArray[np.float64]:
    return np.array(values, dtype=np.float64)


def _ties(pack: Pack, cell_layout: CellLayout, cell_block: CellBlock) -> list[_MetalPart]:
    """The tie posts' screws: heads in the upper face, nuts in the lower one.

    Both lie ``SUNK_MM`` and more inside the outer face: a way along the plastic gains that.
    """
    if not cell_block.posts:
        return []
    tie, lip = tie_screw(pack), pack.holder.lip_mm
    places = np.array([(post.x_mm, post.y_mm) for post in cell_block.posts])
    tile = cell_layout.tile[cKDTree(cell_layout.xy_mm).query(places)[1]]
    top = pack.lip_to_lip_mm + lip
    found = []
    for k, (x, y) in enumerate(places.tolist()):
        middle = shapely.Point(x, y)
        for name, radius, low, high in (
            ("head", tie.head_hole_diameter_mm / 2, top - tie.head_recess_mm, top),
            ("nut", tie.nut_flats_mm / math.sqrt(3), -lip, tie.nut_recess_mm - lip),
        ):
            found.append(
                _MetalPart(
                    name=f"screw {name} in post {k + 1}",
                    shape=middle,
                    radius_mm=radius,
                    low_mm=low,
                    high_mm=high,
                    wall_mm=SUNK_MM,
                    tile=int(tile[k]),
                    body=f"tie {k}",
                )
            )
    return found


def _placed(one: PlacedScrew) -> list[_MetalPart]:
    """A screw into an insert: the insert with what lies in it, and the head with its washer."""
    mouth = one.through_mm + one.gap_mm
    parts = [
        (
            f"insert of {one.name}",
            -mouth - one.hole_deep_mm,
            0.0,
            one.size.insert_hole_diameter_mm,
        ),
        (
            f"head of {one.name}",
            0.0,
            one.lift_mm + one.size.head_high_mm,
            one.size.head_diameter_mm,
        ),
    ]
    return [
        _along(name, one, low, high, across / 2, body=f"{one.name} at {one.at_mm.tolist()}")
        for name, low, high, across in parts
    ]


def _with_nut(one: PlacedScrew) -> list[_MetalPart]:
    """A screw into a nut: its shank with the nut, as wide as the nut over the nut's height."""
    grip, body = one.grip_mm, f"{one.name} at {one.at_mm.tolist()}"
    assert one.length_mm is not None
    corner = one.size.nut_flats_mm / math.sqrt(3.0)
    end = max(grip + one.size.nut_high_mm, one.length_mm)
    return [
        _along(f"nut of {one.name}", one, -end, -grip, corner, body=body),
        _along(
            f"head of {one.name}", one, 0.0, one.lift_mm + one.size.head_high_mm,
            one.size.head_diameter_mm / 2, body=body,
        ),
    ]  # fmt: skip


def _along(
    name: str, one: PlacedScrew, low_mm: float, high_mm: float, radius_mm: float, *, body: str
) -> _MetalPart:
    """A stretch of a screw's axis: a disc of the plan where it stands upright, else its box."""
    ends = np.array([one.point(low_mm), one.point(high_mm)])
    (x0, y0, z0), (x1, y1, z1) = ends.min(axis=0).tolist(), ends.max(axis=0).tolist()
    if one.upright:
        return _MetalPart(
            name=name, shape=shapely.Point(x0, y0), radius_mm=radius_mm, low_mm=z0, high_mm=z1,
            body=body,
        )  # fmt: skip
    wide = radius_mm * (1.0 - np.abs(one.out))
    return _MetalPart(
        name=name,
        shape=shapely.box(x0 - wide[0], y0 - wide[1], x1 + wide[0], y1 + wide[1]),
        radius_mm=0.0,
        low_mm=z0 - radius_mm,
        high_mm=z1 + radius_mm,
        body=body,
    )
