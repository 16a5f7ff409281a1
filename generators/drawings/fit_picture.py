"""The pack in its space, drawn: plan and two side views, the tightest spot ringed in each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.drawings.svg import number, path_of, picture

__all__ = ["FitPicture", "fit_picture"]

FloatArray = NDArray[np.float64]

WITHIN_MM = (182.0, 235.0)  # printed, all views together with their words
APART_MM = 16.0  # between views, printed
HEAD_MM = 22.0  # for the words above
LETTERS_MM = 3.2
LETTER_WIDE = 0.58  # of a letter's height, about
RING_MM = 3.5  # radius
FLAT_MM = 0.03  # of outlines, printed

# name, the frame's rows (right, up, towards the eye) in the space
VIEWS = (
    ("plan, from above (+z)", ((1, 0, 0), (0, 1, 0), (0, 0, 1))),
    ("front, from -y", ((1, 0, 0), (0, 0, 1), (0, -1, 0))),
    ("side, from +x", ((0, 1, 0), (0, 0, 1), (1, 0, 0))),
)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FitPicture:
    """What is drawn, all in the space's coordinates [mm].

    ``pack``: printed parts and what they enclose; ``clearances``: screw heads and cable outlets;
    ``room``: its solid or None; ``keep_out``: bodies to stay out of. ``tightest_mm``: the spot on
    the pack, ``other_mm``: on what is nearest; ``label``: the words at its ring; ``lines``: words
    above the views."""

    pack: manifold3d.Manifold
    clearances: manifold3d.Manifold
    room: manifold3d.Manifold | None
    keep_out: tuple[manifold3d.Manifold, ...]
    tightest_mm: tuple[float, float, float]
    other_mm: tuple[float, float, float]
    label: str
    lines: tuple[str, ...]
    title: str


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _View:
    name: str
    pack: BaseGeometry
    clearances: BaseGeometry
    room_cut: BaseGeometry
    room_seen: BaseGeometry
    bodies_cut: BaseGeometry
    bodies_seen: BaseGeometry
    spot: tuple[float, float]
    other: tuple[float, float]

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        shapes = (self.pack, self.clearances, self.room_seen, self.bodies_seen)
        x0, y0, x1, y1 = shapely.union_all([shapely.box(*s.bounds) for s in shapes if s]).bounds
        return float(x0), float(y0), float(x1), float(y1)


def fit_picture(job: FitPicture) -> str:
    """The SVG text. Thick: the pack, grey; hatched: what to stay out of, cut at the tightest spot;
    a double line: the free space's wall, cut there; dashed: the outlines of all of it."""
    plan, front, side = (_view(job, name, np.array(rows, float)) for name, rows in VIEWS)
    wide = [max(plan.bounds[2] - plan.bounds[0], front.bounds[2] - front.bounds[0])]
    wide.append(side.bounds[2] - side.bounds[0])
    tall = [plan.bounds[3] - plan.bounds[1]]
    tall.append(max(v.bounds[3] - v.bounds[1] for v in (front, side)))
    scale = min(
        (WITHIN_MM[0] - APART_MM) / sum(wide),
        (WITHIN_MM[1] - HEAD_MM - 2 * APART_MM) / sum(tall),
        1.0,
    )
    body: list[str] = [_STYLE]
    low_row = 0.0
    high_row = tall[1] * scale + APART_MM
    body += _drawn(front, scale, (0.0, low_row), job.label)
    body += _drawn(side, scale, (wide[0] * scale + APART_MM, low_row), "")
    body += _drawn(plan, scale, (0.0, high_row), "")
    top = high_row + tall[0] * scale + APART_MM / 2
    height = 1.45 * LETTERS_MM
    for k, line in enumerate(reversed(job.lines)):
        body.append(_text((0.0, top + k * height), line, bold=k == len(job.lines) - 1))
    top += len(job.lines) * height
    right = max(
        sum(wide) * scale + APART_MM,
        *(LETTER_WIDE * LETTERS_MM * len(line) for line in job.lines),
        wide[0] * scale,
    )
    key = "grey: the pack; hatched and double lines: section at the tightest spot; dashed: outlines"
    body.append(_text((0.0, -APART_MM), f"{key}; 1:{1 / scale:.3g}"))
    right = max(right, LETTER_WIDE * LETTERS_MM * (len(key) + 10))
    return picture(
        body, low=(-2.0, -APART_MM - 4.0), high=(right, top + 1.0), title=job.title, margin=2.0
    )


_STYLE = (
    '<defs><pattern id="cut" width="1.6" height="1.6" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="1.6" height="1.6" fill="#fff"/>'
    '<path d="M0 0V1.6" stroke="#000" stroke-width="0.3"/></pattern></defs>'
)


def _view(job: FitPicture, name: str, frame: FloatArray) -> _View:
    spot, other = frame @ np.array(job.tightest_mm), frame @ np.array(job.other_mm)
    level = float(spot[2])
    room = [] if job.room is None else [job.room]
    return _View(
        name=name,
        pack=_seen([job.pack], frame),
        clearances=_seen([job.clearances], frame),
        room_cut=_cut(room, frame, level),
        room_seen=_seen(room, frame),
        bodies_cut=_cut(job.keep_out, frame, level),
        bodies_seen=_seen(job.keep_out, frame),
        spot=(float(spot[0]), float(spot[1])),
        other=(float(other[0]), float(other[1])),
    )


def _turned(solid: manifold3d.Manifold, frame: FloatArray) -> manifold3d.Manifold:
    return solid.transform(np.column_stack([frame, np.zeros(3)]).tolist())


def _seen(solids: Sequence[manifold3d.Manifold], frame: FloatArray) -> BaseGeometry:
    return shapely.union_all(
        [_shape(_turned(one, frame).project().to_polygons()) for one in solids]
    )


def _cut(solids: Sequence[manifold3d.Manifold], frame: FloatArray, level: float) -> BaseGeometry:
    return shapely.union_all(
        [_shape(_turned(one, frame).slice(level).to_polygons()) for one in solids]
    )


def _shape(rings: Sequence[FloatArray]) -> BaseGeometry:
    """Rings, holes wound the other way, as one shape."""
    shape: BaseGeometry = shapely.Polygon()
    for ring in rings:
        if len(ring) >= 3:
            shape = shape.symmetric_difference(shapely.make_valid(shapely.Polygon(ring)))
    return shape


def _drawn(view: _View, scale: float, at: tuple[float, float], label: str) -> list[str]:
    """One view with its lower left corner at a printed place."""
    x0, y0, _, y1 = view.bounds

    def place(points: FloatArray) -> FloatArray:
        placed: FloatArray = (points - (x0, y0)) * scale + at
        return placed

    def path(shape: BaseGeometry, look: str) -> str:
        small = shape.simplify(FLAT_MM / scale)
        rings = [
            place(np.asarray(ring.coords)[:-1, :2])
            for part in shapely.get_parts(small)
            if isinstance(part, shapely.Polygon)
            for ring in (part.exterior, *part.interiors)
        ]
        if not rings:
            return ""
        steps = "".join(path_of(ring, closed=True) for ring in rings)
        return f'<path d="{steps}" fill-rule="evenodd" stroke="#000" {look}/>'

    dashed = 'fill="none" stroke-width="0.18" stroke-dasharray="1.6 1"'
    spot = place(np.array([view.spot]))[0]
    out = [
        path(view.room_seen, dashed),
        path(view.bodies_seen, dashed),
        path(view.clearances, 'fill="#fff" stroke-width="0.25"'),
        path(view.pack, 'fill="#ddd" stroke-width="0.5"'),
        path(view.bodies_cut, 'fill="url(#cut)" stroke-width="0.3"'),
        # a double line: black with a white core
        path(view.room_cut, 'fill="none" stroke-width="0.9"'),
        path(view.room_cut, 'fill="none" stroke-width="0.4" style="stroke:#fff"'),
        *_ring(spot),
        f'<path d="{path_of(place(np.array([view.spot, view.other])))}" stroke="#000" '
        'stroke-width="0.6"/>',
        _text((at[0], at[1] - 1.6 * LETTERS_MM), view.name),
    ]
    if label:
        out += _led(spot, at[0], at[1] + (y1 - y0) * scale, label)
    return [one for one in out if one]


def _ring(spot: FloatArray) -> list[str]:
    """A ring with a white rim, and a point."""
    u, v = number(float(spot[0])), number(-float(spot[1]))
    circle = f'<circle cx="{u}" cy="{v}" r="{number(RING_MM)}" fill="none"'
    return [
        f'{circle} stroke="#fff" stroke-width="1.6"/>',
        f'{circle} stroke="#000" stroke-width="0.7"/>',
        f'<circle cx="{u}" cy="{v}" r="0.5" fill="#000" stroke="#fff" stroke-width="0.2"/>',
    ]


def _led(spot: FloatArray, left: float, top: float, label: str) -> list[str]:
    """An upright leader from the ring to words above the view, which keep to the page."""
    height = top + 3.0
    most = WITHIN_MM[0] - LETTER_WIDE * LETTERS_MM * len(label)
    words = max(left, min(float(spot[0]), most))
    start = (float(spot[0]), float(spot[1]) + RING_MM)
    line = path_of(np.array([start, [float(spot[0]), height]]))
    return [
        f'<path d="{line}" fill="none" stroke="#fff" stroke-width="1.2"/>',
        f'<path d="{line}" fill="none" stroke="#000" stroke-width="0.35"/>',
        _text((words, height + 1.0), label, bold=True),
    ]


def _text(at: tuple[float, float], words: str, *, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{number(at[0])}" y="{number(-at[1])}" font-size="{number(LETTERS_MM)}" '
        f'font-family="sans-serif"{weight}>{escape(words)}</text>'
    )
