"""Plan figures of tub and lid as shapely shapes, for gaps and collisions."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.box.sizes import Boss, EnclosureDesign
from layouts.parts.shell import box, disc


def boss_shape(boss: Boss) -> BaseGeometry:
    """A boss with its web."""
    column = disc(boss.x_mm, boss.y_mm, boss.radius_mm)
    return column if boss.web is None else column.union(box(boss.web))


def standing_shape(design: EnclosureDesign) -> BaseGeometry:
    """Everything beside the cell block's insertion path: walls, bosses, guides."""
    walls = box(design.outer).difference(box(design.cavity))
    return shapely.union_all(
        [walls, *(boss_shape(b) for b in design.bosses), *(box(g) for g in design.bay.guides)]
    )
