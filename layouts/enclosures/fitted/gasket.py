"""The flange round the rim with its groove for cord, and the slope that it is printed on.

The groove's inner edge runs round held cells and rooms as the wall's outside does, with wider bends
and straight past hollows where the space allows. Beneath the flange the wall grows out by as much
as it rises: figures grown step by step, so that nothing hangs.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.lid_screws import (
    INSERT_BOSS_MM,
    INSERT_HOLE_MM,
    LidScrew,
    ScrewSite,
    choose_lid_screws,
)
from layouts.enclosures.fitted.loops import loop_length_mm, loop_polygon, parallel
from layouts.enclosures.fitted.outline import RoundedRect, closed_outline
from layouts.enclosures.groove import Groove
from layouts.pack import Side
from layouts.parts.shell import box
from layouts.slabs.profile import Loop

__all__ = ["Flange", "flange_round", "flange_screws", "slope_of", "slope_steps"]

LEAST_RADIUS_MM = 0.8  # of any corner or hollow: two lines of a 0.4 nozzle
SLOPE_STEP_MM = 0.4  # two layers; the wall grows out by as much, a line of a 0.4 nozzle
OFF_MM = 0.1  # no step's edge lies on the flange's own: straight sides are 0.2 farther out
CLOSE_MM = 0.2  # ball that closes the slope's hollows, where the walls' own is used up
FORMING_COST = 60.0  # of a screw without an insert: as much as six others
EDGE_MM = 0.5  # between places where the flange's reach is measured


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Flange:
    """Loops of the plan: the groove's inner and outer edge, its middle line, the outer edge.

    ``discs`` (n, 3), ``rooms``: figures of the walls' inner face, which the slope beneath grows
    from; ``wall_mm``: thickness of the walls; ``ball_mm``: that closes their hollows."""

    groove: Groove
    groove_inner: Loop
    groove_outer: Loop
    cord: Loop
    edge: Loop
    discs: NDArray[np.float64]
    rooms: tuple[RoundedRect, ...]
    wall_mm: float
    ball_mm: float

    @property
    def cord_long_mm(self) -> float:
        """Length of the groove's middle line."""
        return loop_length_mm(self.cord)


def flange_round(
    groove: Groove,
    discs: NDArray[np.float64],
    rooms: Sequence[RoundedRect],
    hoods: Mapping[Side, RoundedRect],
    free: BaseGeometry,
    *,
    wall_mm: float,
    ball_mm: float,
) -> Flange:
    """The flange with as many straight sides as the space allows.

    ``discs`` (n, 3), ``rooms``: figures of the walls' inner face; ``hoods``: past the hollows of
    their outer one. ``free``: what it must lie in. Raises OutlineError where none does."""
    ball = groove.inner_radius_mm + groove.wide_mm
    grown = discs + (0.0, 0.0, wall_mm)
    straight = [
        replace(hood, corner_radius_mm=max(hood.corner_radius_mm, groove.inner_radius_mm))
        for hood in hoods.values()
    ]
    bent = [_bent(room, wall_mm, groove) for room in rooms]
    why = OutlineError("the lid's flange leaves the space", remedy="a larger space")
    for count in range(len(straight), -1, -1):
        for chosen in itertools.combinations(straight, count):
            try:
                inner = closed_outline(
                    grown, (*bent, *chosen), ball, least_radius_mm=LEAST_RADIUS_MM
                ).loop
                edge = parallel(inner, groove.wide_mm + groove.land_mm, LEAST_RADIUS_MM)
                if not free.contains(loop_polygon(edge)):
                    continue
                return Flange(
                    groove=groove, groove_inner=inner, edge=edge,
                    groove_outer=parallel(inner, groove.wide_mm, LEAST_RADIUS_MM),
                    cord=parallel(inner, groove.wide_mm / 2, LEAST_RADIUS_MM),
                    discs=discs, rooms=tuple(rooms), wall_mm=wall_mm, ball_mm=ball_mm,
                )  # fmt: skip
            except OutlineError as error:
                why = error
    raise why


def _bent(room: RoundedRect, wall_mm: float, groove: Groove) -> RoundedRect:
    """The groove's inner edge round a room."""
    corner = room.corner_radius_mm
    by = groove.round_room_mm(
        wall_mm=wall_mm, corner_radius_mm=corner, narrow_mm=min(room.rect.size_mm)
    )
    radius = max(groove.inner_radius_mm, corner + wall_mm)
    return RoundedRect(rect=room.rect.grown(by), corner_radius_mm=radius)


def flange_screws(
    flange: Flange, free: BaseGeometry, kept_off: BaseGeometry
) -> tuple[LidScrew, ...] | None:
    """Lid screws outside the cord, their holes a land off its groove; None where no chain closes.
    All but few have inserts: pressure inside pulls on them.

    ``free``: what bosses must lie in; ``kept_off``: what they must not come to."""
    by = flange.groove.land_mm + INSERT_HOLE_MM - INSERT_BOSS_MM
    feet = parallel(flange.groove_outer, by, LEAST_RADIUS_MM)
    site = ScrewSite(
        inner=loop_polygon(feet), outer=loop_polygon(flange.edge), seats=(), corners_of=(),
        allowed=free, kept_off=kept_off, forming=FORMING_COST,
    )  # fmt: skip
    return choose_lid_screws(site)


@lru_cache(maxsize=4)
def slope_of(flange: Flange) -> tuple[Loop, ...]:
    """The wall's outside step by step down from the flange's underside, to its own."""
    edge = loop_polygon(flange.edge).exterior.segmentize(EDGE_MM)
    discs = shapely.buffer(shapely.points(flange.discs[:, :2]), flange.discs[:, 2], quad_segs=32)
    rooms = [
        box(one.rect.grown(-one.corner_radius_mm)).buffer(one.corner_radius_mm)
        for one in flange.rooms
    ]
    figures = shapely.union_all([*discs, *rooms])
    places = shapely.points(shapely.get_coordinates(edge))
    reach = float(shapely.distance(figures, places).max())
    top = flange.groove.flange_mm + OFF_MM
    top += SLOPE_STEP_MM * max(0, math.ceil((reach - top) / SLOPE_STEP_MM))
    count = math.ceil((top - flange.wall_mm - OFF_MM / 2) / SLOPE_STEP_MM)
    return tuple(_grown(flange, top - k * SLOPE_STEP_MM) for k in range(count))


def slope_steps(flange: Flange, rim_mm: float) -> list[tuple[Loop, float, float]]:
    """Each step with the heights that it reaches from and to, the highest first."""
    z = rim_mm - flange.groove.thick_mm
    return [
        (loop, z - (k + 1) * SLOPE_STEP_MM, z - k * SLOPE_STEP_MM)
        for k, loop in enumerate(slope_of(flange))
    ]


def _grown(flange: Flange, by_mm: float) -> Loop:
    """All figures grown; their hollows closed as the walls' are, as far as that goes."""
    rooms = [
        RoundedRect(rect=one.rect.grown(by_mm), corner_radius_mm=one.corner_radius_mm + by_mm)
        for one in flange.rooms
    ]
    ball = max(flange.ball_mm - by_mm, CLOSE_MM)
    return closed_outline(flange.discs + (0.0, 0.0, by_mm), rooms, ball, least_radius_mm=0.0).loop
