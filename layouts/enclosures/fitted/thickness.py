"""Thickness of floor and lid where the pack file leaves it open: the least that holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.bending import PressedPlate, least_layers_mm, pressed_plate
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.shell import ShellPlan
from layouts.enclosures.fitted.stands import high_mm
from layouts.enclosures.support_pads import SupportPad
from layouts.errors import PlanError
from layouts.pack import EnclosureSpec, Face, Pack
from layouts.parts.lid_screw import lid_screw_length_mm
from layouts.parts.shell import Rect
from layouts.spaces.regions import free_region

__all__ = [
    "LEAST_MM",
    "MOST_MM",
    "Pads",
    "has_screw",
    "pressed_plates",
    "same_plan",
    "thick_enough",
    "thickness_notes",
]

# Both common practice, no source: withstands a knock; thicker takes too long to print
LEAST_MM, MOST_MM = 2.0, 6.0
SAME_MM2 = 1e-6

Pads = Mapping[Face, Sequence[SupportPad]]


def pressed_plates(
    pack: Pack, shell: ShellPlan, pads: Pads, held: BaseGeometry
) -> tuple[PressedPlate, ...]:
    """Floor and lid with the held cells pressed on them; none without a load.

    Each is taken as the box round the inside of the walls. It is larger than what is really there,
    and the partition beneath does not count: it is cut through where the main leads pass."""
    x0, y0, x1, y1 = loop_polygon(shell.inner.loop).bounds
    plate = Rect(x0=x0, y0=y0, x1=x1, y1=y1)
    found = (
        pressed_plate(pack, face, plate, pads[face], held) for face in (Face.LOWER, Face.UPPER)
    )
    return tuple(one for one in found if one is not None)


def thick_enough(pack: Pack, pressed: Sequence[PressedPlate]) -> Pack:
    """The pack with the least whole layers that hold, where its file leaves a thickness open; a
    lid's suit a standard length of its screws too."""
    case, layer = pack.enclosure, pack.printer.layer_mm
    for one in pressed:
        need = one.least_mm
        if one.face is Face.LOWER and "floor_mm" in case.by_load:
            thick = least_layers_mm(need, layer, least_mm=LEAST_MM, most_mm=MOST_MM)
            case = replace(case, floor_mm=thick)
        if one.face is Face.UPPER and "lid_mm" in case.by_load:
            thick = least_layers_mm(need, layer, least_mm=LEAST_MM, most_mm=MOST_MM)
            while thick < MOST_MM - layer and not has_screw(replace(case, lid_mm=thick)):
                thick = round(thick + layer, 6)
            case = replace(case, lid_mm=thick)
    return replace(pack, enclosure=case)


def same_plan(one: Pack, other: Pack) -> bool:
    """Whether their space leaves enclosures of two thicknesses the same plan."""
    space = one.space
    if space is None:
        return True
    low = space.low_mm[2]
    first, second = (free_region(space, low, low + high_mm(pack)) for pack in (one, other))
    return bool(shapely.symmetric_difference(first, second).area < SAME_MM2)


def has_screw(case: EnclosureSpec) -> bool:
    """Whether a standard length suits this lid."""
    try:
        lid_screw_length_mm(case)
    except PlanError:
        return False
    return True


def thickness_notes(pack: Pack, pressed: Sequence[PressedPlate]) -> tuple[str, ...]:
    """How thick they were made, where the pack file leaves it open."""
    case, layer = pack.enclosure, pack.printer.layer_mm
    notes = []
    for one in pressed:
        name, thick = one.name, case.floor_mm if one.face is Face.LOWER else case.lid_mm
        if f"{name}_mm" in case.by_load:
            so_thick = f"the least whole layers of {layer:g} from {LEAST_MM:g} to {MOST_MM:g} that"
            carries = "carry" if one.least_mm <= thick else "come nearest to carrying"
            if name == "lid" and case.gasket is not None:
                carries = f"keep the gasket's cord squeezed and {carries}"
            notes.append(
                f"{name} {thick:g} mm: {so_thick} {carries} the held cells under "
                f"load.acceleration_g; enclosure.{name}_mm asks for another"
            )
    return tuple(notes)
