"""What seams and straps of tub and lid must keep off, read off the enclosure's sizes."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.checks import partition_shape
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.pad_blocks import pad_block
from layouts.enclosures.fitted.seam_path import LapWalls, lap_walls
from layouts.enclosures.fitted.sizes import FittedSizes, FloorDrain
from layouts.enclosures.fitted.splices import BedSeam, Strap, strip_of
from layouts.enclosures.fitted.straps import StrapSite
from layouts.enclosures.laps import SEAM_GAP_MM, STEP_MM
from layouts.enclosures.support_pads import SupportPad
from layouts.formats import low_heads
from layouts.parts.shell import Rect, box, disc

__all__ = [
    "CLEAR_MM", "SEAM_HALF_MM", "CutSite", "fewest_screws", "lid_site", "pieces_of", "seam_mm",
    "tub_site",
]  # fmt: skip

CLEAR_MM = 1.0  # between a seam and what it must miss; judgement, no source
SEAM_HALF_MM = STEP_MM + SEAM_GAP_MM / 2 + CLEAR_MM  # that a seam with its steps keeps free
BOSS_MM = 2.0  # round a lid screw's boss; judgement, no source
LEAST_PIECE_MM2 = 1.0  # of what is left between seams
FINE_MM = 0.05  # outlines that only lengths are read off

Named = tuple[tuple[str, BaseGeometry], ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class DrainSite:
    """A floor's drains, and the compartments' plans less all that stands in them."""

    drains: tuple[FloorDrain, ...]
    floor: BaseGeometry

    def beside(self, seams: Sequence[BedSeam]) -> tuple[FloorDrain, ...] | None:
        """The drains, those that a seam would meet moved to one side of it within their
        compartments; None where one finds no place there."""
        found = []
        for drain in self.drains:
            moved: FloorDrain | None = drain
            for seam in seams:
                moved = None if moved is None else self._off(moved, seam)
            if moved is None or not all(_misses(moved, seam) for seam in seams):
                return None
            found.append(moved)
        return tuple(dict.fromkeys(found))

    def _off(self, drain: FloorDrain, seam: BedSeam) -> FloorDrain | None:
        """The drain where it is, or as near beside the seam as it may lie."""
        if _misses(drain, seam):
            return drain
        here = shapely.Point(drain.x_mm, drain.y_mm)
        off = drain.radius_mm + SEAM_HALF_MM + FINE_MM
        places = []
        for way in (-1.0, 1.0):
            at = seam.at_mm + way * off
            x, y = (at, drain.y_mm) if seam.axis == 0 else (drain.x_mm, at)
            along = shapely.LineString([here, shapely.Point(x, y)])
            if self.floor.contains(along.buffer(drain.radius_mm)):
                places.append((along.length, x, y))
        if not places:
            return None
        _, x, y = min(places)
        return FloorDrain(x_mm=x, y_mm=y, radius_mm=drain.radius_mm)


def _misses(drain: FloorDrain, seam: BedSeam) -> bool:
    at = (drain.x_mm, drain.y_mm)[seam.axis]
    return abs(at - seam.at_mm) >= drain.radius_mm + SEAM_HALF_MM


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CutSite:
    """Tub or lid before it is cut.

    ``whole``: its plan with all that stands out; ``outline``: of floor or lid; ``inside``: between
    the walls. ``lines``, ``laps``: by name, what a seam's line and its walls' laps must not meet;
    ``rather_not``, ``rather_no_laps``: what these meet only where there is no other place: the
    line passes beneath the board, slots at the laps are left out;
    ``bands``: walls that it crosses straight or not at all. ``walls``: by axis, None where no wall
    laps. ``plate_mm``: thickness of floor or lid. ``drains``: of the tub's floor."""

    part: str
    whole: BaseGeometry
    outline: shapely.Polygon
    inside: shapely.Polygon
    lines: Named
    rather_not: Named
    laps: Named
    rather_no_laps: Named
    bands: Named
    straps: StrapSite
    plate_mm: float
    drains: DrainSite | None = None
    walls: Callable[[int], LapWalls] | None = None


def _discs(pads: Iterable[SupportPad]) -> BaseGeometry:
    return shapely.union_all([disc(p.x_mm, p.y_mm, p.radius_mm) for p in pads])


def _rects(rects: Iterable[Rect]) -> BaseGeometry:
    return shapely.union_all([box(rect) for rect in rects])


def _bosses(sizes: FittedSizes, by_mm: float = 0.0) -> BaseGeometry:
    return shapely.union_all(
        [disc(*screw.at_mm, screw.radius_mm + by_mm) for screw in sizes.shell.screws]
    )


def _glands(sizes: FittedSizes) -> BaseGeometry:
    """Cap and nut of each gland, seen from above."""
    found = []
    for hole in sizes.holes:
        x, y, _ = hole.at_mm
        u, v = hole.out
        keep, deep = hole.gland.keep_radius_mm, hole.gland.long_mm
        a, b = (x - deep * u, y - deep * v), (x + deep * u, y + deep * v)
        found.append(
            shapely.box(
                min(a[0], b[0]) - keep * abs(v), min(a[1], b[1]) - keep * abs(u),
                max(a[0], b[0]) + keep * abs(v), max(a[1], b[1]) + keep * abs(u),
            )
        )  # fmt: skip
    return shapely.union_all(found)


def _standing(sizes: FittedSizes) -> dict[str, BaseGeometry]:
    """What stands on the floor, but for walls, partition and pads."""
    board = sizes.board
    return {
        "guide": _rects([*board.guides, *board.rests]),
        "fuse": _rects([sizes.fuse.plan, *sizes.fuse.walls, *(t.block for t in sizes.tie_lugs)]),
        "stop": _rects(sizes.stops),
    }


def tub_site(sizes: FittedSizes) -> CutSite:
    """The tub, its straps beneath the floor."""
    shell = sizes.shell
    outer, inside = loop_polygon(shell.outer), loop_polygon(shell.inner.loop)
    wide = sizes.pad_width_mm
    blocks = _rects(pad_block(sizes, pad, max(wide, pad.block_mm)) for pad in sizes.pads)
    drains = shapely.union_all([disc(d.x_mm, d.y_mm, d.radius_mm) for d in sizes.drains])
    pads, standing = _discs(sizes.support_pads_floor), _standing(sizes)
    slots = shapely.union_all([shapely.Polygon(slot.corners_mm) for slot in sizes.slots])
    bosses, partition, board = (
        _bosses(sizes, BOSS_MM), partition_shape(sizes), box(sizes.board.board)
    )  # fmt: skip
    whole = shapely.union_all([outer, _bosses(sizes), blocks]).simplify(FINE_MM)
    x0, y0, x1, y1 = whole.bounds
    return CutSite(
        part="tub", whole=whole, outline=outer, inside=inside,
        lines=(("pad", pads), *standing.items()),
        rather_not=(("board", board),),
        laps=(("boss", bosses), ("mounting pad", blocks), ("gland", _glands(sizes))),
        rather_no_laps=(("slot", slots),),
        bands=(("wall", outer.difference(inside)), ("partition", partition)),
        straps=StrapSite.of(
            outer, shapely.Polygon(), inside,
            shapely.union_all([pads, drains, partition, board, *standing.values()]),
        ),
        plate_mm=shell.levels.floor_mm - shell.levels.under_mm,
        drains=DrainSite(
            drains=sizes.drains,
            floor=inside.difference(shapely.union_all([partition, pads, *standing.values()])),
        ),
        walls=cache(
            lambda axis: lap_walls(shell.inner.loop, shell.wall_mm, (x0, y0, x1, y1), axis)
        ),
    )  # fmt: skip


def lid_site(sizes: FittedSizes) -> CutSite:
    """The lid, its straps on top."""
    shell = sizes.shell
    outer, lip = loop_polygon(shell.lip_outer), loop_polygon(shell.lip_inner)
    inside = loop_polygon(shell.inner.loop)
    head = low_heads()["M3"].head_diameter_mm / 2
    heads = shapely.union_all([disc(*screw.at_mm, head) for screw in shell.screws])
    pads, partition = _discs(sizes.support_pads_lid), partition_shape(sizes)
    clamp = shapely.Polygon()
    if sizes.clamp is not None:
        cords = [disc(*one) for cord in sizes.clamp.cords for one in cord.cover]
        clamp = shapely.union_all([*cords, _discs(sizes.clamp.disc_pads)])
    return CutSite(
        part="lid", whole=shell.lid_plan.simplify(FINE_MM), outline=outer, inside=inside,
        lines=(("pad", pads), ("clamp", clamp)), rather_not=(),
        laps=(("boss", _bosses(sizes, BOSS_MM)),), rather_no_laps=(),
        bands=(("lip", outer.difference(lip)),),
        straps=StrapSite.of(
            outer, heads, inside,
            shapely.union_all(
                [pads, clamp, partition, _bosses(sizes), box(sizes.board.board),
                 _standing(sizes)["guide"]]
            ),
        ),
        plate_mm=shell.levels.lid_mm - shell.levels.rim_mm,
    )  # fmt: skip


def fewest_screws(
    pieces: Sequence[BaseGeometry], straps: Sequence[Strap]
) -> tuple[int, BaseGeometry]:
    """Of all pieces that with the fewest screws of straps, and how many these are."""
    screws = [(one.x_mm, one.y_mm) for strap in straps for one in strap.screws]
    points = shapely.points(np.array(screws).reshape(-1, 2))
    counts = [(int(shapely.contains(piece, points).sum()), piece) for piece in pieces]
    return min(counts, key=lambda one: one[0])


def seam_mm(site: CutSite, seam: BedSeam) -> float:
    """Length of a seam between the walls."""
    line = strip_of(seam.axis, seam.at_mm - CLEAR_MM / 2, seam.at_mm + CLEAR_MM / 2)
    return float(line.intersection(site.inside).area / CLEAR_MM)


def pieces_of(site: CutSite, seams: Sequence[BedSeam]) -> tuple[BaseGeometry, ...]:
    """What is really left of the plan between seams, row by row from -y, each row from -x."""
    x0, y0, x1, y1 = site.whole.bounds
    found: list[BaseGeometry] = []
    bands = [
        [low - 1.0, *sorted(seam.at_mm for seam in seams if seam.axis == axis), high + 1.0]
        for axis, low, high in ((0, x0, x1), (1, y0, y1))
    ]
    for (v0, v1), (u0, u1) in itertools.product(
        itertools.pairwise(bands[1]), itertools.pairwise(bands[0])
    ):
        left = site.whole.intersection(shapely.box(u0, v0, u1, v1))
        found += [part for part in shapely.get_parts(left) if part.area > LEAST_PIECE_MM2]
    return tuple(found)
