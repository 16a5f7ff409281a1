"""Tub and lid round the held cells: every position and size, decided from the pack.

The tub is printed floor down, the lid outer face down; the held cells go in straight from above,
located by bosses that stand in the hollows of their outline. Right of the cell block lies the
electronics compartment: the protection board, on edge against the +x wall, wires and cable glands.
Gas leaves over both faces and through slots in the top edge of the +x and -x walls, behind the
lid's drip skirts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import islice
from typing import TYPE_CHECKING

from layouts.brackets.kind import PAD_SCREWS
from layouts.brackets.registry import kind_of
from layouts.cells.arrangement import CellLayout
from layouts.enclosures.box.bosses import EMBED_MM
from layouts.enclosures.box.openings import (
    SKIRT_GAP_MM,
    SKIRT_MM,
    drains_of,
    skirts_of,
    slots_of,
)
from layouts.enclosures.box.pads import MOUNTING_PAD_MM
from layouts.enclosures.box.room import (
    SKIRT_DEEP_MM,
    SLOT_DEEP_MM,
    BayLayout,
    EnclosureDatums,
    bay_layouts,
    enclosure_datums,
)
from layouts.enclosures.box.seams import (
    LEAST_STAGGER_MM,
    LID_JOINT,
    STAGGER_MM,
    TUB_JOINT,
    Forbidden,
    Seams,
    cut,
    flanges,
    forbidden,
    off_seams,
    put_in_mm,
)
from layouts.enclosures.box.sizes import (
    Drain,
    DripSkirt,
    EnclosureDesign,
    SeamDesign,
    Slot,
)
from layouts.enclosures.box.wire_bodies import BayRoom
from layouts.enclosures.box.wires import WiredBay, wired
from layouts.enclosures.pad_walls import BLOCK_UNDER_MM
from layouts.enclosures.support_pads import SupportPad, support_pads_of
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Face, Pack
from layouts.parts.fasteners import insert_hole_deep_mm
from layouts.parts.lid_screw import lid_screw_length_mm
from layouts.parts.shell import Rect
from layouts.strips.joining import Interconnect
from layouts.wiring.ways import WireWay

if TYPE_CHECKING:
    from layouts.holders.fastening import CellBlock

# tried for one whose parts can be cut to the bed: some 50 mm longer than the first
LAYOUTS_MOST = 72
WIRED_MOST = 2  # of them in which ways for the wires are looked for: seconds each
FLANGE_FREE_MM = 1.0  # between the tub's joining flanges and what hangs from the lid
# under the lid: the stack must not hold it up; common practice, no source
SUPPORT_PAD_CLEARANCE_MM = 0.1


def design_enclosure(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
) -> EnclosureDesign:
    """Tub and lid of a pack. Raises PlanError where the pack file must change."""
    _refuse_closed(pack)
    datums = enclosure_datums(pack, interconnect, cell_block)
    support_pads_floor, support_pads_lid = (
        support_pads_of(pack, cell_layout, interconnect, cell_block, datums.cell_block, face)
        for face in (Face.LOWER, Face.UPPER)
    )
    joined = _Joined(cell_layout=cell_layout, interconnect=interconnect)
    chosen = _chosen(pack, datums, support_pads_floor, support_pads_lid, joined)
    layout, cavity, case = chosen.layout, chosen.layout.cavity, pack.enclosure
    drains, tub_seams, lid_seams = chosen.drains, chosen.tub_seams, chosen.lid_seams
    slots, skirts = _gas_openings(pack, layout, tub_seams, lid_seams)
    thread, inserts = screws()[case.screw], screws()[_pad_screw(layout)]
    return EnclosureDesign(
        cavity=cavity,
        outer=cavity.grown(case.wall_mm),
        compartment=Rect(x0=datums.box.x1, y0=cavity.y0, x1=cavity.x1, y1=cavity.y1),
        layer_mm=pack.printer.layer_mm,
        wall_mm=case.wall_mm,
        floor_mm=case.floor_mm,
        lid_mm=case.lid_mm,
        outer_corner_mm=case.wall_mm + EMBED_MM,
        z_under_mm=datums.z_under,
        z_floor_mm=datums.z_floor,
        z_rim_mm=datums.z_rim,
        bosses=layout.bosses,
        insert_radius_mm=thread.insert_hole_diameter_mm / 2,
        insert_deep_mm=insert_hole_deep_mm(case.screw, case.insert_mm),
        lid_hole_radius_mm=thread.clearance_diameter_mm / 2,
        lid_screw=case.screw,
        lid_screw_long_mm=lid_screw_length_mm(case),
        support_pads_floor=off_seams(support_pads_floor, tub_seams),
        support_pads_lid=off_seams(support_pads_lid, lid_seams),
        support_pad_floor_mm=-pack.holder.lip_mm - datums.z_floor,
        support_pad_lid_mm=_pad_lid_mm(pack, datums),
        slots=slots,
        slot_z0_mm=datums.z_rim - SLOT_DEEP_MM,
        skirts=skirts,
        skirt_gap_mm=SKIRT_GAP_MM,
        skirt_mm=SKIRT_MM,
        skirt_deep_mm=SKIRT_DEEP_MM,
        pads=layout.pads,
        pad_width_mm=MOUNTING_PAD_MM,
        block_top_mm=datums.z_rim - BLOCK_UNDER_MM,
        pad_hole_radius_mm=inserts.insert_hole_diameter_mm / 2,
        pad_hole_deep_mm=inserts.insert_deep_mm,
        glands=layout.glands,
        drains=drains,
        bay=layout.bay,
        bend_room_mm=cavity.x1 - datums.box.x1,
        tub_seams=tub_seams,
        lid_seams=lid_seams,
        notes=chosen.notes,
        ways=chosen.ways,
        tie_posts=layout.tie_posts,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class _Chosen:
    """A layout of the compartment with its drains and seams. ``whole``: a part is larger than the
    bed and finds no seam."""

    layout: BayLayout
    drains: tuple[Drain, ...]
    tub_seams: SeamDesign
    lid_seams: SeamDesign
    whole: bool
    notes: tuple[str, ...]
    ways: tuple[WireWay, ...] = ()


def _chosen(
    pack: Pack,
    datums: EnclosureDatums,
    support_pads_floor: tuple[SupportPad, ...],
    support_pads_lid: tuple[SupportPad, ...],
    joined: _Joined,
) -> _Chosen:
    """The first layout in which both parts go on the bed, whole or by seams, and every wire has a
    way where that is asked; else the one whose wires come nearest to it; else the first.

    The cavity's length along y grows in small steps until board, two main glands and lid screws
    have their places; the small third gland is left out (and said so) rather than grow for it."""
    first = None
    nearest: tuple[float, _Chosen] | None = None
    tried = 0
    for layout, notes in islice(bay_layouts(pack, datums), LAYOUTS_MOST):
        drains = (
            drains_of(layout.cavity, layout, support_pads_floor)
            if pack.enclosure.has_drains
            else ()
        )
        tub, lid, whole, cut_notes = _cuts(
            pack, datums, layout, support_pads_floor, support_pads_lid, drains
        )
        found = _Chosen(
            layout=layout, drains=drains, tub_seams=tub, lid_seams=lid, whole=whole,
            notes=(*notes, *cut_notes),
        )  # fmt: skip
        if not whole:
            if not pack.enclosure.wire_ways:
                return found
            wires, tried = _wired(pack, datums, layout, joined), tried + 1
            if nearest is None or wires.over_mm > nearest[0]:
                nearest = wires.over_mm, replace(found, ways=wires.ways)
            if nearest[0] >= 0.0 or tried >= WIRED_MOST:
                break
        first = first or found
    if nearest is not None:
        return nearest[1]
    assert first is not None  # the layouts raise where there is none
    return first


def _pad_screw(layout: BayLayout) -> str:
    """Of its mounting pads; of the smallest where it has none."""
    return layout.pads[0].screw if layout.pads else PAD_SCREWS[0]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Joined:
    """What wires begin at."""

    cell_layout: CellLayout
    interconnect: Interconnect


def _wired(pack: Pack, datums: EnclosureDatums, layout: BayLayout, joined: _Joined) -> WiredBay:
    """The wires of a layout."""
    room = BayRoom(
        cells=datums.box, cavity=layout.cavity, z_floor_mm=datums.z_floor, z_rim_mm=datums.z_rim,
        bay=layout.bay, bosses=layout.bosses, glands=layout.glands,
        wall_mm=pack.enclosure.wall_mm, posts=layout.tie_posts,
    )  # fmt: skip
    return wired(pack, joined.cell_layout, joined.interconnect, room)


def _inside_rects(layout: BayLayout) -> tuple[Rect, ...]:
    """What stands on the floor of the compartment."""
    posts = (rect for post in layout.tie_posts for rect in post.rects)
    return (*layout.bay.rests, *layout.bay.guides, *posts)


def _refuse_closed(pack: Pack) -> None:
    if pack.enclosure.vent != "open":
        raise PlanError(
            field="enclosure.vent",
            value=pack.enclosure.vent,
            why="can't be made: no vent is computed for a closed pack yet",
            remedy="write open",
        )


def _gas_openings(
    pack: Pack, layout: BayLayout, tub_seams: SeamDesign, lid_seams: SeamDesign
) -> tuple[tuple[Slot, ...], tuple[DripSkirt, ...]]:
    """Slots of both walls along y and the lid's drip skirts before them."""
    cavity, wall_mm = layout.cavity, pack.enclosure.wall_mm
    outer = cavity.grown(wall_mm)
    slots = tuple(
        s for side in (-1, 1)
        for s in slots_of(
            side, cavity, wall_mm, layout.bosses, layout.pads, tub_seams, lid_seams,
            nozzle_mm=pack.printer.nozzle_mm,
        )
    )  # fmt: skip
    skirts = tuple(
        s for side in (-1, 1)
        for s in skirts_of(side, outer, wall_mm, layout.bosses, layout.pads, slots, lid_seams)
    )  # fmt: skip
    return slots, skirts


def _pad_lid_mm(pack: Pack, datums: EnclosureDatums) -> float:
    """How far the lid's pads reach down to the upper holder."""
    upper_mm = pack.lip_to_lip_mm + pack.holder.lip_mm
    return datums.z_rim - upper_mm - SUPPORT_PAD_CLEARANCE_MM


def _cuts(
    pack: Pack,
    datums: EnclosureDatums,
    layout: BayLayout,
    support_pads_floor: tuple[SupportPad, ...],
    support_pads_lid: tuple[SupportPad, ...],
    drains: tuple[Drain, ...],
) -> tuple[SeamDesign, SeamDesign, bool, list[str]]:
    """Seams and joining flanges of tub and lid, none where they fit the bed; whether one of them
    needs seams and finds none; and notes."""
    wall = pack.enclosure.wall_mm
    outer = layout.cavity.grown(wall)
    parts = _wholes(pack, datums, layout, support_pads_floor, support_pads_lid, drains)
    # the tub's seams first; the lid's first, then nearer ones, only where else a part finds none
    chosen = min(
        (
            _choose(pack, parts, order, stagger)
            for stagger in (STAGGER_MM, LEAST_STAGGER_MM)
            for order in (("tub", "lid"), ("lid", "tub"))
        ),
        key=lambda choice: list(choice.values()).count(None),
    )
    notes = []
    found: dict[str, SeamDesign] = {}
    for part, it in parts.items():
        notes += _seam_notes(part, it, chosen[part])
        seams = chosen[part] or Seams()
        found[part] = SeamDesign(
            x_mm=seams.x, y_mm=seams.y,
            flanges=flanges(seams, outer, part=part, wall_mm=wall, flange_z=it.flange_z),
            ahead_mm=put_in_mm(pack.enclosure.screw) if seams.x or seams.y else 0.0,
        )  # fmt: skip
    return found["tub"], found["lid"], None in chosen.values(), notes


def _wholes(
    pack: Pack,
    datums: EnclosureDatums,
    layout: BayLayout,
    support_pads_floor: tuple[SupportPad, ...],
    support_pads_lid: tuple[SupportPad, ...],
    drains: tuple[Drain, ...],
) -> dict[str, _Whole]:
    """Tub and lid, and where no seam may run through them."""
    wall = pack.enclosure.wall_mm
    outer = layout.cavity.grown(wall)
    half = kind_of(pack).wall_mm(pack) / 2
    reach_y = [b.y_mm + s * b.radius_mm for b in layout.bosses for s in (-1, 1)]
    faces = [pad.middle_mm for pad in layout.pads]
    skirt_z = datums.z_rim - SKIRT_DEEP_MM
    parts: dict[str, _Whole] = {}
    for part, support_pads, side, joint, flange_z in (
        (
            "tub",
            support_pads_floor,
            0.0,
            TUB_JOINT,
            (datums.z_under, skirt_z - FLANGE_FREE_MM),
        ),
        ("lid", support_pads_lid, SKIRT_GAP_MM + SKIRT_MM, LID_JOINT, (skirt_z, datums.z_rim)),
    ):
        tub = part == "tub"
        banned = tuple(
            forbidden(
                axis, cavity=layout.cavity, bosses=layout.bosses,
                support_pads=[p for p in support_pads if p.hole_radius_mm],
                drains=drains if tub else (),
                rects=_inside_rects(layout) if tub else (),
                glands=layout.glands if tub else (),
                pads=[
                    (pad.along_mm - far, pad.along_mm + far)
                    for pad in layout.pads
                    # brackets stand before the tub alone, blocks reach up to the lid
                    if pad.along_axis == axis and (tub or pad.block_mm)
                    for far in [max(half, pad.block_mm / 2) if tub else pad.block_mm / 2]
                ],
                wall_mm=wall, screw=pack.enclosure.screw,
            )
            for axis in (0, 1)
        )  # fmt: skip
        xs = [outer.x0 - side, outer.x1 + side, *(x for x, _ in faces if tub)]
        ys = [outer.y0, outer.y1, *reach_y, *(y for _, y in faces if tub)]
        whole = Rect(x0=min(xs), x1=max(xs), y0=min(ys), y1=max(ys))
        parts[part] = _Whole(
            box=whole, outer=outer, banned=(banned[0], banned[1]), joint=joint, flange_z=flange_z
        )
    return parts


def _seam_notes(part: str, whole: _Whole, seams: Seams | None) -> list[str]:
    """What must be told of a part that is larger than the bed."""
    width, length = whole.box.size_mm
    if seams is None:
        return [
            f"the {part}, {width:.0f} x {length:.0f} mm, is larger than the bed and has no free "
            "position for a seam: print it on a larger printer"
        ]
    if not (seams.x or seams.y):
        return []
    notes = [f"the {part}, {width:.0f} x {length:.0f} mm, is printed in {seams.pieces} pieces"]
    if part == "tub":
        notes.append(
            "the tub's pieces are screwed together at their walls, their floors only overlap: "
            "lay rigid foam 3 mm thick between tub and plate, clear of the drains"
        )
    return notes


@dataclass(frozen=True, kw_only=True, slots=True)
class _Whole:
    """The uncut tub or lid as its seams are chosen in."""

    box: Rect
    outer: Rect
    banned: tuple[Forbidden, Forbidden]
    joint: tuple[float, float]
    flange_z: tuple[float, float]


def _choose(
    pack: Pack, parts: dict[str, _Whole], order: tuple[str, str], stagger_mm: float
) -> dict[str, Seams | None]:
    """Seams of both parts, the second's off the first's; None for a part that finds none."""
    chosen: dict[str, Seams | None] = {}
    first = Seams()
    for part in order:
        it = parts[part]
        chosen[part] = cut(
            pack, it.box, it.outer, it.banned, it.joint, apart_from=first, stagger_mm=stagger_mm
        )
        first = chosen[part] or Seams()
    return chosen
