"""Places that the pack file asks for, as the pack sees them: of rooms, and of itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.poses import ShiftRaster
from layouts.enclosures.fitted.rooms import Room, RoomKind
from layouts.enclosures.fitted.shell import Levels
from layouts.enclosures.fitted.sides import OUTWARD, ROUND, edge_mm
from layouts.pack import Pack, Side
from layouts.parts.shell import Rect
from layouts.place_spec import PackPlace, RoomWish

__all__ = [
    "PlaceWish", "asked_shift_mm", "faced_side", "near_shift", "out_of_mm", "place_refused",
    "shift_span_mm", "wishes_of",
]  # fmt: skip

NEAR_STEPS = 3.0  # of the raster: an estimated outline may be off by so much
EVER_MM = 1e9

Span = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class PlaceWish:
    """Where one room must stand: beside the held cells at ``side`` of the pack, or within ``area``
    of the free area's plan. ``field``: that asks for it; ``words``: what it asks for."""

    field: str
    words: str
    side: Side | None = None
    area: Rect | None = None

    def allows(
        self, bounds: NDArray[np.float64], held: tuple[float, float, float, float]
    ) -> NDArray[np.bool_]:
        """(n,) whether rooms (n, 4) have their middles past that edge of the held cells."""
        if self.side is None:
            return np.ones(len(bounds), dtype=bool)
        middles = (bounds[:, :2] + bounds[:, 2:]) / 2
        return np.asarray(middles @ np.array(OUTWARD[self.side]) > edge_mm(held, self.side))

    def span_mm(self, rect: Rect) -> Span:
        """Shifts along x and y, from and to, with which a room lies in the area."""
        if self.area is None:
            return -EVER_MM, EVER_MM, -EVER_MM, EVER_MM
        one = self.area
        return one.x0 - rect.x0, one.x1 - rect.x1, one.y0 - rect.y0, one.y1 - rect.y1

    def shifts(self, rect: Rect, raster: ShiftRaster) -> NDArray[np.bool_]:
        """(m, n) the shifts of a raster with which a room lies in the area."""
        x0, x1, y0, y1 = self.span_mm(rect)
        columns = (raster.x_mm >= x0) & (raster.x_mm <= x1)
        return np.asarray(((raster.y_mm >= y0) & (raster.y_mm <= y1))[:, None] & columns)

    def refused(self, name: str) -> OutlineError:
        """That the room finds no place so."""
        return OutlineError(
            f"the room for {name} finds no place {self.words} with all else beside it",
            remedy="another place, or delete it: then one is looked for",
            field=self.field,
        )


def wishes_of(pack: Pack, turn_deg: int) -> dict[RoomKind, PlaceWish]:
    """What rooms must stand where, for the pack turned by so much in its free area."""
    asked = (
        (RoomKind.BOARD, "bms.place", pack.bms.place),
        (RoomKind.FUSE, "fuse.place", pack.fuse_place),
    )
    return {kind: _seen(pack, turn_deg, field, one) for kind, field, one in asked if one}


def _seen(pack: Pack, turn_deg: int, field: str, wish: RoomWish) -> PlaceWish:
    sides = {faced_side(pack, side, turn_deg): side for side in Side}
    side = None if wish.side is None else sides.get(Side(wish.side))
    if wish.area_mm is None:
        return PlaceWish(field=field, words=wish.words, side=side)
    area: BaseGeometry = shapely.box(*wish.area_mm)
    place = _place(pack)
    if place is not None:  # an area is only asked for where the lid looks up
        area = rotate(area, -place.turns_deg[2], origin=(0.0, 0.0))
    x0, y0, x1, y1 = rotate(area, -turn_deg, origin=(0.0, 0.0)).bounds
    rect = Rect(x0=x0, y0=y0, x1=x1, y1=y1)
    return PlaceWish(field=field + "_mm", words=wish.words, side=side, area=rect)


def _place(pack: Pack) -> PackPlace | None:
    return None if pack.space is None else pack.space.place


def faced_side(pack: Pack, side: Side, turn_deg: int) -> Side | None:
    """The side of the space that a side of the pack faces, the pack turned by so much in its free
    area; None where it faces floor or ceiling."""
    turned = ROUND[(ROUND.index(side) + turn_deg // 90) % 4]
    place = _place(pack)
    if place is None:
        return turned
    x, y, _ = (np.array(place.turn) @ (*OUTWARD[turned], 0.0)).tolist()
    return next((one for one, out in OUTWARD.items() if out == (x, y)), None)


def shift_span_mm(pack: Pack, turn_deg: int, rooms: tuple[Room, ...]) -> Span:
    """Shifts along x and y, from and to, with which all rooms lie in the areas asked for."""
    wishes = wishes_of(pack, turn_deg)
    spans = [wishes[one.kind].span_mm(one.rect) for one in rooms if one.kind in wishes]
    x0, x1, y0, y1 = zip((-EVER_MM, EVER_MM, -EVER_MM, EVER_MM), *spans, strict=True)
    return max(x0), min(x1), max(y0), min(y1)


def asked_shift_mm(
    pack: Pack, outer: BaseGeometry, levels: Levels
) -> tuple[float, float, float] | None:
    """The shift in the axes that the pack sees, with which walls of this plan stand as asked for;
    None where that is left open."""
    place = _place(pack)
    if place is None or place.at_mm is None:
        return None
    x0, y0, x1, y1 = outer.bounds
    shift = place.shift_mm((x0, y0, levels.under_mm), (x1, y1, levels.lid_mm))
    x, y, z = (np.array(place.turn).T @ shift).tolist()
    return x, y, z


def near_shift(raster: ShiftRaster, shift_mm: tuple[float, float, float]) -> NDArray[np.bool_]:
    """(m, n) the shifts of a raster near one that is asked for: outlines are estimated."""
    by = NEAR_STEPS * raster.step_mm
    columns = np.abs(raster.x_mm - shift_mm[0]) <= by
    return np.asarray((np.abs(raster.y_mm - shift_mm[1]) <= by)[:, None] & columns)


def out_of_mm(
    free: BaseGeometry, plan: BaseGeometry, shift_mm: tuple[float, float, float]
) -> float:
    """How far a plan moved by a shift reaches out of the free area [mm]."""
    corners = shapely.get_coordinates(translate(plan, *shift_mm[:2]).segmentize(1.0))
    return float(shapely.distance(shapely.points(corners), free).max(initial=0.0))


def place_refused(past_mm: float) -> OutlineError:
    """That a lid reaches so far out of the space where the pack file puts it."""
    return OutlineError(
        f"puts the lid {past_mm:.1f} mm out of the space, or into what it keeps free",
        remedy="another place, or delete it: then one is looked for",
        field="space.place.at_mm",
    )
