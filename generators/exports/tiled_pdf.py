"""Drawings at true size as PDF: small ones together on a page, large ones over several.

Every page has a bar of 100 mm to measure the print by. Pages of one large drawing overlap by
10 mm and carry the same crosses there, to lay them on each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from generators.drawings.linework import PENS, Circles, LineSheet, Mark, Pen, Words
from generators.exports.paper import MARGIN_MM, OVERLAP_MM, Paper, tiling
from layouts.parts.plates import Footprint, arrange_plates

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["BAR_MM", "FOOT_MM", "TiledPage", "pages_of", "write_tiled_pdf"]

POINTS_A_MM = 72.0 / 25.4
BAR_MM = 100.0
FOOT_MM = 10.0  # above the lower margin: check bar and title
GAP_MM = 6.0
EDGE_MM = 0.5  # a line on the very edge of the drawing area is drawn in full
FONT, BOLD = "Helvetica", "Helvetica-Bold"
FOOT_WORDS_MM = 3.2
MARK_MM = 0.15
SIGNS = str.maketrans({"\N{MINUS SIGN}": "\N{EN DASH}"})  # the standard fonts have no minus sign


@dataclass(frozen=True, kw_only=True, slots=True)
class PlacedSheet:
    """A sheet on a page: where its own lower left corner lies in the drawing area; turned a quarter
    counter-clockwise or not.
    """

    sheet: LineSheet
    x_mm: float
    y_mm: float
    turned: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class TiledPage:
    """One page; ``tile``: column and row, and how many of both, of a sheet over several pages."""

    placed: tuple[PlacedSheet, ...]
    tile: tuple[int, int, int, int] | None = None


def pages_of(sheets: Sequence[LineSheet], paper: Paper) -> tuple[TiledPage, ...]:
    """Every sheet at its true size: large ones first, each over its own pages, in their order."""
    wide, high = paper.room_mm(foot_mm=FOOT_MM)
    pages: list[TiledPage] = []
    small: dict[str, LineSheet] = {}
    for k, sheet in enumerate(sheets):
        w, h = sheet.size_mm
        if (w <= wide and h <= high) or (h <= wide and w <= high):
            small[f"{k:06d}"] = sheet
        else:
            pages += _tiled(sheet, wide, high)
    prints = [
        Footprint(name=name, width_mm=sheet.size_mm[0], depth_mm=sheet.size_mm[1])
        for name, sheet in small.items()
    ]
    on: dict[int, list[PlacedSheet]] = {}
    for at in arrange_plates(prints, bed_mm=(wide, high), gap_mm=GAP_MM):
        one = PlacedSheet(sheet=small[at.name], x_mm=at.x_mm, y_mm=at.y_mm, turned=at.turned)
        on.setdefault(at.plate, []).append(one)
    pages += [TiledPage(placed=tuple(on[plate])) for plate in sorted(on)]
    return tuple(pages)


def _tiled(sheet: LineSheet, wide: float, high: float) -> list[TiledPage]:
    """A large sheet over the fewest pages, turned where that saves some."""
    turned, columns, rows, (step_x, step_y) = tiling(sheet.size_mm, (wide, high))
    return [
        TiledPage(
            placed=(
                PlacedSheet(sheet=sheet, x_mm=-column * step_x, y_mm=-row * step_y, turned=turned),
            ),
            tile=(column + 1, row + 1, columns, rows),
        )
        for row in range(rows)
        for column in range(columns)
    ]


def write_tiled_pdf(
    path: Path, sheets: Sequence[LineSheet], *, name: str, title: str, paper: Paper
) -> int:
    """Write the sheets; returns how many pages. The bytes depend on the arguments alone."""
    from reportlab.pdfgen.canvas import Canvas

    pages = pages_of(sheets, paper)
    size = tuple(side * POINTS_A_MM for side in paper.size_mm)
    canvas = Canvas(str(path), pagesize=size, invariant=1, pageCompression=1)
    canvas.setTitle(f"{name}: {title}")
    boxes = {id(sheet): _boxes(sheet) for sheet in sheets}
    for number, page in enumerate(pages, start=1):
        _page(canvas, page, boxes, f"{name}: {title}, page {number} of {len(pages)}", paper)
        canvas.showPage()
    canvas.save()
    return len(pages)


def _boxes(sheet: LineSheet) -> NDArray[np.float64]:
    """(marks, 4) what each mark covers, from the sheet's lower left corner."""
    boxes = np.array([mark.box_mm for mark in sheet.marks])
    return np.asarray(boxes - np.array([*sheet.low_mm, *sheet.low_mm]))


def _page(
    canvas: Canvas, page: TiledPage, boxes: dict[int, NDArray[np.float64]], title: str, paper: Paper
) -> None:
    wide, high = paper.room_mm(foot_mm=FOOT_MM)
    canvas.saveState()
    canvas.translate(MARGIN_MM * POINTS_A_MM, (MARGIN_MM + FOOT_MM) * POINTS_A_MM)
    canvas.scale(POINTS_A_MM, POINTS_A_MM)
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(-EDGE_MM, -EDGE_MM, wide + 2 * EDGE_MM, high + 2 * EDGE_MM)
    canvas.clipPath(clip, stroke=0)
    canvas.setLineJoin(1)
    for one in page.placed:
        canvas.saveState()
        canvas.translate(one.x_mm, one.y_mm)
        x0, y0, x1, y1 = -one.x_mm, -one.y_mm, wide - one.x_mm, high - one.y_mm
        if one.turned:
            canvas.translate(one.sheet.size_mm[1], 0.0)
            canvas.rotate(90)
            x0, x1, y0, y1 = y0, y1, one.sheet.size_mm[1] - x1, one.sheet.size_mm[1] - x0
        canvas.translate(-one.sheet.low_mm[0], -one.sheet.low_mm[1])
        box = boxes[id(one.sheet)]
        seen = (box[:, 0] <= x1 + 1) & (box[:, 2] >= x0 - 1)
        seen &= (box[:, 1] <= y1 + 1) & (box[:, 3] >= y0 - 1)
        for k in np.flatnonzero(seen).tolist():
            _draw(canvas, one.sheet.marks[k])
        canvas.restoreState()
    canvas.restoreState()
    if page.tile is not None:
        _tile_marks(canvas, page.tile, wide, high)
        column, row, columns, rows = page.tile
        what = page.placed[0].sheet.name
        title += f": {what}, {column} of {columns} across, {row} of {rows} up"
    canvas.restoreState()
    _foot(canvas, title)


def _draw(canvas: Canvas, mark: Mark) -> None:
    pen = PENS[mark.layer]
    if isinstance(mark, Words):
        text = mark.text.translate(SIGNS)
        canvas.setFont(BOLD if mark.bold else FONT, mark.size_mm)
        canvas.setFillGray(1.0 if mark.white else 0.0)
        draw = {
            "start": canvas.drawString,
            "middle": canvas.drawCentredString,
            "end": canvas.drawRightString,
        }[mark.anchor]
        draw(*mark.at_mm, text)
        return
    _set_pen(canvas, pen)
    stroke, fill = int(pen.width_mm > 0), int(pen.fill is not None)
    if isinstance(mark, Circles):
        canvas.circle(*mark.at_mm, mark.radius_mm, stroke=stroke, fill=fill)
        return
    path = canvas.beginPath()
    for line in mark.lines:
        points = line.tolist()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        if mark.closed:
            path.close()
    canvas.drawPath(path, stroke=stroke, fill=fill)


def _set_pen(canvas: Canvas, pen: Pen) -> None:
    if pen.width_mm > 0:
        canvas.setLineWidth(pen.width_mm)
        canvas.setDash(list(pen.dash_mm))
    if pen.fill is not None:
        canvas.setFillGray(pen.fill)


def _tile_marks(canvas: Canvas, tile: tuple[int, int, int, int], wide: float, high: float) -> None:
    """Crosses in the overlaps with the neighbouring pages, and a line to cut one page along."""
    column, row, columns, rows = tile
    canvas.setLineWidth(MARK_MM)
    canvas.setDash([])
    for there, x in ((column > 1, 0.0), (column < columns, wide - OVERLAP_MM)):
        if there:
            for share in (0.1, 0.5, 0.9):
                _cross(canvas, x + OVERLAP_MM / 2, high * share)
    for there, y in ((row > 1, 0.0), (row < rows, high - OVERLAP_MM)):
        if there:
            for share in (0.1, 0.5, 0.9):
                _cross(canvas, wide * share, y + OVERLAP_MM / 2)
    canvas.setDash([0.5, 1.5])
    if column < columns:
        canvas.line(wide - OVERLAP_MM / 2, 0.0, wide - OVERLAP_MM / 2, high)
    if row < rows:
        canvas.line(0.0, high - OVERLAP_MM / 2, wide, high - OVERLAP_MM / 2)
    canvas.setDash([])


def _cross(canvas: Canvas, x: float, y: float) -> None:
    canvas.line(x - 4.0, y, x + 4.0, y)
    canvas.line(x, y - 4.0, x, y + 4.0)
    canvas.circle(x, y, 1.5, stroke=1, fill=0)


def _foot(canvas: Canvas, title: str) -> None:
    """The bar to measure the print by, and what page this is."""
    canvas.saveState()
    canvas.translate(MARGIN_MM * POINTS_A_MM, MARGIN_MM * POINTS_A_MM)
    canvas.scale(POINTS_A_MM, POINTS_A_MM)
    canvas.setLineWidth(0.3)
    canvas.setDash([])
    canvas.setFillGray(0.0)
    canvas.line(0.0, 0.0, BAR_MM, 0.0)
    for k in range(11):
        canvas.line(10.0 * k, 0.0, 10.0 * k, 2.5 if k % 5 == 0 else 1.5)
    canvas.setFont(FONT, FOOT_WORDS_MM)
    canvas.drawString(BAR_MM + 3.0, 0.0, "100 mm: print at 100 %, not fitted to the page")
    canvas.drawString(0.0, 4.5, title.translate(SIGNS))
    canvas.restoreState()
