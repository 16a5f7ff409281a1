"""Pictures of how thick the walls of each part are."""

from __future__ import annotations

from generators.drawings.wall_thickness import wall_thickness
from generators.report.values import Figure
from layouts.printable.judging import Printability
from layouts.printable.walls import WallMap

__all__ = ["wall_figures"]


def wall_figures(printability: Printability) -> tuple[Figure, ...]:
    """One of each part."""
    return tuple(
        Figure(
            svg=wall_thickness(one),
            caption=_caption(one, printability.bed_mm2[one.part]),
            tinted=True,
        )
        for one in printability.walls
    )


def _caption(walls: WallMap, bed_mm2: float) -> str:
    k = walls.thinnest
    thinnest = "no wall under 6 mm" if k is None else f"thinnest {walls.thickness_mm[k]:.2f} mm"
    return (
        f"{walls.part}, all heights from above: {thinnest}, {walls.limit_mm:g} or more is printed "
        f"in whole lines. Corners are left out. On the bed: {bed_mm2 / 100:.1f} cm2."
    )
