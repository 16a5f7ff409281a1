"""The outside of a planned pack from its drawings: nothing is meshed to measure it.

Every piece is a convex figure of the plan between two heights. Rounded corners of the walls
count as sharp and rounds as polygons round them, so no corner of a finished part's mesh lies
outside of the pieces. They stand out by at most ``OVER_MM`` in the plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.parts.convex import ConvexPiece
from layouts.parts.drawing import placed_box_mm
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.parts.shell import Shell, ring_of

__all__ = ["OVER_MM", "OutsidePiece", "outside_pieces", "outside_points"]

# a sharp corner stands out over the round of the widest wall met, (sqrt(2) - 1) x (10 + 0.5)
OVER_MM = 4.4
LEVEL = 0.99  # of a unit axis: what a drawing builds upwards then stands upright in the pack


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class OutsidePiece:
    """``corners_mm`` (n, 2) of a convex figure, counter-clockwise, from ``z0_mm`` to ``z1_mm``."""

    name: str
    corners_mm: NDArray[np.float64]
    z0_mm: float
    z1_mm: float


def outside_pieces(
    shell: Shell, parts: Iterable[Part], placed: Iterable[PlacedScrew]
) -> tuple[OutsidePiece, ...]:
    """Shell, parts and the heads of screws that stand upright, in the pack's coordinates.

    A part that lies on its side counts as its box.
    """
    walls = shell.outer if shell.outer.equals(shell.outer.convex_hull) else None
    pieces = [] if walls is None else [_walls(shell)]
    for part in parts:
        for matrix in part.placed:
            if abs(matrix[2, 2]) > LEVEL:
                found = part.drawing.convex_pieces(matrix)
                pieces += [_piece(part.name, one) for one in found]
            else:
                pieces.append(_boxed(part, matrix))
    for screw in placed:
        if screw.head_up:
            pieces += [_piece("screw head", one) for one in screw.head()]
    return tuple(pieces)


def outside_points(pieces: Sequence[OutsidePiece]) -> NDArray[np.float64]:
    """(n, 3) corners of all pieces."""
    return np.vstack(
        [
            np.column_stack([piece.corners_mm, np.full(len(piece.corners_mm), z)])
            for piece in pieces
            for z in (piece.z0_mm, piece.z1_mm)
        ]
    )


def _walls(shell: Shell) -> OutsidePiece:
    ring = np.array(ring_of(shell.outer))
    return OutsidePiece(name="walls", corners_mm=ring, z0_mm=shell.z_under_mm, z1_mm=shell.z_lid_mm)


def _piece(name: str, one: ConvexPiece) -> OutsidePiece:
    """An upright prism as a figure of the plan."""
    z = one.vertices_mm[:, 2]
    hull = shapely.MultiPoint(one.vertices_mm[:, :2]).convex_hull
    ring = shapely.get_coordinates(shapely.orient_polygons(hull).exterior)[:-1]
    return OutsidePiece(name=name, corners_mm=ring, z0_mm=float(z.min()), z1_mm=float(z.max()))


def _boxed(part: Part, matrix: NDArray[np.float64]) -> OutsidePiece:
    (x0, y0, z0), (x1, y1, z1) = placed_box_mm(part.drawing.box_mm(), matrix).tolist()
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    return OutsidePiece(name=part.name, corners_mm=corners, z0_mm=z0, z1_mm=z1)
