"""A small scatter plot of the suggestions: energy over mass, a shape a cell, rows by number.

Shape alone distinguishes cells, filled marks are grids, so it reads in black and white."""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.sax.saxutils import escape

from generators.drawings.svg import number
from layouts.pack import Lattice
from layouts.suggesting.ranking import Ranked
from layouts.suggesting.setting import Offer

__all__ = ["MARKS", "NUMBERED", "plot"]

NUMBERED = 30  # as many rows as the terminal shows
WIDE, TALL = 180.0, 120.0  # mm as printed
LEFT, RIGHT, TOP, BOTTOM = 18.0, 52.0, 8.0, 16.0
MARK = 1.5  # half of a mark's width
SMALL = 0.8  # the same of rows without a number
TEXT = 2.8  # height of letters
LETTER = 0.6  # width of a digit over the height of letters; sans-serif faces, from memory
MOST_TICKS = 7
# Corners of the marks as (x, y) over MARK, y up; a circle has none. More cells than marks: the
# marks come again with a dot inside, then with two strokes.
MARKS: tuple[tuple[tuple[float, float], ...], ...] = (
    (),
    ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    ((-1.1, -0.8), (1.1, -0.8), (0.0, 1.1)),
    ((0.0, -1.2), (1.0, 0.0), (0.0, 1.2), (-1.0, 0.0)),
    ((-1.1, 0.8), (0.0, -1.1), (1.1, 0.8)),
    ((-0.4, -1.1), (0.4, -1.1), (0.4, -0.4), (1.1, -0.4), (1.1, 0.4), (0.4, 0.4),
     (0.4, 1.1), (-0.4, 1.1), (-0.4, 0.4), (-1.1, 0.4), (-1.1, -0.4), (-0.4, -0.4)),
    ((-0.5, -1.1), (0.5, -1.1), (1.1, 0.0), (0.5, 1.1), (-0.5, 1.1), (-1.1, 0.0)),
    ((-1.2, -0.5), (1.2, -0.5), (1.2, 0.5), (-1.2, 0.5)),
)  # fmt: skip

Box = tuple[float, float, float, float]


def plot(rows: Sequence[Ranked], offers: Sequence[Offer], *, title: str) -> str:
    """The plot as SVG text. ``rows``: best first; the first ``NUMBERED`` carry their numbers."""
    across = _Axis([one.row.mass_kg for one in rows], LEFT, WIDE - RIGHT)
    upward = _Axis([one.row.energy_wh for one in rows], TALL - BOTTOM, TOP)
    used = sorted({one.row.candidate.offer for one in rows})
    place_of = {offer: k for k, offer in enumerate(used)}
    body = _frame(across, upward)
    points: dict[tuple[float, float], list[Ranked]] = {}
    for one in rows:
        at = (round(across.at(one.row.mass_kg), 2), round(upward.at(one.row.energy_wh), 2))
        points.setdefault(at, []).append(one)
    # small marks below large ones, and the best on top
    for (x, y), here in reversed(points.items()):
        first = here[0].row.candidate
        body += _mark(
            place_of[first.offer],
            x,
            y,
            filled=first.lattice is Lattice.GRID,
            half=MARK if here[0].number <= NUMBERED else SMALL,
        )
    body += _labels(points)
    body += _legend(offers, used)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDE:g}mm" '
        f'height="{TALL:g}mm" viewBox="0 0 {WIDE:g} {TALL:g}" font-family="sans-serif" '
        f'font-size="{TEXT}" stroke-width="0.25"><title>{escape(title)}</title>'
        f'<rect width="{WIDE:g}" height="{TALL:g}" fill="#fff"/>{"".join(body)}</svg>\n'
    )


class _Axis:
    """From values to millimetres of the drawing, with round ticks."""

    def __init__(self, values: Sequence[float], start: float, end: float) -> None:
        low, high = min(values), max(values)
        span = max(high - low, 0.1 * max(abs(high), 1.0))
        power = 10.0 ** math.floor(math.log10(span / MOST_TICKS))
        step = next(m * power for m in (1, 2, 5, 10) if span / (m * power) <= MOST_TICKS)
        first, last = math.floor(low / step - 0.2), math.ceil(high / step + 0.2)
        first = max(first, 0)
        self.ticks = [k * step for k in range(first, last + 1)]
        self._start, self._end = start, end

    def at(self, value: float) -> float:
        """Place of a value."""
        low, high = self.ticks[0], self.ticks[-1]
        return self._start + (value - low) / (high - low) * (self._end - self._start)


def _frame(across: _Axis, upward: _Axis) -> list[str]:
    """Axes with ticks, faint lines at the ticks, and what they mean."""
    x0, x1, y0, y1 = LEFT, WIDE - RIGHT, TALL - BOTTOM, TOP
    body = []
    for value in across.ticks:
        x = number(across.at(value))
        body.append(f'<path d="M{x} {y0}V{y1}" stroke="#ccc" fill="none"/>')
        body.append(f'<text x="{x}" y="{y0 + 4.5}" text-anchor="middle">{value:g}</text>')
    for value in upward.ticks:
        y = upward.at(value)
        body.append(f'<path d="M{x0} {number(y)}H{x1}" stroke="#ccc" fill="none"/>')
        body.append(f'<text x="{x0 - 1.5}" y="{number(y + 1)}" text-anchor="end">{value:g}</text>')
    body.append(f'<path d="M{x0} {y1}V{y0}H{x1}" stroke="#000" fill="none"/>')
    body.append(
        f'<text x="{(x0 + x1) / 2}" y="{y0 + 10.5}" text-anchor="middle">'
        "mass, kg (cells, strips, printed parts)</text>"
    )
    middle = (y0 + y1) / 2
    body.append(
        f'<text x="4.5" y="{middle}" text-anchor="middle" transform="rotate(-90 4.5 {middle})">'
        "energy, Wh</text>"
    )
    return body


def _mark(place: int, x: float, y: float, *, filled: bool, half: float = MARK) -> list[str]:
    """One mark; from the ninth cell on its shape comes again with a sign inside."""
    corners = MARKS[place % len(MARKS)]
    fill = "#000" if filled else "#fff"
    style = f'fill="{fill}" stroke="#000"'
    if corners:
        points = " ".join(f"{number(x + half * u)},{number(y - half * v)}" for u, v in corners)
        body = [f'<polygon points="{points}" {style}/>']
    else:
        body = [f'<circle cx="{number(x)}" cy="{number(y)}" r="{half}" {style}/>']
    ink = "#fff" if filled else "#000"
    again = place // len(MARKS)
    if again == 1:
        body.append(
            f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(0.3 * half)}" fill="{ink}"/>'
        )
    elif again > 1:
        arm = 0.4 * half
        body.append(
            f'<path d="M{number(x - arm)} {number(y)}h{number(2 * arm)}M{number(x)} '
            f'{number(y - arm)}v{number(2 * arm)}" stroke="{ink}"/>'
        )
    return body


def _labels(points: dict[tuple[float, float], list[Ranked]]) -> list[str]:
    """Numbers of the first rows beside their marks, clear of marks and each other."""
    taken: list[Box] = []
    for (x, y), here in points.items():
        half = MARK if here[0].number <= NUMBERED else SMALL
        taken.append((x - half, y - half, x + half, y + half))
    body = []
    for (x, y), here in points.items():
        numbers = [one.number for one in here if one.number <= NUMBERED]
        if not numbers:
            continue
        text = ", ".join(str(n) for n in numbers)
        wide = TEXT * LETTER * len(text)
        box, ring = _free_place(x, y, wide, taken)
        taken.append(box)
        lx, ly = (box[0] + box[2]) / 2, box[3] - 0.15 * TEXT
        if ring > 0:  # too far off to be identified by nearness: a line to the text's nearest side
            ex, ey = min(max(x, box[0]), box[2]), min(max(y, box[1]), box[3])
            body.append(
                f'<path d="M{number(x)} {number(y)}L{number(ex)} {number(ey)}" '
                'stroke="#000" stroke-width="0.15" fill="none"/>'
            )
        body.append(
            f'<text x="{number(lx)}" y="{number(ly)}" text-anchor="middle" '
            f'paint-order="stroke" stroke="#fff" stroke-width="0.6">{text}</text>'
        )
    return body


def _free_place(x: float, y: float, wide: float, taken: Sequence[Box]) -> tuple[Box, int]:
    """The nearest place round a mark where a text lies on nothing else, and how many rings off.

    The last place tried where there is none.
    """
    box: Box = (0.0, 0.0, 0.0, 0.0)
    ring = 0
    for ring in range(8):
        away = MARK + 0.6 + 2.2 * ring
        for turn in range(8):
            angle = turn * math.pi / 4
            cx = x + math.cos(angle) * (away + wide / 2)
            cy = y - math.sin(angle) * (away + TEXT / 2)
            box = (cx - wide / 2, cy - TEXT / 2, cx + wide / 2, cy + TEXT / 2)
            inside = box[0] > LEFT and box[2] < WIDE - RIGHT + 4 and box[1] > TOP - 4
            if inside and box[3] < TALL - BOTTOM and not any(_meet(box, one) for one in taken):
                return box, ring
    return box, ring


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _legend(offers: Sequence[Offer], used: Sequence[int]) -> list[str]:
    """Which mark is which cell, and what filling means."""
    x, y = WIDE - RIGHT + 8.0, TOP + 2.0
    body = []
    for place, offer in enumerate(used):
        if y > TALL - BOTTOM - 12:
            body.append(f'<text x="{x}" y="{number(y)}">and others</text>')
            break
        body += _mark(place, x, y - 1, filled=False)
        body.append(f'<text x="{x + 4}" y="{number(y)}">{escape(offers[offer].name[:22])}</text>')
        y += 4.6
    y = TALL - BOTTOM - 5
    for filled, word in ((False, "open: honeycomb"), (True, "filled: grid")):
        body += _mark(0, x, y - 1, filled=filled)
        body.append(f'<text x="{x + 4}" y="{number(y)}">{word}</text>')
        y += 4.6
    return body
