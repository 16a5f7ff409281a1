"""Openings of the first layer, which bulges: whether what goes in there still does."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.parts.drawing import CHORD_MM
from layouts.printable.bed_item import BedItem
from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.layers import PartLayers
from layouts.printable.limits import PRACTICE, USUAL_FOOT_MM
from layouts.printing.sections import section_at

__all__ = ["FOOT"]

CHORDS_MM = CHORD_MM + 1e-6  # by which holes drawn in chords are narrower
NEAR_MM = 3.0  # things farther away do not go in there
AROUND_MM = 0.5  # of a place, for its mark


def _look(layers: PartLayers) -> Look:
    """Room beside each thing; of things alike the least. Where the bulge is known the printed
    files are drawn for it, and nothing of it is left."""
    known = layers.printer.foot_mm > 0.0 or layers.printer.measured is not None
    foot_mm = 0.0 if known else USUAL_FOOT_MM
    first = section_at(layers.part.drawing, layers.layer_mm / 2.0)  # loose pins are lifted off
    tightest: dict[str, tuple[float, BedItem]] = {}
    for item in layers.items:
        beside = float(shapely.distance(first, item.region))
        room = beside - foot_mm * (2 if item.is_printed else 1)
        if beside < NEAR_MM and (item.what not in tightest or room < tightest[item.what][0]):
            tightest[item.what] = (room, item)
    return Look(
        worst=min((room for room, _ in tightest.values()), default=None),
        findings=tuple(
            _finding(layers, item, room, first)
            for room, item in tightest.values()
            if room < -CHORDS_MM
        ),
    )


def _finding(layers: PartLayers, item: BedItem, room: float, first: BaseGeometry) -> PrintFinding:
    x, y = shapely.get_coordinates(shapely.shortest_line(item.region, first))[0].tolist()
    return PrintFinding(
        kind=FOOT.id,
        part=layers.part.name,
        what=f"{item.what}: {-room:.2f} mm too little room at the first layer where that bulges "
        f"by {USUAL_FOOT_MM:g} on each side",
        at_mm=(x, y, 0.0),
        value=room,
        unit="mm",
        limit=0.0,
        severity=Severity.WARNS,
        region=shapely.Point(x, y).buffer(AROUND_MM),
        outline=layers.section(layers.stack.of[0]),
    )


FOOT = PrintCheck(
    id="print_foot",
    title="first layer closes up",
    about="least room beside what goes through the first layer, where that bulges",
    limit=None,
    unit="mm",
    source=PRACTICE,
    remedy="measure the bulge with the fit gauge and enter it as printer.foot_mm: the files are "
    "then drawn for it; or set the slicer's first layer back",
    look=_look,
    at_least=True,
    only_told=True,
)
