"""The label on the finished pack at true size: what whoever finds it must know, in black alone."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass

import numpy as np

from generators.drawings.linework import (
    CAPITAL_SHARE,
    Layer,
    Lines,
    LineSheet,
    Mark,
    Words,
    line_sheet,
    moved,
    words_wide_mm,
)

__all__ = ["LABEL_SIZES_MM", "LabelFacts", "label_size_mm", "pack_label"]

# ISO 216, landscape: A7 and A8. Smaller letters than A8's can't be read.
LABEL_SIZES_MM = ((105.0, 74.0), (74.0, 52.0))
# All other sizes are shares of the label's width, so that both look alike.
EDGE = 0.035
TITLE, FIGURE, NAME, TEXT, FOOT = 0.045, 0.07, 0.034, 0.0262, 0.0245  # sizes of letters
FOLD_SHARE = 0.56  # width of a letter over its size in running text, in the widest usual sans-serif
SMALLER = (1.0, 0.95, 0.9, 0.85)  # letters of sentences, where many words must go in
LINE = 1.38  # from base line to base line over the letters' size
SIGN = 0.11  # side of the warning sign
INNER_SHARE = 0.74  # of the triangle, white
# In a triangle of side 1 from (0, 0) to (1, 0): an exclamation mark and a flash, as the signs W001
# and W012 of ISO 7010 have them (shapes from memory).
Shape = tuple[tuple[float, float], ...]
_MARK: tuple[Shape, ...] = (
    ((0.455, 0.54), (0.545, 0.54), (0.528, 0.3), (0.472, 0.3)),
    ((0.458, 0.26), (0.542, 0.26), (0.542, 0.18), (0.458, 0.18)),
)
_FLASH: tuple[Shape, ...] = (
    ((0.55, 0.56), (0.43, 0.34), (0.51, 0.36), (0.45, 0.22), (0.42, 0.24), (0.46, 0.13),
     (0.54, 0.22), (0.5, 0.22), (0.58, 0.41), (0.5, 0.39), (0.58, 0.54)),
)  # fmt: skip
RULER_MM, TICK_MM, BELOW_MM = 50.0, 2.0, 5.0


@dataclass(frozen=True, kw_only=True, slots=True)
class LabelFacts:
    """What stands on it: ``figures`` large, ``uses`` and ``cautions`` a sentence each; ``shock``:
    whether it also has the sign for electric shock."""

    name: str
    title: str
    figures: tuple[str, ...]
    uses: tuple[str, ...]
    cautions: tuple[str, ...]
    blanks: tuple[str, ...]
    shock: bool = False


def label_size_mm(on_mm: tuple[float, float]) -> tuple[tuple[float, float], bool]:
    """The largest size that lies on a face of ``on_mm``, turned where that helps, and whether one
    does; else the smallest."""
    long, short = max(on_mm), min(on_mm)
    for wide, high in LABEL_SIZES_MM:
        if wide <= long and high <= short:
            return (wide, high), True
    return LABEL_SIZES_MM[-1], False


def pack_label(facts: LabelFacts, size_mm: tuple[float, float]) -> LineSheet:
    """The label, its corner at (0, 0), with a bar of 50 mm below it to measure the print by.

    Raises ValueError where the words do not go in."""
    wide, high = size_mm
    written = next(filter(None, (_written(facts, wide, high, less) for less in SMALLER)), None)
    if written is None:
        raise ValueError(f"the words of the label do not go in {wide:g} x {high:g} mm")
    marks = (_frame(0.0, 0.0, wide, high, Layer.CUT), *written, *_ruler(-BELOW_MM))
    return line_sheet("label", f"{facts.name}: label of the pack", marks)


def _written(facts: LabelFacts, wide: float, high: float, less: float) -> list[Mark]:
    """All that stands on it, sentences in letters of ``less`` of their size; empty where these do
    not go in."""
    edge, side, text = EDGE * wide, SIGN * wide, less * TEXT * wide
    marks: list[Mark] = []
    top = _band(marks, facts, wide, high)
    top = _figures(marks, facts.figures, wide, top)
    top = _sentences(marks, facts.uses, edge, wide - edge, top, text) - 0.4 * edge
    low = _sentences(marks, facts.cautions, 2.0 * edge + side, wide - edge, top, text)
    signs = (_MARK, _FLASH) if facts.shock else (_MARK,)
    for k, shapes in enumerate(signs, start=1):
        marks += moved(_sign(side, shapes), edge, top - k * side)
    _blanks(marks, facts.blanks, edge, wide - edge, edge, FOOT * wide)
    return marks if min(low, top - len(signs) * side) >= edge + 1.5 * FOOT * wide else []


def _sign(side_mm: float, shapes: tuple[Shape, ...]) -> list[Mark]:
    """A warning sign in black and white, from the lower left corner of its square."""
    rise = side_mm * math.sqrt(3.0) / 2.0
    outer = np.array([(0.0, 0.0), (side_mm, 0.0), (side_mm / 2.0, rise)])
    middle = outer.mean(axis=0)
    inner = middle + INNER_SHARE * (outer - middle)
    return [
        Lines(layer=Layer.FLAG, lines=(outer,), closed=True),
        Lines(layer=Layer.PLATE, lines=(inner,), closed=True),
        *(
            Lines(layer=Layer.FLAG, lines=(side_mm * np.array(shape),), closed=True)
            for shape in shapes
        ),
    ]


def _frame(x: float, y: float, wide: float, high: float, layer: Layer) -> Lines:
    corners = np.array([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)])
    return Lines(layer=layer, lines=(corners,), closed=True)


def _band(marks: list[Mark], facts: LabelFacts, wide: float, high: float) -> float:
    """White on black: what it is, and its name beside it, or below where it is long; the height
    where the rest begins."""
    edge, title, name = EDGE * wide, TITLE * wide, NAME * wide
    beside = wide - 3.0 * edge - words_wide_mm(facts.title, title, bold=True)
    long = words_wide_mm(facts.name, name, bold=True) > beside
    deep = (3.4 if long else 2.0) * title
    if long:
        name = min(name, (wide - 2.0 * edge) / words_wide_mm(facts.name, 1.0, bold=True))
    first = high - title - CAPITAL_SHARE * title / 2.0
    second = first - 1.4 * title if long else first
    at, anchor = ((edge, second), "start") if long else ((wide - edge, second), "end")
    marks += [
        _frame(0.0, high - deep, wide, deep, Layer.FLAG),
        Words(at_mm=(edge, first), text=facts.title, size_mm=title, bold=True, white=True),
        Words(at_mm=at, text=facts.name, size_mm=name, anchor=anchor, bold=True, white=True),
    ]
    return high - deep - edge


def _figures(marks: list[Mark], figures: tuple[str, ...], wide: float, top: float) -> float:
    """Large figures side by side, each in its share of the width."""
    edge = EDGE * wide
    share = (wide - 2.0 * edge) / len(figures)
    size = min(
        FIGURE * wide,
        *(0.92 * share / words_wide_mm(text, 1.0, bold=True) for text in figures),
    )
    base = top - CAPITAL_SHARE * size
    for k, text in enumerate(figures):
        at = (edge + share * (k + 0.5), base)
        marks.append(Words(at_mm=at, text=text, size_mm=size, anchor="middle", bold=True))
    rule = base - 0.6 * edge
    ends = np.array([(edge, rule), (wide - edge, rule)])
    marks.append(Lines(layer=Layer.LEADER, lines=(ends,)))
    return rule - 0.5 * edge


def _sentences(
    marks: list[Mark], texts: tuple[str, ...], left: float, right: float, top: float, size: float
) -> float:
    """Each from a line of its own, folded to the width; the height of the last base line."""
    letters = int((right - left) / (FOLD_SHARE * size))
    base = top - CAPITAL_SHARE * size
    for text in texts:
        for line in textwrap.wrap(text, letters):
            marks.append(Words(at_mm=(left, base), text=line, size_mm=size))
            base -= LINE * size
    return base + (LINE - CAPITAL_SHARE) * size


def _blanks(
    marks: list[Mark], words: tuple[str, ...], left: float, right: float, base: float, size: float
) -> None:
    """Lines to write on, side by side, each behind its word."""
    share = (right - left) / len(words)
    for k, text in enumerate(words):
        x = left + k * share
        begin = x + words_wide_mm(text, size) + 0.3 * size
        marks.append(Words(at_mm=(x, base), text=text, size_mm=size))
        line = np.array([(begin, base), (x + share - 1.2 * size, base)])
        marks.append(Lines(layer=Layer.LEADER, lines=(line,)))


def _ruler(y: float) -> list[Mark]:
    """A bar below the label, and what it is for."""
    ends = np.array([(0.0, y + TICK_MM), (0.0, y), (RULER_MM, y), (RULER_MM, y + TICK_MM)])
    words = f"{RULER_MM:g} mm at 100 %; cut along the edge"
    return [
        Lines(layer=Layer.LEADER, lines=(ends,)),
        Words(at_mm=(0.0, y - 3.2), text=words, size_mm=2.4),
    ]
