"""Gas out of the fitted enclosure: slots in the rim over its hollows, down behind the lid's lip.

The lip runs straight past the wall's hollows: each hollow without a screw is a duct. Gas of the
lower face rises beside the held cells, through the gap round them and the tails' channels, crosses
the gap over the upper face, and leaves through slots in the wall's top edge on one side.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.enclosures.fitted.gasket_vent import vent_gas_links
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.rooms import RoomKind
from layouts.enclosures.fitted.shell import SLOT_DEEP_MM, ShellPlan
from layouts.enclosures.fitted.sides import OUTWARD
from layouts.enclosures.fitted.sizes import Duct, FittedSizes, GasSlot
from layouts.enclosures.form import OUTSIDE, GasLink, RimEdge, gas_site
from layouts.enclosures.gas_way import free_height_mm
from layouts.pack import Face, Pack, Side

__all__ = ["ducts_of", "fitted_gas_links", "free_mm2", "slot_high_mm"]

LEAST_DUCT_MM = 1.0  # a duct narrower than this is a slit: it does not count
CROSSES_MM = 5.0  # a slot reaches so far past the wall's hollow on both sides
SLOT_MM = 14.0  # widest slot
LEAST_SLOT_MM = 3.0
OFF_WALL_MM = 0.8
BOSS_FREE_MM = 1.0  # wall left between a slot and a boss

BESIDE, RIM, SLOTS, DUCTS = (
    "gap beside the held cells", "exit from the cell block", "slots", "ducts behind the lip",
)  # fmt: skip
REMEDIES = {
    BESIDE: "a larger enclosure.side_gap_mm",
    RIM: "a larger enclosure.gas_gap_mm",
    SLOTS: "a longer side without rooms",
    DUCTS: "a longer side without rooms",
}


def ducts_of(shell: ShellPlan, discs: NDArray[np.float64]) -> tuple[Duct, ...]:
    """All ducts of a shell: along the side where the lip stands off, else each hollow between held
    cells that no screw takes.

    ``discs`` (n, 3): x, y, radius of the held cells' outline; the outline's figures begin with
    them."""
    outer, lip = loop_polygon(shell.outer), loop_polygon(shell.lip_inner)
    bosses = shapely.union_all(
        [shapely.Point(s.at_mm).buffer(s.radius_mm + BOSS_FREE_MM) for s in shell.screws]
    )
    half = LEAST_DUCT_MM / 2
    behind = lip.difference(outer).difference(bosses).buffer(-half).buffer(half)
    pieces = list(shapely.get_parts(behind))
    if shell.stands_off is not None:
        return _along_side(shell, shell.stands_off, discs, pieces, bosses)
    found = []
    for seat in shell.inner.seats:
        if max(seat.figures) >= len(discs) or seat.mouth_mm < LEAST_SLOT_MM:
            continue
        point = shapely.Point(seat.centre_mm)
        here = [piece for piece in pieces if piece.distance(point) == 0.0]
        if not here or point.distance(bosses) == 0.0:
            continue
        foot = outer.exterior.interpolate(outer.exterior.project(point))
        way = np.subtract(seat.centre_mm, (foot.x, foot.y))
        out = (way / np.hypot(*way)).tolist()
        side = max(OUTWARD, key=lambda one: float(np.dot(out, OUTWARD[one])))
        slot = GasSlot(
            at_mm=(foot.x, foot.y), out=(out[0], out[1]), wide_mm=min(SLOT_MM, seat.mouth_mm),
            long_mm=2 * CROSSES_MM,
        )  # fmt: skip
        found.append(Duct(side=side, section_mm2=float(here[0].area), slots=(slot,)))
    return tuple(found)


def _along_side(
    shell: ShellPlan,
    side: Side,
    discs: NDArray[np.float64],
    pieces: Sequence[BaseGeometry],
    bosses: BaseGeometry,
) -> tuple[Duct, ...]:
    """Behind a lip that stands off: pieces between screws, each with a slot at every crest."""
    grown = discs[:, 2] + OFF_WALL_MM + shell.wall_mm / 2
    out = np.array(OUTWARD[side])
    crests = discs[:, :2] + grown[:, None] * out
    wall = loop_polygon(shell.outer).exterior
    on_wall = shapely.distance(wall, shapely.points(crests)) < shell.wall_mm
    slots = []
    for x, y in crests[on_wall].tolist():
        slot = GasSlot(at_mm=(x, y), out=(out[0], out[1]), wide_mm=SLOT_MM, long_mm=2 * CROSSES_MM)
        if shapely.Polygon(slot.corners_mm).distance(bosses) > 0.0:
            slots.append(slot)
    ducts = []
    for piece in pieces:
        mine = tuple(s for s in slots if shapely.Polygon(s.corners_mm).intersects(piece))
        if mine:
            ducts.append(Duct(side=side, section_mm2=float(piece.area), slots=mine))
    return tuple(ducts)


def free_mm2(ducts: Sequence[Duct], height_mm: float) -> float:
    """What ducts let through, slots so high counted."""
    return sum(
        min(duct.section_mm2, sum(slot.wide_mm for slot in duct.slots) * height_mm)
        for duct in ducts
    )


def slot_high_mm(pack: Pack, shell: ShellPlan) -> float:
    """Height of a slot beside the gap over the upper face."""
    levels = shell.levels
    free = free_height_mm(pack, Face.UPPER, z_floor_mm=levels.floor_mm, z_rim_mm=levels.rim_mm)
    return min(SLOT_DEEP_MM, free)


def fitted_gas_links(
    sizes: FittedSizes, pack: Pack, cell_layout: CellLayout, rim: Sequence[RimEdge]
) -> tuple[GasLink, ...]:
    """All ways from the rim of the held cells to the outside."""
    shell, side = sizes.shell, sizes.gas_side
    if sizes.vent is not None:
        return vent_gas_links(sizes.vent, pack, rim)
    links: list[GasLink] = []

    def link(start: str, end: str, section_mm2: float, kind: str) -> None:
        links.append(
            GasLink(start=start, end=end, section_mm2=section_mm2, kind=kind, remedy=REMEDIES[kind])
        )

    by_edge = {(edge.face, edge.cell, *edge.way.round(6).tolist()): edge for edge in rim}
    for key, lower in by_edge.items():
        if lower.face is Face.LOWER:
            upper = by_edge[Face.UPPER, *key[1:]]
            beside = lower.long_mm * pack.enclosure.side_gap_mm
            section = min(beside, lower.section_mm2, upper.section_mm2)
            link(
                gas_site(Face.LOWER, lower.cell), gas_site(Face.UPPER, upper.cell), section, BESIDE
            )
    for room in shell.rooms:
        if room.kind is not RoomKind.TAILS:
            continue
        near = [
            edge for edge in rim if room.plan.distance(shapely.Point(edge.middle_mm)) < REACH_MM
        ]
        for edge in near:
            site, place = gas_site(edge.face, edge.cell), room.name
            if edge.face is Face.LOWER:
                link(site, place, edge.section_mm2, RIM)
            else:
                link(place, site, edge.section_mm2, RIM)
    if side is not None:
        out = np.array(OUTWARD[side])
        for edge in rim:
            if edge.face is Face.UPPER and float(edge.way @ out) > 0.4:
                link(gas_site(edge.face, edge.cell), "before the slots", edge.section_mm2, RIM)
    height = slot_high_mm(pack, shell)
    if not sizes.ducts:  # told as the narrowest place
        link("before the slots", OUTSIDE, 0.0, SLOTS)
    for k, duct in enumerate(sizes.ducts):
        wide = sum(slot.wide_mm for slot in duct.slots)
        link("before the slots", f"duct {k}", wide * height, SLOTS)
        link(f"duct {k}", OUTSIDE, duct.section_mm2, DUCTS)
    return tuple(links)


REACH_MM = 6.0  # a rim edge nearer than this to a channel opens into it
