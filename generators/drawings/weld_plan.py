"""Weld plan of one face at true size: strips in welding order, spots, polarity, taps, leads.

Rows lie grey, links hatched, in the order in which they are welded, so that what is drawn over
another lies over it on the bench. A number in a white box is the strip's place in that order; a
small cross is a weld spot; B and a number in a black flag is a balance lead."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from generators.drawings.linework import (
    Circles,
    Layer,
    Lines,
    LineSheet,
    Mark,
    Words,
    boxed_words,
    crosses,
    line_sheet,
    words_wide_mm,
)
from generators.drawings.plan import outline_points
from layouts.cells.arrangement import CellLayout
from layouts.holders.outline import Outline
from layouts.pack import Face, Pack
from layouts.strips.joining import BalanceLead, Interconnect, Strip, StripKind
from layouts.strips.sheets import welding_order
from layouts.strips.weld_spots import weld_spots

__all__ = [
    "balance_lead_strip",
    "face_title",
    "hatch_lines",
    "number_place",
    "strip_numbers",
    "weld_plan",
]

RING_SHARE = 0.86  # of the can's radius, as in the face plans
RIM_SHARE = 0.7  # of the can's radius: where sign and group stand
SIGN_SHARE = 0.34  # their size over the can's radius
# Places round a can for sign and group, the first of those that strips leave free. Not along +x and
# -x: balance leads leave there.
RIM_DEG = (90.0, 270.0, 60.0, 120.0, 240.0, 300.0, 30.0, 150.0, 210.0, 330.0)
FREE_MM = 2.5  # from a strip: so far is free enough
NUMBER_MM = 3.0
HATCH_MM = 2.0
TITLE_MM = 5.0
NAME_MM = 4.0
LEGEND_MM = 3.0
BALANCE_LEAD_SHARE = 0.8  # of the way from a can's middle to its strip's end: where a tap is drawn
OUT_MM = 4.0  # names of leads and taps stand so far outside what is drawn
TAIL_BACK_MM = 6.0  # from a tail's end to its tap's flag


def strip_numbers(interconnect: Interconnect) -> dict[int, int]:
    """Number in welding order, from 1, of each strip by its index in the joining."""
    return {k: number for number, k in enumerate(welding_order(interconnect), start=1)}


def face_title(face: Face, *, mirrored: bool) -> str:
    """What is seen, and from where."""
    how = "mirrored: seen from below" if mirrored else "seen from above"
    if face is Face.LOWER and not mirrored:
        how = "seen through from above, not mirrored"
    return f"Weld plan of the {face.value} face, {how}"


def balance_lead_strip(interconnect: Interconnect, balance_lead: BalanceLead) -> int:
    """Index of the strip that a balance lead is soldered to.

    One that ends at the tap's cell, a row to a main lead before a row before a link; else any
    over it.
    """
    rank = {StripKind.LEAD: 0, StripKind.ROW: 1, StripKind.LINK: 2}
    over = [
        (balance_lead.cell not in (strip.cells[0], strip.cells[-1]), rank[strip.kind], k)
        for k, strip in enumerate(interconnect.strips)
        if strip.face is balance_lead.face and balance_lead.cell in strip.cells
    ]
    return min(over)[2]


def weld_plan(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    outline: Outline,
    face: Face,
    *,
    mirrored: bool | None = None,
) -> LineSheet:
    """The drawing of one face as the person who welds it sees it.

    ``mirrored``: None: the lower face is, the upper face isn't, with a legend; False: for a
    machine, both faces in the pack's own x and y, the lower one seen through from above.
    """
    legend = mirrored is None
    mirrored = face is Face.LOWER if mirrored is None else mirrored
    flip = np.array([-1.0 if mirrored else 1.0, 1.0])
    can = pack.cell.diameter_mm / 2
    marks: list[Mark] = [
        Lines(layer=Layer.HOLDER, lines=(outline_points(outline) * flip,), closed=True)
    ]
    up = cell_layout.positive_up if face is Face.UPPER else ~cell_layout.positive_up
    xy = cell_layout.xy_mm * flip
    for (x, y), positive in zip(xy.tolist(), up.tolist(), strict=True):
        marks.append(Circles(layer=Layer.CELL, at_mm=(x, y), radius_mm=can))
        if positive:
            marks.append(Circles(layer=Layer.RING, at_mm=(x, y), radius_mm=can * RING_SHARE))
    numbers = strip_numbers(interconnect)
    here = [k for k in numbers if interconnect.strips[k].face is face]
    for k in here:
        marks += _strip_marks(interconnect.strips[k], flip)
    for k in here:
        spots = weld_spots(pack, cell_layout, interconnect.strips[k]).reshape(-1, 2)
        marks.append(crosses(spots * flip))
    rim = _rim_places(cell_layout, [interconnect.strips[k] for k in here], can) * flip
    size = can * SIGN_SHARE
    for (x, y), positive, group in zip(
        rim.tolist(), up.tolist(), cell_layout.group.tolist(), strict=True
    ):
        sign = "+" if positive else "\N{MINUS SIGN}"
        marks += boxed_words(f"{sign}{group}", (x, y), size, Layer.PLATE)
    for k in here:
        at = number_place(interconnect, k, cell_layout.xy_mm, can) * flip
        wide = interconnect.strips[k].width_mm
        marks += boxed_words(str(numbers[k]), (float(at[0]), float(at[1])), _number_mm(wide))
    shown = line_sheet("", "", marks)
    marks += _balance_leads(cell_layout, interconnect, face, flip, can, shown)
    marks += _lead_names(cell_layout, interconnect, face, flip, shown, numbers)
    shown = line_sheet("", "", marks)
    if legend:
        marks += _legend(shown.low_mm, can)
    x0, y1 = shown.low_mm[0], shown.high_mm[1]
    title = face_title(face, mirrored=mirrored)
    for k, text in enumerate(reversed(title.split(", ", 1))):
        at = (x0, y1 + 3.0 + 1.3 * TITLE_MM * k)
        marks.append(Words(at_mm=at, text=text, size_mm=TITLE_MM, bold=True))
    return line_sheet(f"weld plan of the {face.value} face", title, marks)


def hatch_lines(strip: Strip) -> tuple[NDArray[np.float64], ...]:
    """Slanted lines across a strip, (2, 2) each, in the pack's x and y."""
    start, end = np.asarray(strip.start_mm), np.asarray(strip.end_mm)
    length, wide = float(np.hypot(*(end - start))), strip.width_mm
    along = (end - start) / length
    across = np.array([-along[1], along[0]])
    from_mm = np.arange(HATCH_MM - wide, length, HATCH_MM)
    low = np.maximum(from_mm, 0.0)
    high = np.minimum(from_mm + wide, length)
    lines = []
    for x, a, b in zip(from_mm, low, high, strict=True):
        ends = np.array([[a, a - x - wide / 2], [b, b - x - wide / 2]])
        lines.append(start + ends[:, :1] * along + ends[:, 1:] * across)
    return tuple(lines)


def _strip_marks(strip: Strip, flip: NDArray[np.float64]) -> list[Mark]:
    link = strip.kind is StripKind.LINK
    outline = strip.outline_mm * flip
    marks: list[Mark] = [
        Lines(layer=Layer.WHITE if link else Layer.GREY, lines=(outline,), closed=True)
    ]
    if link:
        lines = tuple(line * flip for line in hatch_lines(strip))
        marks.append(Lines(layer=Layer.HATCH, lines=lines))
    return marks


def _number_mm(width_mm: float) -> float:
    return min(NUMBER_MM, 0.45 * width_mm)


def _outside_mm(points: NDArray[np.float64], strip: Strip) -> NDArray[np.float64]:
    """How far points (..., 2) lie outside a strip's outline, 0 within it."""
    start, end = np.asarray(strip.start_mm), np.asarray(strip.end_mm)
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    across = np.array([-along[1], along[0]])
    s, t = (points - start) @ along, np.abs((points - start) @ across)
    past = np.maximum(np.maximum(-s, s - length), 0.0)
    return np.asarray(np.hypot(past, np.maximum(t - strip.width_mm / 2, 0.0)))


def _rim_places(
    cell_layout: CellLayout, strips: Sequence[Strip], can: float
) -> NDArray[np.float64]:
    """(N, 2) where each cell's sign stands: within its rim, as free of strips as can be."""
    angle = np.radians(RIM_DEG)
    ways = can * RIM_SHARE * np.column_stack([np.cos(angle), np.sin(angle)])
    places = cell_layout.xy_mm[:, None, :] + ways[None]
    free = np.full(places.shape[:2], FREE_MM)
    for strip in strips:
        cells = list(strip.cells)
        free[cells] = np.minimum(free[cells], _outside_mm(places[cells], strip))
    best = np.argmax(free.round(1), axis=1)
    chosen: NDArray[np.float64] = places[np.arange(len(places)), best]
    return chosen


def number_place(
    interconnect: Interconnect, k: int, xy: NDArray[np.float64], can: float
) -> NDArray[np.float64]:
    """Where a strip's number stands: half way between two cells, nearest to the strip's middle.

    A strip of one cell has it beside the can or, where it ends there, off the can's middle.
    """
    strip = interconnect.strips[k]
    if len(strip.cells) > 1:
        middle = (len(strip.cells) - 2) // 2
        a, b = strip.links[middle]
        place: NDArray[np.float64] = (xy[a] + xy[b]) / 2
        return place
    centre = xy[strip.cells[0]]
    along = np.subtract(strip.end_mm, centre)
    far = float(np.hypot(*along))
    out = min(far, can + 3.0) if strip.runs_out else far / 2
    return np.asarray(centre + along / far * out)


def _balance_leads(
    cell_layout: CellLayout,
    interconnect: Interconnect,
    face: Face,
    flip: NDArray[np.float64],
    can: float,
    shown: LineSheet,
) -> list[Mark]:
    """Diamond and flag of each balance lead that begins on this face."""
    marks: list[Mark] = []
    turn = float(flip[0])
    edge = shown.high_mm[0] if turn > 0 else shown.low_mm[0]
    for balance_lead in interconnect.balance_leads:
        if balance_lead.face is not face:
            continue
        name = f"B{balance_lead.number}"
        strip = interconnect.strips[balance_lead_strip(interconnect, balance_lead)]
        x, y = (cell_layout.xy_mm[balance_lead.cell] * flip).tolist()
        half = words_wide_mm(name, NUMBER_MM, bold=True) / 2
        if strip.runs_out:
            along = np.subtract(strip.end_mm, strip.start_mm)
            along = along / np.hypot(*along)
            at = (np.asarray(strip.end_mm) - TAIL_BACK_MM * along) * flip
            marks += boxed_words(name, (float(at[0]), float(at[1])), NUMBER_MM, Layer.FLAG)
            continue
        # on the strip's end where it has one here, else on the can's middle
        centre = near = cell_layout.xy_mm[balance_lead.cell]
        if balance_lead.cell in (strip.cells[0], strip.cells[-1]):
            ends = np.array([strip.start_mm, strip.end_mm])
            near = ends[np.argmin(np.hypot(*(ends - centre).T))]
        from_x, from_y = ((centre + (near - centre) * BALANCE_LEAD_SHARE) * flip).tolist()
        marks.append(_diamond(from_x, from_y))
        if balance_lead.notch:
            out_x = edge + turn * (OUT_MM + half)
            line = np.array([(from_x, from_y), (x + turn * can, y), (out_x, y)])
            marks.append(Lines(layer=Layer.LEADER, lines=(line,)))
            marks += boxed_words(name, (out_x, y), NUMBER_MM, Layer.FLAG)
        else:
            marks += boxed_words(name, (x + turn * (can - half), y), NUMBER_MM, Layer.FLAG)
    return marks


def _diamond(x: float, y: float) -> Lines:
    points = np.array([(x - 1.2, y), (x, y - 1.2), (x + 1.2, y), (x, y + 1.2)])
    return Lines(layer=Layer.BALANCE_LEAD, lines=(points,), closed=True)


def _lead_names(
    cell_layout: CellLayout,
    interconnect: Interconnect,
    face: Face,
    flip: NDArray[np.float64],
    shown: LineSheet,
    numbers: dict[int, int],
) -> list[Mark]:
    """Where the main leads connect: a line from the tails' ends to the pole's name."""
    marks: list[Mark] = []
    turn = float(flip[0])
    edge = shown.high_mm[0] if turn > 0 else shown.low_mm[0]
    last = int(cell_layout.group.max())
    below = 0.0
    for group, at, text in (
        (1, interconnect.minus_face, "pack minus (\N{MINUS SIGN})"),
        (last, interconnect.plus_face, "pack plus (+)"),
    ):
        mine = [s for s in interconnect.strips if s.face is face and s.groups == (group,)]
        ends = np.array([s.end_mm for s in mine if s.runs_out])
        if at is not face or not mine:
            continue
        tails = len(ends) > 0
        if not tails:  # no row runs out: the wire is soldered on along one of them
            rows = [s for s in mine if s.kind is StripKind.LEAD] or mine
            ends = np.array([np.add(rows[0].start_mm, rows[0].end_mm) / 2])
            text += f", along strip {numbers[interconnect.strips.index(rows[0])]}"
        ends = ends[np.argsort(ends[:, 1])] * flip
        out_x = edge + turn * OUT_MM
        y = float(ends[:, 1].mean())
        rays = [np.array([end, (out_x, end[1]), (out_x, y)]) for end in ends]
        if tails:  # a line over the whole plan would say less than the strip's number
            marks.append(Lines(layer=Layer.LEADER, lines=tuple(rays)))
        at_mm = (out_x + turn * 1.5, y - NAME_MM * 0.3)
        anchor = "start" if turn > 0 else "end"
        if not tails:
            below += 1.5 * NAME_MM
            at_mm, anchor = (shown.low_mm[0], shown.low_mm[1] - below), "start"
        marks.append(Words(at_mm=at_mm, text=text, size_mm=NAME_MM, anchor=anchor, bold=True))
    return marks


def _legend(low: tuple[float, float], can: float) -> list[Mark]:
    """What the signs mean, below the drawing."""
    x, y = low[0], low[1] - 6.0
    spot = np.array([(x + 2.0, y + 1.0)])
    lines: list[tuple[Sequence[Mark], str]] = [
        (
            (crosses(spot),),
            "weld spot: the first strip onto the can, each later one onto the strip below",
        ),
        (
            boxed_words("7", (x + 2.0, y - 4.0), NUMBER_MM),
            "strip 7 in welding order; grey: rows, hatched: links",
        ),
        (
            boxed_words("B2", (x + 2.0, y - 9.0), NUMBER_MM, Layer.FLAG),
            "balance lead 2, soldered on at the diamond or to the tail",
        ),
        (
            (Circles(layer=Layer.RING, at_mm=(x + 2.0, y - 14.0), radius_mm=min(1.8, can)),),
            "insulating ring: a positive end; the number is the group",
        ),
    ]
    marks: list[Mark] = []
    for k, (signs, text) in enumerate(lines):
        marks += signs
        at = (x + 7.0, y + 1.0 - 5.0 * k - LEGEND_MM * 0.36)
        marks.append(Words(at_mm=at, text=text, size_mm=LEGEND_MM))
    return marks
