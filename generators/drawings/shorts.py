"""Pictures of the places where the short check fails, legible in black and white."""

from __future__ import annotations

import textwrap
from xml.sax.saxutils import escape

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.drawings.svg import number, path_of, picture
from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack
from layouts.shorts.checks import failing_spots
from layouts.shorts.values import Kind, ShortReport, Spot, can_shape
from layouts.strips.joining import Interconnect

__all__ = ["short_pictures"]

TEXT_MM = 2.2
LINE_MM = 3.2
AROUND_MM = 9.0  # of the surroundings shown on each side of the gap's middle
MOST_HALF_MM = 45.0  # a long gap is shown whole up to this
ACROSS_MM = 120.0  # as printed
OFF_MM = 5.0  # the dimension's figure stands so far beside the gap
LETTER_SHARE = 0.55  # a sans-serif letter's width over its size
LETTERS = 48  # in a line at most

_WORDS = {
    Kind.STRIPS: "clearance",
    Kind.CANS: "clearance",
    Kind.METAL: "clearance",
    Kind.SURFACE: "creepage distance",
}
_HATCHES = (
    '<defs><pattern id="{id}-a" patternUnits="userSpaceOnUse" width="1.2" height="1.2" '
    'patternTransform="rotate(45)"><path d="M0 0V1.2" stroke="#000" stroke-width="0.16"/>'
    '</pattern><pattern id="{id}-b" patternUnits="userSpaceOnUse" width="1.2" height="1.2" '
    'patternTransform="rotate(-45)"><path d="M0 0V1.2" stroke="#000" stroke-width="0.16"/>'
    "</pattern></defs>"
)


def short_pictures(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, report: ShortReport
) -> dict[str, str]:
    """SVG by kind ("strips", "cans", ...), one for each check that fails; empty where all hold.

    Both parts are drawn at their worst, hatched, the strips round them as laid, and the gap
    dimensioned. As one looks at the face: the lower one is mirrored.
    """
    return {
        spot.kind.value: _spot_picture(pack, cell_layout, interconnect, spot)
        for spot in failing_spots(report)
    }


def _spot_picture(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, spot: Spot
) -> str:
    turn = np.array([-1.0 if spot.face is Face.LOWER else 1.0, 1.0])
    ends = spot.ends_mm * turn
    middle = ends.mean(axis=0)
    reach = float(np.hypot(*(ends[1] - ends[0]))) / 2
    half = min(max(AROUND_MM, 0.75 * pack.pitch_mm, reach + AROUND_MM / 2), MOST_HALF_MM)
    size = np.array([max(half, LETTER_SHARE * TEXT_MM * LETTERS / 2), half])
    low, high = middle - size, middle + size
    frame = shapely.box(*low, *high)
    body = [_HATCHES.format(id=spot.kind.value)]
    body += _surroundings(pack, cell_layout, interconnect, spot.face, turn, frame)
    for shape, hatch in zip(spot.shapes, "ab", strict=True):
        body += [
            f'<path d="{path}" fill="url(#{spot.kind.value}-{hatch})" fill-rule="evenodd" '
            'stroke="#000" stroke-width="0.4"/>'
            for path in _clipped(shape, turn, frame)
        ]
    if spot.kind is Kind.RING:
        body += _ring_hole(pack, spot.ends_mm[0], turn, frame)
    body += _dimension(spot, ends)
    words = [
        line
        for text in _words(spot)
        for line in textwrap.wrap(text, LETTERS, break_on_hyphens=False)
    ]
    body += [
        f'<path d="{path_of(np.array(frame.exterior.coords)[:-1], closed=True)}" fill="none" '
        'stroke="#000" stroke-width="0.15"/>'
    ]
    top = float(high[1]) + LINE_MM * (len(words) + 0.4)
    for k, line in enumerate(words):
        y = -(top - LINE_MM * (k + 1))
        body.append(
            f'<text x="{number(float(low[0]))}" y="{number(y)}" font-size="{number(TEXT_MM)}" '
            f'font-family="sans-serif">{escape(line)}</text>'
        )
    return picture(
        body,
        low=(float(low[0]), float(low[1])),
        high=(float(high[0]), top),
        title=words[0],
        margin=1.0,
        scale=ACROSS_MM / (float(2 * size[0]) + 2.0),
    )


def _words(spot: Spot) -> list[str]:
    seen = "" if spot.face is Face.UPPER else ", mirrored: seen from below"
    first = f"{spot.face.value} face{seen}"
    need = "beyond the table" if spot.need_mm is None else f"required: {spot.need_mm:.2f} mm"
    hatched = [f"/ {spot.parts[0]}", f"\\ {spot.parts[1]}"]
    if spot.kind is Kind.LINK:
        return [f"No strip, {first}", spot.parts[0], spot.parts[1]]
    if spot.kind is Kind.JOIN:
        return [f"Strip over two potentials, {first}", *hatched, f"{spot.volts:.1f} V between them"]
    if spot.kind is Kind.RING:
        return [
            f"Insulating ring missing or too small, {first}",
            *hatched,
            f"{spot.volts:.1f} V; actual: {spot.gap_mm:.2f} mm, {need}",
        ]
    return [
        f"Insufficient {_WORDS[spot.kind]}, {first}",
        *hatched,
        f"{spot.volts:.1f} V; actual: {spot.gap_mm:.2f} mm worst case, {need}",
    ]


def _surroundings(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    face: Face,
    turn: NDArray[np.float64],
    frame: shapely.Polygon,
) -> list[str]:
    """Cans with their groups and strips as drawn, thin, where they lie within the frame."""
    found = []
    can = pack.cell.diameter_mm / 2
    middle = np.array(frame.centroid.coords[0])
    x0, y0, x1, y1 = frame.bounds
    half = np.array([x1 - x0, y1 - y0]) / 2
    xy = cell_layout.xy_mm * turn
    up = cell_layout.positive_up if face is Face.UPPER else ~cell_layout.positive_up
    near = np.flatnonzero((np.abs(xy - middle) < half + can).all(axis=1))
    for k in near.tolist():
        found += [
            f'<path d="{path}" fill="none" stroke="#000" '
            'stroke-width="0.2" stroke-dasharray="0.9 0.6"/>'
            for path in _clipped(can_shape(cell_layout.xy_mm[k], can), turn, frame)
        ]
    for strip in interconnect.laid(face):
        found += [
            f'<path d="{path}" fill="#eee" fill-opacity="0.7" fill-rule="evenodd" '
            'stroke="#000" stroke-width="0.15"/>'
            for path in _clipped(strip.shape, turn, frame)
        ]
    for k in near.tolist():
        if not frame.buffer(-TEXT_MM).contains(shapely.Point(xy[k])):
            continue
        sign = "+" if up[k] else "\N{MINUS SIGN}"
        x, y = float(xy[k, 0]), float(xy[k, 1])
        found.append(
            f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(1.3 * TEXT_MM)}" '
            f'fill="#fff"/><text x="{number(x)}" y="{number(-y + 0.36 * TEXT_MM)}" '
            f'font-size="{number(TEXT_MM)}" font-family="sans-serif" text-anchor="middle">'
            f"{sign}{int(cell_layout.group[k])}</text>"
        )
    return found


def _ring_hole(
    pack: Pack, middle: NDArray[np.float64], turn: NDArray[np.float64], frame: shapely.Polygon
) -> list[str]:
    """Where the ring should lie: between the weld window and the can's edge."""
    return [
        f'<path d="{path}" fill="none" stroke="#000" '
        'stroke-width="0.4" stroke-dasharray="1.6 0.8"/>'
        for path in _clipped(can_shape(middle, pack.holder.window_mm / 2), turn, frame)
    ]


def _dimension(spot: Spot, ends: NDArray[np.float64]) -> list[str]:
    """The gap in the plan, a tick at each end, with its figure; a cross where there is none."""
    if spot.kind is Kind.RING:
        return []
    apart = float(np.hypot(*(ends[1] - ends[0])))
    if apart < 1e-6:
        at = ends[0]
        arms = np.array([[1.0, 1.0], [1.0, -1.0]])
        lines = "".join(path_of(np.array([at - arm, at + arm])) for arm in arms)
        return [
            f'<path d="{lines}" fill="none" stroke="#fff" stroke-width="1.4"/>',
            f'<path d="{lines}" fill="none" stroke="#000" stroke-width="0.6"/>',
        ]
    along = (ends[1] - ends[0]) / apart
    across = np.array([-along[1], along[0]])
    lines = path_of(ends)
    for end in ends:
        lines += path_of(np.array([end - 0.9 * across, end + 0.9 * across]))
    at = ends.mean(axis=0) + OFF_MM * across
    text = f"{apart:.2f}"
    wide, high = LETTER_SHARE * TEXT_MM * (len(text) + 1), 1.3 * TEXT_MM
    leader = path_of(np.array([ends.mean(axis=0), at]))
    return [
        f'<path d="{lines}{leader}" fill="none" stroke="#fff" stroke-width="0.9"/>',
        f'<path d="{lines}" fill="none" stroke="#000" stroke-width="0.35"/>',
        f'<path d="{leader}" fill="none" stroke="#000" stroke-width="0.15"/>',
        f'<rect x="{number(at[0] - wide / 2)}" y="{number(-at[1] - high / 2)}" '
        f'width="{number(wide)}" height="{number(high)}" fill="#fff" stroke="#000" '
        'stroke-width="0.15"/>',
        f'<text x="{number(at[0])}" y="{number(-at[1] + 0.36 * TEXT_MM)}" '
        f'font-size="{number(TEXT_MM)}" font-family="sans-serif" text-anchor="middle">'
        f"{text}</text>",
    ]


def _clipped(shape: BaseGeometry, turn: NDArray[np.float64], frame: shapely.Polygon) -> list[str]:
    """Path commands of what of a shape lies within the frame, one a piece with its holes."""
    seen = shapely.transform(shape, lambda xy: xy * turn)
    return [
        "".join(
            path_of(np.asarray(ring.coords)[:-1], closed=True)
            for ring in (part.exterior, *part.interiors)
        )
        for part in shapely.get_parts(shapely.intersection(seen, frame))
        if isinstance(part, shapely.Polygon) and not part.is_empty
    ]
