"""The vent of an enclosure with a gasket: an opening in the wall between the holders, its cover's
seat on the outside, and the gas's way to it.

Gas of both faces goes through the gap beside the holders into the space round the bare cans between
them. There, before the cans, an upright opening leads out through a flat block on the wall.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.shell import Levels, ShellPlan
from layouts.enclosures.fitted.sides import OUTWARD, axis_along, edge_mm, rect_at
from layouts.enclosures.form import OUTSIDE, GasLink, RimEdge, gas_site
from layouts.enclosures.groove import Groove, groove_of
from layouts.enclosures.vent import vent_need_mm2
from layouts.errors import PlanError
from layouts.holders.fastening import CellBlock
from layouts.pack import GasketSpec, Pack, Side
from layouts.parts.shell import Rect, box

__all__ = ["VentPlace", "opening_mm", "vent_gas_links", "vent_place"]

# All judgement or common practice, no source.
WIDE_MM = 10.0  # printing bridges so far without support
LEAST_HIGH_MM = 8.0
WHOLE_MM = 0.4  # two layers: the opening's height is a multiple of it
SEAT_MM = 6.0  # flat round the opening: sponge tape of 5 that the cover lies on
ENDS_MM = 12.0  # flat above and below it: seat, and what holds the cover
OUT_MM = 0.4  # the block's face before the wall's foremost point
COVER_MM = 3.0  # sponge tape and plate
PAPER_MM = 0.25  # insulating paper round the cans
STEP_MM = 2.0  # of the places that are tried
OFF_ROOM_MM = 1.0  # the block stands so far off rooms at the cells
INTO_MM = 0.5  # past the wall's inner face
BEFORE_RATIO = 1.2  # free section before the opening, over its own: no more is looked for
CRUMB_MM2 = 0.05  # what chords of fine polygons leave of each other

BESIDE, AROUND, VENT = (
    "gap beside the held cells", "way before the cans to the vent", "vent",
)  # fmt: skip
LARGER_DP = "a larger enclosure.gasket.opens_at_kpa, with which less is needed"


@dataclass(frozen=True, kw_only=True, slots=True)
class VentPlace:
    """The vent in the wall of a side.

    ``face_mm``: plane of the block's face along the side, ``behind_mm``: past the wall's inner
    face. ``wide_mm``, ``high_mm``: of the opening, which begins at ``z0_mm``, in pack coordinates.
    ``before_mm2``: free section between the cans and the wall round the opening's inner mouth.
    ``need_mm2``: what one cell's gas needs."""

    side: Side
    along_mm: float
    face_mm: float
    behind_mm: float
    wide_mm: float
    high_mm: float
    z0_mm: float
    before_mm2: float
    need_mm2: float

    @property
    def area_mm2(self) -> float:
        """Of the opening."""
        return self.wide_mm * self.high_mm

    @property
    def z1_mm(self) -> float:
        """Upper end of the opening."""
        return self.z0_mm + self.high_mm

    @property
    def block(self) -> Rect:
        """Plan of the block, which the tub's inside is cut from."""
        return self._rect(self.wide_mm / 2 + SEAT_MM, self.face_mm)

    @property
    def opening(self) -> Rect:
        """Plan of the opening, begun before the block's face."""
        return self._rect(self.wide_mm / 2, self.face_mm + 1.0)

    @property
    def middle_mm(self) -> tuple[float, float, float]:
        """The opening's middle in the block's face."""
        u, v = OUTWARD[self.side]
        x, y = self.face_mm * u, self.face_mm * v
        x, y = (x, self.along_mm) if axis_along(self.side) else (self.along_mm, y)
        return x, y, self.z0_mm + self.high_mm / 2

    @property
    def cover_mm(self) -> tuple[float, float]:
        """Width and height of a plate that covers it, sealed on its seat."""
        return self.wide_mm + 2 * SEAT_MM - 1.0, self.high_mm + 2 * SEAT_MM - 1.0

    @property
    def pushed_mm2(self) -> float:
        """What the pressure inside pushes on: within the middle of the seat's tape."""
        return (self.wide_mm + SEAT_MM) * (self.high_mm + SEAT_MM)

    @property
    def out_mm(self) -> float:
        """From the wall's foremost point out to where the cover stands when it lets all gas by."""
        lift = self.area_mm2 / (2 * (self.wide_mm + self.high_mm))
        return OUT_MM + COVER_MM + lift

    def _rect(self, half_mm: float, far_mm: float) -> Rect:
        low, high = self.along_mm - half_mm, self.along_mm + half_mm
        return rect_at(self.side, self.behind_mm, far_mm, low, high)


def opening_mm(pack: Pack, levels: Levels) -> tuple[float, float, float]:
    """Width, height and lower end of the opening.

    Raises PlanError where the wall is not high enough for it."""
    gasket, groove = pack.enclosure.gasket, groove_of(pack.enclosure)
    assert gasket is not None and groove is not None
    low, top = _heights_mm(pack, levels, groove)
    need = vent_need_mm2(gasket)
    if gasket.vent_mm is not None:
        wide, high = gasket.vent_mm
    else:
        wide = WIDE_MM
        high = max(LEAST_HIGH_MM, WHOLE_MM * math.ceil(need / wide / WHOLE_MM - 1e-6))
    if high > top - low:
        raise _too_high(gasket, wide, high, top - low)
    return wide, round(high, 6), round((low + top - high) / 2, 6)


def _heights_mm(pack: Pack, levels: Levels, groove: Groove) -> tuple[float, float]:
    """From where to where an opening may reach: between the holders, with its cover below the
    slope under the flange."""
    under_flange = levels.rim_mm - groove.thick_mm - (groove.flange_mm - pack.enclosure.wall_mm)
    low = max(pack.holder.depth_mm, levels.under_mm + ENDS_MM)
    return low, min(pack.lip_to_lip_mm - pack.holder.depth_mm, under_flange - ENDS_MM)


def _too_high(gasket: GasketSpec, wide: float, high: float, most: float) -> PlanError:
    told = (
        f"{wide:g} x {high:.1f} mm, {high - most:.1f} mm higher than the wall between the holders"
    )
    if gasket.vent_mm is not None:
        return PlanError(
            field="enclosure.gasket.vent_mm", value=f"{wide:g} x {high:g}",
            why=f"is {told.split(', ')[1]} takes", remedy=f"use at most {most:.1f} for the height",
        )  # fmt: skip
    # the area goes with the root of the pressure
    enough = math.ceil(10.0 * gasket.opens_at_kpa * (high / most) ** 2) / 10.0
    return PlanError(
        field="enclosure.gasket.opens_at_kpa", value=f"{gasket.opens_at_kpa:g}",
        why=f"makes the gas of one cell need a vent of {told} takes",
        remedy=f"use {enough:g} or more, or delete gasket: the open form has slots",
    )  # fmt: skip


def vent_place(pack: Pack, cell_block: CellBlock, shell: ShellPlan, side: Side) -> VentPlace | None:
    """Where most section is free before the opening, on one side; None where no stretch of the wall
    along the cells is wide enough, off rooms and bosses.

    Raises PlanError where no wall is high enough for it."""
    assert pack.enclosure.gasket is not None
    wide, high, z0 = opening_mm(pack, shell.levels)
    inner, outer = loop_polygon(shell.inner.loop), loop_polygon(shell.outer)
    cans = shapely.union_all(
        [
            shapely.Point(x, y).buffer(pack.cell.diameter_mm / 2 + PAPER_MM, quad_segs=32)
            for x, y, _ in cell_block.outline.discs
        ]
    )
    taken = shapely.union_all(
        [
            *(room.plan.buffer(OFF_ROOM_MM) for room in shell.rooms),
            *(shapely.Point(s.at_mm).buffer(s.radius_mm) for s in shell.screws),
        ]
    )
    cells = loop_polygon(shell.cells)
    half = wide / 2 + SEAT_MM
    x0, y0, x1, y1 = cans.bounds
    low, top = (y0, y1) if axis_along(side) else (x0, x1)
    deep, far = edge_mm(cans.bounds, side) - pack.pitch_mm / 2, edge_mm(outer.bounds, side)
    best: VentPlace | None = None
    for along in np.arange(low + half, top - half, STEP_MM).tolist():
        strip = box(rect_at(side, deep, far + 20.0, along - half, along + half))
        if strip.intersects(taken):
            continue
        wall = outer.intersection(strip)
        inside = inner.intersection(strip)
        if inside.difference(cells).area > CRUMB_MM2 or wall.is_empty:
            continue
        mouth = box(rect_at(side, deep, far, along - wide / 2, along + wide / 2))
        air = inner.difference(cans).intersection(mouth)
        beside = _beside_mm(air, side, (along - wide / 2, along + wide / 2))
        before = 2 * float(air.area) + beside * high
        between = pack.lip_to_lip_mm - 2 * pack.holder.depth_mm
        ring = outer.exterior.intersection(mouth)
        place = VentPlace(
            side=side, along_mm=along, face_mm=edge_mm(wall.bounds, side) + OUT_MM,
            behind_mm=_deepest_mm(inner, strip, side) - INTO_MM,
            wide_mm=wide, high_mm=high, z0_mm=z0, before_mm2=min(before, beside * between),
            need_mm2=vent_need_mm2(pack.enclosure.gasket),
        )  # fmt: skip
        if not ring.is_empty and (best is None or _rank(place) > _rank(best)):
            best = place
    return best


def _rank(place: VentPlace) -> tuple[float, float]:
    """More is better: free section before the opening up to what it needs, then little block."""
    enough = BEFORE_RATIO * max(place.area_mm2, place.need_mm2)
    return min(place.before_mm2, enough), place.behind_mm - place.face_mm


def _beside_mm(air: BaseGeometry, side: Side, at_mm: Iterable[float]) -> float:
    """How wide the air between wall and cans is at both ends of the opening, together."""
    total = 0.0
    if air.is_empty:
        return total
    axis = axis_along(side)
    for at in at_mm:
        x0, y0, x1, y1 = air.bounds
        line = [(x0, at), (x1, at)] if axis else [(at, y0), (at, y1)]
        total += float(air.buffer(1e-6).intersection(shapely.LineString(line)).length)
    return total


def _deepest_mm(inner: shapely.Polygon, strip: BaseGeometry, side: Side) -> float:
    """How far out the wall's inner face stays at least in a strip, along the side."""
    face = inner.exterior.intersection(strip)
    points = shapely.get_coordinates(face) @ np.array(OUTWARD[side])
    return float(points.min())


def vent_gas_links(vent: VentPlace, pack: Pack, rim: Sequence[RimEdge]) -> tuple[GasLink, ...]:
    """From every place over the rim of the held cells down, or up, to between the holders, and from
    there through the vent."""
    between, mouth = "between the holders", "before the vent"
    gap = pack.enclosure.side_gap_mm
    links = [
        GasLink(
            start=gas_site(edge.face, edge.cell), end=between,
            section_mm2=min(edge.long_mm * gap, edge.section_mm2), kind=BESIDE,
            remedy="a larger enclosure.side_gap_mm",
        )
        for edge in rim
    ]  # fmt: skip
    links.append(
        GasLink(
            start=between, end=mouth, section_mm2=vent.before_mm2, kind=AROUND, remedy=LARGER_DP
        )
    )
    links.append(
        GasLink(start=mouth, end=OUTSIDE, section_mm2=vent.area_mm2, kind=VENT, remedy=LARGER_DP)
    )
    return tuple(links)
