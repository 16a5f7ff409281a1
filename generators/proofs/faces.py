"""Both faces of the held cells as proofs look at them: heights, holders, where can ends may be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray

from generators.proofs.together import PlacedMesh
from layouts.pack import Face, Pack

__all__ = ["FaceFrame", "can_end_range_mm", "frame_of", "grown_mm", "holders_of", "rings_mm"]


@dataclass(frozen=True, kw_only=True, slots=True)
class FaceFrame:
    """Depths behind a face's lip plane, towards the cells, as heights in pack coordinates."""

    face: Face
    lip_to_lip_mm: float

    def z_mm(self, depth_mm: float) -> float:
        """Height of a depth; negative depths lie in the lip and outside of it."""
        return depth_mm if self.face is Face.LOWER else self.lip_to_lip_mm - depth_mm

    def span_mm(self, from_mm: float, to_mm: float) -> tuple[float, float]:
        """Lower and upper height between two depths."""
        low, high = sorted((self.z_mm(from_mm), self.z_mm(to_mm)))
        return low, high

    def prism(
        self, ring_mm: NDArray[np.float64], from_mm: float, to_mm: float
    ) -> manifold3d.Manifold:
        """A prism over a ring (n, 2), counter-clockwise, between two depths."""
        low, high = self.span_mm(from_mm, to_mm)
        section = manifold3d.CrossSection([ring_mm])
        return manifold3d.Manifold.extrude(section, high - low).translate([0.0, 0.0, low])


def frame_of(pack: Pack, face: Face) -> FaceFrame:
    """A face of a pack."""
    return FaceFrame(face=face, lip_to_lip_mm=pack.lip_to_lip_mm)


def holders_of(parts: Sequence[PlacedMesh], face: Face) -> list[PlacedMesh]:
    """The printed pieces of one face's holder."""
    return [part for part in parts if part.role == f"holder_{face.value}"]


def can_end_range_mm(pack: Pack) -> tuple[float, float]:
    """Least and greatest depth of a can's end behind the lip plane.

    Least: a positive end sunk into its seat as far as the ring leaves; greatest: the longest can
    pushed to the other holder, its other end sunk into the seat there.
    """
    sunk = max(pack.holder.seat_mm - pack.holder.ring_mm, 0.0)
    return -sunk, pack.lip_to_lip_mm - pack.cell.length_mm + sunk


def grown_mm(outline_mm: NDArray[np.float64], by_mm: float) -> NDArray[np.float64]:
    """(n, 2) ring of an outline grown on all sides, corners kept sharp."""
    (ring,) = rings_mm(outline_mm, by_mm)
    return ring


def rings_mm(outline_mm: NDArray[np.float64], by_mm: float) -> tuple[NDArray[np.float64], ...]:
    """The same of an outline that may shrink: each part that it falls into, none where it goes."""
    grown = shapely.Polygon(outline_mm).buffer(by_mm, join_style="mitre", mitre_limit=10.0)
    return tuple(
        np.asarray(shapely.orient_polygons(part).exterior.coords[:-1], dtype=np.float64)
        for part in shapely.get_parts(grown)
        if not part.is_empty
    )
