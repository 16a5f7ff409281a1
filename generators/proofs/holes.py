"""Round holes measured on placed meshes: their diameter, their depth and the faces round them.

Rays are cast from a hole's axis outwards and along it; nothing of a drawing is read.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.proofs.solids import first_hit_mm

__all__ = ["BEARS_MM", "HOLE_OFF_MM", "HoleAxis", "flat_share", "hole_radii_mm", "off_table_mm"]

# Chords stand off a hole's circle by less than this; a printer is far coarser.
HOLE_OFF_MM = 0.05  # on the diameter
BEARS_MM = 0.02  # a face nearer to its place than this is there
ANGLES = 24
FIRST_RAD = 0.0137  # off the corners of any polygon, which lie at whole parts of a turn
FAR_MM = 60.0  # a hole wider than this is none
END_MM = 0.15  # a hole is not measured nearer to its ends than this

Solids = Sequence[manifold3d.Manifold]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class HoleAxis:
    """A hole's axis: ``at_mm`` (3,) where it begins, ``into`` (3,) unit, into the material."""

    at_mm: NDArray[np.float64]
    into: NDArray[np.float64]

    def point(self, deep_mm: float) -> NDArray[np.float64]:
        """The point so deep on the axis; negative before its beginning."""
        return self.at_mm + deep_mm * self.into

    def spokes(self, count: int = ANGLES) -> NDArray[np.float64]:
        """(count, 3) unit vectors square to the axis, evenly all round."""
        other = np.eye(3)[int(np.argmin(np.abs(self.into)))]
        first = np.cross(other, self.into)
        first /= np.linalg.norm(first)
        second = np.cross(self.into, first)
        angle = FIRST_RAD + math.tau * np.arange(count) / count
        spokes = np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * second
        return np.asarray(spokes, dtype=np.float64)

    def depths_mm(
        self, solids: Solids, radius_mm: float, *, from_mm: float, to_mm: float
    ) -> NDArray[np.float64]:
        """(ANGLES,) depths of the first face met beside the axis, at a radius all round it.

        Rays begin ``from_mm`` deep; infinite where none is met before ``to_mm``.
        """
        return np.array(
            [
                from_mm
                + first_hit_mm(
                    solids,
                    self.point(from_mm) + radius_mm * spoke,
                    self.point(to_mm) + radius_mm * spoke,
                )
                for spoke in self.spokes()
            ]
        )


def hole_radii_mm(
    solids: Solids, axis: HoleAxis, from_mm: float, to_mm: float, *, levels: int = 4
) -> NDArray[np.float64]:
    """(levels, ANGLES) distances from the axis to the hole's wall between two depths.

    0 where there is material on the axis, infinite where there is no wall.
    """
    end = min(END_MM, (to_mm - from_mm) / 4)
    spokes = axis.spokes()
    return np.array(
        [
            [first_hit_mm(solids, axis.point(d), axis.point(d) + FAR_MM * s) for s in spokes]
            for d in np.linspace(from_mm + end, to_mm - end, levels)
        ]
    )


def off_table_mm(radii_mm: NDArray[np.float64], diameter_mm: float) -> float:
    """How far a hole is off its diameter at the worst place, too narrow, too wide or aside [mm]."""
    return float(np.abs(2.0 * radii_mm - diameter_mm).max())


def flat_share(
    solids: Solids, axis: HoleAxis, inner_mm: float, outer_mm: float, *, free_mm: float
) -> tuple[float, float]:
    """What lies round a hole's mouth between two diameters, seen from ``free_mm`` before it.

    First the share of that ring that meets a face at the mouth itself; then the height [mm] above
    the mouth's plane up to which something else stands in the way, 0 for nothing.
    """
    radii = np.linspace(inner_mm / 2, outer_mm / 2, 3)
    depths = np.concatenate(
        [axis.depths_mm(solids, r, from_mm=-free_mm, to_mm=FAR_MM) for r in radii]
    )
    flat = float((np.abs(depths) <= BEARS_MM).mean())
    above = float(max(-depths.min(), 0.0))
    return flat, above if above > BEARS_MM else 0.0
