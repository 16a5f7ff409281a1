"""Card pieces laid out on pages: small ones together, larger ones over several with an overlap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generators.dummy.card import CardPiece
from generators.exports.paper import Paper, tiling

__all__ = ["FOOT_MM", "CardPage", "laid_in_rows", "pages_of"]

FOOT_MM = 14.0  # above the lower margin: check bar and legend
GAP_MM = 5.0


@dataclass(frozen=True, kw_only=True, slots=True)
class CardPage:
    """One sheet of paper: pieces in coordinates of its drawing area, lower left corner (0, 0).

    ``tile``: column and row, and how many of both, of a piece that goes over several sheets.
    """

    pieces: tuple[CardPiece, ...]
    tile: tuple[int, int, int, int] | None = None


def pages_of(pieces: Sequence[CardPiece], paper: Paper) -> tuple[CardPage, ...]:
    """Every copy of every piece on paper, at its true size."""
    wide, high = paper.room_mm(foot_mm=FOOT_MM)
    small: list[CardPiece] = []
    large: list[CardPiece] = []
    for piece in pieces:
        w, h = piece.size_mm
        fits = (w <= wide and h <= high) or (h <= wide and w <= high)
        (small if fits else large).extend([piece] * piece.count)
    pages = [CardPage(pieces=tuple(row)) for row in _packed(small, wide, high)]
    for piece in large:
        pages += _tiled(piece, wide, high)
    return tuple(pages)


def _tiled(piece: CardPiece, wide: float, high: float) -> list[CardPage]:
    """A large piece over the fewest pages, turned where that saves some."""
    turned, columns, rows, (step_x, step_y) = tiling(piece.size_mm, (wide, high))
    placed = _at_origin(piece, turned=turned)
    return [
        CardPage(
            pieces=(placed.moved(-column * step_x, -row * step_y),),
            tile=(column + 1, row + 1, columns, rows),
        )
        for row in range(rows)
        for column in range(columns)
    ]


def _at_origin(piece: CardPiece, *, turned: bool = False) -> CardPiece:
    """The piece with its lower left corner in the origin."""
    there = piece.moved(0.0, 0.0, turned=turned)
    x0, y0, _, _ = there.box_mm
    return there.moved(-x0, -y0)


def _packed(pieces: Sequence[CardPiece], wide: float, high: float) -> list[list[CardPiece]]:
    """Rows on as few pages as simple filling gives, the highest first, each in the first gap."""
    laid = []
    for number, piece in enumerate(pieces):
        w, h = piece.size_mm
        turned = (h > w and h <= wide) or w > wide or h > high
        laid.append((number, _at_origin(piece, turned=turned)))
    laid.sort(key=lambda one: (-one[1].size_mm[1], -one[1].size_mm[0], one[0]))
    pages: list[tuple[list[CardPiece], list[list[float]]]] = []  # rows: y, height, filled
    for _, piece in laid:
        w, h = piece.size_mm
        place = _room(pages, w, h, wide, high)
        if place is None:
            pages.append(([], [[0.0, h, 0.0]]))
            place = (len(pages) - 1, 0)
        page, rows = pages[place[0]]
        row = rows[place[1]]
        page.append(piece.moved(row[2], row[0]))
        row[2] += w + GAP_MM
    return [page for page, _ in pages]


def _room(
    pages: Sequence[tuple[list[CardPiece], list[list[float]]]],
    w: float, h: float, wide: float, high: float,
) -> tuple[int, int] | None:  # fmt: skip
    for number, (_, rows) in enumerate(pages):
        for k, (_, row_high, filled) in enumerate(rows):
            if h <= row_high and filled + w <= wide:
                return number, k
        above = rows[-1][0] + rows[-1][1] + GAP_MM
        if above + h <= high:
            rows.append([above, h, 0.0])
            return number, len(rows) - 1
    return None


def laid_in_rows(pieces: Sequence[CardPiece], wide_mm: float) -> tuple[CardPiece, ...]:
    """All copies beside each other in rows ``wide_mm`` wide, for a machine that cuts."""
    made: list[CardPiece] = []
    x = y = row = 0.0
    for piece in pieces:
        for _ in range(piece.count):
            there = _at_origin(piece)
            w, h = there.size_mm
            if x and x + w > wide_mm:
                x, y, row = 0.0, y + row + GAP_MM, 0.0
            made.append(there.moved(x, y))
            x, row = x + w + GAP_MM, max(row, h)
    return tuple(made)
