"""Cells while a placement is built up, and what they are placed in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.pack import Lattice
from layouts.placing.basis import seated, site_numbers
from layouts.placing.region import Region
from layouts.placing.search import LatticePosition
from layouts.placing.values import PlacedCentres

__all__ = ["CellCentres", "PackingArea", "of_placed_centres", "of_seat"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PackingArea:
    """Where cells may lie, how far apart, on which lattice."""

    region: Region
    pitch_mm: float
    lattice: Lattice


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CellCentres:
    """Centres (n, 2), their sites or None, their angle, and how they were found."""

    xy_mm: NDArray[np.float64]
    sites: NDArray[np.int64] | None
    angle_deg: float
    method: str

    @property
    def count(self) -> int:
        """Number of cells."""
        return len(self.xy_mm)

    def some(self, chosen: NDArray[np.int64]) -> CellCentres:
        """These of the cells only."""
        return CellCentres(
            xy_mm=self.xy_mm[chosen],
            sites=None if self.sites is None else self.sites[chosen],
            angle_deg=self.angle_deg,
            method=self.method,
        )


def of_seat(area: PackingArea, seat: LatticePosition) -> CellCentres:
    """All cells of a lattice at a seat."""
    xy, numbers = seated(
        area.region,
        area.lattice,
        pitch_mm=area.pitch_mm,
        offset=seat.offset,
        angle_deg=seat.angle_deg,
    )
    return CellCentres(
        xy_mm=xy,
        sites=site_numbers(numbers, area.lattice),
        angle_deg=seat.angle_deg,
        method="lattice",
    )


def of_placed_centres(placed_centres: PlacedCentres) -> CellCentres:
    """The cells of a placement made before."""
    return CellCentres(
        xy_mm=placed_centres.xy_mm,
        sites=placed_centres.sites,
        angle_deg=placed_centres.angle_deg,
        method=placed_centres.method,
    )
