"""A screw in its place, told once: bill, clearances, dummy and drilling plan follow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.formats import Screw, screws
from layouts.parts.fasteners import Into

__all__ = ["PlacedScrew"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlacedScrew:
    """``at_mm`` (3,): on the face that head or washer lies on; ``out`` (3,): unit, to the head.

    ``through_mm``: what it passes before its thread, washer not counted. ``on``: number of the
    part that carries it, from 1.
    """

    where: str
    screw: str
    at_mm: NDArray[np.float64]
    out: NDArray[np.float64]
    through_mm: float
    into: Into
    washer: bool
    on: int = 1

    @property
    def size(self) -> Screw:
        """Its row in the table of screws."""
        return screws()[self.screw]

    @property
    def lift_mm(self) -> float:
        """From the face to the head's underside."""
        return self.size.washer_high_mm if self.washer else 0.0

    def point(self, out_mm: float) -> list[float]:
        """A point of its axis, so far outside of the face."""
        there: list[float] = (self.at_mm + out_mm * self.out).tolist()
        return there
