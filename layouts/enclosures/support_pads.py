"""Pads on floor and lid that clamp the held cells between them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.laps import two_lines_mm
from layouts.holders.fastening import SADDLE_PAD_RADIUS_MM, CellBlock
from layouts.pack import Face, Pack
from layouts.strips.joining import Interconnect

__all__ = ["RING_PAD_RADIUS_MM", "SupportPad", "support_pads_clear", "support_pads_of"]

# All of these are common practice, no source
RING_PAD_RADIUS_MM = 5.0  # radius, under a tie post
RING_HOLE_RADIUS_MM = 3.3  # radius, round the screw's head or nut
LEAST_RING_MM = 1.2  # three lines of a 0.4 nozzle; two of a coarse one


@dataclass(frozen=True, kw_only=True, slots=True)
class SupportPad:
    """A round pad on floor or lid that meets a holder's outer face; ``hole_radius_mm``: radius, 0
    none."""

    x_mm: float
    y_mm: float
    radius_mm: float
    hole_radius_mm: float


def support_pads_of(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    cell_block: CellBlock,
    outline: BaseGeometry,
    face: Face,
) -> tuple[SupportPad, ...]:
    """Pads that clamp a holder's outer face: rings at tie posts, discs at support pads.

    None over a can, a strip's channel or past the holder's ``outline``.
    """
    cells = cKDTree(cell_layout.xy_mm)
    strips = [one.shape for one in interconnect.laid(face)]
    tree = shapely.STRtree(strips)
    can = pack.cell.diameter_mm / 2
    ring = max(LEAST_RING_MM, two_lines_mm(pack.printer.nozzle_mm))
    play = pack.holder.channel_play_mm / 2
    wanted = [(p.x_mm, p.y_mm, RING_PAD_RADIUS_MM, RING_HOLE_RADIUS_MM) for p in cell_block.posts]
    saddles = cell_block.saddles_lower if face is Face.LOWER else cell_block.saddles_upper
    wanted += [(float(x), float(y), SADDLE_PAD_RADIUS_MM, 0.0) for x, y in saddles]
    support_pads: list[SupportPad] = []
    for x, y, most, hole in wanted:
        radius = min(most, float(cells.query((x, y))[0]) - can - 0.05)
        if strips:
            nearest = tree.nearest(shapely.Point(x, y))
            radius = min(radius, strips[nearest].distance(shapely.Point(x, y)) - play - 0.05)
        radius = min(radius, outline.boundary.distance(shapely.Point(x, y)) - 0.1)
        if radius >= (hole + ring if hole else 0.75 * SADDLE_PAD_RADIUS_MM):
            support_pads.append(
                SupportPad(x_mm=x, y_mm=y, radius_mm=round(radius, 3), hole_radius_mm=hole)
            )
    return tuple(support_pads)


def support_pads_clear(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    pads: Mapping[Face, Sequence[SupportPad]],
    others: Mapping[Face, int] | None = None,
) -> Check:
    """Pads press on plain plastic: off every can and every strip's channel; 3 a face or more.

    ``others``: how many places of a face are pressed on otherwise."""
    cells = cKDTree(cell_layout.xy_mm)
    least, where = math.inf, ""
    for face, support_pads in pads.items():
        strips = [one.shape for one in interconnect.laid(face)]
        tree = shapely.STRtree(strips)
        if len(support_pads) + (others or {}).get(face, 0) < 3:
            least, where = -1.0, f"{face.value} face has {len(support_pads)} pads, 3 at least"
        for support_pad in support_pads:
            point = shapely.Point(support_pad.x_mm, support_pad.y_mm)
            gap = (
                float(cells.query((support_pad.x_mm, support_pad.y_mm))[0])
                - pack.cell.diameter_mm / 2
            )
            if strips:
                channel = strips[tree.nearest(point)].distance(point)
                gap = min(gap, channel - pack.holder.channel_play_mm / 2)
            if gap - support_pad.radius_mm < least:
                least = gap - support_pad.radius_mm
                where = (
                    f"{face.value} face, pad at ({support_pad.x_mm:.1f}, {support_pad.y_mm:.1f})"
                )
    return Check(
        id="pads_clear", about="clearance from a clamping pad to a can's edge or a strip channel",
        holds=least >= 0.0, value=least, limit=0.0, unit="mm", source="geometry",
        remedy="more tie posts or narrower strips, so that pads bear on solid plastic",
        where=where,
    )  # fmt: skip
