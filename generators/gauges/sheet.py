"""The sheet of the fit gauge: its plan at true size with every length named, what to do, and the
blanks to fill in by hand.
"""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.drawings.linework import Layer, Lines, LineSheet, Mark, Words, line_sheet
from generators.gauges.blanks import BlankKind, blanks_of
from layouts.gauges.drawing import gauge_features, gauge_part
from layouts.gauges.reading import CALLIPER_MM
from layouts.gauges.sizes import POST_IN_MM, POST_MM, SHORT_MM, GaugeSizes
from layouts.gauges.values import drawn_of
from layouts.printing.sections import layer_stack
from layouts.slabs.profile import loop_points_mm

__all__ = ["gauge_sheets"]

CHORD_MM = 0.05
ON_TOP = ("post", "walls", "signs", "counters")  # features of the gauge
WORDS_MM, NOTE_MM, TITLE_MM = 2.8, 3.0, 5.0
LINE_MM = 4.6  # from line to line
DIMENSION_MM, TICK_MM = 5.0, 1.2  # a dimension's line from the gauge; half its end strokes
BLANK_AT_MM, BLANK_END_MM = 30.0, 62.0  # a blank's line begins and ends
TEXT_AT_MM = 65.0
MOST_LETTERS = 100  # a line of the instructions; of a blank's text fewer
MOST_BLANK_LETTERS = 66


def gauge_sheets(
    sizes: GaugeSizes, printed: str, *, room_mm: tuple[float, float]
) -> tuple[LineSheet, ...]:
    """Plan with instructions below it, or these by themselves where a page has no room for both,
    then the blanks.

    ``printed``: hours, filament, settings in words; ``room_mm``: width and height of what a page
    has to draw on."""
    marks: list[Mark] = [*_plan(sizes), *_dimensions(sizes), *_labels(sizes), *_jaws(sizes)]
    shown = line_sheet("", "", marks)
    x, y = shown.low_mm
    title = "Fit gauge, seen from above, at true size"
    at = (x, shown.high_mm[1] + 4.0)
    marks.append(Words(at_mm=at, text=title, size_mm=TITLE_MM, bold=True))
    words = [
        Words(at_mm=(x, y - 4.0 - LINE_MM * k), text=text, size_mm=NOTE_MM, bold=bold)
        for k, (text, bold) in enumerate(_instructions(sizes, printed), start=1)
    ]
    name, below = "plan of the fit gauge", "how the fit gauge is used"
    both = line_sheet(name, title, [*marks, *words])
    if all(size <= room for size, room in zip(both.size_mm, room_mm, strict=True)):
        return both, _blank_sheet(sizes)
    return line_sheet(name, title, marks), line_sheet(below, below, words), _blank_sheet(sizes)


def _plan(sizes: GaugeSizes) -> Iterator[Mark]:
    """The plate cut at half its thickness, then what stands on it or is sunk into it."""
    stack = layer_stack(gauge_part(sizes), sizes.layer_mm)
    cut = stack.sections[stack.of[round(sizes.high_mm / sizes.layer_mm / 2)]]
    yield Lines(layer=Layer.PIECE, lines=tuple(_rings(cut)), closed=True)
    for feature in gauge_features(sizes):
        if feature.name in ON_TOP and feature.loops:
            rings = tuple(np.array(loop_points_mm(loop, CHORD_MM)) for loop in feature.loops)
            yield Lines(layer=Layer.MARK, lines=rings, closed=True)


def _rings(shape: BaseGeometry) -> Iterator[NDArray[np.float64]]:
    for polygon in shapely.get_parts(shape):
        for ring in (polygon.exterior, *polygon.interiors):
            yield shapely.get_coordinates(ring)[:-1]


def _jaws(sizes: GaugeSizes) -> Iterator[Mark]:
    """How the calliper is held: two cuts through a bar, its foot drawn too large."""
    y = sizes.lengths.long_mm[1] + DIMENSION_MM + 12.0
    middle = sizes.lengths.long_mm[0] / 2
    for x, turned, text in (
        (middle - 25.0, False, "lengths: from above, half deep"),
        (middle + 25.0, True, "foot: turned over, on its edge"),
    ):
        wide, high = 10.0, 3.0 * sizes.high_mm
        foot, rise = 1.5, 2.0
        bar = np.array(
            [(-wide - foot, 0.0), (wide + foot, 0.0), (wide + foot, rise), (wide, rise + 1.0),
             (wide, high), (-wide, high), (-wide, rise + 1.0), (-wide - foot, rise)]
        )  # fmt: skip
        if turned:
            bar = np.array([0.0, high]) + bar * np.array([1.0, -1.0])
        reach = wide + (foot if turned else 0.0)
        tip = high - rise if turned else high / 2
        jaw = np.array([(0.0, tip), (0.0, high + 8.0), (4.0, high + 8.0), (2.0, tip)])
        jaws = [side * (jaw + np.array([reach, 0.0])) for side in ([1.0, 1.0], [-1.0, 1.0])]
        at = np.array([x, y])
        yield Lines(layer=Layer.PIECE, lines=(bar + at,), closed=True)
        yield Lines(layer=Layer.LEADER, lines=tuple(one + at for one in jaws), closed=True)
        yield _words(text, x, y - 4.0, "middle")


def _dimensions(sizes: GaugeSizes) -> Iterator[Mark]:
    """The four lengths that the calliper takes in the plan."""
    long_x, long_y, _ = sizes.lengths.long_mm
    yield from _across(0.0, long_x, -DIMENSION_MM - 6.0, f"long_x_mm ({long_x:g})")
    yield from _across(0.0, SHORT_MM, long_y + DIMENSION_MM, f"short_x_mm ({SHORT_MM:g})")
    at = (-DIMENSION_MM - 1.5, long_y - 4.0)
    yield from _upwards(-DIMENSION_MM, 0.0, long_y, f"long_y_mm ({long_y:g})", at)
    x = long_x + DIMENSION_MM
    yield from _upwards(x, 0.0, SHORT_MM, f"short_y_mm ({SHORT_MM:g})", (x, SHORT_MM + 3.0))


def _across(x0: float, x1: float, y: float, text: str) -> Iterator[Mark]:
    ends = [np.array([(x, y - TICK_MM), (x, y + TICK_MM)]) for x in (x0, x1)]
    yield Lines(layer=Layer.LEADER, lines=(np.array([(x0, y), (x1, y)]), *ends))
    at = ((x0 + x1) / 2, y + 1.0)
    yield Words(at_mm=at, text=text, size_mm=WORDS_MM, anchor="middle", bold=True)


def _upwards(
    x: float, y0: float, y1: float, text: str, at_mm: tuple[float, float]
) -> Iterator[Mark]:
    """``at_mm``: where the words end."""
    ends = [np.array([(x - TICK_MM, y), (x + TICK_MM, y)]) for y in (y0, y1)]
    yield Lines(layer=Layer.LEADER, lines=(np.array([(x, y0), (x, y1)]), *ends))
    yield Words(at_mm=at_mm, text=text, size_mm=WORDS_MM, anchor="end", bold=True)


def _labels(sizes: GaugeSizes) -> Iterator[Mark]:
    """What each row of openings is."""
    left = -DIMENSION_MM - 1.5
    rows = [("M3 insert", sizes.inserts), ("M3 screw", sizes.screws)]
    for text, holes in rows:
        yield _words(text, left, (holes[0].at_mm[1] + holes[-1].at_mm[1]) / 2, "end")
    y = (sizes.notches[0].low_mm[1] + sizes.notches[-1].high_mm[1]) / 2
    yield _words("strip", left, y, "end")
    slots, walls = sizes.slots, sizes.walls
    middle = (slots[0].low_mm[0] + slots[-1].high_mm[0]) / 2
    yield _words("slots", middle, -4.0, "middle")
    yield _words("walls", (walls[0].low_mm[0] + walls[-1].low_mm[0]) / 2, -4.0, "middle")
    top = sizes.pockets[1]
    x = (top.at_mm[0] + sizes.pockets[3].at_mm[0]) / 2
    yield _words("pockets: can + hundredths of a mm", x, top.says_at_mm[1] + 5.0, "middle")
    yield _words("post, for z", left, POST_IN_MM + POST_MM / 2, "end")


def _words(text: str, x: float, y: float, anchor: str) -> Words:
    return Words(at_mm=(x, y - 1.0), text=text, size_mm=WORDS_MM, anchor=anchor)


def _instructions(sizes: GaugeSizes, printed: str) -> Iterator[tuple[str, bool]]:
    """Lines of text, and whether they are headings."""
    paragraphs = (
        ("Print", True),
        (
            f"{printed}. Lay x along the printer's x, no support, no brim, no scaling in the "
            "slicer. Print it as holders are printed: same filament, layers, walls and speeds.",
            False,
        ),
        ("Measure", True),
        (
            "Let it cool for an hour. Do not scrape its edges. Hold the calliper so that its jaws "
            f"reach in from above by no more than half of the plate's {sizes.high_mm:g} mm: the "
            "first layers bulge. For foot_x_mm and foot_y_mm turn it over and take the same "
            f"lengths on the first layers. Readings count as true within {CALLIPER_MM:g} mm.",
            False,
        ),
        (
            f"Pockets are {sizes.can_mm:g} mm and as many hundredths wide as stand beside them. "
            "All else is numbered from the least, walls by their lines; readings.yaml has the "
            "sizes as drawn.",
            False,
        ),
        ("Read", True),
        (
            "Write the blanks into readings.yaml; cellstead gauge --read readings.yaml then writes "
            "the printer's profile. Where the can goes into all pockets or none it tells how to "
            "move the steps. One print can't show how scale and pockets differ from print to "
            "print: print two, measure both, and give both files.",
            False,
        ),
        (
            "Leave the cell's sleeve and the ring on its positive end on, and keep metal away: its "
            "whole can is the negative pole.",
            False,
        ),
    )
    for text, bold in paragraphs:
        for line in wrap(text, MOST_LETTERS):
            yield line, bold


def _blank_sheet(sizes: GaugeSizes) -> LineSheet:
    """Every blank of the form with a line to write on, or its figures to ring."""
    title = "Readings of the fit gauge"
    marks: list[Mark] = [Words(at_mm=(0.0, 6.0), text=title, size_mm=TITLE_MM, bold=True)]
    y = -2.0
    for blank in blanks_of(drawn_of(sizes)):
        marks.append(Words(at_mm=(0.0, y), text=blank.key, size_mm=NOTE_MM, bold=True))
        if blank.kind in (BlankKind.FIGURE, BlankKind.FIGURES):
            text = "  ".join(blank.figures)
            marks.append(Words(at_mm=(BLANK_AT_MM, y), text=text, size_mm=NOTE_MM))
        else:
            line = np.array([(BLANK_AT_MM, y - 0.6), (BLANK_END_MM, y - 0.6)])
            marks.append(Lines(layer=Layer.LEADER, lines=(line,)))
        for text in wrap(blank.text, MOST_BLANK_LETTERS):
            marks.append(Words(at_mm=(TEXT_AT_MM, y), text=text, size_mm=WORDS_MM))
            y -= LINE_MM
        y -= 2.4
    note = "Figures: ring those for which it holds."
    marks.append(Words(at_mm=(0.0, y), text=note, size_mm=NOTE_MM))
    return line_sheet("readings of the fit gauge", title, marks)
