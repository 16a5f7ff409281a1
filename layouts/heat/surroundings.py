"""What is round an enclosure: a closed bay's still air and walls, what it lies on, the sun.

The walls of a bay are taken as sheet metal of one temperature in free air outside: they resist
nothing themselves. Their size counts, not what stands on them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from layouts.errors import PlanError
from layouts.heat.convection import air, narrow_radiation_w_m2k
from layouts.heat.model import LEAST_GAP_MM, STILL_AIR_W_M2K, Case
from layouts.heat.paths import gap_w_m2k
from layouts.pack import Bay, Cooling, Sun
from layouts.spaces.space import Prism, Space

__all__ = ["SUN_W_M2", "BayWalls", "bay_walls", "in_bay", "in_bay_alone", "in_sun"]

SUN_W_M2 = 1000.0  # global irradiance of standard test conditions, IEC 60904-3; from memory
# share of the sun's heat taken up: aged white paint or bright metal, and black; from memory
ABSORBED_RATIO = {Sun.NONE: 0.0, Sun.LIGHT: 0.4, Sun.DARK: 0.95}


@dataclass(frozen=True, kw_only=True, slots=True)
class BayWalls:
    """The walls of a closed bay: its floor's area and perimeter, its height."""

    floor_mm2: float
    round_mm: float
    high_mm: float

    @property
    def side_mm2(self) -> float:
        """All its upright walls."""
        return self.round_mm * self.high_mm


def bay_walls(cooling: Cooling, space: Space | None) -> BayWalls | None:
    """The closed bay's walls by the space's outline, a mesh's by its box; None for an open bay.

    Raises PlanError where a closed bay has no walls: no space, or a mesh of the surroundings.
    """
    if cooling.bay is Bay.OPEN:
        return None
    if space is None or space.room is None:
        raise PlanError(
            field="cooling.bay",
            value="closed",
            why="needs the walls of the bay, and the file gives no space with walls",
            remedy="give space.box_mm or space.outline_mm, or write open",
        )
    long_mm, wide_mm, high_mm = space.box_mm
    if isinstance(space.room, Prism):
        floor = shapely.Polygon(space.room.outline_mm)
        return BayWalls(floor_mm2=floor.area, round_mm=floor.length, high_mm=high_mm)
    return BayWalls(
        floor_mm2=long_mm * wide_mm, round_mm=2.0 * (long_mm + wide_mm), high_mm=high_mm
    )


def in_bay(case: Case, bay: BayWalls, *, ambient_c: float) -> Case:
    """An enclosure on the floor of a closed bay: the air between them, then the bay's walls.

    The gap at the sides is the same all round, the rest of the height is above. A face that passes
    no heat (its area is 0) passes none to the bay either.
    """
    perimeter = case.side_mm2 / case.high_mm
    plan_mm2 = case.top_mm2
    gaps_mm = (
        (bay.floor_mm2 - plan_mm2) / ((bay.round_mm + perimeter) / 2.0),
        bay.high_mm - case.high_mm,
        LEAST_GAP_MM,
    )
    films = gap_w_m2k(
        np.maximum(np.array(gaps_mm), LEAST_GAP_MM),
        air_w_mk=air(ambient_c).conductivity_w_mk,
        radiation_w_m2k=narrow_radiation_w_m2k(ambient_c),
    )
    areas = np.array([case.side_mm2, case.top_mm2, case.bottom_mm2])
    across_w_k = float(films @ areas) * 1e-6
    return replace(
        _outside_of(bay, below_free=case.bottom_mm2 > 0),
        wall_w_k=1.0 / (1.0 / case.wall_w_k + 1.0 / across_w_k),
        heat_j_k=case.heat_j_k,
    )


def in_bay_alone(bay: BayWalls, *, below_free: bool) -> Case:
    """Held cells without an enclosure of their own: the bay is their case, its air still inside."""
    outside = _outside_of(bay, below_free=below_free)
    free_mm2 = outside.side_mm2 + outside.top_mm2 + outside.bottom_mm2
    return replace(outside, wall_w_k=STILL_AIR_W_M2K * free_mm2 * 1e-6)


def in_sun(case: Case, sun: Sun) -> Case:
    """The same with the sun on the face that looks up."""
    return replace(case, sun_w=ABSORBED_RATIO[sun] * SUN_W_M2 * case.top_mm2 * 1e-6)


def _outside_of(bay: BayWalls, *, below_free: bool) -> Case:
    """The bay's walls in free air; what lies within them is still to be filled in."""
    return Case(
        side_mm2=bay.side_mm2,
        top_mm2=bay.floor_mm2,
        bottom_mm2=bay.floor_mm2 if below_free else 0.0,
        high_mm=bay.high_mm,
        plate_mm=bay.floor_mm2 / bay.round_mm,
        wall_w_k=np.inf,
        heat_j_k=0.0,
    )
