"""A bus plate: the sheet that joins all can ends of one potential on one face."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.pack import Face
from layouts.strips.field import SheetField

__all__ = ["PLATES_REMEDY", "BusPlate", "Conduction", "PlateBar", "SheetLayer"]


LEVEL_MM = 1e-6  # float noise in where edges lie
STRAIGHT_RATIO = 0.999  # of its box that a straight piece fills, float noise aside
# where a check of plates does not hold: wider gaps take larger holes, and more lip stays
PLATES_REMEDY = (
    "a larger holder.web_mm, a smaller holder.window_mm, the other lattice, or strip.joints: links"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetLayer:
    """One sheet of metal of a plate: ``material`` as in the table of conductors."""

    material: str
    thickness_mm: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlateBar:
    """Flat copper soldered onto the plate of an end group before it is welded.

    ``pieces``: in the plan, along x, straight but where one goes round a tie post; first the one
    that the main lead is bolted to. Between two of them the plate carries the current.
    ``landing``: of the main lead. ``whole``: the bar as if no post stood in its way; ``kept``: what
    of it no post may take."""

    pieces: tuple[shapely.Polygon, ...]
    landing: shapely.Polygon
    whole: shapely.Polygon
    kept: shapely.Polygon
    width_mm: float
    thickness_mm: float

    @property
    def shape(self) -> BaseGeometry:
        """All pieces."""
        return shapely.union_all(self.pieces)

    @property
    def stock_mm(self) -> tuple[float, ...]:
        """Width of the flat copper that each piece is cut from: one that goes round a post is cut
        from wider copper, by whole mm."""
        deep = (float(piece.bounds[3] - piece.bounds[1]) for piece in self.pieces)
        return tuple(
            self.width_mm if one < self.width_mm + LEVEL_MM else math.ceil(one) for one in deep
        )

    @property
    def is_straight(self) -> bool:
        """Whether all pieces are cut from flat stock across it, none to an outline."""
        return all(piece.area > STRAIGHT_RATIO * piece.envelope.area for piece in self.pieces)

    @property
    def long_mm(self) -> tuple[float, ...]:
        """Length of each piece."""
        return tuple(float(piece.bounds[2] - piece.bounds[0]) for piece in self.pieces)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Conduction:
    """A plate reduced to its contacts, at 20 C.

    ``pairs`` (m, 2): indices of cells; ``ohm`` (m,) between their can ends. ``landing``: (cell,
    ohm) to the main lead, none on a plate of two groups. ``field``: the reduced sheet, its contacts
    the can ends in the order of the plate's cells, then the landing."""

    pairs: NDArray[np.int64]
    ohm: NDArray[np.float64]
    landing: tuple[tuple[int, float], ...]
    field: SheetField


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BusPlate:
    """One plate in the pack's x and y.

    ``cells``: whose ends it joins; ``groups``: one (an end group) or two. ``body``: the sheet
    without its tail; ``tail``: the tongue that a balance lead is soldered to, as cut; ``folded``:
    what of it shows in the plan once it is folded down outside the holder, with the wire on it;
    None where no way out was found. ``holes``: (x, y, diameter) of holes that lip stands in, those
    of posts as round ones of the same area. ``slots``: how many run in from the edge.
    ``crossings``: webs that cross its channel with no lip to stand on. ``layers``: of sheet, the
    lowest first; ``bar``: copper on it; ``spots``: weld spots on each can end; ``conduction``: its
    resistances, once layers are chosen.
    """

    name: str
    face: Face
    groups: tuple[int, ...]
    cells: tuple[int, ...]
    body: shapely.Polygon
    tail: shapely.Polygon | None
    folded: shapely.Polygon | None
    tail_end_mm: tuple[float, float] | None
    holes: tuple[tuple[float, float, float], ...]
    slots: int
    crossings: int
    layers: tuple[SheetLayer, ...] = ()
    bar: PlateBar | None = None
    spots: int = 0
    conduction: Conduction | None = None

    @property
    def is_end(self) -> bool:
        """Whether it joins an end group alone, and a main lead begins on it."""
        return len(self.groups) == 1

    @property
    def is_minus(self) -> bool:
        """Whether pack minus begins on it: group 1 stands alone on the lower face."""
        return self.is_end and self.groups[0] == 1 and self.face is Face.LOWER

    @property
    def sheet(self) -> shapely.Polygon:
        """The whole sheet as cut."""
        return self.body if self.tail is None else shapely.union(self.body, self.tail)

    @property
    def shape(self) -> shapely.Polygon:
        """The plate in its place: its tail folded down, its bar on it."""
        whole = self.body if self.folded is None else shapely.union(self.body, self.folded)
        return whole if self.bar is None else shapely.union(whole, self.bar.shape)

    @property
    def thickness_mm(self) -> float:
        """All layers of sheet."""
        return sum(layer.thickness_mm for layer in self.layers)

    @property
    def conducts(self) -> Conduction:
        """Its resistances. Raises ValueError before its layers are chosen."""
        if self.conduction is None:
            raise ValueError(f"{self.name}: its layers are not chosen yet")
        return self.conduction
