"""Drawings at true size as plain values, written as SVG here and as PDF and DXF by the exports.

A drawing is a pile of marks in millimetres, x right, y up, later ones over earlier ones. What a
mark is for is its layer; the layer decides line and fill, so all formats agree, in black, white
and grey alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from generators.drawings.svg import number, path_of, picture

__all__ = [
    "CAPITAL_SHARE",
    "PENS",
    "Circles",
    "Layer",
    "LineSheet",
    "Lines",
    "Mark",
    "Pen",
    "Words",
    "boxed_words",
    "crosses",
    "line_sheet",
    "moved",
    "sheet_svg",
    "words_wide_mm",
]

# Width of a letter over the font's size, on average, in the widest usual sans-serif.
LETTER_SHARE, BOLD_SHARE = 0.6, 0.68
CAPITAL_SHARE = 0.72  # height of a capital over the font's size
BOX_AIR_MM = 0.5  # round the words in a box
CROSS_MM = 0.6  # arm of a weld cross


class Layer(Enum):
    """What a mark is for; the value is the layer's name in DXF."""

    HOLDER = "HOLDER"
    CELL = "CELLS"
    RING = "RINGS"  # insulating rings: positive ends
    CUT = "STRIPS"  # outlines of strips, what is cut
    PIECE = "CUT"  # the same of pieces for a machine that cuts
    BEND = "BEND"  # where a piece is folded
    MARK = "MARK"  # on such a piece: its number, its weld spots
    GREY = "GREY"  # the same, filled grey: rows
    WHITE = "WHITE"  # the same, filled white: links, hatched
    HATCH = "HATCH"
    WELD = "WELDS"
    SPARE = "SPARES"  # places for a second set of spots
    REWORK = "REWORK"  # where a plate may be cut to be taken off
    SEAM = "SEAM"  # where a plate is parted into two sheets
    BALANCE_LEAD = "TAPS"
    LEADER = "LEADERS"
    PLATE = "PLATE"  # white under words
    BOX = "BOX"  # the same with an edge
    FLAG = "FLAG"  # black under words
    MAIN_WIRE = "MAIN_WIRES"
    CHARGE_WIRE = "CHARGE_WIRES"
    LOWER_WIRE = "LOWER_WIRES"  # balance leads by the face they begin at
    UPPER_WIRE = "UPPER_WIRES"
    TEXT = "TEXT"


@dataclass(frozen=True, kw_only=True, slots=True)
class Pen:
    """Line width as printed [mm] (0: none), dashes [mm], and fill: 0 black to 1 white or None.

    ``in_dxf``: name of the layer in DXF, None where it only serves the eye.
    """

    width_mm: float
    dash_mm: tuple[float, ...] = ()
    fill: float | None = None
    in_dxf: str | None = None


PENS = {
    Layer.HOLDER: Pen(width_mm=0.25, dash_mm=(2.0, 1.2), in_dxf="HOLDER"),
    Layer.CELL: Pen(width_mm=0.25, fill=1.0, in_dxf="CELLS"),
    Layer.RING: Pen(width_mm=0.8, in_dxf="CELLS"),
    Layer.CUT: Pen(width_mm=0.25, in_dxf="STRIPS"),
    Layer.PIECE: Pen(width_mm=0.25, in_dxf="CUT"),
    Layer.BEND: Pen(width_mm=0.25, dash_mm=(1.6, 0.8), in_dxf="BEND"),
    Layer.MARK: Pen(width_mm=0.25, in_dxf="MARK"),
    Layer.GREY: Pen(width_mm=0.3, fill=0.84, in_dxf="STRIPS"),
    Layer.WHITE: Pen(width_mm=0.3, fill=1.0, in_dxf="STRIPS"),
    Layer.HATCH: Pen(width_mm=0.1),
    Layer.WELD: Pen(width_mm=0.25, in_dxf="WELDS"),
    Layer.SPARE: Pen(width_mm=0.15, fill=1.0),
    Layer.REWORK: Pen(width_mm=0.3, dash_mm=(0.4, 0.9)),
    Layer.SEAM: Pen(width_mm=0.8, dash_mm=(2.4, 1.0)),
    Layer.BALANCE_LEAD: Pen(width_mm=0.35, fill=0.0, in_dxf="TAPS"),
    Layer.LEADER: Pen(width_mm=0.25, in_dxf="TAPS"),
    Layer.PLATE: Pen(width_mm=0.0, fill=1.0),
    Layer.BOX: Pen(width_mm=0.15, fill=1.0),
    Layer.FLAG: Pen(width_mm=0.15, fill=0.0),
    Layer.MAIN_WIRE: Pen(width_mm=1.0),
    Layer.CHARGE_WIRE: Pen(width_mm=0.7, dash_mm=(2.4, 1.2)),
    Layer.LOWER_WIRE: Pen(width_mm=0.3),
    Layer.UPPER_WIRE: Pen(width_mm=0.3, dash_mm=(1.2, 0.8)),
    Layer.TEXT: Pen(width_mm=0.0, fill=0.0, in_dxf="TEXT"),
}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Lines:
    """Polylines (n, 2) each [mm], all closed or all open."""

    layer: Layer
    lines: tuple[NDArray[np.float64], ...]
    closed: bool = False

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Least x, least y, most x, most y."""
        points = np.vstack(self.lines)
        (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        return x0, y0, x1, y1


@dataclass(frozen=True, kw_only=True, slots=True)
class Circles:
    """A circle [mm]."""

    layer: Layer
    at_mm: tuple[float, float]
    radius_mm: float

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Least x, least y, most x, most y."""
        (x, y), r = self.at_mm, self.radius_mm
        return x - r, y - r, x + r, y + r


@dataclass(frozen=True, kw_only=True, slots=True)
class Words:
    """One line of text, ``at_mm`` on its base line; ``anchor``: "start", "middle" or "end"."""

    at_mm: tuple[float, float]
    text: str
    size_mm: float
    anchor: str = "start"
    bold: bool = False
    white: bool = False
    layer: Layer = Layer.TEXT

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Least x, least y, most x, most y; the width is a little more than the letters'."""
        wide = words_wide_mm(self.text, self.size_mm, bold=self.bold)
        x = self.at_mm[0] - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor]
        y = self.at_mm[1]
        return x, y - 0.25 * self.size_mm, x + wide, y + self.size_mm


Mark = Lines | Circles | Words


@dataclass(frozen=True, kw_only=True, slots=True)
class LineSheet:
    """A drawing: its marks from below to above, and the corners of what is shown [mm]."""

    name: str
    title: str
    marks: tuple[Mark, ...]
    low_mm: tuple[float, float]
    high_mm: tuple[float, float]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height."""
        return self.high_mm[0] - self.low_mm[0], self.high_mm[1] - self.low_mm[1]


def line_sheet(name: str, title: str, marks: Sequence[Mark]) -> LineSheet:
    """A drawing that shows all of its marks."""
    boxes = np.array([mark.box_mm for mark in marks])
    (x0, y0), (x1, y1) = boxes[:, :2].min(axis=0).tolist(), boxes[:, 2:].max(axis=0).tolist()
    return LineSheet(name=name, title=title, marks=tuple(marks), low_mm=(x0, y0), high_mm=(x1, y1))


def words_wide_mm(text: str, size_mm: float, *, bold: bool = False) -> float:
    """Space that a line of text takes, about [mm]."""
    return (BOLD_SHARE if bold else LETTER_SHARE) * size_mm * len(text)


def boxed_words(
    text: str, at_mm: tuple[float, float], size_mm: float, ground: Layer = Layer.BOX
) -> tuple[Mark, ...]:
    """Words round a middle on a box, a plate without an edge, or white on a black flag."""
    x, y = at_mm
    bold = ground is not Layer.PLATE
    wide = words_wide_mm(text, size_mm, bold=bold) / 2 + BOX_AIR_MM / 2
    high = CAPITAL_SHARE * size_mm / 2 + BOX_AIR_MM
    corners = np.array(
        [(x - wide, y - high), (x + wide, y - high), (x + wide, y + high), (x - wide, y + high)]
    )
    return (
        Lines(layer=ground, lines=(corners,), closed=True),
        Words(
            at_mm=(x, y - CAPITAL_SHARE * size_mm / 2),
            text=text,
            size_mm=size_mm,
            anchor="middle",
            bold=bold,
            white=ground is Layer.FLAG,
        ),
    )


def crosses(points_mm: NDArray[np.float64]) -> Lines:
    """A small slanted cross on each point (n, 2)."""
    arms = CROSS_MM * np.array([[(-1.0, -1.0), (1.0, 1.0)], [(-1.0, 1.0), (1.0, -1.0)]])
    lines = (points_mm[:, None, None, :] + arms[None]).reshape(-1, 2, 2)
    return Lines(layer=Layer.WELD, lines=tuple(lines))


def moved(marks: Iterable[Mark], x_mm: float, y_mm: float) -> list[Mark]:
    """The same marks elsewhere."""
    there: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Lines):
            by = np.array([x_mm, y_mm])
            there.append(replace(mark, lines=tuple(line + by for line in mark.lines)))
        else:
            x, y = mark.at_mm
            there.append(replace(mark, at_mm=(x + x_mm, y + y_mm)))
    return there


def sheet_svg(sheet: LineSheet, *, within_mm: tuple[float, float] | None = None) -> str:
    """The drawing as SVG, at true size or no larger than ``within_mm``, wide and high."""
    scale = 1.0
    if within_mm is not None:
        wide, high = sheet.size_mm
        scale = min(1.0, within_mm[0] / (wide + 6.0), within_mm[1] / (high + 6.0))
    return picture(
        map(_svg_of, sheet.marks),
        low=sheet.low_mm,
        high=sheet.high_mm,
        title=sheet.title,
        scale=scale,
    )


def _svg_of(mark: Mark) -> str:
    if isinstance(mark, Words):
        weight = ' font-weight="bold"' if mark.bold else ""
        fill = ' fill="#fff"' if mark.white else ""
        anchor = "" if mark.anchor == "start" else f' text-anchor="{mark.anchor}"'
        x, y = mark.at_mm
        return (
            f'<text x="{number(x)}" y="{number(-y)}" font-size="{number(mark.size_mm)}" '
            f'font-family="sans-serif"{anchor}{weight}{fill}>{escape(mark.text)}</text>'
        )
    style = _STYLES[mark.layer]
    if isinstance(mark, Circles):
        x, y = mark.at_mm
        radius = number(mark.radius_mm)
        return f'<circle cx="{number(x)}" cy="{number(-y)}" r="{radius}" {style}/>'
    path = "".join(path_of(line, closed=mark.closed) for line in mark.lines)
    return f'<path d="{path}" {style}/>'


def _style(pen: Pen) -> str:
    fill = "none" if pen.fill is None else "#" + f"{round(255 * pen.fill):02x}" * 3
    dash = " ".join(number(step) for step in pen.dash_mm)
    return f'fill="{fill}" stroke="#000" stroke-width="{number(pen.width_mm)}"' + (
        f' stroke-dasharray="{dash}"' if dash else ""
    )


_STYLES = {layer: _style(pen) for layer, pen in PENS.items()}
