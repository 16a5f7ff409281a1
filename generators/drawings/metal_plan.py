"""The workshop drawing of a piece of sheet metal: its flat pattern at true size, how it is bent,
its holes, and what is done to edges and faces."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

import numpy as np

from generators.drawings.linework import Circles, Layer, Lines, LineSheet, Mark, Words, line_sheet
from layouts.formats import sheet_metals
from layouts.parts.drawing import CHORD_MM
from layouts.parts.metal_piece import MetalPiece
from layouts.slabs.profile import Loop, Point, loop_points_mm, rounded_polygon

__all__ = ["finish_words", "metal_sheet"]

WORDS_MM = 2.6
ROW_MM = 3.8  # from one line of words to the next
LINE_LETTERS = 96  # of words: a sheet of A4 is wide enough
DIM_OUT_MM, DIM_FREE_MM, ARROW_MM = 8.0, 1.5, 1.6  # dimension lines: off the piece; gap; head
VIEW_APART_MM = 26.0  # between the flat pattern and the view of the bent piece
CROSS_MM = 1.5  # beyond a hole's edge
INSIDE_MM = 12.0  # wider holes have their number within

FINISH = {
    "steel": "paint or powder coat after deburring, or have it zinc plated: bare steel rusts",
    "stainless": "no coating; stainless screws. Against aluminium or plain steel of the frame put "
    "a plastic washer or paint between: the other metal corrodes where it gets wet",
    "aluminium": "anodise or paint, or leave bare indoors; zinc plated or stainless screws with "
    "paint between in the wet: aluminium corrodes against them",
}


def finish_words(metal: str) -> str:
    """What is done to the faces, by the kind of metal; common practice, no source."""
    return FINISH[sheet_metals()[metal].kind]


def metal_sheet(piece: MetalPiece) -> LineSheet:
    """Flat pattern, its view once bent, words below."""
    marks: list[Mark] = [_loop(piece.outline)]
    for number, hole in enumerate(piece.holes, start=1):
        marks += _hole(piece, number, hole)
    for bend in piece.bends:
        marks.append(Lines(layer=Layer.BEND, lines=(np.array([bend.start, bend.end]),)))
    (x0, y0), (x1, y1) = _box(piece.outline)
    marks += _dimension((x0, y0 - DIM_OUT_MM), (x1, y0 - DIM_OUT_MM), f"{x1 - x0:.2f}")
    for end in (x0, x1):
        marks.append(_thin((end, y0 - DIM_FREE_MM), (end, y0 - DIM_OUT_MM - DIM_FREE_MM)))
    marks += _upright(x0 - DIM_OUT_MM, y0, y1, x0)
    if piece.bends:
        marks += _bent(piece, x1 + VIEW_APART_MM, y0)
    low = y0 - DIM_OUT_MM - 3.0 * ROW_MM
    for row, text in enumerate(_texts(piece)):
        marks.append(
            Words(at_mm=(x0 - DIM_OUT_MM, low - row * ROW_MM), text=text, size_mm=WORDS_MM)
        )
    return line_sheet(piece.name, f"{piece.title}, {piece.metal} {piece.thickness_mm:g} mm", marks)


def _texts(piece: MetalPiece) -> Iterator[str]:
    (x0, y0), (x1, y1) = _box(piece.outline)
    count = f"{piece.count} {'piece' if piece.count == 1 else 'pieces'}"
    told = [
        f"{piece.name}: {piece.title}, {count}, {piece.metal}, {piece.thickness_mm:g} mm, "
        f"{piece.mass_g:.0f} g each",
        f"flat {x1 - x0:.2f} x {y1 - y0:.2f} mm, corners R {piece.corner_mm:g}; "
        f"{piece.name}.dxf has it{'' if piece.kerf_mm else ' at true size'}, layer CUT"
        + (", bend line on layer BEND" if piece.bends else ""),
        *_bend_texts(piece),
        *_hole_texts(piece),
        "deburr all edges and holes on both faces; no edge may cut a hand or a wire",
        f"finish: {finish_words(piece.metal)}",
    ]
    if piece.kerf_mm:
        told.insert(2, f"in the DXF outline and holes count a kerf of {piece.kerf_mm:g} mm: no "
                    "other allowance; this drawing has the true sizes")  # fmt: skip
    for text in told:
        yield from textwrap.wrap(text, LINE_LETTERS, subsequent_indent="   ")


def _bend_texts(piece: MetalPiece) -> Iterator[str]:
    for bend in piece.bends:
        allowance = bend.allowance_mm(piece.thickness_mm)
        yield (
            f"bend {bend.angle_deg:g}\N{DEGREE SIGN} towards you along the dashed line at "
            f"{bend.start[0]:.2f} mm, inside radius {bend.inside_radius_mm:g} mm, K "
            f"{bend.k_factor:g} (allowance {allowance:.2f} mm): your bender's K wins, set "
            f"{piece.field}.k_factor to it"
        )
    if piece.legs_mm:
        legs = " and ".join(f"{one:.1f}" for one in piece.legs_mm)
        yield f"bent: {legs} mm outside; measure one before all are bent"


def _hole_texts(piece: MetalPiece) -> Iterator[str]:
    """Each hole: its middle from the lower left corner, its size, its screw."""
    (x0, y0), _ = _box(piece.outline)
    for number, (hole, words) in enumerate(zip(piece.holes, piece.hole_words, strict=True), 1):
        (a, b), (c, d) = _box(hole)
        yield f"{number}: at {(a + c) / 2 - x0:.2f}, {(b + d) / 2 - y0:.2f}; {words}"


def _hole(piece: MetalPiece, number: int, hole: Loop) -> list[Mark]:
    (a, b), (c, d) = _box(hole)
    x, y = (a + c) / 2, (b + d) / 2
    across = Lines(
        layer=Layer.HATCH,
        lines=(
            np.array([(a - CROSS_MM, y), (c + CROSS_MM, y)]),
            np.array([(x, b - CROSS_MM), (x, d + CROSS_MM)]),
        ),
    )
    beside = (x + 0.8, y + 0.8) if min(c - a, d - b) > INSIDE_MM else (c + 0.6, d + 0.2)
    label = Words(at_mm=beside, text=str(number), size_mm=WORDS_MM)
    if len(hole) == 1:
        return [
            Circles(layer=Layer.PIECE, at_mm=(x, y), radius_mm=(c - a) / 2), across, label,
        ]  # fmt: skip
    return [_loop(hole), across, label]


def _bent(piece: MetalPiece, x: float, y: float) -> Iterator[Mark]:
    """The bent piece from its side: an L, its first leg upright."""
    (up, out), thick = piece.legs_mm, piece.thickness_mm
    radius = piece.bends[0].inside_radius_mm
    corners = [(0, 0), (out, 0), (out, thick), (thick, thick), (thick, up), (0, up)]
    loop = rounded_polygon(
        [(x + a, y + b) for a, b in corners], (radius + thick, 0.0, 0.0, radius, 0.0, 0.0)
    )
    yield _loop(loop)
    yield from _dimension((x, y - DIM_OUT_MM), (x + out, y - DIM_OUT_MM), f"{out:.2f}")
    for end in (x, x + out):
        yield _thin((end, y - DIM_FREE_MM), (end, y - DIM_OUT_MM - DIM_FREE_MM))
    yield from _upright(x - DIM_OUT_MM, y, y + up, x)
    yield Words(
        at_mm=(x + thick + radius + 1.0, y + thick + radius + 1.0),
        text=f"R {radius:g} inside", size_mm=WORDS_MM,
    )  # fmt: skip
    yield Words(at_mm=(x + thick + 1.0, y + up - WORDS_MM), text=f"t {thick:g}", size_mm=WORDS_MM)


def _upright(x: float, y0: float, y1: float, piece_x: float) -> Iterator[Mark]:
    """A dimension of a height, left of what is measured, with its witness lines."""
    yield from _dimension((x, y0), (x, y1), f"{y1 - y0:.2f}")
    for end in (y0, y1):
        yield _thin((piece_x - DIM_FREE_MM, end), (x - DIM_FREE_MM, end))


def _dimension(start: Point, end: Point, text: str) -> Iterator[Mark]:
    """A line with heads at both ends and its figure beside the middle, on paper of its own."""
    along = np.subtract(end, start) / np.hypot(*np.subtract(end, start))
    across = np.array((-along[1], along[0])) * 0.35
    yield _thin(start, end)
    for tip, way in ((np.array(start), along), (np.array(end), -along)):
        yield Lines(
            layer=Layer.HATCH,
            lines=(np.array([tip + way * ARROW_MM + across * 1.6, tip,
                             tip + way * ARROW_MM - across * 1.6]),),
        )  # fmt: skip
    middle = (np.array(start) + np.array(end)) / 2
    wide = 0.6 * WORDS_MM * len(text) / 2 + 0.4
    high = WORDS_MM * 0.36
    corners = middle + np.array(
        [(-wide, -high - 0.4), (wide, -high - 0.4), (wide, high + 0.4), (-wide, high + 0.4)]
    )
    yield Lines(layer=Layer.PLATE, lines=(corners,), closed=True)
    yield Words(
        at_mm=(float(middle[0]), float(middle[1]) - high), text=text, size_mm=WORDS_MM,
        anchor="middle",
    )  # fmt: skip


def _thin(start: Point, end: Point) -> Lines:
    return Lines(layer=Layer.HATCH, lines=(np.array([start, end], dtype=np.float64),))


def _loop(loop: Loop) -> Lines:
    points = np.array(loop_points_mm(loop, CHORD_MM), dtype=np.float64)
    return Lines(layer=Layer.PIECE, lines=(points,), closed=True)


def _box(loop: Loop) -> tuple[Point, Point]:
    """Least and greatest corner, to the chords of its arcs; whole circles exactly."""
    if len(loop) == 1:
        (x, y), r = loop[0].centre, loop[0].radius_mm  # type: ignore[union-attr]
        return (x - r, y - r), (x + r, y + r)
    points = np.array(loop_points_mm(loop, CHORD_MM))
    (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return (x0, y0), (x1, y1)
