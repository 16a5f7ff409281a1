"""Templates to cut strips by, at true size: one for all strips that are alike."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from generators.drawings.linework import (
    Layer,
    Lines,
    LineSheet,
    Mark,
    Words,
    crosses,
    line_sheet,
    words_wide_mm,
)
from generators.drawings.weld_plan import number_place, strip_numbers
from layouts.cells.arrangement import CellLayout
from layouts.pack import Pack
from layouts.strips.joining import Interconnect, Strip
from layouts.strips.sheets import CutPiece
from layouts.strips.weld_spots import weld_spots

__all__ = ["piece_sheet", "strip_templates"]

ALIKE_DIGITS = 1  # strips alike to 0.1 mm share a template: far below what shears do
WORDS_MM = 2.6
LINE_MM = 3.6  # from one line of words to the next
LEAST_WIDE_MM = 60.0  # words under a short strip may be so wide
APART_MM = 5.0  # pieces beside each other, for a machine that cuts
ROWS_MM = 600.0  # rows of them are no wider, where no piece is

# Length, width, thickness, layers, bus, places of cells, of spots
_Key = tuple[float, ...]


def strip_templates(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[LineSheet, ...]:
    """One sheet for all strips alike: outline, spots, and which strips, how often and how long.

    Longest first, wide ones first; a strip lies along x.
    """
    numbers = strip_numbers(interconnect)
    alike: dict[_Key, list[int]] = {}
    for k in numbers:
        strip = interconnect.strips[k]
        alike.setdefault(_key(cell_layout, strip), []).append(k)
    order = sorted(alike, key=lambda key: (-key[1], -key[0], *key[2:]))
    sheets = []
    for key in order:
        same = alike[key]
        first = interconnect.strips[same[0]]
        marks = _flat(pack, cell_layout, first)
        pieces = len(same) * first.layers
        length = math.dist(first.start_mm, first.end_mm)
        size = f"{length:.1f} x {first.width_mm:g} x {first.thickness_mm:g} mm"
        text = f"{pieces} {'piece' if pieces == 1 else 'pieces'} {size}"
        if first.layers > 1:
            text += f", {first.layers} layers each"
        if first.bus_mm:
            text += f", flat copper {first.bus_mm:g} mm on it"
        strips = f"{'strip' if len(same) == 1 else 'strips'} {_ranges([numbers[k] for k in same])}"
        marks += _words_under([text, strips], max(length, LEAST_WIDE_MM), first.width_mm)
        sheets.append(line_sheet(f"strip-{numbers[same[0]]}", f"{strips}, {size}", marks))
    return tuple(sheets)


def piece_sheet(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, pieces: Sequence[CutPiece]
) -> LineSheet:
    """Every piece beside the other, none left out, for a machine that cuts.

    Single strips lie along x, sheets as they lie in the pack.
    """
    numbers = strip_numbers(interconnect)
    marks: list[Mark] = []
    x = y = row = 0.0
    for piece in pieces:
        spots = np.vstack(
            [
                weld_spots(pack, cell_layout, interconnect.strips[k]).reshape(-1, 2)
                for k in piece.strips
            ]
        )
        axes, from_mm = np.eye(2), np.zeros(2)
        if len(piece.strips) == 1:
            axes, from_mm = _frame(interconnect.strips[piece.strips[0]])
        rings = [(ring - from_mm) @ axes.T for ring in (piece.outline_mm, *piece.openings_mm)]
        spots = (spots - from_mm) @ axes.T
        low, high = rings[0].min(axis=0), rings[0].max(axis=0)
        wide, deep = (high - low).tolist()
        if x and x + wide > ROWS_MM:
            x, y, row = 0.0, y + row + APART_MM, 0.0
        by = np.array([x, y]) - low
        lines = tuple(ring + by for ring in rings)
        marks.append(Lines(layer=Layer.PIECE, lines=lines, closed=True))
        marks.append(replace(crosses(spots + by), layer=Layer.MARK))
        first = piece.strips[0]
        at = number_place(interconnect, first, cell_layout.xy_mm, pack.cell.diameter_mm / 2)
        at = (at - from_mm) @ axes.T + by
        marks.append(
            Words(
                at_mm=(float(at[0]), float(at[1]) - WORDS_MM * 0.36),
                text=str(numbers[first]) if len(piece.strips) == 1 else piece.name,
                size_mm=WORDS_MM,
                anchor="middle",
                layer=Layer.MARK,
            )
        )
        x, row = x + wide + APART_MM, max(row, deep)
    return line_sheet("pieces", f"{pack.name}: all pieces", marks)


def _frame(strip: Strip) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Axes (2, 2) along and across a strip, and its start."""
    start = np.asarray(strip.start_mm)
    along = (np.asarray(strip.end_mm) - start) / math.dist(strip.start_mm, strip.end_mm)
    return np.array([along, (-along[1], along[0])]), start


def _key(cell_layout: CellLayout, strip: Strip) -> _Key:
    axes, start = _frame(strip)
    cells = (cell_layout.xy_mm[list(strip.cells)] - start) @ axes[0]
    numbers = (
        math.dist(strip.start_mm, strip.end_mm),
        strip.width_mm,
        strip.thickness_mm,
        strip.layers,
        strip.bus_mm,
        *cells.tolist(),
    )
    return tuple(
        round(float(value), ALIKE_DIGITS + 2 * (k == 2)) for k, value in enumerate(numbers)
    )


def _flat(pack: Pack, cell_layout: CellLayout, strip: Strip) -> list[Mark]:
    """A strip along x, its start in x = 0: outline and spots."""
    axes, start = _frame(strip)
    spots = (weld_spots(pack, cell_layout, strip).reshape(-1, 2) - start) @ axes.T
    outline = (strip.outline_mm - start) @ axes.T
    return [Lines(layer=Layer.CUT, lines=(outline,), closed=True), crosses(spots)]


def _words_under(texts: Sequence[str], wide_mm: float, strip_mm: float) -> list[Mark]:
    """Lines of words below a strip, none wider than ``wide_mm``."""
    marks: list[Mark] = []
    y = -strip_mm / 2 - LINE_MM
    for text in texts:
        for line in _wrapped(text, wide_mm):
            marks.append(Words(at_mm=(0.0, y), text=line, size_mm=WORDS_MM))
            y -= LINE_MM
    return marks


def _wrapped(text: str, wide_mm: float) -> list[str]:
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and words_wide_mm(longer, WORDS_MM) > wide_mm:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _ranges(numbers: Sequence[int]) -> str:
    """1, 2, 3, 7 as "1-3, 7"."""
    parts = []
    for _, run in groupby(enumerate(sorted(numbers)), key=lambda pair: pair[1] - pair[0]):
        run_of = [number for _, number in run]
        if len(run_of) > 2:
            parts.append(f"{run_of[0]}-{run_of[-1]}")
        else:
            parts += [str(number) for number in run_of]
    return ", ".join(parts)
