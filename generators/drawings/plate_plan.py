"""Weld plan of one face of a pack of plates at true size, and templates to cut plates by.

Plates lie grey and hatched in turn, so that neighbours are told apart. A number in a white box is
the plate's place in the order of welding; two crosses joined by a line are one shot; B and a number
in a black flag is a balance lead, on the tail or the bar's end where it is soldered."""

from __future__ import annotations

from collections.abc import Sequence

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
    crosses,
    line_sheet,
    words_wide_mm,
)
from generators.drawings.plan import outline_points
from layouts.cells.arrangement import CellLayout
from layouts.holders.outline import Outline
from layouts.pack import Face, Pack
from layouts.plates.spots import plate_spots
from layouts.plates.welding_order import weld_steps
from layouts.strips.joining import Interconnect
from layouts.strips.plate import BusPlate

__all__ = ["plate_numbers", "plate_piece_sheet", "plate_templates", "plate_weld_plan"]

RING_SHARE = 0.86  # of the can's radius, as in the face plans
SIGN_MM = 3.4
NUMBER_MM = 3.0
HATCH_MM = 2.5
BAR_HATCH_MM = 0.9  # copper: dense
TITLE_MM = 5.0
NAME_MM = 4.0
LEGEND_MM = 3.0
WORDS_MM = 2.6
OUT_MM = 4.0  # names of leads stand so far outside what is drawn
APART_MM = 5.0  # pieces beside each other, for a machine that cuts
ROWS_MM = 600.0  # rows of them are no wider, where no piece is
ALIKE_MM = 0.1  # plates alike to that share a template: far below what shears do


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
    for k in here:
        marks += _shots(plate_spots(cell_layout, interconnect.plates[k]) * flip)
    for (x, y), positive, group in zip(
        xy.tolist(), up.tolist(), cell_layout.group.tolist(), strict=True
    ):
        sign = "+" if positive else "\N{MINUS SIGN}"
        at = (x, y + can * 0.62 if y >= 0 else y - can * 0.62)
        marks += boxed_words(f"{sign}{group}", at, SIGN_MM, Layer.PLATE)
    for k in here:
        marks += boxed_words(str(numbers[k]), _middle(interconnect.plates[k], flip), NUMBER_MM)
    shown = line_sheet("", "", marks)
    marks += _balance_leads(interconnect, face, flip)
    marks += _lead_names(interconnect, face, flip, shown)
    if legend:
        marks += _legend(line_sheet("", "", marks).low_mm)
    shown = line_sheet("", "", marks)
    for k, text in enumerate(reversed(title.split(", ", 1))):
        at = (shown.low_mm[0], shown.high_mm[1] + 3.0 + 1.3 * TITLE_MM * k)
        marks.append(Words(at_mm=at, text=text, size_mm=TITLE_MM, bold=True))
    return line_sheet(f"weld plan of the {face.value} face", title, marks)


def _rings(shape: shapely.Polygon) -> tuple[NDArray[np.float64], ...]:
    """Outer edge and holes, (k, 2) each."""
    rings = [shape.exterior, *shape.interiors]
    return tuple(np.asarray(ring.coords)[:-1] for ring in rings)


def _plate_marks(plate: BusPlate, flip: NDArray[np.float64], *, hatched: bool) -> list[Mark]:
    outer, *holes = (ring * flip for ring in _rings(plate.sheet))
    layer = Layer.WHITE if hatched else Layer.GREY
    marks: list[Mark] = [Lines(layer=layer, lines=(outer,), closed=True)]
    if hatched:
        marks.append(Lines(layer=Layer.HATCH, lines=_hatch(plate.sheet, flip)))
    if holes:
        marks.append(Lines(layer=Layer.WHITE, lines=tuple(holes), closed=True))
    if plate.bar is not None:
        bar = _rings(plate.bar.shape)[0] * flip
        marks.append(Lines(layer=Layer.WHITE, lines=(bar,), closed=True))
        marks.append(Lines(layer=Layer.HATCH, lines=_hatch(plate.bar.shape, flip, BAR_HATCH_MM)))
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


def _shots(places: NDArray[np.float64]) -> list[Mark]:
    """Crosses of all spots (cells, shots, 2, 2), a line between the two of each shot."""
    pairs = places.reshape(-1, 2, 2)
    return [Lines(layer=Layer.WELD, lines=tuple(pairs)), crosses(pairs.reshape(-1, 2))]


def _middle(plate: BusPlate, flip: NDArray[np.float64]) -> tuple[float, float]:
    """Where a plate's number stands: well inside the sheet."""
    x, y = shapely.get_coordinates(plate.body.representative_point())[0] * flip
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


def _legend(low: tuple[float, float]) -> list[Mark]:
    """What the signs mean, below the drawing."""
    x, y = low[0], low[1] - 6.0
    shot = np.array([[[(x + 0.7, y + 1.0), (x + 3.3, y + 1.0)]]])
    lines: list[tuple[Sequence[Mark], str]] = [
        (_shots(shot[None]), "one shot: two spots, onto the can; further layers onto the sheet"),
        (boxed_words("7", (x + 2.0, y - 4.0), NUMBER_MM), "plate 7 in the order of welding"),
        (
            boxed_words("B2", (x + 2.0, y - 9.0), NUMBER_MM, Layer.FLAG),
            "balance lead 2, soldered on before the plate is welded",
        ),
        (
            (Circles(layer=Layer.RING, at_mm=(x + 2.0, y - 14.0), radius_mm=1.8),),
            "insulating ring: a positive end; the number is the group",
        ),
    ]
    marks: list[Mark] = []
    for k, (signs, text) in enumerate(lines):
        marks += signs
        at = (x + 7.0, y + 1.0 - 5.0 * k - LEGEND_MM * 0.36)
        marks.append(Words(at_mm=at, text=text, size_mm=LEGEND_MM))
    return marks


def plate_templates(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[LineSheet, ...]:
    """One sheet for all plates alike: outline, holes, spots, and which plates, of what."""
    numbers = plate_numbers(pack, interconnect)
    alike: dict[bytes, list[int]] = {}
    for k in numbers:
        plate = interconnect.plates[k]
        alike.setdefault(_key(plate), []).append(k)
    sheets = []
    for same in alike.values():
        plate = interconnect.plates[same[0]]
        x0, y0, _, _ = plate.sheet.bounds
        by = -np.array([x0, y0])
        marks: list[Mark] = [
            Lines(
                layer=Layer.CUT, lines=tuple(ring + by for ring in _rings(plate.sheet)), closed=True
            ),
            *_shots(plate_spots(cell_layout, plate) + by),
        ]
        layers = " and ".join(f"{one.material} {one.thickness_mm:g} mm" for one in plate.layers)
        plates = ", ".join(str(numbers[k]) for k in same)
        texts = [f"plates {plates}: {len(same)} of each: {layers}", "burr up, edges deburred"]
        if plate.bar is not None:
            bar = plate.bar
            texts.append(
                f"flat copper {bar.width_mm:g} x {bar.thickness_mm:g} x {bar.long_mm:.1f} mm on it"
            )
        for row, text in enumerate(texts):
            at = (0.0, -4.0 - 1.4 * WORDS_MM * row)
            marks.append(Words(at_mm=at, text=text, size_mm=WORDS_MM))
        sheets.append(line_sheet(f"plate-{numbers[same[0]]}", texts[0], marks))
    return tuple(sheets)


def plate_piece_sheet(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> LineSheet:
    """Every sheet and bar beside the other, none left out, for a machine that cuts."""
    numbers = plate_numbers(pack, interconnect)
    marks: list[Mark] = []
    x = y = row = 0.0
    for k, number in numbers.items():
        plate = interconnect.plates[k]
        shapes = [(plate.sheet, f"{number}", True) for _ in plate.layers]
        if plate.bar is not None:
            shapes.append((plate.bar.shape, f"bar {number}", False))
        for shape, name, welded in shapes:
            x0, y0, x1, y1 = shape.bounds
            wide, deep = x1 - x0, y1 - y0
            if x and x + wide > ROWS_MM:
                x, y, row = 0.0, y + row + APART_MM, 0.0
            by = np.array([x - x0, y - y0])
            rings = tuple(ring + by for ring in _rings(shape))
            marks.append(Lines(layer=Layer.CUT, lines=rings, closed=True))
            if welded:
                marks.append(crosses(plate_spots(cell_layout, plate).reshape(-1, 2) + by))
            at = shapely.get_coordinates(shape.representative_point())[0] + by
            marks.append(
                Words(
                    at_mm=(float(at[0]), float(at[1]) - WORDS_MM * 0.36),
                    text=name,
                    size_mm=WORDS_MM,
                    anchor="middle",
                )
            )
            x, row = x + wide + APART_MM, max(row, deep)
    return line_sheet("pieces", f"{pack.name}: all pieces", marks)


def _key(plate: BusPlate) -> bytes:
    """What two plates that are cut alike have in common, as they lie."""
    x0, y0, _, _ = plate.sheet.bounds
    there = shapely.transform(plate.sheet, lambda xy: xy - np.array([x0, y0]))
    layers = [(one.material, one.thickness_mm) for one in plate.layers]
    bar = None if plate.bar is None else (plate.bar.width_mm, plate.bar.thickness_mm)
    shape = shapely.to_wkb(shapely.normalize(shapely.set_precision(there, ALIKE_MM)))
    return bytes(shape) + repr((layers, bar)).encode()
