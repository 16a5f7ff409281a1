"""Where brackets may stand: stretches of the outer wall with nothing before them, on two sides.

A pad fills the wall out to a plane past its foremost point, and its bracket needs free way before
that plane, in the space and past the enclosure itself.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.sides import OUTWARD, axis_along, rect_at
from layouts.pack import Side
from layouts.parts.shell import Rect, box

__all__ = [
    "LIP_OUT_MM", "PAD_OUT_MM", "BracketReach", "PadPlace", "WallSite", "pad_places", "pad_sets",
]  # fmt: skip

OPPOSITE = ((Side.PLUS_X, Side.MINUS_X), (Side.PLUS_Y, Side.MINUS_Y))
LIP_OUT_MM = 4.0  # the lid stands out so far over the wall, lip and play
PAD_OUT_MM = 10.0  # past the wall's foremost point: an insert's hole and plastic behind it
STEP_MM = 4.0  # of the places that are tried
DEPTH_MM = 12.0  # wall that lies farther back than this behind the plane carries no pad
ON_WALL_RATIO = 0.5  # of a pad's width that has wall behind it no farther back than this
MORE_PADS_MM = 20.0  # one pad more is worth so much nearer to the middle
TWO_PADS_MM = 120.0  # a side on which two pads stand at least so far apart carries two


@dataclass(frozen=True, kw_only=True, slots=True)
class BracketReach:
    """What one bracket needs: wall along it, and way before its pad's face. ``lid_out_mm``: how
    far the lid stands out over the wall there."""

    wall_mm: float
    out_mm: float
    lid_out_mm: float = LIP_OUT_MM


@dataclass(frozen=True, kw_only=True, slots=True)
class PadPlace:
    """A place for a pad: its side, its middle along it, the plane of the wall's foremost point."""

    side: Side
    along_mm: float
    crest_mm: float

    @property
    def face_mm(self) -> float:
        """Distance of the pad's face from the origin, outwards."""
        return self.crest_mm + PAD_OUT_MM

    def lane(self, reach: BracketReach) -> Rect:
        """What pad and bracket take up in the plan before the wall's foremost point."""
        half = reach.wall_mm / 2
        return rect_at(
            self.side, self.crest_mm, self.face_mm + reach.out_mm,
            self.along_mm - half, self.along_mm + half,
        )  # fmt: skip

    def before(self, reach: BracketReach) -> Rect:
        """The same past the lid's lip: nothing of the enclosure may stand there."""
        half = reach.wall_mm / 2
        return rect_at(
            self.side, self.crest_mm + reach.lid_out_mm, self.face_mm + reach.out_mm,
            self.along_mm - half, self.along_mm + half,
        )  # fmt: skip


def pad_places(
    wall: shapely.Polygon, whole: BaseGeometry, reach: BracketReach, taken: BaseGeometry
) -> tuple[PadPlace, ...]:
    """All places on the four sides where pad and bracket stand clear of the enclosure itself and of
    what else is ``taken`` outside it.

    ``wall``: outside of the walls; ``whole``: of all of the enclosure, its lid too."""
    site = WallSite.of(wall, whole, taken)
    found = []
    for side in Side:
        along = site.corners_mm[:, axis_along(side)]
        half = reach.wall_mm / 2
        for middle in np.arange(along.min() + half, along.max() - half + 1e-9, STEP_MM).tolist():
            place = site.place(side, middle, reach)
            if place is not None:
                found.append(place)
    return tuple(found)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class WallSite:
    """Walls with all that stands before them. ``corners_mm`` (n, 2): the wall's outside in steps
    of a millimetre; ``whole``: of all of the enclosure; ``taken``: what else is."""

    corners_mm: NDArray[np.float64]
    whole: BaseGeometry
    taken: BaseGeometry

    @classmethod
    def of(cls, wall: shapely.Polygon, whole: BaseGeometry, taken: BaseGeometry) -> WallSite:
        """As ``pad_places`` has them."""
        beyond = shapely.difference(taken, whole)
        for shape in (whole, beyond):
            shapely.prepare(shape)
        corners = shapely.get_coordinates(wall.exterior.segmentize(1.0))
        return cls(corners_mm=corners, whole=whole, taken=beyond)

    def place(self, side: Side, middle_mm: float, reach: BracketReach) -> PadPlace | None:
        """A pad with its middle there; None where it has no wall or something stands before it."""
        out = self.corners_mm @ np.array(OUTWARD[side])
        along = self.corners_mm[:, axis_along(side)]
        near = np.abs(along - middle_mm) <= reach.wall_mm / 2
        if not near.any():
            return None
        crest = float(out[near].max())
        behind = near & (out > crest - DEPTH_MM)
        covered = np.unique(np.round(along[behind] - middle_mm)).size
        if covered < ON_WALL_RATIO * reach.wall_mm:
            return None
        place = PadPlace(side=side, along_mm=middle_mm, crest_mm=crest)
        before, lane = box(place.before(reach)), box(place.lane(reach))
        if self.whole.intersects(before) or self.taken.intersects(lane):
            return None
        return place


def pad_sets(
    places: Sequence[PadPlace], middle_mm: tuple[float, float]
) -> list[tuple[PadPlace, ...]]:
    """Places on two opposite sides, one or two a side: those first that carry best, which are two
    far apart, or one near to the middle of what they carry."""
    found: list[tuple[float, tuple[PadPlace, ...]]] = []
    for one, other in OPPOSITE:
        aim = middle_mm[axis_along(one)]
        here, there = (
            _of_side([p for p in places if p.side is side], aim) for side in (one, other)
        )
        for first, second in itertools.product(here, there):
            # two pads on both sides of the aim carry it wherever they stand
            off = sum(abs(pads[0].along_mm - aim) for pads in (first, second) if len(pads) == 1)
            pads = (*first, *second)
            found.append((off - MORE_PADS_MM * len(pads), pads))
    return [pads for _, pads in sorted(found, key=lambda one: one[0])]


def _of_side(places: Sequence[PadPlace], aim_mm: float) -> list[tuple[PadPlace, ...]]:
    """Each place alone, and the outermost two where they stand far enough apart on both sides of
    the aim."""
    found: list[tuple[PadPlace, ...]] = [(place,) for place in places]
    if places:
        low = min(places, key=lambda p: p.along_mm)
        high = max(places, key=lambda p: p.along_mm)
        apart = high.along_mm - low.along_mm
        if apart >= TWO_PADS_MM and low.along_mm < aim_mm < high.along_mm:
            found.append((low, high))
    return found
