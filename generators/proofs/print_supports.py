"""Holders as they are printed: what webs and walls stand on, and that support pins are loose.

Looked at is the mesh that a slicer reads, pins in it; looked for are the webs between the cells and
the wall along the outline. Channels and pins of the drawing are not read.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import manifold3d
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from generators.made_part import MeshedPart
from generators.proofs.geometry_check import geometry_check
from generators.proofs.solids import mesh_solid
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.holders.holder import HolderTile
from layouts.holders.levels import holder_heights
from layouts.holders.spines import Hanging, hanging, spines_of, spines_over
from layouts.holders.support_pins import pin_gap_mm
from layouts.pack import Pack

__all__ = ["print_support_proofs"]

BELOW_MM = 0.05  # the section lies so far below the top of the pins under webs
MORE_MM = 0.2  # by which a web may hang further than planned: chords of pockets and pins
GAP_NOISE_MM = 1e-6  # float noise in a gap
LOOK_MM = 2.0  # how far round a pin its gap is looked for


def print_support_proofs(
    pack: Pack, cell_layout: CellLayout, tiles: Sequence[HolderTile], made: Sequence[MeshedPart]
) -> tuple[Check, ...]:
    """How much further than planned webs hang; where there are pins, their number and gaps."""
    printed = {one.name: one.printed for one in made}
    more, at = -math.inf, ""
    odd, odd_at = 0, ""
    gap, gap_at = math.inf, ""
    for tile in tiles:
        solid = mesh_solid(printed[tile.name].vertices_mm, printed[tile.name].faces)
        further = _further_mm(pack, cell_layout, tile, solid)
        if further > more:
            more, at = further, tile.name
        part, *pins = sorted(solid.decompose(), key=lambda body: -body.volume())
        if abs(len(pins) - len(tile.support_pins)) > odd:
            odd, odd_at = abs(len(pins) - len(tile.support_pins)), tile.name
        least = _least_gap_mm(part, pins)
        if least < gap:
            gap, gap_at = least, tile.name
    found = [
        geometry_check(
            "spans_as_planned",
            "by how much a web or wall over a channel hangs further on the printed mesh than "
            "planned",
            max(more, 0.0),
            MORE_MM,
            "mm",
            where=at,
        )
    ]
    if math.isfinite(gap) or any(tile.support_pins for tile in tiles):
        found += [
            geometry_check(
                "pins_as_planned",
                "loose bodies in a holder's file against its planned support pins, difference",
                float(odd),
                0.0,
                "",
                where=odd_at,
            ),
            geometry_check(
                "pins_loose",
                "smallest gap between a support pin and any other surface",
                gap,
                pin_gap_mm(pack.printer.layer_mm) - GAP_NOISE_MM,
                "mm",
                at_least=True,
                where=gap_at,
            ),
        ]
    return tuple(found)


def _further_mm(
    pack: Pack, cell_layout: CellLayout, tile: HolderTile, solid: manifold3d.Manifold
) -> float:
    """The longest bridge, and the longest free stretch, on the mesh less the planned ones; the
    larger of both."""
    heights = holder_heights(tile)
    under = pin_gap_mm(pack.printer.layer_mm) + BELOW_MM
    stand = _section(solid, heights.web_mm - under)
    spines = spines_over(
        pack,
        cell_layout,
        tile,
        plan=_section(solid, (heights.bar_mm + heights.mouth_mm) / 2),
        stand=stand,
        wall_stand=stand.intersection(_section(solid, heights.bar_mm - under)),
        bars=_section(solid, (heights.web_mm + heights.bar_mm) / 2),
    )
    planned = hanging(spines_of(pack, cell_layout, tile), tile.support_pins)
    there = hanging(spines, ())
    return max(_longest_mm(there, free) - _longest_mm(planned, free) for free in (False, True))


def _longest_mm(found: Sequence[Hanging], free: bool) -> float:
    return max((float(one.line.length) for one in found if one.is_free is free), default=0.0)


def _section(solid: manifold3d.Manifold, z_mm: float) -> BaseGeometry:
    """A level section as a shape, its holes in it."""
    rings = [np.vstack([ring, ring[:1]]) for ring in solid.slice(z_mm).to_polygons()]
    return shapely.build_area(shapely.MultiLineString(rings))


def _least_gap_mm(part: manifold3d.Manifold, pins: Sequence[manifold3d.Manifold]) -> float:
    """Smallest gap between pins and part, and between pins; infinite without pins."""
    if not pins:
        return math.inf
    whole = manifold3d.Manifold.compose(list(pins))
    least = float(part.min_gap(whole, LOOK_MM))
    boxes = np.array([pin.bounding_box() for pin in pins])
    middles, half = (boxes[:, :2] + boxes[:, 3:5]) / 2, (boxes[:, 3] - boxes[:, 0]) / 2
    for k in range(1, len(pins)):
        apart = np.hypot(*(middles[:k] - middles[k]).T) - half[:k] - half[k]
        least = min(least, float(apart.min()))
    return least
