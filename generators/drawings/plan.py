"""Plan of one face: cells, polarity, groups, strips and main leads, legible in black and white."""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from generators.drawings.svg import number, path_of, picture
from layouts.arrangement import Arrangement
from layouts.joining import Joining, StripKind
from layouts.outline import Outline
from layouts.pack import Face, Pack

__all__ = ["face_plan", "outline_points"]

ARC_STEP_RAD = math.radians(6.0)


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
    arrangement: Arrangement,
    joining: Joining,
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
    body = [
        '<defs><pattern id="link" patternUnits="userSpaceOnUse" width="2" height="2" '
        'patternTransform="rotate(45)"><path d="M0 0V2" stroke="#000" stroke-width="0.35"/>'
        "</pattern></defs>"
    ]
    for points in seen[1:]:
        body.append(
            f'<path d="{path_of(points, closed=True)}" fill="none" stroke="#000" '
            'stroke-width="0.3" stroke-dasharray="2 1.2"/>'
        )
    body.append(
        f'<path d="{path_of(seen[0], closed=True)}" fill="#f4f4f4" stroke="#000" '
        'stroke-width="0.5"/>'
    )
    up = arrangement.positive_up if face is Face.UPPER else ~arrangement.positive_up
    xy = arrangement.xy_mm * flip
    for (x, y), positive in zip(xy.tolist(), up.tolist(), strict=True):
        body.append(
            f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(can)}" fill="#fff" '
            'stroke="#000" stroke-width="0.35"/>'
        )
        if positive:
            body.append(
                f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(can * 0.86)}" '
                'fill="none" stroke="#000" stroke-width="0.9"/>'
            )
    for strip in joining.strips:
        if strip.face is not face:
            continue
        fill = "url(#link)" if strip.kind is StripKind.LINK else "#d9d9d9"
        body.append(
            f'<path d="{path_of(strip.outline_mm * flip, closed=True)}" fill="{fill}" '
            'fill-opacity="0.85" stroke="#000" stroke-width="0.25"/>'
        )
    size = can * 0.62
    for (x, y), positive, group in zip(
        xy.tolist(), up.tolist(), arrangement.group.tolist(), strict=True
    ):
        sign = "+" if positive else "\N{MINUS SIGN}"
        body.append(
            f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(can * 0.5)}" fill="#fff"/>'
            f'<text x="{number(x)}" y="{number(-y + size * 0.36)}" font-size="{number(size)}" '
            f'font-family="sans-serif" text-anchor="middle">{sign}{group}</text>'
        )
    everything = np.vstack([*seen, *(s.outline_mm * flip for s in joining.strips if s.face is face)])
    low, high = everything.min(axis=0), everything.max(axis=0)
    note = 8.0
    body += _lead_names(arrangement, joining, face, flip)
    about = (
        "Upper face, seen from above"
        if face is Face.UPPER
        else "Lower face, mirrored: seen from below with the pack turned over"
    )
    body.append(
        f'<text x="{number(float(low[0]))}" y="{number(-float(high[1]) - 3.0)}" font-size="5" '
        f'font-family="sans-serif">{escape(about)}</text>'
    )
    wide = float(high[0] - low[0])
    return picture(
        body,
        low=(float(low[0]), float(low[1])),
        high=(float(high[0]), float(high[1]) + note),
        title=about,
        scale=min(1.0, across_mm / (wide + 6.0)),
    )


def _lead_names(
    arrangement: Arrangement, joining: Joining, face: Face, flip: NDArray[np.float64]
) -> list[str]:
    """"minus" and "plus" beside the strips that leave this face."""
    named = []
    last = int(arrangement.group.max())
    for group, at, name in (
        (1, joining.minus_face, "pack minus (\N{MINUS SIGN})"),
        (last, joining.plus_face, "pack plus (+)"),
    ):
        ends = [
            strip.end_mm
            for strip in joining.strips
            if strip.runs_out and strip.face is face and strip.groups == (group,)
        ]
        if at is face and ends:
            x, y = np.mean(ends, axis=0) * flip
            anchor = "start" if flip[0] > 0 else "end"
            body_x = float(x) + 2.0 * float(flip[0])
            named.append(
                f'<text x="{number(body_x)}" y="{number(-float(y) + 1.8)}" font-size="5" '
                f'font-family="sans-serif" text-anchor="{anchor}">{name}</text>'
            )
    return named
