"""The fitted enclosure of a pack: rooms placed, walls drawn, that with the least plastic taken."""

from __future__ import annotations

from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.kind import PAD_SCREWS
from layouts.brackets.registry import kind_of
from layouts.cells.arrangement import CellLayout
from layouts.enclosures.fitted.case import FittedCase
from layouts.enclosures.fitted.choosing import EnclosureChoice, choose
from layouts.enclosures.fitted.clamp import clamp_site, with_clamp
from layouts.enclosures.fitted.cutting import cut_to_the_bed
from layouts.enclosures.fitted.fittings import (
    board_seat,
    drains_of,
    fuse_seat,
    notches_of,
    port_hole,
    stops_of,
    wall_holes,
)
from layouts.enclosures.fitted.gasket_lid import sealed_enough
from layouts.enclosures.fitted.loaded_pads import PAD_WIDE_MM, loaded_pads
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.on_frame import stands_by
from layouts.enclosures.fitted.rooms import RoomKind, rooms_at_cells
from layouts.enclosures.fitted.shell import (
    levels_of,
)
from layouts.enclosures.fitted.sides import axis_along, edge_mm, rect_at, span_mm
from layouts.enclosures.fitted.sizes import FittedSizes, Stand
from layouts.enclosures.fitted.splice_notes import cut_sizes
from layouts.enclosures.fitted.splices import PartCuts
from layouts.enclosures.fitted.stands import free_of, low_mm
from layouts.enclosures.fitted.stubs import has_long_skin, partition_band
from layouts.enclosures.fitted.thickness import (
    Pads,
    pressed_plates,
    same_plan,
    thick_enough,
    thickness_notes,
)
from layouts.enclosures.fitted.wishes import faced_side
from layouts.enclosures.support_pads import support_pads_of
from layouts.errors import PlanError
from layouts.formats import low_heads, screws
from layouts.holders.fastening import CellBlock
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face, Pack, Side
from layouts.parts.fasteners import insert_hole_deep_mm
from layouts.parts.shell import Rect, box
from layouts.plates.ways_out import ways_out
from layouts.spaces.regions import seen_from_pack
from layouts.strips.joining import Interconnect

OPENING_DEEP_MM = 20.0  # a cell's radius: the partition follows the flank into its hollows
STOP_UNDER_MM = 1.0  # stops end so far under the lower holder's upper edge
OPENING_MM = 1.0  # round a landing, where the partition is left out
SKIN_MM = 0.84  # two lines of a 0.4 nozzle are left of the partition beside it
SKIN_LONG_MM = 1.0  # shorter ones are corners
SKIN_DEEP_MM = 3.0  # so far beyond the opening its thickness is looked at: more than a partition's
SKIN_CLEAR_MM = 0.05  # from the partition's face: they stay two curves
LEVEL_NOISE_MM = 1e-6
PAD_CLEARANCE_MM = 0.1  # under the lid: the stack must not hold it up
NO_CHARGE_PORT = "no wall is free for a charge port: charge leads share the main glands"
THICKNESSES_TRIED = 3  # of floor and lid: other walls bend otherwise


def design_fitted(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
) -> FittedSizes:
    """Tub and lid of a pack. Raises PlanError where the pack file must change."""
    held = cell_block_shape(cell_block.outline)
    ways = ways_out(pack, interconnect, held)
    metal = [way.space for way in ways if way.face is Face.LOWER]
    case = FittedCase(
        pack=pack, cell_block=cell_block, held=held, fixed=rooms_at_cells(pack, ways, held),
        levels=levels_of(pack), metal=shapely.union_all([shapely.Polygon(), *metal]),
        clamp=clamp_site(pack, cell_layout, interconnect, cell_block),
    )  # fmt: skip
    pads = {
        face: support_pads_of(pack, cell_layout, interconnect, cell_block, held, face)
        for face in Face
    }
    return _cut(*_thick(case, choose(case), pads), pads)


def _cut(case: FittedCase, found: EnclosureChoice, pads: Pads) -> FittedSizes:
    """All that stands in the chosen walls, in pieces where the bed is too small; chosen again where
    straps on the lid then leave the space."""
    sizes = with_clamp(case.clamp, _fitted(case, found, pads))
    splices = cut_to_the_bed(case.pack, sizes, case.held)
    head = low_heads()[case.pack.enclosure.screw].head_high_mm
    over = max((strap.thick_mm for strap in splices.lid.straps), default=0.0) - head
    if over > case.over_mm and case.pack.space is not None:
        taller = replace(case, over_mm=over)
        try:
            if not free_of(taller).equals(free_of(case)):
                return _cut(*_thick(taller, choose(taller), pads), pads)
        except PlanError as error:
            why = f"a strap on the lid is {over:.1f} mm higher than its screws: {error.why}"
            lid = PartCuts(over_mm=splices.lid.over_mm, why=why)
            splices = replace(splices, lid=lid)
    return cut_sizes(sizes, splices)


def _thick(
    case: FittedCase, found: EnclosureChoice, pads: Pads
) -> tuple[FittedCase, EnclosureChoice]:
    """With floor and lid as thick as the load asks for."""
    pack, held = case.pack, case.held
    for _ in range(THICKNESSES_TRIED):
        thick = thick_enough(case.pack, pressed_plates(pack, found.shell, pads, held))
        thick = sealed_enough(thick, found.shell)
        if thick.enclosure == case.pack.enclosure:
            break
        other = replace(case, pack=thick, levels=levels_of(thick))
        if same_plan(case.pack, thick):
            found = replace(found, shell=replace(found.shell, levels=other.levels))
        else:
            found = choose(other)
        case = other
    return case, found


def _stand(pack: Pack, found: EnclosureChoice) -> Stand | None:
    """On the lowest face of the space, by its brackets' stand."""
    if pack.space is None:
        return None
    under = found.shell.levels.under_mm - kind_of(pack).reach_mm(pack)[1]
    place = pack.space.place
    return Stand(
        turn_deg=found.turn_deg,
        at_mm=(*found.shift_mm, low_mm(pack, seen_from_pack(pack.space)) - under),
        turn=None if place is None else place.turn,
    )


def _elsewhere(pack: Pack, found: EnclosureChoice) -> str:
    """That the leads leave to another side than the pack asks for."""
    at = faced_side(pack, found.glands_at, found.turn_deg)
    where = "its floor or ceiling" if at is None else at.value
    return (
        f"leads.side {pack.leads.side.value}: nothing was found that stands with the glands there; "
        f"they point to {where} of the space"
    )


def _opening(landing: Rect, held: BaseGeometry, partition: BaseGeometry) -> Rect:
    """Where the partition is left out: straight across it, from behind the cells' flank on.

    Where the partition runs along a side of the landing, so that a thin skin of it would be left
    beside the opening, all of it stays; also where it turns away from there at one end of it."""
    bounds = landing.bounds
    side = max(Side, key=lambda one: edge_mm(bounds, one) - edge_mm(held.bounds, one))
    low, high = span_mm(landing, axis_along(side))
    far = edge_mm(bounds, side) + OPENING_MM
    near = edge_mm(held.bounds, side) - OPENING_DEEP_MM
    ends = []
    for end, out in ((low, -1.0), (high, 1.0)):
        beside, beyond = end + out * OPENING_MM, end + out * (OPENING_MM + SKIN_MM)
        strip = rect_at(side, near, far, min(beside, beyond), max(beside, beyond))
        left = partition.intersection(box(strip))
        is_skin = any(_is_skin(one, beyond, axis_along(side)) for one in shapely.get_parts(left))
        deeper = end + out * (OPENING_MM + SKIN_DEEP_MM)
        half = box(rect_at(side, near, far, min(beside, deeper), max(beside, deeper)))
        opening = box(rect_at(side, near, far, min(end, beside), max(end, beside)))
        is_skin = is_skin or has_long_skin(partition.intersection(half), opening)
        ends.append(end - out * SKIN_CLEAR_MM if is_skin else beside)
    return rect_at(side, near, far, *ends)


def _is_skin(piece: BaseGeometry, beyond_mm: float, axis: int) -> bool:
    """Whether a piece is long and ends before a line across an axis."""
    x0, y0, x1, y1 = piece.bounds
    spans = ((x0, x1), (y0, y1))
    reaches = min(abs(one - beyond_mm) for one in spans[axis]) < LEVEL_NOISE_MM
    return not reaches and spans[1 - axis][1] - spans[1 - axis][0] > SKIN_LONG_MM


def _fitted(case: FittedCase, found: EnclosureChoice, support_pads: Pads) -> FittedSizes:
    """All that stands in the chosen walls."""
    shell = found.shell
    pack, levels, held = case.pack, shell.levels, case.held
    floor, lid = (tuple(support_pads[face]) for face in (Face.LOWER, Face.UPPER))
    rooms = {room.kind: room for room in shell.rooms}
    inside = loop_polygon(shell.inner.loop)
    fuse, lugs = fuse_seat(levels, rooms[RoomKind.FUSE], found.glands_at)
    partition = partition_band(shell)
    openings = tuple(
        dict.fromkeys(
            _opening(room.rect, held, partition)
            for room in shell.rooms
            if room.kind is RoomKind.LANDING
        )
    )
    holes = wall_holes(pack, levels, rooms[RoomKind.FUSE], found.glands_at, shell.wall_mm)
    charge = port_hole(shell, rooms[RoomKind.CHARGE], found.port_at)
    pad_mm = pack.enclosure.gas_gap_mm
    if found.stood is None:
        pads = loaded_pads(pack, found.pads, under_mm=levels.under_mm)
    else:
        pads = tuple(replace(pad, underside_mm=levels.under_mm) for pad in found.stood.pads)
    case_spec = pack.enclosure
    inserts = screws()[pads[0].screw if pads else PAD_SCREWS[0]]
    return FittedSizes(
        shell=shell,
        insert_deep_mm=insert_hole_deep_mm(case_spec.screw, case_spec.insert_mm),
        lid_hole_radius_mm=screws()[case_spec.screw].clearance_diameter_mm / 2,
        support_pads_floor=floor,
        support_pads_lid=lid,
        support_pad_floor_mm=pad_mm,
        support_pad_lid_mm=pad_mm - PAD_CLEARANCE_MM,
        openings=openings,
        notches=notches_of(shell),
        stops=stops_of(shell, held, case.metal, openings),
        stop_z1_mm=pack.holder.depth_mm - STOP_UNDER_MM,
        gas_side=found.gas_side,
        ducts=found.ducts,
        drains=drains_of(shell, floor) if pack.enclosure.has_drains else (),
        board=board_seat(pack, levels, rooms[RoomKind.BOARD], inside, held),
        fuse=fuse,
        tie_lugs=lugs,
        holes=(*holes, *(() if charge is None else (charge,))),
        pads=pads,
        pad_width_mm=PAD_WIDE_MM,
        pad_hole_radius_mm=inserts.insert_hole_diameter_mm / 2,
        pad_hole_deep_mm=inserts.insert_deep_mm,
        notes=(
            *((pack.enclosure.instead_of,) if pack.enclosure.instead_of else ()),
            *(() if charge else (NO_CHARGE_PORT,)),
            *(() if found.as_asked else (_elsewhere(pack, found),)),
            *(() if found.stood is None else stands_by(found.stood)),
            *thickness_notes(pack, pressed_plates(pack, shell, support_pads, held)),
        ),
        stand=_stand(pack, found),
        vent=found.vent,
    )
