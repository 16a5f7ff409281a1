"""Plan figures of the enclosure and the core as shapely shapes, for gaps and collisions.

Arcs become chords of 0.02 rad, whose error at the radii met here (below 20 mm) is under
0.001 mm: far below any gap that is judged with them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.box.sizes import Boss, EnclosureDesign, Rect
from layouts.holders.outline import outline_points_mm

if TYPE_CHECKING:
    from layouts.holders.outline import Outline

CHORD_RAD = 0.02


def box(rect: Rect) -> shapely.Polygon:
    """A rectangle as a shape."""
    return shapely.box(rect.x0, rect.y0, rect.x1, rect.y1)


def disc(x_mm: float, y_mm: float, radius_mm: float) -> BaseGeometry:
    """A disc as a fine polygon."""
    return shapely.Point(x_mm, y_mm).buffer(radius_mm, quad_segs=64)


def core_shape(outline: Outline) -> BaseGeometry:
    """The held cells' outline as a fine polygon."""
    shape = shapely.Polygon(outline_points_mm(outline, CHORD_RAD))
    return shape if shape.is_valid else shape.buffer(0)


def boss_shape(boss: Boss) -> BaseGeometry:
    """A column with its web."""
    column = disc(boss.x_mm, boss.y_mm, boss.radius_mm)
    return column if boss.web is None else column.union(box(boss.web))


def standing_shape(design: EnclosureDesign) -> BaseGeometry:
    """Everything of the tub that stands beside the core's way down: walls, columns, guides."""
    walls = box(design.outer).difference(box(design.cavity))
    return shapely.union_all(
        [walls, *(boss_shape(b) for b in design.bosses), *(box(g) for g in design.bay.guides)]
    )


def shifted(shapes: BaseGeometry, dx: float, dy: float) -> BaseGeometry:
    """The shape moved in the plan."""
    return shapely.transform(shapes, lambda xy: xy + (dx, dy))
