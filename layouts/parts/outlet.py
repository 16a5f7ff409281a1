"""A cable outlet in its place, with the bend of its wire."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.parts.convex import ConvexPiece, bar, bend
from layouts.parts.glands import GLANDS, GlandSize, gland_for

__all__ = [
    "BENDS", "BEND_RATIO", "GLANDS", "CableOutlet", "GlandSize", "bends_across", "gland_for",
]  # fmt: skip

BEND_RATIO = 4.0  # bend radius of a wire, in outside diameters; common practice, no source
# Directions in which the leads may bend behind their glands, in the pack's coordinates
BENDS = {
    "+z": (0.0, 0.0, 1.0),
    "-z": (0.0, 0.0, -1.0),
    "+y": (0.0, 1.0, 0.0),
    "-y": (0.0, -1.0, 0.0),
    "+x": (1.0, 0.0, 0.0),
    "-x": (-1.0, 0.0, 0.0),
}
ACROSS = 1e-6  # of a unit direction along another


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CableOutlet:
    """A cable gland in its place, in the pack's coordinates.

    ``at_mm`` (3,): its axis in the wall's outer face; ``out`` (3,): unit, away from the wall.
    ``wall_mm``: the wall that its hole goes through. ``wire_mm``: outside diameter of its wire.
    """

    gland: GlandSize
    purpose: str
    at_mm: NDArray[np.float64]
    out: NDArray[np.float64]
    wall_mm: float
    wire_mm: float

    @property
    def bend_radius_mm(self) -> float:
        """Radius of the wire's bend on its inner side, as cable makers state it (from memory)."""
        return BEND_RATIO * self.wire_mm

    @property
    def bend_middle_radius_mm(self) -> float:
        """Radius of the bend to the middle of the wire."""
        return self.bend_radius_mm + self.wire_mm / 2

    @property
    def reach_mm(self) -> float:
        """How far before the wall the wire needs space."""
        return self.gland.long_mm + self.bend_middle_radius_mm + self.wire_mm / 2

    def pieces(self, towards: tuple[float, float, float]) -> Iterator[ConvexPiece]:
        """The gland with its cap, then its wire turned by a quarter right behind it."""
        end = (self.at_mm + self.gland.long_mm * self.out).tolist()
        yield bar(self.at_mm.tolist(), end, self.gland.keep_radius_mm)
        yield from bend(
            end,
            self.out.tolist(),
            towards,
            wire_mm=self.wire_mm,
            inside_mm=self.bend_radius_mm,
        )


def bends_across(outlets: Sequence[CableOutlet]) -> tuple[str, ...]:
    """Those of ``BENDS`` in which the wires of all outlets can turn: across their glands."""
    return tuple(
        name
        for name, way in BENDS.items()
        if all(abs(float(one.out @ np.array(way))) < ACROSS for one in outlets)
    )
