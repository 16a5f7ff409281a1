"""Card pieces as a PDF at true size, over sheets of A4 or letter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from generators.dummy.card import CardLabel, CardPiece, Line
from generators.dummy.layout import FOOT_MM, CardPage, pages_of
from generators.exports.paper import MARGIN_MM, OVERLAP_MM, Paper

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["BAR_MM", "POINTS_A_MM", "write_sheets_pdf"]

POINTS_A_MM = 72.0 / 25.4
BAR_MM = 100.0
FONT, BOLD = "Helvetica", "Helvetica-Bold"
CUT_MM, FOLD_MM, PLACE_MM = 0.35, 0.25, 0.15  # widths of lines
EDGE_MM = 0.5  # a line on the very edge of the drawing area is drawn in full
FOLD_DASH, BACK_DASH, PLACE_DASH = (3.0, 1.5), (3.0, 1.0, 0.5, 1.0), (0.6, 0.9)


def write_sheets_pdf(
    path: Path, pieces: Sequence[CardPiece], *, name: str, paper: Paper, text: Sequence[str]
) -> int:
    """Write the sheets, a page of instructions first (``text``: its lines); returns the pages.

    The bytes depend on the arguments alone.
    """
    from reportlab.pdfgen.canvas import Canvas

    pages = pages_of(pieces, paper)
    size = tuple(side * POINTS_A_MM for side in paper.size_mm)
    canvas = Canvas(str(path), pagesize=size, invariant=1, pageCompression=0)
    canvas.setTitle(f"{name}: fit-up mock-up of card")
    first = _text_pages(canvas, text, name, paper)
    for number, page in enumerate(pages, start=1):
        _page(canvas, page, f"{name}, sheet {number} of {len(pages)}", paper)
        canvas.showPage()
    canvas.save()
    return first + len(pages)


def _text_pages(canvas: Canvas, text: Sequence[str], name: str, paper: Paper) -> int:
    """How it is put together, in as many pages as that takes; returns how many."""
    wide, high = paper.size_mm
    pages = 1
    y = high - MARGIN_MM - 8.0
    canvas.setFont(BOLD, 16)
    canvas.drawString(MARGIN_MM * POINTS_A_MM, y * POINTS_A_MM, f"{name}: fit-up mock-up of card")
    y -= 10.0
    for line in text:
        for k, part in enumerate(_wrapped(canvas, line, wide - 2 * MARGIN_MM - 6.0)):
            if y < MARGIN_MM + FOOT_MM:
                _foot(canvas, f"{name}, instructions", paper)
                canvas.showPage()
                pages, y = pages + 1, high - MARGIN_MM - 5.0
            heading = line.endswith(":") and k == 0 and not line.startswith(" ")
            canvas.setFont(BOLD if heading else FONT, 10)
            x = MARGIN_MM + (0.0 if heading else 4.0 if k == 0 else 8.0)
            canvas.drawString(x * POINTS_A_MM, y * POINTS_A_MM, part.strip())
            y -= 5.2
    _foot(canvas, f"{name}, instructions", paper)
    canvas.showPage()
    return pages


def _wrapped(canvas: Canvas, line: str, wide_mm: float) -> list[str]:
    lines, at = [], ""
    for word in line.split():
        longer = f"{at} {word}" if at else word
        if at and canvas.stringWidth(longer, FONT, 10) > wide_mm * POINTS_A_MM:
            lines.append(at)
            at = word
        else:
            at = longer
    return [*lines, at]


def _page(canvas: Canvas, page: CardPage, title: str, paper: Paper) -> None:
    wide, high = paper.room_mm(foot_mm=FOOT_MM)
    canvas.saveState()
    canvas.translate(MARGIN_MM * POINTS_A_MM, (MARGIN_MM + FOOT_MM) * POINTS_A_MM)
    canvas.scale(POINTS_A_MM, POINTS_A_MM)
    clip = canvas.beginPath()
    clip.rect(-EDGE_MM, -EDGE_MM, wide + 2 * EDGE_MM, high + 2 * EDGE_MM)
    canvas.saveState()
    canvas.clipPath(clip, stroke=0)
    for piece in page.pieces:
        _piece(canvas, piece)
    canvas.restoreState()
    if page.tile is not None:
        _tile_marks(canvas, page, wide, high)
        column, row, columns, rows = page.tile
        title += f": {page.pieces[0].title}, part {column} of {columns} across, {row} of {rows} up"
    canvas.restoreState()
    _foot(canvas, title, paper)


def _piece(canvas: Canvas, piece: CardPiece) -> None:
    canvas.setLineJoin(1)
    _lines(canvas, piece.places, PLACE_MM, PLACE_DASH)
    _lines(canvas, piece.folds, FOLD_MM, FOLD_DASH)
    _lines(canvas, piece.back_folds, FOLD_MM, BACK_DASH)
    cut = PLACE_MM if piece.paper else CUT_MM
    _lines(canvas, [(*line, line[0]) for line in piece.cuts], cut, ())
    for drill in piece.drills:
        radius = drill.hole_diameter_mm / 2
        arm = radius + 2.5
        canvas.setLineWidth(FOLD_MM)
        canvas.circle(drill.x_mm, drill.y_mm, radius)
        canvas.line(drill.x_mm - arm, drill.y_mm, drill.x_mm + arm, drill.y_mm)
        canvas.line(drill.x_mm, drill.y_mm - arm, drill.x_mm, drill.y_mm + arm)
        if drill.text:
            _label(canvas, CardLabel(x_mm=drill.x_mm + arm + 2.0, y_mm=drill.y_mm + 2.0,
                                 text=drill.text, size_mm=2.5))  # fmt: skip
    for label in piece.labels:
        _label(canvas, label)


def _lines(canvas: Canvas, lines: Iterable[Line], width_mm: float, dash: tuple[float, ...]) -> None:
    canvas.setLineWidth(width_mm)
    canvas.setDash(list(dash))
    for line in lines:
        path = canvas.beginPath()
        path.moveTo(*line[0])
        for point in line[1:]:
            path.lineTo(*point)
        canvas.drawPath(path)
    canvas.setDash([])


def _label(canvas: Canvas, label: CardLabel) -> None:
    canvas.saveState()
    canvas.translate(label.x_mm, label.y_mm)
    if label.turned:
        canvas.rotate(90)
    canvas.setFont(FONT, label.size_mm / 0.72)  # a capital is 0.72 of the font's size high
    canvas.drawCentredString(0.0, -label.size_mm / 2, label.text)
    canvas.restoreState()


def _tile_marks(canvas: Canvas, page: CardPage, wide: float, high: float) -> None:
    """The overlap's inner edge on the sides where another sheet joins, with crosses to align."""
    assert page.tile is not None
    column, row, columns, rows = page.tile
    canvas.setLineWidth(PLACE_MM)
    for there, x in ((column > 1, 0.0), (column < columns, wide - OVERLAP_MM)):
        if there:
            for y in (high * 0.1, high * 0.5, high * 0.9):
                _cross(canvas, x + OVERLAP_MM / 2, y)
    for there, y in ((row > 1, 0.0), (row < rows, high - OVERLAP_MM)):
        if there:
            for x in (wide * 0.1, wide * 0.5, wide * 0.9):
                _cross(canvas, x, y + OVERLAP_MM / 2)


def _cross(canvas: Canvas, x: float, y: float) -> None:
    canvas.line(x - 4.0, y, x + 4.0, y)
    canvas.line(x, y - 4.0, x, y + 4.0)
    canvas.rect(x - 1.5, y - 1.5, 3.0, 3.0)


def _foot(canvas: Canvas, title: str, paper: Paper) -> None:
    """Check bar of 100 mm, what to set in the printer's dialogue, and the legend."""
    canvas.saveState()
    canvas.translate(MARGIN_MM * POINTS_A_MM, MARGIN_MM * POINTS_A_MM)
    canvas.scale(POINTS_A_MM, POINTS_A_MM)
    canvas.setLineWidth(0.3)
    canvas.line(0.0, 2.0, BAR_MM, 2.0)
    for k in range(11):
        canvas.line(10.0 * k, 2.0, 10.0 * k, 4.5 if k % 5 == 0 else 3.5)
    canvas.setFont(FONT, 2.6 / 0.72)
    canvas.drawString(BAR_MM + 3.0, 1.2, "100 mm: print at 100 %, not fitted to the page")
    canvas.drawString(0.0, 9.5, title)
    x = 0.0
    for text, dash, width in (
        ("cut", (), CUT_MM), ("score inside, fold back", FOLD_DASH, FOLD_MM),
        ("score outside, fold up", BACK_DASH, FOLD_MM),
        ("position of another piece", PLACE_DASH, PLACE_MM),
    ):  # fmt: skip
        _lines(canvas, [((x, 6.8), (x + 10.0, 6.8))], width, dash)
        canvas.drawString(x + 11.5, 6.0, text)
        x += 14.0 + canvas.stringWidth(text, FONT, 2.6 / 0.72)
    canvas.restoreState()
