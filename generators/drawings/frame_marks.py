"""Features of a frame in the plan of the space: faces, holes, and which of them are used."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

import shapely
from shapely.geometry.base import BaseGeometry

from generators.drawings.space_walls import rings_path
from generators.drawings.svg import number
from layouts.formats import screws
from layouts.frame_spec import FramePlate
from layouts.planning.held import FrameScrew, frame_screws
from layouts.planning.pack_plan import PackPlan

__all__ = ["FRAME_WORDS", "frame_marks"]

FRAME_WORDS = (
    "long dashes: faces of the frame; rings: holes that are there, filled ones are used; crossed "
    "rings: to be drilled; numbers: brackets"
)
DASH = 'fill="none" stroke="#000" stroke-width="0.4" stroke-dasharray="8 2"'
UPRIGHT_MM = 1.2  # an upright face is drawn so thick
TEXT_MM = 4.0
OFF_MM = 2.0  # a bracket's number beside its hole


def frame_marks(plan: PackPlan, shapes: list[BaseGeometry]) -> list[str]:
    """SVG in the space's plan, nothing without a frame; its outlines are added to ``shapes``."""
    plates = [one for one in plan.pack.mount.frame if isinstance(one, FramePlate)]
    if not plates or plan.enclosure.pose is None:
        return []
    used = frame_screws(plan)
    body = []
    for plate in plates:
        shape = _plan_of(plate)
        shapes.append(shape)
        body.append(f'<path d="{rings_path(shape)}" {DASH}/>')
        x0, y0, _, _ = shape.bounds
        body.append(_text(plate.name, x0 + OFF_MM, y0 + OFF_MM))
        for hole in plate.holes if plate.axis == 2 else ():
            x, y, _ = plate.in_space_mm(hole.at_mm)
            is_used = any(one.hole == hole and one.plate == plate for one in used)
            radius = screws()[hole.screw].clearance_diameter_mm / 2
            body.append(_ring(x, y, radius, fill="#000" if is_used else "none"))
    return [*body, *_new_holes(used), *_numbers(used)]


def _plan_of(plate: FramePlate) -> shapely.Polygon:
    """A plate from above; an upright one as thick as can be seen."""
    corners = [plate.in_space_mm(at)[:2] for at in plate.outline_mm]
    if plate.axis == 2:
        return shapely.Polygon(corners)
    line = shapely.MultiPoint(corners).convex_hull
    thick = line.buffer(UPRIGHT_MM / 2, cap_style="flat")
    assert isinstance(thick, shapely.Polygon)
    return thick


def _new_holes(used: Sequence[FrameScrew]) -> list[str]:
    body = []
    for one in used:
        if one.hole is None:
            x, y = float(one.at_mm[0]), float(one.at_mm[1])
            radius = screws()[one.screw].clearance_diameter_mm / 2
            body.append(_ring(x, y, radius, fill="none"))
            r = number(1.6 * radius)
            body.append(
                f'<path d="M{number(x)} {number(-y)}m-{r} 0h{number(3.2 * radius)}m-{r} -{r}'
                f'v{number(3.2 * radius)}" fill="none" stroke="#000" stroke-width="0.3"/>'
            )
    return body


def _numbers(used: Sequence[FrameScrew]) -> list[str]:
    """Each bracket's once, beside its first hole."""
    first = {one.on: one for one in reversed(used)}
    return [
        _text(str(on), float(one.at_mm[0]) + 2 * OFF_MM, float(one.at_mm[1]) + OFF_MM)
        for on, one in sorted(first.items())
    ]


def _ring(x: float, y: float, radius_mm: float, *, fill: str) -> str:
    return (
        f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(radius_mm)}" fill="{fill}" '
        'stroke="#000" stroke-width="0.4"/>'
    )


def _text(words: str, x: float, y: float) -> str:
    return (
        f'<text x="{number(x)}" y="{number(-y)}" font-size="{number(TEXT_MM)}">'
        f"{escape(words)}</text>"
    )
