"""Sorted cells at true size: a plan with each cell's label at its site, and labels to cut out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from generators.drawings.linework import (
    CAPITAL_SHARE,
    Circles,
    Layer,
    Lines,
    LineSheet,
    Mark,
    Words,
    line_sheet,
    moved,
    words_wide_mm,
)
from layouts.cells.arrangement import CellLayout

__all__ = ["label_plan", "label_sheets"]

RING_SHARE = 0.9  # of the can's radius, outside of all words
LABEL_SHARE = 0.34  # size of a label over the can's radius, at most
WIDE_SHARE = 1.5  # width of a label over the can's radius, at most: within the ring
GROUP_SHARE, SITE_SHARE = 0.3, 0.24  # sizes of the lines above and below it
LINE_SHARE = 0.5  # from line to line
TITLE_MM, LEGEND_MM = 5.0, 3.0
LABEL_WIDE_MM, LABEL_HIGH_MM = 36.0, 13.0
LABEL_MM, FACTS_MM = 5.0, 2.6
FILLED = 0.92  # of a label's width by its words, at most


def label_plan(
    cell_layout: CellLayout, labels: Sequence[str], *, can_mm: float, legend: Sequence[str]
) -> LineSheet:
    """Every cell as seen from above, upper ends towards the reader.

    Above its label stand sign of the upper end and group, below it the site. ``can_mm``: diameter;
    ``labels`` in the order of the sites; ``legend``: further lines below the plan."""
    radius = can_mm / 2
    marks: list[Mark] = []
    for k, ((x, y), group, up) in enumerate(
        zip(cell_layout.xy_mm.tolist(), cell_layout.group.tolist(),
            cell_layout.positive_up.tolist(), strict=True)
    ):  # fmt: skip
        marks.append(Circles(layer=Layer.CELL, at_mm=(x, y), radius_mm=radius))
        if up:
            marks.append(Circles(layer=Layer.RING, at_mm=(x, y), radius_mm=radius * RING_SHARE))
        sign = "+" if up else "\N{MINUS SIGN}"
        size = radius * min(
            LABEL_SHARE, WIDE_SHARE / (words_wide_mm(labels[k], 1.0, bold=True) or 1.0)
        )
        step = LINE_SHARE * radius
        marks += [
            _middle(f"{sign}{group}", x, y + step, GROUP_SHARE * radius),
            _middle(labels[k], x, y, size, bold=True),
            _middle(str(k + 1), x, y - step, SITE_SHARE * radius),
        ]
    shown = line_sheet("", "", marks)
    x0, y0 = shown.low_mm[0], shown.low_mm[1] - 3.0
    lines = (
        "in each cell: sign of its upper end and group, its label, its site",
        "ring: positive end up; groups count from pack minus; main leads leave to the right",
        *legend,
    )
    for k, text in enumerate(lines, start=1):
        at = (x0, y0 - 1.6 * LEGEND_MM * k)
        marks.append(Words(at_mm=at, text=text, size_mm=LEGEND_MM))
    title = "Sorted cells, seen from above"
    at = (x0, shown.high_mm[1] + 3.0)
    marks.append(Words(at_mm=at, text=title, size_mm=TITLE_MM, bold=True))
    return line_sheet("plan of the sorted cells", title, marks)


def _middle(text: str, x: float, y: float, size: float, *, bold: bool = False) -> Words:
    """Words round a middle."""
    at = (x, y - CAPITAL_SHARE * size / 2)
    return Words(at_mm=at, text=text, size_mm=size, anchor="middle", bold=bold)


def label_sheets(
    labels: Sequence[str], group: NDArray[np.int64], *, room_mm: tuple[float, float]
) -> tuple[LineSheet, ...]:
    """Labels to cut out and stick on, in the order of the sites, a sheet a page.

    ``room_mm``: width and height of what a page has to draw on."""
    wide, high = room_mm
    columns, rows = int(wide // LABEL_WIDE_MM), int((high - 2 * TITLE_MM) // LABEL_HIGH_MM)
    each = columns * rows
    sheets = []
    for page, begin in enumerate(range(0, len(labels), each), start=1):
        here = range(begin, min(begin + each, len(labels)))
        marks: list[Mark] = [_grid(columns, -(-len(here) // columns))]
        for place, k in enumerate(here):
            row, column = divmod(place, columns)
            at = (column * LABEL_WIDE_MM, -(row + 1) * LABEL_HIGH_MM)
            marks += moved(_label(labels[k], k + 1, int(group[k])), *at)
        title = f"Labels of the sorted cells, sheet {page}"
        marks.append(Words(at_mm=(0.0, 3.0), text=title, size_mm=TITLE_MM, bold=True))
        # every sheet as high as a full one, so that each stands on a page of its own
        foot = (0.0, -rows * LABEL_HIGH_MM)
        marks.append(Words(at_mm=foot, text=" ", size_mm=FACTS_MM))
        sheets.append(line_sheet(f"labels {page}", title, marks))
    return tuple(sheets)


def _grid(columns: int, rows: int) -> Lines:
    """Lines to cut along."""
    wide, low = columns * LABEL_WIDE_MM, -rows * LABEL_HIGH_MM
    along = [[(0.0, -k * LABEL_HIGH_MM), (wide, -k * LABEL_HIGH_MM)] for k in range(rows + 1)]
    across = [[(k * LABEL_WIDE_MM, 0.0), (k * LABEL_WIDE_MM, low)] for k in range(columns + 1)]
    return Lines(layer=Layer.LEADER, lines=tuple(np.array(line) for line in along + across))


def _label(label: str, site: int, group: int) -> list[Mark]:
    """One label, from its lower left corner: what stands on the cell, where it goes, its sign."""
    wide, high = LABEL_WIDE_MM, LABEL_HIGH_MM
    sign = "+" if group % 2 else "\N{MINUS SIGN}"
    facts = f"group {group}, site {site}, {sign} up"
    size = min(LABEL_MM, FILLED * wide / words_wide_mm(label, 1.0, bold=True))
    small = min(FACTS_MM, FILLED * wide / words_wide_mm(facts, 1.0))
    return [
        _middle(label, wide / 2, 0.66 * high, size, bold=True),
        _middle(facts, wide / 2, 0.22 * high, small),
    ]
