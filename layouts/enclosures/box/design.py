"""Tub and lid round the held cells: every position and size, decided from the pack.

The tub is printed floor down, the lid outer face down; the held cells go in straight from above,
located by bosses that stand in the hollows of their outline. Right of the cell block lies the
electronics compartment: the protection board, on edge against the +x wall, wires and cable glands.
Gas leaves over both faces and through slots in the top edge of the +x and -x walls, behind the
lid's drip skirts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from layouts.brackets.registry import kind_of
from layouts.cells.arrangement import Arrangement
from layouts.enclosures.box.bosses import EMBED_MM
from layouts.enclosures.box.openings import (
    SKIRT_GAP_MM,
    SKIRT_MM,
    drains_of,
    pads_of,
    skirts_of,
    slots_of,
)
from layouts.enclosures.box.room import (
    LUG_MM,
    LUG_OUT_MM,
    SKIRT_DEEP_MM,
    SLOT_DEEP_MM,
    Frame,
    Room,
    find_room,
    make_frame,
)
from layouts.enclosures.box.seams import (
    LEAST_STAGGER_MM,
    LID_JOINT,
    STAGGER_MM,
    TUB_JOINT,
    Forbidden,
    Seams,
    cut,
    ears,
    forbidden,
    off_seams,
    put_in_mm,
)
from layouts.enclosures.box.sizes import Cut, Drain, EnclosureDesign, Pad, Skirt, Slot
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Face, Pack
from layouts.parts.fasteners import insert_screw_length_mm, thinner_grip_mm
from layouts.parts.shell import Rect
from layouts.strips.joining import Joining

if TYPE_CHECKING:
    from layouts.holders.fastening import Core

EAR_FREE_MM = 1.0  # between the tub's joining flanges and what hangs from the lid
PAD_CLEARANCE_MM = 0.1  # under the lid: the stack must not hold it up; common practice, no source


def design_enclosure(
    pack: Pack, arrangement: Arrangement, joining: Joining, core: Core
) -> EnclosureDesign:
    """Tub and lid of a pack.

    The cavity's length along y grows in small steps until board, two main glands and lid screws
    have their places; the small third gland is left out (and said so) rather than grow for it.
    Raises PlanError when the enclosure is to be closed, when a wire fits no gland, or when nothing
    within reach fits."""
    _refuse_closed(pack)
    frame = make_frame(pack, joining, core)
    room, notes = find_room(pack, frame)
    cavity, case = room.cavity, pack.enclosure
    outer = cavity.grown(case.wall_mm)
    pads_floor = pads_of(pack, arrangement, joining, core, frame, Face.LOWER)
    pads_lid = pads_of(pack, arrangement, joining, core, frame, Face.UPPER)
    drains = drains_of(cavity, room, pads_floor)
    tub_cut, lid_cut, cut_notes = _cuts(pack, frame, room, pads_floor, pads_lid, drains)
    slots, skirts = _gas_openings(pack, room, tub_cut, lid_cut)
    thread, lug_screw = screws()[case.screw], screws()[room.lugs[0].screw]
    return EnclosureDesign(
        cavity=cavity,
        outer=outer,
        room=Rect(x0=frame.box.x1, y0=cavity.y0, x1=cavity.x1, y1=cavity.y1),
        wall_mm=case.wall_mm,
        floor_mm=case.floor_mm,
        lid_mm=case.lid_mm,
        outer_corner_mm=case.wall_mm + EMBED_MM,
        z_under_mm=frame.z_under,
        z_floor_mm=frame.z_floor,
        z_rim_mm=frame.z_rim,
        bosses=room.bosses,
        insert_mm=thread.insert_hole_mm / 2,
        insert_deep_mm=thread.insert_deep_mm,
        lid_hole_mm=thread.clearance_mm / 2,
        lid_screw=case.screw,
        lid_screw_long_mm=_lid_screw_mm(case.screw, case.lid_mm),
        pads_floor=off_seams(pads_floor, tub_cut),
        pads_lid=off_seams(pads_lid, lid_cut),
        pad_floor_mm=-pack.holder.lip_mm - frame.z_floor,
        pad_lid_mm=_pad_lid_mm(pack, frame),
        slots=slots,
        slot_z0_mm=frame.z_rim - SLOT_DEEP_MM,
        skirts=skirts,
        skirt_gap_mm=SKIRT_GAP_MM,
        skirt_mm=SKIRT_MM,
        skirt_deep_mm=SKIRT_DEEP_MM,
        lugs=room.lugs,
        lug_width_mm=LUG_MM,
        lug_hole_mm=lug_screw.insert_hole_mm / 2,
        lug_hole_deep_mm=lug_screw.insert_deep_mm,
        glands=room.glands,
        drains=drains,
        bay=room.bay,
        bend_room_mm=cavity.x1 - frame.box.x1,
        tub_cut=tub_cut,
        lid_cut=lid_cut,
        notes=(*notes, *cut_notes),
    )  # fmt: skip


def _refuse_closed(pack: Pack) -> None:
    if pack.enclosure.vent != "open":
        raise PlanError(
            field="enclosure.vent",
            value=pack.enclosure.vent,
            why="can't be made: no vent is computed for a closed pack yet",
            mend="write open",
        )


def _gas_openings(
    pack: Pack, room: Room, tub_cut: Cut, lid_cut: Cut
) -> tuple[tuple[Slot, ...], tuple[Skirt, ...]]:
    """Slots of both walls along y and the lid's drip skirts before them."""
    cavity, wall_mm = room.cavity, pack.enclosure.wall_mm
    outer = cavity.grown(wall_mm)
    slots = tuple(
        s for side in (-1, 1)
        for s in slots_of(side, cavity, wall_mm, room.bosses, tub_cut, lid_cut)
    )  # fmt: skip
    skirts = tuple(
        s for side in (-1, 1)
        for s in skirts_of(side, outer, wall_mm, room.bosses, slots, lid_cut)
    )  # fmt: skip
    return slots, skirts


def _pad_lid_mm(pack: Pack, frame: Frame) -> float:
    """How far the lid's pads reach down to the upper holder."""
    upper_mm = pack.lip_to_lip_mm + pack.holder.lip_mm
    return frame.z_rim - upper_mm - PAD_CLEARANCE_MM


def _lid_screw_mm(screw: str, lid_mm: float) -> float:
    """Length of the lid's screws. Raises PlanError for a lid that no usual length suits."""
    try:
        return insert_screw_length_mm(screw, grip_mm=lid_mm)
    except ValueError as error:
        raise PlanError(
            field="enclosure.lid_mm",
            value=f"{lid_mm:g}",
            why=f"suits no standard length of {screw} into a heat-set insert",
            mend=f"use {thinner_grip_mm(screw, lid_mm):g}",
        ) from error


def _cuts(
    pack: Pack,
    frame: Frame,
    room: Room,
    pads_floor: tuple[Pad, ...],
    pads_lid: tuple[Pad, ...],
    drains: tuple[Drain, ...],
) -> tuple[Cut, Cut, list[str]]:
    """Seams and joining flanges of tub and lid, none where they fit the bed; and notes."""
    wall = pack.enclosure.wall_mm
    outer = room.cavity.grown(wall)
    parts = _wholes(pack, frame, room, pads_floor, pads_lid, drains)
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
    found: dict[str, Cut] = {}
    for part, it in parts.items():
        notes += _seam_notes(part, it, chosen[part])
        seams = chosen[part] or Seams()
        found[part] = Cut(
            x_mm=seams.x, y_mm=seams.y,
            ears=ears(seams, outer, part=part, wall_mm=wall, ear_z=it.ear_z),
            ahead_mm=put_in_mm(pack.enclosure.screw) if seams.x or seams.y else 0.0,
        )  # fmt: skip
    return found["tub"], found["lid"], notes


def _wholes(
    pack: Pack,
    frame: Frame,
    room: Room,
    pads_floor: tuple[Pad, ...],
    pads_lid: tuple[Pad, ...],
    drains: tuple[Drain, ...],
) -> dict[str, _Whole]:
    """Tub and lid, and where no seam may run through them."""
    wall = pack.enclosure.wall_mm
    outer = room.cavity.grown(wall)
    half = kind_of(pack).wall_mm(pack) / 2
    reach_y = [b.y_mm + s * b.radius_mm for b in room.bosses for s in (-1, 1)]
    skirt_z = frame.z_rim - SKIRT_DEEP_MM
    parts: dict[str, _Whole] = {}
    for part, pads, side, joint, ear_z in (
        ("tub", pads_floor, LUG_OUT_MM, TUB_JOINT, (frame.z_under, skirt_z - EAR_FREE_MM)),
        ("lid", pads_lid, SKIRT_GAP_MM + SKIRT_MM, LID_JOINT, (skirt_z, frame.z_rim)),
    ):
        tub = part == "tub"
        banned = tuple(
            forbidden(
                axis, cavity=room.cavity, bosses=room.bosses,
                pads=[p for p in pads if p.hole_mm],
                drains=drains if tub else (),
                rects=(*room.bay.rests, *room.bay.guides) if tub else (),
                glands=room.glands if tub else (),
                lugs=[(g.y_mm - half, g.y_mm + half) for g in room.lugs] if tub else (),
                wall_mm=wall, screw=pack.enclosure.screw,
            )
            for axis in (0, 1)
        )  # fmt: skip
        whole = Rect(
            x0=outer.x0 - side, x1=outer.x1 + side,
            y0=min(outer.y0, *reach_y), y1=max(outer.y1, *reach_y),
        )  # fmt: skip
        parts[part] = _Whole(box=whole, banned=(banned[0], banned[1]), joint=joint, ear_z=ear_z)
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
    notes = [
        f"the {part}, {width:.0f} x {length:.0f} mm, is printed in "
        f"{(len(seams.x) + 1) * (len(seams.y) + 1)} pieces"
    ]
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
    banned: tuple[Forbidden, Forbidden]
    joint: tuple[float, float]
    ear_z: tuple[float, float]


def _choose(
    pack: Pack, parts: dict[str, _Whole], order: tuple[str, str], stagger_mm: float
) -> dict[str, Seams | None]:
    """Seams of both parts, the second's off the first's; None for a part that finds none."""
    chosen: dict[str, Seams | None] = {}
    first = Seams()
    for part in order:
        it = parts[part]
        chosen[part] = cut(
            pack, it.box, it.banned, it.joint, apart_from=first, stagger_mm=stagger_mm
        )
        first = chosen[part] or Seams()
    return chosen
