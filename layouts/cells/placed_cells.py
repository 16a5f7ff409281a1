"""Cells placed in the outline of a space, as a value."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.grouping.values import Grouping
from layouts.placing.basis import rotation

__all__ = ["PlacedCells"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlacedCells:
    """Cells in a space's plan, ordered by group, then row, then column.

    ``xy_mm`` (N, 2): centres in pack coordinates, origin at their box's centre; ``sites`` (N, 2),
    None off a lattice; ``group`` (N,) 1 to S; ``neighbours`` (M, 2). ``turn_deg``, ``origin_mm``:
    the pack's x axis and origin in the space; ``web_mm``: plastic between two pockets, more than
    required where distant groups touch. ``most``: cells that would go in at that pitch, ``bound``
    more can't by ``bound_name``; ``decks``: how many such layers the space's height takes;
    ``cavity``: the free plan, in the space."""

    xy_mm: NDArray[np.float64]
    sites: NDArray[np.int64] | None
    group: NDArray[np.int64]
    neighbours: NDArray[np.int64]
    turn_deg: float
    origin_mm: tuple[float, float, float]
    web_mm: float
    most: int
    bound: int
    bound_name: str
    method: str
    decks: int
    grouping: Grouping
    cavity: shapely.Polygon | shapely.MultiPolygon

    @property
    def pose(self) -> NDArray[np.float64]:
        """(4, 4) from the pack's coordinates to the space's."""
        made = np.eye(4)
        made[:2, :2] = rotation(self.turn_deg)
        made[:3, 3] = self.origin_mm
        return made

    def to_pack(self, plan_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """(n, 2) points of the space's plan in the pack's."""
        moved: NDArray[np.float64] = (plan_mm - self.origin_mm[:2]) @ rotation(self.turn_deg)
        return moved
