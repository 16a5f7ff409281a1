"""Plan of one face: cells, polarity, groups, strips and main leads, legible in black and white."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from generators.drawings.svg import number, path_of, picture
from layouts.cells.arrangement import CellLayout
from layouts.holders.outline import Outline
from layouts.pack import Face, Pack
from layouts.strips.joining import Interconnect, Strip, StripKind

__all__ = ["face_plan", "outline_points"]

ARC_STEP_RAD = math.radians(6.0)
CLEAR_SHARE = 0.55  # of the can's radius: kept white for sign and number, within the ring
TITLE_MM = 5.0
NAME_MM = 4.5
LEADER_OUT_MM = 4.0  # leads' names stand this far outside everything drawn
LETTER_SHARE = 0.6  # a sans-serif letter's width over its size, on average at most
LINK_HATCH = (
    '<defs><pattern id="link" patternUnits="userSpaceOnUse" width="2" height="2" '
    'patternTransform="rotate(45)"><path d="M0 0V2" stroke="#000" stroke-width="0.35"/>'
    "</pattern></defs>"
)


def outline_points(outline: Outline) -> NDArray[np.float64]:
    """(n, 2) points along an outline, close enough for a picture."""
    points: list[tuple[float, float]] = []
    for arc in outline.arcs:
        steps = max(2, math.ceil(abs(arc.sweep_rad) / ARC_STEP_RAD))
        for k in range(steps):
            angle = arc.start_rad + arc.sweep_rad * k / steps
            points.append(
                (
                    arc.centre_mm[0] + arc.radius_mm * math.cos(angle),
                    arc.centre_mm[1] + arc.radius_mm * math.sin(angle),
                )
            )
    return np.asarray(points)


def face_plan(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    outline: Outline,
    face: Face,
    *,
    surround: Sequence[NDArray[np.float64]] = (),
    across_mm: float = 170.0,
) -> str:
    """SVG of one face as the person who looks at it sees it; the lower face is mirrored.

    Positive ends carry a ring (the insulating ring) and "+", negative ends a bar; strips
    are drawn as laid, links hatched. ``surround``: further closed outlines, (n, 2) each
    (tub, board).
    """
    turn = -1.0 if face is Face.LOWER else 1.0
    flip = np.array([turn, 1.0])
    can = pack.cell.diameter_mm / 2
    seen = [outline_points(outline) * flip, *(points * flip for points in surround)]
    up = cell_layout.positive_up if face is Face.UPPER else ~cell_layout.positive_up
    xy = cell_layout.xy_mm * flip
    body = [
        LINK_HATCH,
        *_outlines(seen[0], seen[1:]),
        *_can_ends(xy, up, can),
        *_strips(cell_layout, interconnect, face, flip),
        *_signs(xy, up, cell_layout.group, can),
    ]
    strips = [one.outline_mm * flip for one in interconnect.laid(face)]
    everything = np.vstack([*seen, *strips])
    low, high = everything.min(axis=0), everything.max(axis=0)
    names, room = _lead_names(cell_layout, interconnect, face, turn, low, high)
    body += names
    about = (
        "Upper face, seen from above"
        if face is Face.UPPER
        else "Lower face, mirrored: seen from below"
    )
    low_x = float(low[0]) - (room if turn < 0 else 0.0)
    high_x = float(high[0]) + (room if turn > 0 else 0.0)
    high_x = max(high_x, low_x + text_wide_mm(about, TITLE_MM))
    body.append(
        f'<text x="{number(low_x)}" y="{number(-float(high[1]) - 3.0)}" '
        f'font-size="{number(TITLE_MM)}" font-family="sans-serif">{escape(about)}</text>'
    )
    return picture(
        body,
        low=(low_x, float(low[1])),
        high=(high_x, float(high[1]) + TITLE_MM + 3.0),
        title=about,
        scale=min(1.0, across_mm / (high_x - low_x + 6.0)),
    )


def _outlines(held: NDArray[np.float64], surround: Sequence[NDArray[np.float64]]) -> list[str]:
    """The held cells' outline over what lies round it."""
    body = []
    for points in surround:
        body.append(
            f'<path d="{path_of(points, closed=True)}" fill="none" stroke="#000" '
            'stroke-width="0.3" stroke-dasharray="2 1.2"/>'
        )
    body.append(
        f'<path d="{path_of(held, closed=True)}" fill="#f4f4f4" stroke="#000" stroke-width="0.5"/>'
    )
    return body


def _can_ends(xy: NDArray[np.float64], positive_end: NDArray[np.bool_], can: float) -> list[str]:
    """A circle a can, the insulating ring on positive ends; ``can``: radius."""
    body = []
    for (x, y), positive in zip(xy.tolist(), positive_end.tolist(), strict=True):
        body.append(
            f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(can)}" fill="#fff" '
            'stroke="#000" stroke-width="0.35"/>'
        )
        if positive:
            body.append(
                f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(can * 0.86)}" '
                'fill="none" stroke="#000" stroke-width="0.9"/>'
            )
    return body


def _strips(
    cell_layout: CellLayout, interconnect: Interconnect, face: Face, flip: NDArray[np.float64]
) -> list[str]:
    body = []
    for strip in interconnect.strips:
        if strip.face is not face:
            continue
        fill = "url(#link)" if strip.kind is StripKind.LINK else "#d9d9d9"
        drawn = _between_cells(strip, cell_layout.xy_mm).outline_mm * flip
        body.append(
            f'<path d="{path_of(drawn, closed=True)}" fill="{fill}" '
            'fill-opacity="0.85" stroke="#000" stroke-width="0.25"/>'
        )
    for number_, plate in enumerate(one for one in interconnect.plates if one.face is face):
        rings = [ring for one in plate.parts for ring in (one.exterior, *one.interiors)]
        path = " ".join(path_of(np.asarray(ring.coords)[:-1] * flip, closed=True) for ring in rings)
        fill = "url(#link)" if number_ % 2 else "#d9d9d9"
        body.append(
            f'<path d="{path}" fill="{fill}" fill-rule="evenodd" fill-opacity="0.85" '
            'stroke="#000" stroke-width="0.25"/>'
        )
        for piece in () if plate.bar is None else plate.bar.pieces:
            bar = path_of(np.asarray(piece.exterior.coords)[:-1] * flip, closed=True)
            body.append(f'<path d="{bar}" fill="#9a9a9a" stroke="#000" stroke-width="0.25"/>')
    return body


def _signs(
    xy: NDArray[np.float64],
    positive_end: NDArray[np.bool_],
    of_cell: NDArray[np.int64],
    can: float,
) -> list[str]:
    """Polarity and group of each cell in a white disc; ``can``: radius."""
    body = []
    size = can * 0.62
    for (x, y), positive, group in zip(
        xy.tolist(), positive_end.tolist(), of_cell.tolist(), strict=True
    ):
        sign = "+" if positive else "\N{MINUS SIGN}"
        body.append(
            f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(can * CLEAR_SHARE)}" '
            f'fill="#fff"/>'
            f'<text x="{number(x)}" y="{number(-y + size * 0.36)}" font-size="{number(size)}" '
            f'font-family="sans-serif" text-anchor="middle">{sign}{group}</text>'
        )
    return body


def _between_cells(strip: Strip, xy: NDArray[np.float64]) -> Strip:
    """The strip from its first cell's centre to its last one's, or to where it runs out.

    What reaches past the centres would stand out round the discs with the signs.
    """
    first, last = (
        (float(xy[cell, 0]), float(xy[cell, 1])) for cell in (strip.cells[0], strip.cells[-1])
    )
    if len(strip.cells) < 2:
        return strip
    return replace(strip, start_mm=first, end_mm=strip.end_mm if strip.runs_out else last)


def text_wide_mm(text: str, size_mm: float) -> float:
    """Space that a line of sans-serif text takes at most, about [mm]."""
    return LETTER_SHARE * size_mm * len(text)


def _lead_names(
    cell_layout: CellLayout,
    interconnect: Interconnect,
    face: Face,
    turn: float,
    low: NDArray[np.float64],
    high: NDArray[np.float64],
) -> tuple[list[str], float]:
    """Names of the main leads that leave this face, and the space [mm] that they take.

    They stand outside everything else, a thin line runs to each from its strips' ends.
    """
    named = []
    room = 0.0
    last = int(cell_layout.group.max())
    edge = float(high[0]) if turn > 0 else float(low[0])
    for group, at, lines in (
        (1, interconnect.minus_face, ("pack", "minus (\N{MINUS SIGN})")),
        (last, interconnect.plus_face, ("pack", "plus (+)")),
    ):
        ends = [
            strip.end_mm
            for strip in interconnect.strips
            if strip.runs_out and strip.face is face and strip.groups == (group,)
        ]
        ends += [
            (plate.bar.landing.centroid.x, plate.bar.landing.centroid.y)
            for plate in interconnect.plates
            if plate.bar is not None and plate.face is face and plate.groups == (group,)
        ]
        if at is not face or not ends:
            continue
        x, y = (float(v) for v in np.mean(ends, axis=0) * (turn, 1.0))
        anchor = "start" if turn > 0 else "end"
        text_x = edge + LEADER_OUT_MM * turn
        named.append(
            f'<path d="M{number(x)} {number(-y)}H{number(text_x - turn)}" stroke="#000" '
            'stroke-width="0.25" fill="none"/>'
            f'<circle cx="{number(x)}" cy="{number(-y)}" r="0.7"/>'
        )
        for k, text in enumerate(lines):
            named.append(
                f'<text x="{number(text_x)}" y="{number(-y + (k - 0.15) * NAME_MM * 1.15)}" '
                f'font-size="{number(NAME_MM)}" font-family="sans-serif" '
                f'text-anchor="{anchor}">{text}</text>'
            )
            room = max(room, LEADER_OUT_MM + text_wide_mm(text, NAME_MM))
    return named, room
