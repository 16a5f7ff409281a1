"""A part whose shape is given, not drawn: its mesh, its solid and convex pieces that hold it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.parts.convex import ConvexPiece, moved_piece
from layouts.parts.drawing import Box
from layouts.slabs.bore import Bore

__all__ = ["GivenShape"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class GivenShape:
    """A shape in print orientation, lowest point on z = 0; read like a ``Drawing``.

    ``vertices_mm`` (n, 3), ``faces`` (m, 3), seen from outside ccw: its closed mesh, no chord
    farther than ``CHORD_MM`` from its surface. ``solid``: the exact solid, in the CAD kernel's own
    file format; ``solid_mm3``: its volume; ``curved_mm2``: area of its faces that are not flat.
    ``pieces``: convex, together they hold the mesh. ``bores``: its screw holes, already cut.
    """

    vertices_mm: NDArray[np.float64]
    faces: NDArray[np.int64]
    solid: bytes
    solid_mm3: float
    curved_mm2: float
    pieces: tuple[ConvexPiece, ...]
    bores: tuple[Bore, ...] = ()

    def volume_mm3(self) -> float:
        """Volume of the exact solid [mm3]."""
        return self.solid_mm3

    def box_mm(self) -> Box:
        """Least and greatest corner of the mesh, at most ``CHORD_MM`` inside the solid's."""
        low, high = self.vertices_mm.min(axis=0), self.vertices_mm.max(axis=0)
        return (
            (float(low[0]), float(low[1]), float(low[2])),
            (float(high[0]), float(high[1]), float(high[2])),
        )

    def convex_pieces(self, matrix: NDArray[np.float64]) -> tuple[ConvexPiece, ...]:
        """Convex pieces that hold all of the mesh, put in place by a (4, 4) matrix."""
        return tuple(moved_piece(piece, matrix) for piece in self.pieces)
