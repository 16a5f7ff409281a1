"""Strokes of sunk and raised figures: whatever is low and narrow.

A stroke narrower than one and a half lines is left out by a slicer, or closes up.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.layers import PartLayers
from layouts.printable.limits import FIGURE_LAYERS, PRACTICE, STROKE_LINES, STROKE_TOLD_LINES
from layouts.printable.tested_layers import LayerRun, layer_runs
from layouts.printable.thickness import NarrowStrip, strips_of

__all__ = ["STROKES"]

LEAST_LAYERS = 2  # a figure has that many alike: where walls lean, all differ
CARRIED_SHARE = 0.5  # of a rib that stands on the layer below

EVEN = 0.7  # narrow to broad of a stroke of one width, arcs as chords


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Stroke:
    """A strip of a figure on the section that has it."""

    strip: NarrowStrip
    width_mm: float
    run: LayerRun


def _look(layers: PartLayers) -> Look:
    limit_mm = STROKE_LINES * layers.printer.line_wide_mm
    told_mm = STROKE_TOLD_LINES * layers.printer.line_wide_mm
    strokes = [
        one
        for run in layer_runs(layers.stack)
        if LEAST_LAYERS <= run.count <= FIGURE_LAYERS
        for one in (*_sunk(layers, run, told_mm), *_raised(layers, run, told_mm))
    ]
    narrow = [one for one in strokes if one.width_mm < limit_mm]
    return Look(
        worst=min((one.width_mm for one in strokes), default=None),
        limit=limit_mm,
        findings=(_finding(layers, narrow, limit_mm),) if narrow else (),
    )


def _sunk(layers: PartLayers, run: LayerRun, told_mm: float) -> Iterator[_Stroke]:
    """Grooves that the layers below or above close."""
    section = layers.section(run.section)
    for other in _beside(layers, run):
        if other is not None:
            grooves = _thin(layers.more(other, run.section), told_mm)
            yield from _strokes(strips_of(section, list(grooves), told_mm, of_air=True), run)


def _raised(layers: PartLayers, run: LayerRun, told_mm: float) -> Iterator[_Stroke]:
    """Ribs that stand on the layers below and end here."""
    section = layers.section(run.section)
    below, above = _beside(layers, run)
    if below is None:
        return
    ends = shapely.get_parts(section) if above is None else layers.more(run.section, above)
    carried = layers.section(below)
    ribs = [one for one in _thin(ends, told_mm) if _share(one, carried) >= CARRIED_SHARE]
    yield from _strokes(strips_of(section, ribs, told_mm), run)


def _thin(pieces: NDArray[np.object_], told_mm: float) -> NDArray[np.object_]:
    """Pieces that are nowhere as wide as that."""
    thin: NDArray[np.object_] = pieces[shapely.is_empty(shapely.buffer(pieces, -told_mm / 2.0))]
    return thin


def _strokes(strips: Sequence[NarrowStrip], run: LayerRun) -> Iterator[_Stroke]:
    """Strips of one width: where two rims part like the sides of a wedge, nothing is drawn."""
    for strip in strips:
        if strip.narrow_to_broad >= EVEN:
            middle = float(np.median(strip.rims.thickness_mm))
            yield _Stroke(strip=strip, width_mm=middle, run=run)


def _beside(layers: PartLayers, run: LayerRun) -> tuple[int | None, int | None]:
    """Numbers of the sections below and above a stretch; None beyond bed and top."""
    of, after = layers.stack.of, run.first + run.count
    return of[run.first - 1] if run.first else None, of[after] if after < len(of) else None


def _share(piece: BaseGeometry, section: BaseGeometry) -> float:
    """How much of a piece lies on a section."""
    return float(shapely.area(shapely.intersection(piece, section)) / piece.area)


def _finding(layers: PartLayers, narrow: Sequence[_Stroke], limit_mm: float) -> PrintFinding:
    """All of them as one: figures of a part are alike."""
    worst = min(narrow, key=lambda one: one.width_mm)
    at = worst.strip.region.representative_point()
    return PrintFinding(
        kind=STROKES.id,
        part=layers.part.name,
        what=f"{len(narrow)} stroke{'s' if len(narrow) > 1 else ''} of figures, the narrowest "
        f"{worst.width_mm:.2f} mm wide",
        at_mm=(at.x, at.y, layers.floor_mm(worst.run.first)),
        value=worst.width_mm,
        unit="mm",
        limit=limit_mm,
        severity=Severity.FAILS,
        region=shapely.union_all([one.strip.region for one in narrow]),
        outline=layers.section(worst.run.section),
    )


STROKES = PrintCheck(
    id="print_strokes",
    title="thin stroke",
    about="narrowest stroke of a sunk or raised figure, one and a half lines at least",
    limit=None,
    unit="mm",
    source=PRACTICE,
    remedy="a smaller printer.nozzle_mm or printer.line_mm; in a bracket's script draw it broader",
    look=_look,
    at_least=True,
)
