"""Pieces of a layer that touch nothing of the layer below."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.layers import NOISE_MM2, PartLayers, Step
from layouts.printable.limits import PRACTICE

__all__ = ["BEGINNINGS"]


def _look(layers: PartLayers) -> Look:
    found = [
        _finding(layers, step, piece)
        for step in layers.steps()
        for piece in layers.more(step.above, step.below)
        if _is_whole(piece, layers.section(step.above))
    ]
    return Look(worst=float(len(found)), findings=tuple(found))


def _is_whole(piece: BaseGeometry, section: BaseGeometry) -> bool:
    """Whether what a section has more than the one below is a whole piece of it: then nothing of
    that piece lies on the one below."""
    wholes = shapely.get_parts(section)
    alike = wholes[abs(shapely.area(wholes) - piece.area) < NOISE_MM2]
    return bool(shapely.intersects(alike, piece.representative_point()).any())


def _finding(layers: PartLayers, step: Step, piece: BaseGeometry) -> PrintFinding:
    at = piece.representative_point()
    return PrintFinding(
        kind=BEGINNINGS.id,
        part=layers.part.name,
        what=f"a piece of {piece.area:.1f} mm2 with nothing printed below it",
        at_mm=(at.x, at.y, layers.floor_mm(step.layer)),
        value=float(piece.area),
        unit="mm2",
        limit=0.0,
        severity=Severity.FAILS,
        region=piece,
        outline=layers.section(step.below),
    )


BEGINNINGS = PrintCheck(
    id="print_begins",
    title="begins over nothing",
    about="pieces of a layer that begin over nothing: nothing is printed below them",
    limit=0.0,
    unit="",
    source=PRACTICE,
    remedy="let the slicer set support beneath the marked place; in a bracket's script join it to "
    "what lies below",
    look=_look,
)
