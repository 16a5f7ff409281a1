"""A bus plate: the sheet that joins all can ends of one potential on one face."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from layouts.pack import Face
from layouts.strips.field import SheetField

__all__ = [
    "PLATES_REMEDY",
    "SPOTS_UNDER_LAYERS",
    "BusPlate",
    "CellFuse",
    "Conduction",
    "LugEnd",
    "PlateBar",
    "SheetLayer",
]


SPOTS_UNDER_LAYERS = 2  # more for each further layer, welded onto the one beneath
LEVEL_MM = 1e-6  # float noise in where edges lie
HOLE_CURVE = 16  # chords a quarter turn of a drilled hole
FAR_MM = 1e4  # beyond any pack
# where a check of plates does not hold: wider gaps take larger holes, and more lip stays
PLATES_REMEDY = (
    "a larger holder.web_mm, a smaller holder.window_mm, the other lattice, or strip.joints: links"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetLayer:
    """One sheet of metal of a plate: ``material`` as in the table of conductors."""

    material: str
    thickness_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class CellFuse:
    """The fusible neck of one cell's positive end: from the pad's edge ``pad_mm`` straight to the
    rest of the plate at ``rest_mm``, both (x, y) on the neck's middle line."""

    cell: int
    width_mm: float
    length_mm: float
    pad_mm: tuple[float, float]
    rest_mm: tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LugEnd:
    """The end of a bar outside the holder, to which a ring lug is screwed.

    ``shape``: of the copper in its place, without its hole; ``screw``: of the lug; ``at_mm``: the
    hole's middle; ``hole_mm``, ``washer_mm``: diameters. ``bend_mm``: x of the two bends that bring
    it ``drop_mm`` towards the other face, for the screw's head. ``outward_mm``, ``inward_mm``: how
    far head and lug, and nut, stand beyond the face and behind it. The balance lead has a lug of
    its own beneath the nut."""

    shape: shapely.Polygon
    screw: str
    at_mm: tuple[float, float]
    hole_mm: float
    washer_mm: float
    bend_mm: float
    drop_mm: float
    outward_mm: float
    inward_mm: float

    @property
    def hole(self) -> shapely.Polygon:
        """What the screw's hole takes out of the copper."""
        return shapely.Point(self.at_mm).buffer(self.hole_mm / 2.0, quad_segs=HOLE_CURVE)

    @property
    def pressed(self) -> shapely.Polygon:
        """What the washer presses the lug onto."""
        return shapely.Point(self.at_mm).buffer(self.washer_mm / 2.0).difference(self.hole)

    def flat(self, piece: shapely.Polygon) -> shapely.Polygon:
        """A piece of bar before it is bent: the drop between the two bends, in line."""
        _, y0, _, y1 = self.shape.bounds
        inside = shapely.box(-FAR_MM, -FAR_MM, self.bend_mm, FAR_MM)
        beyond = affinity.translate(piece.difference(inside), self.drop_mm, 0.0)
        between = shapely.box(self.bend_mm, y0, self.bend_mm + self.drop_mm, y1)
        return shapely.union_all([piece.intersection(inside), between, beyond])

    @property
    def bends(self) -> tuple[NDArray[np.float64], ...]:
        """(2, 2) each: the lines that the flat piece is bent along; none without a drop."""
        _, y0, _, y1 = self.shape.bounds
        at = (self.bend_mm, self.bend_mm + self.drop_mm) if self.drop_mm > 0.0 else ()
        return tuple(np.array([(x, y0), (x, y1)]) for x in at)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlateBar:
    """Flat copper soldered onto the plate of an end group before it is welded.

    ``pieces``: in the plan, along x, straight but where one goes round a tie post or widens for a
    lug; first the one that the main lead is screwed to, its hole drilled. Between two of them the
    plate carries the current.
    ``landing``: of the main lead. ``whole``: the bar as if no post stood in its way; ``kept``: what
    of it no post may take. ``lugs``: ends to screw a lug or a bridge to, of the first pieces, each
    its own; none where the lead is soldered to it."""

    pieces: tuple[shapely.Polygon, ...]
    landing: shapely.Polygon
    whole: BaseGeometry
    kept: BaseGeometry
    width_mm: float
    thickness_mm: float
    lugs: tuple[LugEnd, ...] = ()

    @property
    def shape(self) -> BaseGeometry:
        """All pieces."""
        return shapely.union_all(self.pieces)

    @property
    def flat(self) -> tuple[shapely.Polygon, ...]:
        """The pieces as they are cut, before the lugs' ends are bent."""
        bent = [lug.flat(piece) for lug, piece in zip(self.lugs, self.pieces, strict=False)]
        return (*bent, *self.pieces[len(bent) :])

    @property
    def tap_mm(self) -> tuple[float, float]:
        """Where the balance lead begins."""
        if self.lugs:
            return self.lugs[0].at_mm
        return self.landing.centroid.x, self.landing.centroid.y

    @property
    def stock_mm(self) -> tuple[float, ...]:
        """Width of the flat copper that each piece is cut from: one that goes round a post, or
        widens for a lug, is cut from wider copper, by whole mm."""
        return tuple(
            self.width_mm if wide < self.width_mm + LEVEL_MM else math.ceil(wide - LEVEL_MM)
            for wide, _ in map(_sides_mm, self.flat)
        )

    @property
    def long_mm(self) -> tuple[float, ...]:
        """Length of each piece as cut."""
        return tuple(long for _, long in map(_sides_mm, self.flat))


def _sides_mm(piece: shapely.Polygon) -> tuple[float, float]:
    """Shorter and longer side of a piece's box."""
    x0, y0, x1, y1 = piece.bounds
    short, long = sorted((float(x1 - x0), float(y1 - y0)))
    return short, long


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
    without its tail, two of them where a bridge joins the groups; ``tail``: the tongue that a
    balance lead is soldered to, as cut; ``folded``: what of it shows in the plan once it is folded
    down outside the holder, with the wire on it; None where no way out was found. ``holes``: (x, y,
    diameter) of holes that lip stands in, those of posts as round ones of the same area. ``slots``:
    how many run in from the edge. ``layers``: of sheet, the lowest first; ``bar``: copper on it;
    ``spots``: weld spots on each can end; ``conduction``: its resistances, once layers are chosen.
    ``cell_fuses``: necks to its positive ends. ``pierced``: outline of layers beneath another
    metal, with their own holes at the can ends.
    """

    name: str
    face: Face
    groups: tuple[int, ...]
    cells: tuple[int, ...]
    body: BaseGeometry
    tail: shapely.Polygon | None
    folded: shapely.Polygon | None
    tail_end_mm: tuple[float, float] | None
    holes: tuple[tuple[float, float, float], ...]
    slots: int
    layers: tuple[SheetLayer, ...] = ()
    bar: PlateBar | None = None
    spots: int = 0
    conduction: Conduction | None = None
    cell_fuses: tuple[CellFuse, ...] = ()
    pierced: BaseGeometry | None = None

    @property
    def is_end(self) -> bool:
        """Whether it joins an end group alone, and a main lead begins on it."""
        return len(self.groups) == 1

    @property
    def is_minus(self) -> bool:
        """Whether pack minus begins on it: group 1 stands alone on the lower face."""
        return self.is_end and self.groups[0] == 1 and self.face is Face.LOWER

    @property
    def parts(self) -> tuple[shapely.Polygon, ...]:
        """Each part of the sheet as cut: two where a bridge joins the groups."""
        return tuple(shapely.get_parts(self.sheet).tolist())

    @property
    def is_bridged(self) -> bool:
        """Whether it is two sheets with a screwed bridge."""
        return len(self.parts) > 1

    @property
    def sheet(self) -> BaseGeometry:
        """All sheet as cut."""
        return self.body if self.tail is None else shapely.union(self.body, self.tail)

    def is_pierced(self, layer: int) -> bool:
        """Whether a layer, from 0, lies beneath another metal that is welded through it."""
        return self.layers[layer].material != self.layers[-1].material

    @property
    def whole_layers(self) -> tuple[SheetLayer, ...]:
        """Those that lie on the can ends."""
        return tuple(one for k, one in enumerate(self.layers) if not self.is_pierced(k))

    @property
    def layers_beneath(self) -> tuple[SheetLayer, ...]:
        """Those that are welded through."""
        return tuple(one for k, one in enumerate(self.layers) if self.is_pierced(k))

    @property
    def sheets(self) -> tuple[BaseGeometry, ...]:
        """Each layer as cut, the lowest first."""
        return tuple(
            self.pierced if self.pierced is not None and self.is_pierced(layer) else self.sheet
            for layer in range(len(self.layers))
        )

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
