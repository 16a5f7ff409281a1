"""Seams of tub and lid and the straps that join their pieces: every number, in pack coordinates."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.parts.shell import Rect

__all__ = [
    "NO_CUTS",
    "NO_SPLICES",
    "NUT_POCKET_MM",
    "BedSeam",
    "PartCuts",
    "Splices",
    "Strap",
    "StrapScrew",
    "strip_of",
]  # fmt: skip

FAR_MM = 1e4  # beyond any pack
NUT_POCKET_MM = 5.8  # across flats, for a nut of 5.5


@dataclass(frozen=True, kw_only=True, slots=True)
class BedSeam:
    """A straight seam right across tub or lid. ``axis``: which it is square to (0: x, 1: y), at
    ``at_mm`` along it."""

    axis: int
    at_mm: float

    @property
    def told(self) -> str:
        """Where it lies, in words."""
        return f"{'xy'[self.axis]} = {self.at_mm:.1f}"


@dataclass(frozen=True, kw_only=True, slots=True)
class StrapScrew:
    """A screw through strap and floor (lid). ``behind``: on the far side of the seam."""

    x_mm: float
    y_mm: float
    behind: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Strap:
    """A flat strap outside across a seam, screwed to the pieces on both sides.

    ``plan``: its outline. ``thick_mm`` at most under its screws' heads ``under_head_mm``, which lie
    in recesses. ``screw_long_mm`` below the head; ``nut_deep_mm``: pockets of the nuts in floor or
    lid, from inside. ``widest_mm``: between two screws of a row, or from the seam's end to the
    first."""

    seam: BedSeam
    plan: Rect
    thick_mm: float
    under_head_mm: float
    screw_long_mm: float
    nut_deep_mm: float
    screws: tuple[StrapScrew, ...]

    @property
    def long_mm(self) -> float:
        """Along the seam."""
        return self.plan.size_mm[1 - self.seam.axis]

    def row_mm(self, *, behind: bool) -> tuple[float, ...]:
        """Places of one row's screws along the seam, rising."""
        return tuple(
            sorted(
                (one.x_mm, one.y_mm)[1 - self.seam.axis]
                for one in self.screws
                if one.behind is behind
            )
        )

    @property
    def widest_mm(self) -> float:
        """Of both rows, the longest stretch that one screw carries: half-way to its neighbours, or
        to the strap's end."""
        low, high = self.plan.bounds[1 - self.seam.axis], self.plan.bounds[3 - self.seam.axis]
        widest = 0.0
        for behind in (False, True):
            row = self.row_mm(behind=behind)
            if not row:
                return high - low
            edges = [low, *((a + b) / 2 for a, b in zip(row, row[1:], strict=False)), high]
            widest = max(widest, *(b - a for a, b in zip(edges, edges[1:], strict=False)))
        return widest


@dataclass(frozen=True, kw_only=True, slots=True)
class PartCuts:
    """How tub or lid is cut: its seams, and the straps across them.

    ``over_mm``: by how much the whole part is larger than the bed, 0 where it fits; ``why``: why no
    seams were found, empty where they were or none is needed. ``loose``: why no straps hold the
    pieces, ``loose_remedy``: what would."""

    seams: tuple[BedSeam, ...] = ()
    straps: tuple[Strap, ...] = ()
    over_mm: float = 0.0
    why: str = ""
    loose: str = ""
    loose_remedy: str = ""


NO_CUTS = PartCuts()


@dataclass(frozen=True, kw_only=True, slots=True)
class Splices:
    """Cuts of tub and lid. ``screw``: thread of the straps' screws; ``layer_mm``: of the
    printer, for the laps."""

    tub: PartCuts = NO_CUTS
    lid: PartCuts = NO_CUTS
    screw: str = "M3"
    layer_mm: float = 0.2

    @property
    def straps(self) -> tuple[Strap, ...]:
        """Those beneath the tub and those on the lid."""
        return (*self.tub.straps, *self.lid.straps)


NO_SPLICES = Splices()


def strip_of(axis: int, low_mm: float, high_mm: float) -> BaseGeometry:
    """Everything between two places along an axis."""
    if axis == 0:
        return shapely.box(low_mm, -FAR_MM, high_mm, FAR_MM)
    return shapely.box(-FAR_MM, low_mm, FAR_MM, high_mm)
