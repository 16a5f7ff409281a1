"""What must stay free besides the printed parts: cable outlets, screw heads, service.

Everything in the pack's coordinates, read off shell, outlets and placed screws.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from layouts.holders.shape import cell_block_shape
from layouts.pack import Face
from layouts.parts.clearance import Clearance, ClearanceKind
from layouts.parts.convex import prism
from layouts.parts.fasteners import Into
from layouts.parts.outlet import BENDS
from layouts.parts.screw import PlacedScrew
from layouts.parts.shell import Shell
from layouts.planning.steps import OutsidePlan

__all__ = ["pack_clearances"]

ROUGH_MM = 0.2  # the cell block's outline is enlarged by this where nothing encloses it


def pack_clearances(plan: OutsidePlan, *, bend_to: str = "+z") -> tuple[Clearance, ...]:
    """All of a pack; ``bend_to``: one of ``BENDS``, how all wires turn behind the glands.

    Without an enclosure: the cell block with the vent space over both faces, and the strips. Raises
    KeyError for a way that is none of ``BENDS``."""
    towards = BENDS[bend_to]
    if plan.enclosure_set is None:
        return (_bare(plan),)
    enclosure, bracket = plan.enclosure, plan.bracket
    return (
        _inside(enclosure.shell),
        *(
            Clearance(
                name=f"cable outlet for {outlet.purpose}",
                kind=ClearanceKind.OUTLET,
                pieces=tuple(outlet.pieces(towards)),
            )
            for outlet in enclosure.outlets
        ),
        *_heads((*enclosure.screws, *bracket.screws)),
        *enclosure.service,
        *_driver_ways(bracket.screws),
    )


def _inside(shell: Shell) -> Clearance:
    """All that the walls enclose."""
    parts = (
        [shell.cavity]
        if shell.cavity.convex_hull.equals(shell.cavity)
        else shapely.get_parts(shapely.constrained_delaunay_triangles(shell.cavity))
    )
    return Clearance(
        name="inside of the tub",
        kind=ClearanceKind.INSIDE,
        pieces=tuple(prism(_ccw(one), shell.z_floor_mm, shell.z_rim_mm) for one in parts),
    )


def _bare(plan: OutsidePlan) -> Clearance:
    """Held cells without an enclosure: triangles of the plan, as high as cells and gas need."""
    pack = plan.pack
    room = pack.holder.lip_mm + pack.enclosure.gas_gap_mm
    strips = [one.shape for face in Face for one in plan.interconnect.laid(face)]
    shape = shapely.union_all([cell_block_shape(plan.cell_block.outline), *strips])
    rough = shape.simplify(ROUGH_MM).buffer(ROUGH_MM, join_style="mitre")
    triangles = shapely.constrained_delaunay_triangles(rough)
    return Clearance(
        name="held cells with vent space",
        kind=ClearanceKind.INSIDE,
        pieces=tuple(
            prism(_ccw(one), -room, pack.lip_to_lip_mm + room)
            for one in shapely.get_parts(triangles)
        ),
    )


def _ccw(shape: shapely.Polygon) -> list[tuple[float, float]]:
    ring = shapely.orient_polygons(shape).exterior
    return [(float(x), float(y)) for x, y in ring.coords[:-1]]


def _heads(placed: Sequence[PlacedScrew]) -> Iterator[Clearance]:
    """Heads with their washers, those counted together as one."""
    for name in dict.fromkeys(one.heads for one in placed):
        yield Clearance(
            name=name,
            kind=ClearanceKind.SCREW_HEAD,
            pieces=tuple(piece for one in placed if one.heads == name for piece in one.head()),
        )


def _driver_ways(placed: Sequence[PlacedScrew]) -> Iterator[Clearance]:
    """Room for a key over the screws that are driven with the pack in its place."""
    pieces = tuple(one.driver_way() for one in placed if one.into is Into.FRAME or one.in_place)
    if pieces:
        yield Clearance(
            name="service clearance: driver over the bracket screws",
            kind=ClearanceKind.DRIVER_SERVICE,
            pieces=pieces,
        )
