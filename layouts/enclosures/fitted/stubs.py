"""Stubs too short to stand, edges too thin: what openings and gaps leave of partition, rim, lip."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.shell import ShellPlan
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.parts.shell import Rect, box, disc

__all__ = [
    "has_long_skin",
    "notch_stubs",
    "partition_band",
    "partition_stubs",
    "slot_stubs",
    "thin_ends",
]

STUB_MM2 = 12.0  # some 10 mm of the partition: what is longer stands by itself; practice, no source
RIM_STUB_MM = 4.0  # of the wall between two slots, 5 high
THIN_MM = 0.84  # two lines of a 0.4 nozzle: what is thinner is a skin or a knife edge
THIN_MM2 = 0.3  # of it, or it is the round of a corner
THIN_END_MM = 40.0  # longest that is cut off
SKIN_MM = 5.0  # long: a partition cut at 10 degrees is that thin over less
BESIDE_MM = 0.05  # float noise and chords, far below a line
NOISE_MM2 = 0.01  # where partition and wall share an arc their chords differ
ROUND_MM = 0.1  # a stub is cut with so much round it


def partition_stubs(sizes: FittedSizes) -> tuple[Rect, ...]:
    """Boxes round pieces beside openings that are not worth printing."""
    return _stubs(_left(sizes), STUB_MM2)


def notch_stubs(sizes: FittedSizes) -> tuple[float, tuple[Rect, ...]]:
    """Where the highest notch begins, and boxes round such pieces beside notches over it."""
    if not sizes.notches:
        return sizes.shell.levels.rim_mm, ()
    left = _left(sizes)
    stubs = [box(rect) for rect in _stubs(left, STUB_MM2)]
    notches = [box(notch.rect) for notch in sizes.notches]
    left = left.difference(shapely.union_all([*stubs, *notches]))
    return max(notch.z0_mm for notch in sizes.notches), _stubs(left, STUB_MM2)


def slot_stubs(sizes: FittedSizes) -> tuple[Rect, ...]:
    """Boxes round such pieces of the wall between two slots; those that a boss holds stay."""
    shell = sizes.shell
    walls = loop_polygon(shell.outer)
    walls = walls.difference(
        shapely.union_all([shapely.Polygon(s.corners_mm) for s in sizes.slots])
    )
    bosses = [disc(s.x_mm, s.y_mm, s.radius_mm) for s in shell.screws]
    walls = shapely.union_all([walls, *bosses]).difference(loop_polygon(shell.inner.loop))
    return _stubs(walls, RIM_STUB_MM * shell.wall_mm)


def thin_ends(left: BaseGeometry, cut: BaseGeometry) -> tuple[Rect, ...]:
    """Boxes round what a cut leaves thinner than two lines beside it."""
    return tuple(
        Rect(x0=x0, y0=y0, x1=x1, y1=y1).grown(ROUND_MM)
        for x0, y0, x1, y1 in (part.bounds for part in _thin_parts(left, cut))
        if max(x1 - x0, y1 - y0) < THIN_END_MM
    )


def has_long_skin(left: BaseGeometry, cut: BaseGeometry) -> bool:
    """Whether a cut leaves a skin beside it that is thinner than two lines over some way."""
    bounds = (part.bounds for part in _thin_parts(left, cut))
    return any(max(x1 - x0, y1 - y0) > SKIN_MM for x0, y0, x1, y1 in bounds)


def _thin_parts(left: BaseGeometry, cut: BaseGeometry) -> list[BaseGeometry]:
    """What a cut leaves thinner than two lines beside it."""
    half = THIN_MM / 2
    core = left.buffer(-half).buffer(half + BESIDE_MM)
    return [
        part
        for part in shapely.get_parts(left.difference(core))
        if part.area > THIN_MM2 and part.distance(cut) < BESIDE_MM
    ]


def partition_band(shell: ShellPlan) -> BaseGeometry:
    """The partition in the plan, as if nothing passed it."""
    inner, cells, partition = (
        loop_polygon(loop) for loop in (shell.inner.loop, shell.cells, shell.partition)
    )
    return partition.intersection(inner).difference(cells)


def _left(sizes: FittedSizes) -> BaseGeometry:
    """The partition in the plan, its openings cut from it."""
    band = partition_band(sizes.shell)
    return band.difference(shapely.union_all([box(rect) for rect in sizes.openings]))


def _stubs(left: BaseGeometry, least_mm2: float) -> tuple[Rect, ...]:
    return tuple(
        Rect(x0=x0, y0=y0, x1=x1, y1=y1).grown(ROUND_MM)
        for x0, y0, x1, y1 in (
            part.bounds for part in shapely.get_parts(left) if NOISE_MM2 < part.area < least_mm2
        )
    )
