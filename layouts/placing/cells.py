"""Cells while a placement is built up, and what they are placed in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.pack import Lattice
from layouts.placing.basis import seated, site_numbers
from layouts.placing.region import Region
from layouts.placing.search import Seat
from layouts.placing.values import Placement

__all__ = ["Cells", "Field", "of_placement", "of_seat"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Field:
    """Where cells may lie, how far apart, on which lattice."""

    region: Region
    pitch_mm: float
    lattice: Lattice


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Cells:
    """Centres (n, 2), their sites or None, their angle, and how they were found."""

    xy_mm: NDArray[np.float64]
    sites: NDArray[np.int64] | None
    angle_deg: float
    method: str

    @property
    def count(self) -> int:
        """Number of cells."""
        return len(self.xy_mm)

    def some(self, chosen: NDArray[np.int64]) -> Cells:
        """These of the cells only."""
        return Cells(
            xy_mm=self.xy_mm[chosen],
            sites=None if self.sites is None else self.sites[chosen],
            angle_deg=self.angle_deg,
            method=self.method,
        )


def of_seat(field: Field, seat: Seat) -> Cells:
    """All cells of a lattice at a seat."""
    xy, numbers = seated(
        field.region,
        field.lattice,
        pitch_mm=field.pitch_mm,
        offset=seat.offset,
        angle_deg=seat.angle_deg,
    )
    return Cells(
        xy_mm=xy,
        sites=site_numbers(numbers, field.lattice),
        angle_deg=seat.angle_deg,
        method="lattice",
    )


def of_placement(placement: Placement) -> Cells:
    """The cells of a placement made before."""
    return Cells(
        xy_mm=placement.xy_mm,
        sites=placement.sites,
        angle_deg=placement.angle_deg,
        method=placement.method,
    )
