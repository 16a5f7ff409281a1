"""Weld plan of one face of a pack of plates at true size.

Plates lie grey and hatched in turn, so that neighbours are told apart. A number in a white box is
the plate's place in the order of welding; two crosses joined by a line are one shot; B and a number
in a black flag is a balance lead, on the tail or the bar's end where it is soldered."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from generators.drawings.linework import (
    Circles,
    Layer,
    Lines,
    LineSheet,
    Mark,
    Words,
    boxed_words,
    line_sheet,
    words_wide_mm,
)
from generators.drawings.plan import outline_points
from generators.drawings.plate_marks import (
    SEAM_TEXT,
    peel_marks,
    plate_legend,
    plate_shots,
    rework_marks,
    seam_marks,
)
from layouts.cells.arrangement import CellLayout
from layouts.holders.outline import Outline
from layouts.pack import Face, Pack
from layouts.plates.bridge import bridged_joint
from layouts.plates.welding_order import weld_steps
from layouts.strips.joining import Interconnect
from layouts.strips.plate import BusPlate

__all__ = ["plate_numbers", "plate_weld_plan"]

RING_SHARE = 0.86  # of the can's radius, as in the face plans
SIGN_MM = 3.4
SIGN_SHARE, SIGN_OFF_MM = 0.62, 6.3  # of the can's radius; clear of all spots where it is large
NUMBER_MM = 3.0
HATCH_MM = 2.5
BAR_HATCH_MM = 0.9  # copper: dense
TITLE_MM = 5.0
NAME_MM = 4.0
OUT_MM = 4.0  # names of leads stand so far outside what is drawn


def plate_numbers(pack: Pack, interconnect: Interconnect) -> dict[int, int]:
    """Number in the order of welding, from 1, of each plate by its index."""
    steps = weld_steps(interconnect.plates, series=pack.series, full_v=pack.cell.full_v)
    return {step.plate: number for number, step in enumerate(steps, start=1)}


def plate_weld_plan(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    outline: Outline,
    face: Face,
    *,
    title: str,
    mirrored: bool,
    legend: bool,
) -> LineSheet:
    """The drawing of one face; ``mirrored``: as seen from below."""
    flip = np.array([-1.0 if mirrored else 1.0, 1.0])
    can = pack.cell.diameter_mm / 2
    marks: list[Mark] = [
        Lines(layer=Layer.HOLDER, lines=(outline_points(outline) * flip,), closed=True)
    ]
    up = cell_layout.positive_up if face is Face.UPPER else ~cell_layout.positive_up
    xy = cell_layout.xy_mm * flip
    for (x, y), positive in zip(xy.tolist(), up.tolist(), strict=True):
        marks.append(Circles(layer=Layer.CELL, at_mm=(x, y), radius_mm=can))
        if positive:
            marks.append(Circles(layer=Layer.RING, at_mm=(x, y), radius_mm=can * RING_SHARE))
    numbers = plate_numbers(pack, interconnect)
    here = [k for k in numbers if interconnect.plates[k].face is face]
    here.sort(key=lambda k: interconnect.plates[k].groups)
    for turn, k in enumerate(here):
        marks += _plate_marks(interconnect.plates[k], flip, hatched=turn % 2 == 1)
    shown_plates = [interconnect.plates[k] for k in here]
    if legend:
        marks += rework_marks(pack, cell_layout, shown_plates, flip)
    marks += seam_marks(pack, cell_layout, interconnect.plates, here, flip)
    for k in here:
        marks += plate_shots(cell_layout, interconnect.plates[k], (flip, np.zeros(2)))
    marks += _signs(cell_layout, xy, up, can)
    bridged = bridged_joint(pack, interconnect.plates)
    for k in here:
        is_bridged = bridged is not None and bridged.plate == k
        text = f"{numbers[k]} {SEAM_TEXT}" if is_bridged else f"{numbers[k]}"
        marks += boxed_words(text, _middle(interconnect.plates[k], flip), NUMBER_MM)
    if legend:
        marks += peel_marks(cell_layout, shown_plates, flip)
    shown = line_sheet("", "", marks)
    marks += _balance_leads(interconnect, face, flip)
    marks += _lead_names(interconnect, face, flip, shown)
    if legend:
        low = line_sheet("", "", marks).low_mm
        marks += plate_legend(
            shown_plates,
            low,
            bridged=bridged is not None
            and bridged.plate in here
            and not interconnect.plates[bridged.plate].is_bridged,
        )
    shown = line_sheet("", "", marks)
    for k, text in enumerate(reversed(title.split(", ", 1))):
        at = (shown.low_mm[0], shown.high_mm[1] + 3.0 + 1.3 * TITLE_MM * k)
        marks.append(Words(at_mm=at, text=text, size_mm=TITLE_MM, bold=True))
    return line_sheet(f"weld plan of the {face.value} face", title, marks)


def _signs(
    cell_layout: CellLayout, xy: NDArray[np.float64], up: NDArray[np.bool_], can: float
) -> list[Mark]:
    """Sign and group of each can end, off its spots."""
    marks: list[Mark] = []
    off = max(SIGN_SHARE * can, min(SIGN_OFF_MM, can - SIGN_MM / 2))
    for (x, y), positive, group in zip(
        xy.tolist(), up.tolist(), cell_layout.group.tolist(), strict=True
    ):
        sign = "+" if positive else "\N{MINUS SIGN}"
        at = (x, y + off if y >= 0 else y - off)
        marks += boxed_words(f"{sign}{group}", at, SIGN_MM, Layer.PLATE)
    return marks


def _rings(shape: shapely.Polygon) -> tuple[NDArray[np.float64], ...]:
    """Outer edge and holes, (k, 2) each."""
    rings = [shape.exterior, *shape.interiors]
    return tuple(np.asarray(ring.coords)[:-1] for ring in rings)


def _plate_marks(plate: BusPlate, flip: NDArray[np.float64], *, hatched: bool) -> list[Mark]:
    marks: list[Mark] = []
    for sheet in plate.parts:
        outer, *holes = (ring * flip for ring in _rings(sheet))
        layer = Layer.WHITE if hatched else Layer.GREY
        marks.append(Lines(layer=layer, lines=(outer,), closed=True))
        if hatched:
            marks.append(Lines(layer=Layer.HATCH, lines=_hatch(sheet, flip)))
        if holes:
            marks.append(Lines(layer=Layer.WHITE, lines=tuple(holes), closed=True))
    if plate.pierced is not None:
        beneath = shapely.get_parts(plate.pierced).tolist()
        edges = tuple(ring * flip for part in beneath for ring in _rings(part))
        marks.append(Lines(layer=Layer.CUT, lines=edges, closed=True))
    if plate.bar is not None:
        for piece in plate.bar.pieces:
            rings = tuple(ring * flip for ring in _rings(piece))
            marks.append(Lines(layer=Layer.WHITE, lines=rings[:1], closed=True))
            marks.append(Lines(layer=Layer.HATCH, lines=_hatch(piece, flip, BAR_HATCH_MM)))
            if len(rings) > 1:
                marks.append(Lines(layer=Layer.WHITE, lines=rings[1:], closed=True))
    return marks


def _hatch(
    shape: shapely.Polygon, flip: NDArray[np.float64], step_mm: float = HATCH_MM
) -> tuple[NDArray[np.float64], ...]:
    """Slanted lines within a shape, (2, 2) each."""
    x0, y0, x1, y1 = shape.bounds
    high = y1 - y0
    lines = [
        shapely.LineString([(x, y0), (x + high, y1)]) for x in np.arange(x0 - high, x1, step_mm)
    ]
    parts = shapely.get_parts(shapely.intersection(np.array(lines), shape))
    return tuple(
        shapely.get_coordinates(part)[[0, -1]] * flip
        for part in parts
        if part.geom_type == "LineString" and part.length > 0
    )


def _middle(plate: BusPlate, flip: NDArray[np.float64]) -> tuple[float, float]:
    """Where a plate's number stands: well inside the sheet, on its bar between two can ends."""
    at = shapely.get_coordinates(plate.body.representative_point())[0]
    if plate.bar is not None:
        x0, _, x1, _ = plate.body.bounds
        _, y0, _, y1 = plate.bar.shape.bounds
        at = np.array([x0 + (x1 - x0) / len(plate.cells), (y0 + y1) / 2.0])
    x, y = at * flip
    return float(x), float(y)


def _balance_leads(interconnect: Interconnect, face: Face, flip: NDArray[np.float64]) -> list[Mark]:
    """The flag of each balance lead at the end of its tail or bar, or beside its cell."""
    marks: list[Mark] = []
    for lead in interconnect.balance_leads:
        if lead.face is not face or lead.tail_mm is None:
            continue
        name = f"B{lead.number}"
        x, y = (np.array(lead.tail_mm) * flip).tolist()
        plate = next(
            one for one in interconnect.plates if one.face is face and one.groups == lead.groups
        )
        inward = float(np.sign(_middle(plate, flip)[0] - x)) or 1.0
        back = inward * words_wide_mm(name, NUMBER_MM, bold=True) / 2
        marks += boxed_words(name, (x + back, y), NUMBER_MM, Layer.FLAG)
    return marks


def _lead_names(
    interconnect: Interconnect, face: Face, flip: NDArray[np.float64], shown: LineSheet
) -> list[Mark]:
    """Where the main leads connect: a line from the bar's end, or the plate, to the pole's name."""
    marks: list[Mark] = []
    turn = float(flip[0])
    edge = shown.high_mm[0] if turn > 0 else shown.low_mm[0]
    for plate in interconnect.plates:
        if plate.face is not face or not plate.is_end:
            continue
        text = "pack minus (\N{MINUS SIGN})" if plate.is_minus else "pack plus (+)"
        if plate.bar is not None:
            at = shapely.get_coordinates(plate.bar.landing.centroid)[0] * flip
        else:
            at = np.array(_middle(plate, flip))
            text += ": lead soldered onto the plate before welding"
        out_x = edge + turn * OUT_MM
        marks.append(Lines(layer=Layer.LEADER, lines=(np.array([at, (out_x, at[1])]),)))
        marks.append(
            Words(
                at_mm=(out_x + turn * 1.5, float(at[1]) - NAME_MM * 0.3),
                text=text,
                size_mm=NAME_MM,
                anchor="start" if turn > 0 else "end",
                bold=True,
            )
        )
    return marks
