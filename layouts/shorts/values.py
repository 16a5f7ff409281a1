"""What the short check finds: the worst place of each kind, and what is allowed for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.pack import Face

__all__ = [
    "PRINT_MM",
    "RIM_LEAST_MM",
    "RING_LEAST_MM",
    "WELD_PLACING_MM",
    "Kind",
    "ShortReport",
    "Spot",
    "can_shape",
]

# All of these are common practice, no source
WELD_PLACING_MM = 0.2  # a strip is bent or pushed so far while it is welded, beyond its play
PRINT_MM = 0.2  # a printed edge lies so far off its drawing, the first layer's bulge counted
RING_LEAST_MM = 0.2  # thinnest insulating ring that does not tear when the strip is pressed on
RIM_LEAST_MM = 1.2  # a ring reaches at least so far in over the can's rolled edge


class Kind(Enum):
    """What is checked where two potentials come close to each other."""

    STRIPS = "strips"  # strip to strip, through air
    CANS = "cans"  # strip to the can or the end of another potential, through air
    METAL = "metal"  # strip or can end to a screw, nut or insert, through air
    SURFACE = "surface"  # the same and can end to can end, along the plastic
    RING = "ring"  # the insulating ring under a strip that crosses its own can's rim
    JOIN = "join"  # a strip that lies over cells of two potentials
    LINK = "link"  # cells that no strip joins


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Spot:
    """One place in the plan, tolerances at their worst.

    ``parts``: what meets there. ``volts`` between them; ``gap_mm``: the actual distance,
    ``need_mm``: the required one, None where the table ends below that voltage. ``shapes``: both
    parts in the plan, grown by all that they may lie off. ``ends_mm`` (2, 2): where
    the gap begins and ends, pack coordinates. ``face``: the one it lies at."""

    kind: Kind
    face: Face
    parts: tuple[str, str]
    volts: float
    gap_mm: float
    need_mm: float | None
    shapes: tuple[BaseGeometry, BaseGeometry]
    ends_mm: NDArray[np.float64]

    @property
    def margin_mm(self) -> float:
        """What is left over the need; minus infinity where the table ends."""
        return -np.inf if self.need_mm is None else self.gap_mm - self.need_mm


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ShortReport:
    """The worst place of each measured kind, and every wrong or missing join.

    ``strips``, ``cans``, ``metal``, ``surface``: None where nothing of that kind lies within
    reach of another potential. ``ring``: the rings' thickness where it is the nearest to its
    limit, else how far they reach over the rim. ``wrong_joins``, ``missing_links``: empty in a
    sound pack; the latter say in words what is loose. ``pollution_degree`` by IEC 60664-1.
    """

    pollution_degree: int
    floor_mm: float
    strips: Spot | None
    cans: Spot | None
    metal: Spot | None
    surface: Spot | None
    ring: Spot
    wrong_joins: tuple[Spot, ...] = ()
    missing_links: tuple[Spot, ...] = ()


def can_shape(middle: NDArray[np.float64], radius_mm: float) -> BaseGeometry:
    """A can in the plan, for a picture: a polygon of 64 corners."""
    return shapely.Point(middle).buffer(radius_mm, quad_segs=16)
