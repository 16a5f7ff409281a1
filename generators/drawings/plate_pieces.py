"""Templates to cut plates by at true size, and all pieces beside each other for a machine.

On the machine's drawing everything to cut is on one layer, round holes as true circles; the fold
of each tail is on a second, numbers and weld spots on a third.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import zip_longest

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.drawings.linework import (
    Circles,
    Layer,
    Lines,
    LineSheet,
    Mark,
    Words,
    crosses,
    line_sheet,
    moved,
)
from generators.drawings.plate_marks import plate_shots
from generators.drawings.plate_plan import plate_numbers
from layouts.cells.arrangement import CellLayout
from layouts.pack import Pack
from layouts.plates.cut_features import fold_line, hole_words, sheet_holes
from layouts.plates.nesting import copper_words, part_names
from layouts.plates.pierced import COPPER_HOLE_MM, bench_spots
from layouts.plates.spots import layer_spots
from layouts.strips.joining import Interconnect
from layouts.strips.plate import BusPlate, PlateBar, SheetLayer

__all__ = ["plate_piece_sheet", "plate_templates"]

Place = tuple[NDArray[np.float64], NDArray[np.float64]]  # factors (2,) and shift (2,)

WORDS_MM = 2.6
APART_MM = 5.0  # pieces beside each other, for a machine that cuts
ROWS_MM = 600.0  # rows of them are no wider, where no piece is
ALIKE_MM = 0.1  # plates alike to that share a template: far below what shears do


def plate_templates(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[LineSheet, ...]:
    """One sheet for all plates alike, one more for a layer beneath another metal: outline, holes,
    fold, spots, and which plates, of what."""
    numbers = plate_numbers(pack, interconnect)
    alike: dict[bytes, list[int]] = {}
    for k in numbers:
        alike.setdefault(_key(interconnect.plates[k]), []).append(k)
    sheets = []
    for same in alike.values():
        plate, mine = interconnect.plates[same[0]], [numbers[k] for k in same]
        texts = _template_texts(plate, mine)
        shots = _template(plate, plate.sheet, texts, plate_shots, cell_layout)
        sheets.append(line_sheet(f"plate-{mine[0]}", texts[0], shots))
        if plate.pierced is not None:
            texts = _pierced_texts(plate, mine)
            marks = _template(plate, plate.pierced, texts, _bench_shots, cell_layout)
            sheets.append(line_sheet(f"plate-{mine[0]}-beneath", texts[0], marks))
    return tuple(sheets)


def _template(
    plate: BusPlate,
    sheet: BaseGeometry,
    texts: list[str],
    shots: Callable[[CellLayout, BusPlate, Place], list[Mark]],
    cell_layout: CellLayout,
) -> list[Mark]:
    """One layer as cut, what ``shots`` draws on it, words below."""
    by = -np.array(plate.sheet.bounds[:2])
    marks = [
        *_cut(sheet, by, Layer.CUT),
        *(() if sheet is plate.pierced else _fold(plate, by)),
        *shots(cell_layout, plate, (np.ones(2), by)),
    ]
    for row, text in enumerate(texts):
        at = (0.0, -4.0 - 1.4 * WORDS_MM * row)
        marks.append(Words(at_mm=at, text=text, size_mm=WORDS_MM))
    return marks


def _bench_shots(cell_layout: CellLayout, plate: BusPlate, place: Place) -> list[Mark]:
    """Where both sheets are joined before they come onto the cells."""
    return [crosses((bench_spots(cell_layout, plate) * place[0] + place[1]).reshape(-1, 2))]


def _layers_words(layers: Iterable[SheetLayer]) -> str:
    return " and ".join(f"{one.material} {one.thickness_mm:g} mm" for one in layers)


def _pierced_texts(plate: BusPlate, numbers: list[int]) -> list[str]:
    """What stands below the template of a layer beneath another metal."""
    plates = ", ".join(map(str, numbers))
    assert plate.pierced is not None
    others = hole_words(sheet_holes(plate.pierced))
    return [
        f"plates {plates}, beneath: {len(numbers)} of each: {_layers_words(plate.layers_beneath)}",
        *([others] if others else []),
        f"a hole of {COPPER_HOLE_MM:g} at each can end, open where the sheet is narrow",
        "crosses: nickel is welded onto it on the bench",
        "edges deburred on both faces",
    ]


def _template_texts(plate: BusPlate, numbers: list[int]) -> list[str]:
    """What stands below a template."""
    plates = ", ".join(map(str, numbers))
    texts = [f"plates {plates}: {len(numbers)} of each: {_layers_words(plate.whole_layers)}"]
    holes = hole_words(sheet_holes(plate.sheet))
    if holes:
        texts.append(holes)
    if plate.cell_fuses:
        neck = plate.cell_fuses[0]
        texts.append(
            f"{len(plate.cell_fuses)} x fusible neck {neck.width_mm:g} x {neck.length_mm:g} mm, "
            "cut to size, no spot on it"
        )
    if fold_line(plate) is not None:
        texts.append("fold the tail down at the dashed line, over an edge")
    texts.append("burr up, edges deburred")
    return texts if plate.bar is None else [*texts, *_copper_texts(plate, plate.bar)]


def _copper_texts(plate: BusPlate, bar: PlateBar) -> list[str]:
    """Its bars, their ends, and the bridge of two sheets."""
    last = len(bar.pieces) - plate.is_bridged  # the bridge comes last
    sizes = list(zip(bar.stock_mm, bar.long_mm, strict=True))
    texts = [
        f"flat copper {wide_mm:g} x {bar.thickness_mm:g} x {long_mm:.1f} mm on it"
        + ("" if wide_mm == bar.width_mm else ", cut to its outline")
        for wide_mm, long_mm in sizes[:last]
    ]
    purpose = "the bridge" if plate.is_bridged else "the ring lug"
    for lug in bar.lugs[:1]:
        texts.append(f"hole {lug.hole_mm:g} in its end: {lug.screw} for {purpose}")
        if lug.drop_mm:
            texts.append(
                f"bend its end twice, {lug.drop_mm:g} mm towards the other face, at the dashed "
                "lines"
            )
    if plate.is_bridged:
        wide_mm, long_mm = sizes[-1]
        texts.insert(0, "two sheets, a on the lower row, b on the upper one, a bar on each")
        texts.append(f"bridge over both ends: flat copper {wide_mm:g} x {long_mm:g} mm, two holes")
    return texts


def _cut(shape: BaseGeometry, by: NDArray[np.float64], layer: Layer) -> list[Mark]:
    """Outline and holes of a piece, moved; round holes as circles."""
    holes = sheet_holes(shape)
    outlines = [shapely.get_coordinates(part.exterior)[:-1] for part in shapely.get_parts(shape)]
    lines = tuple(ring + by for ring in (*outlines, *holes.others))
    marks: list[Mark] = [Lines(layer=layer, lines=lines, closed=True)]
    for x, y, diameter in holes.round:
        at = (x + float(by[0]), y + float(by[1]))
        marks.append(Circles(layer=layer, at_mm=at, radius_mm=diameter / 2.0))
    return marks


def _fold(plate: BusPlate, by: NDArray[np.float64]) -> list[Mark]:
    line = fold_line(plate)
    return [] if line is None else [Lines(layer=Layer.BEND, lines=(line + by,))]


def plate_piece_sheet(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> LineSheet:
    """Every sheet and bar beside the other, none left out, for a machine that cuts."""
    numbers = plate_numbers(pack, interconnect)
    marks: list[Mark] = []
    x = y = row = 0.0
    for k, number in numbers.items():
        plate = interconnect.plates[k]
        for shape, name, marked in _pieces(cell_layout, plate, number):
            x0, y0, x1, y1 = shape.bounds
            wide, deep = x1 - x0, y1 - y0
            if x and x + wide > ROWS_MM:
                x, y, row = 0.0, y + row + APART_MM, 0.0
            by = np.array([x - x0, y - y0])
            marks += [*_cut(shape, by, Layer.PIECE), *moved(marked, x - x0, y - y0)]
            marks.append(_name(shape, name, by))
            x, row = x + wide + APART_MM, max(row, deep)
    return line_sheet("pieces", f"{pack.name}: all pieces", marks)


def _pieces(
    cell_layout: CellLayout, plate: BusPlate, number: int
) -> Iterator[tuple[shapely.Polygon, str, list[Mark]]]:
    """Each layer of a plate and each piece of its bar: shape, name, and what is bent and marked."""
    for layer, sheet in enumerate(plate.sheets):
        layered = "" if len(plate.layers) == 1 else f".{layer + 1}"
        spots = layer_spots(cell_layout, plate, layer).reshape(-1, 2)
        fold = [] if sheet is plate.pierced else _fold(plate, np.zeros(2))
        for part, shape in zip(part_names(plate), shapely.get_parts(sheet), strict=True):
            here = spots[shapely.contains_xy(shape, spots)] if part else spots
            marks = [*fold, replace(crosses(here), layer=Layer.MARK)]
            yield shape, f"{number}{part}{layered}", marks
    if plate.bar is None:
        return
    pieces = zip(plate.bar.flat, copper_words(plate), strict=True)
    for (piece, word), lug in zip_longest(pieces, plate.bar.lugs):
        lines = () if lug is None else lug.bends
        yield piece, f"{word} {number}", [Lines(layer=Layer.BEND, lines=(one,)) for one in lines]


def _name(shape: shapely.Polygon, name: str, by: NDArray[np.float64]) -> Words:
    at = shapely.get_coordinates(shape.representative_point())[0] + by
    return Words(
        at_mm=(float(at[0]), float(at[1]) - WORDS_MM * 0.36),
        text=name,
        size_mm=WORDS_MM,
        anchor="middle",
        layer=Layer.MARK,
    )


def _key(plate: BusPlate) -> bytes:
    """What two plates that are cut alike have in common, as they lie."""
    x0, y0, _, _ = plate.sheet.bounds
    there = shapely.transform(plate.sheet, lambda xy: xy - np.array([x0, y0]))
    layers = [(one.material, one.thickness_mm) for one in plate.layers]
    bar: tuple[float, ...] = ()
    if plate.bar is not None:
        long_mm = (round(one, 1) for one in plate.bar.long_mm)
        bar = (plate.bar.width_mm, plate.bar.thickness_mm, *long_mm)
    shape = shapely.to_wkb(shapely.normalize(shapely.set_precision(there, ALIKE_MM)))
    return bytes(shape) + repr((layers, bar)).encode()
