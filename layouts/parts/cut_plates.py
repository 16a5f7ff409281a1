"""Flat plates of metal for a motor or a controller: their holes and slots, and what is left between
them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely

from layouts.checks import Check, worst_of
from layouts.cut_plate_spec import CutPlate, PlateSlot
from layouts.formats import screws
from layouts.parts.metal_piece import MetalPiece
from layouts.slabs.profile import Loop, circle, moved, rectangle, rounded_polygon

__all__ = ["LEAST_TRAVEL_MM", "cut_plate_checks", "cut_plate_piece"]

# All of these are common practice, no source
LEAST_TRAVEL_MM = 15.0  # of a screw in a slot: a belt or chain goes on and is tightened
EDGE_THICKNESSES = 1.5  # between an opening and the outline, in thicknesses of the plate
EDGE_DIAMETERS = 0.5  # and of a screw hole, in its diameters: what holds a pull aside
LAND_THICKNESSES = 1.0  # between two openings

FIELD = "plates_to_cut"
QUARTER = 32  # chords in a quarter of a round opening: off by less than a thousandth of its radius


@dataclass(frozen=True, kw_only=True, slots=True)
class _Opening:
    """One hole or slot: as cut, as a line or point with a radius, and in words."""

    name: str
    loop: Loop
    core: shapely.Geometry
    radius_mm: float
    words: str
    is_slot: bool = False
    is_pilot: bool = False


def cut_plate_piece(plate: CutPlate) -> MetalPiece:
    """The plate as it is cut."""
    openings = list(_openings(plate))
    return MetalPiece(
        name=plate.name,
        title="flat plate",
        count=1,
        metal=plate.metal,
        thickness_mm=plate.thickness_mm,
        density_g_cm3=plate.sheet_metal.density_g_cm3,
        outline=rectangle(0.0, 0.0, *plate.size_mm, plate.corner_mm),
        holes=tuple(one.loop for one in openings),
        hole_words=tuple(one.words for one in openings),
        field=FIELD,
        corner_mm=plate.corner_mm,
        kerf_mm=plate.kerf_mm,
    )


def cut_plate_checks(plates: Sequence[CutPlate]) -> tuple[Check, ...]:
    """Land between openings and the outline, and between openings; the worst plate's."""
    return worst_of(check for plate in plates for check in _checks(plate))


def _openings(plate: CutPlate) -> Iterator[_Opening]:
    for number, ring in enumerate(plate.circles, start=1):
        (x, y), radius = ring.at_mm, ring.diameter_mm / 2.0
        if ring.pilot_mm:
            yield _Opening(
                name=f"pilot hole of circle {number}", loop=circle(ring.at_mm, ring.pilot_mm / 2.0),
                core=shapely.Point(ring.at_mm), radius_mm=ring.pilot_mm / 2.0,
                words=f"diameter {ring.pilot_mm:.2f}, pilot hole", is_pilot=True,
            )  # fmt: skip
        for k in range(ring.holes):
            turn = math.radians(ring.first_deg + 360.0 * k / ring.holes)
            at = (x + radius * math.cos(turn), y + radius * math.sin(turn))
            yield _round(f"hole {k + 1} of circle {number}", at, ring.screw)
    for number, hole in enumerate(plate.holes, start=1):
        yield _round(f"hole {number}", hole.at_mm, hole.screw)
    for number, slot in enumerate(plate.slots, start=1):
        yield _slotted(f"slot {number}", slot)


def _round(name: str, at: tuple[float, float], screw: str) -> _Opening:
    wide = screws()[screw].clearance_diameter_mm
    return _Opening(
        name=name, loop=circle(at, wide / 2.0), core=shapely.Point(at), radius_mm=wide / 2.0,
        words=f"diameter {wide:.2f} for {screw}",
    )  # fmt: skip


def _slotted(name: str, slot: PlateSlot) -> _Opening:
    wide = screws()[slot.screw].clearance_diameter_mm
    half, round_mm = slot.travel_mm / 2.0, wide / 2.0
    ends = [(-half - round_mm, -round_mm), (half + round_mm, -round_mm),
            (half + round_mm, round_mm), (-half - round_mm, round_mm)]  # fmt: skip
    turn = math.radians(slot.along_deg)
    dx, dy = half * math.cos(turn), half * math.sin(turn)
    x, y = slot.at_mm
    return _Opening(
        name=name,
        loop=moved(rounded_polygon(ends, round_mm), x, y, turn),
        core=shapely.LineString([(x - dx, y - dy), (x + dx, y + dy)]),
        radius_mm=round_mm,
        words=f"slot {wide:.2f} wide, {slot.travel_mm + wide:.2f} long, at {slot.along_deg:g}"
        f"\N{DEGREE SIGN}, for {slot.screw}",
        is_slot=True,
    )


def _checks(plate: CutPlate) -> Iterator[Check]:
    openings = list(_openings(plate))
    wide, high = plate.size_mm
    r = plate.corner_mm
    inside = shapely.box(r, r, wide - r, high - r).buffer(r, quad_segs=QUARTER)
    least = EDGE_THICKNESSES * plate.thickness_mm
    holes = [one for one in openings if not one.is_slot]
    slots = [one for one in openings if one.is_slot]
    asked = [max(least, EDGE_DIAMETERS * 2.0 * one.radius_mm * (not one.is_pilot)) for one in holes]
    lands = [_land_mm(inside, one) for one in holes]
    if holes:
        yield _land_check(
            plate, "cut_plate_edge", "land between a hole and the outline",
            [(land, ask, one.name) for land, ask, one in zip(lands, asked, holes, strict=True)],
            "1.5 thicknesses and half the screw hole",
        )  # fmt: skip
    if slots:
        yield _land_check(
            plate, "cut_plate_slot", "land between a slot and the outline",
            [(_land_mm(inside, one), least, one.name) for one in slots], "1.5 thicknesses",
        )  # fmt: skip
    if len(openings) > 1:
        yield _land_check(
            plate, "cut_plate_holes", "land between two openings",
            [
                (
                    one.core.distance(other.core) - one.radius_mm - other.radius_mm,
                    LAND_THICKNESSES * plate.thickness_mm,
                    f"{one.name} and {other.name}",
                )
                for one, other in combinations(openings, 2)
            ],
            "one thickness",
        )  # fmt: skip


def _land_mm(inside: shapely.Geometry, one: _Opening) -> float:
    """From an opening's rim to the outline; below 0 where it reaches past it."""
    rim = inside.exterior
    away = float(rim.distance(one.core))
    if not inside.covers(one.core):
        away = -float(rim.hausdorff_distance(one.core)) if away == 0.0 else -away
    return away - one.radius_mm


def _land_check(
    plate: CutPlate, id_: str, about: str, lands: list[tuple[float, float, str]], rule: str
) -> Check:
    land, asked, where = min(lands, key=lambda one: one[0] - one[1])
    return Check(
        id=id_,
        about=f"{about} of a plate to cut",
        holds=land >= asked - 1e-6,
        value=land,
        limit=asked,
        unit="mm",
        source=f"{rule}, common practice, no source",
        remedy=f"another place, or a larger size_mm, of {where} under plates_to_cut",
        where=f"{plate.name}, {where}",
    )
