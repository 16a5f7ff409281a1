"""The outside of a planned pack from its numbers alone: nothing is made to measure it.

Every piece is a convex figure of the plan between two heights. Rounded corners count as
sharp and discs as polygons round them, so no corner of a finished part's mesh lies outside
of the pieces. They stand out by at most ``OVER_MM`` in the plan, ``CHORD_MM`` along x and y.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.kind import Bracket
from layouts.enclosures.box.sizes import EnclosureDesign, Rect
from layouts.formats import screws
from layouts.parts.part import Part

__all__ = ["CHORD_MM", "OVER_MM", "Piece", "outside_pieces", "outside_points"]

DISC_CORNERS = 48  # a polygon round a disc of 4.5 mm stands out by 0.01 mm
CHORD_MM = 0.02  # meshes keep an arc's area, so their corners stand out by up to this
# a sharp corner stands out over the round of the widest wall met, (sqrt(2) - 1) x (10 + 0.5)
OVER_MM = 4.4


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Piece:
    """``corners_mm`` (n, 2) of a convex figure, counter-clockwise, from ``z0_mm`` to ``z1_mm``."""

    name: str
    corners_mm: NDArray[np.float64]
    z0_mm: float
    z1_mm: float


def outside_pieces(enclosure: EnclosureDesign, bracket: Bracket) -> tuple[Piece, ...]:
    """Tub, lid, the heads of the lid's screws and brackets, in the pack's coordinates."""
    under, rim, top = enclosure.z_under_mm, enclosure.z_rim_mm, enclosure.z_lid_mm
    head = screws()[enclosure.lid_screw]
    pieces = [Piece(name="walls", corners_mm=_rect(enclosure.outer), z0_mm=under, z1_mm=top)]
    for boss in enclosure.bosses:
        disc = _disc(boss.x_mm, boss.y_mm, boss.radius_mm)
        pieces.append(Piece(name="column", corners_mm=disc, z0_mm=under, z1_mm=top))
        if boss.screw:
            disc = _disc(boss.x_mm, boss.y_mm, head.head_mm / 2)
            high = top + head.head_high_mm
            pieces.append(Piece(name="screw head", corners_mm=disc, z0_mm=top, z1_mm=high))
    for lug in enclosure.lugs:
        low, high = lug.underside_mm, lug.underside_mm + lug.high_mm
        corners = _rect(enclosure.lug_rect(lug))
        pieces.append(Piece(name="lug", corners_mm=corners, z0_mm=low, z1_mm=high))
    low = rim - enclosure.skirt_deep_mm
    pieces += [
        Piece(name="skirt", corners_mm=_rect(shelf), z0_mm=low, z1_mm=top)
        for shelf in enclosure.shelves
    ]
    for ear in enclosure.tub_cut.ears:
        corners = _rect(ear.rect)
        pieces.append(Piece(name="ear", corners_mm=corners, z0_mm=ear.z0_mm, z1_mm=ear.z1_mm))
    for ear in enclosure.lid_cut.ears:
        for rect in (ear.rect, ear.plate):
            corners = _rect(rect)
            pieces.append(Piece(name="ear", corners_mm=corners, z0_mm=ear.z0_mm, z1_mm=top))
    pieces += [piece for part in bracket.parts for piece in _of_part(part)]
    return tuple(pieces)


def outside_points(pieces: Sequence[Piece]) -> NDArray[np.float64]:
    """(n, 3) corners of all pieces."""
    return np.vstack(
        [
            np.column_stack([piece.corners_mm, np.full(len(piece.corners_mm), z)])
            for piece in pieces
            for z in (piece.z0_mm, piece.z1_mm)
        ]
    )


def _of_part(part: Part) -> list[Piece]:
    """A part's box, as each copy stands: what its drawing reaches."""
    low, high = np.array(part.drawing.box_mm())
    corners = np.array([(x, y, z, 1.0) for x in (low[0], high[0]) for y in (low[1], high[1])
                        for z in (low[2], high[2])])  # fmt: skip
    pieces = []
    for matrix in part.placed:
        placed = (corners @ matrix.T)[:, :3]
        (x0, y0, z0), (x1, y1, z1) = placed.min(axis=0), placed.max(axis=0)
        rect = Rect(x0=x0, y0=y0, x1=x1, y1=y1)
        pieces.append(Piece(name=part.name, corners_mm=_rect(rect), z0_mm=z0, z1_mm=z1))
    return pieces


def _rect(rect: Rect) -> NDArray[np.float64]:
    return np.array(
        [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)]
    )


def _disc(x_mm: float, y_mm: float, radius_mm: float) -> NDArray[np.float64]:
    """The polygon round a disc and its chords, sides at right angles to x and y."""
    turn = math.tau / DISC_CORNERS
    angles = (np.arange(DISC_CORNERS) + 0.5) * turn
    radius = (radius_mm + CHORD_MM) / math.cos(turn / 2)
    return np.column_stack([x_mm + radius * np.cos(angles), y_mm + radius * np.sin(angles)])
