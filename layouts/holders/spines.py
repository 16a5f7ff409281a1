"""What hangs over a holder's channels when it is printed: its webs and its wall as lines.

A spine is the middle of a web between touching pockets, from gap to gap, of the wall outside the
outermost ones, or of an interlock tab beyond its tile's seam. It stands where lip, or a support
pin, lies under it; between, it is a bridge.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.holders.channels import web_to_wall
from layouts.holders.holder import HolderTile, SupportPin
from layouts.holders.outline import outline_points_mm
from layouts.holders.tile_plan import lip_pieces, open_shape, plan_polygon
from layouts.pack import Face, Pack

__all__ = [
    "FREE_LIMIT_MM",
    "SPAN_LIMIT_MM",
    "Hanging",
    "Spines",
    "hanging",
    "needs_pin",
    "spines_of",
    "spines_over",
]

SPAN_LIMIT_MM = 12.0  # a longer bridge sags; judged from common practice, no source
FREE_LIMIT_MM = 2.0  # an end that hangs further out curls; judged from common practice, no source
LINE_MM = 0.1  # of a web's width lies on lip where it stands: far above what chords leave
LEAST_MM = 1.0  # a shorter stretch is none: three lines
CORNER_QUARTER = 4  # chords a quarter turn where what stands is grown: 0.02 mm off
CHORD_QUARTER = 16  # chords a quarter turn of a pin
SAME_MM = 1e-4  # points on one another: far above what intersections leave
MEET_MM = 1e-3  # ends that meet
DEGREES = 180


@dataclass(frozen=True, kw_only=True, slots=True)
class Hanging:
    """A stretch of a spine with nothing under it; whether its ends lead on to nothing that
    stands. ``is_wall``: of the wall, else of a web."""

    line: shapely.LineString
    starts_free: bool
    ends_free: bool
    is_wall: bool

    @property
    def is_free(self) -> bool:
        """Whether it hangs by one end only, or by none."""
        return self.starts_free or self.ends_free


@dataclass(frozen=True, kw_only=True, slots=True)
class Spines:
    """All spines of one tile in its plan.

    ``webs``, ``wall``: their parts over nothing but the bed; a tab is one of the webs where it
    begins as low, else one of the wall. ``web_under``, ``wall_under``: what
    these stand on. ``web_mm``: height of the webs' floors; the wall begins higher. ``stand``: the
    lip that stands on the bed; ``bars``: what else begins as low as the webs, and carries the wall;
    ``plan``: the tile's whole plan."""

    webs: tuple[shapely.LineString, ...]
    wall: tuple[shapely.LineString, ...]
    web_under: BaseGeometry
    wall_under: BaseGeometry
    web_mm: float
    stand: BaseGeometry
    bars: BaseGeometry
    plan: BaseGeometry


def spines_of(pack: Pack, cell_layout: CellLayout, tile: HolderTile) -> Spines:
    """Webs and wall of a tile, and what they stand on without pins."""
    plan = plan_polygon(tile)
    windows = shapely.union_all(shapely.buffer(shapely.points(tile.xy_mm), tile.window_mm / 2))
    pieces = lip_pieces(tile)
    stand = plan.difference(open_shape(tile, pieces)).difference(windows)
    dropped = [piece.shape for piece in pieces if piece.dropped]
    bars = shapely.union_all([*shapely.polygons(tile.bars), *dropped])
    return spines_over(pack, cell_layout, tile, plan=plan, stand=stand, wall_stand=stand, bars=bars)


def spines_over(
    pack: Pack,
    cell_layout: CellLayout,
    tile: HolderTile,
    *,
    plan: BaseGeometry,
    stand: BaseGeometry,
    wall_stand: BaseGeometry,
    bars: BaseGeometry,
) -> Spines:
    """Webs and wall of a tile over any shapes that stand on the bed, as high as they begin.

    ``plan``: the tile's, ``bars``: what begins as low as the webs, and carries the wall."""
    web_under = stand.buffer(web_reach_mm(pack), quad_segs=CORNER_QUARTER)
    wall_under = shapely.union(
        stand.buffer(pack.holder.wall_mm / 2 - LINE_MM, quad_segs=CORNER_QUARTER), bars
    )
    low, high = tab_lines(tile, bars)
    return Spines(
        webs=_over_nothing([*web_lines(pack, cell_layout, tile), *low], plan, web_under),
        wall=_over_nothing([*wall_lines(pack, tile), *high], plan, wall_under),
        web_under=web_under,
        wall_under=wall_under,
        web_mm=tile.lip_mm + tile.web_recess_mm,
        stand=stand,
        bars=bars,
        plan=plan,
    )


def web_reach_mm(pack: Pack) -> float:
    """How far beside a web's middle lip still carries it."""
    return (pack.pitch_mm - pack.pocket_mm) / 2 - LINE_MM


def web_lines(pack: Pack, cell_layout: CellLayout, tile: HolderTile) -> list[shapely.LineString]:
    """The webs at a tile's cells in its plan; those in one line that meet are one.

    Of a web between two tiles the half that is this tile's."""
    flip = np.array([-1.0 if tile.face is Face.UPPER else 1.0, 1.0])
    xy, own = cell_layout.xy_mm * flip, np.zeros(len(cell_layout.xy_mm), dtype=np.bool_)
    own[tile.cells] = True
    pairs = cell_layout.neighbours.reshape(-1, 2)
    lines = []
    for pair in pairs[own[pairs].any(axis=1)]:
        line = web_to_wall(pack, xy, pair, tile.outline)
        if not own[pair].all():
            (here,), (there,) = xy[pair[own[pair]]], xy[pair[~own[pair]]]
            apart = float(np.hypot(*(here - there)))
            dx, dy = ((here - there) / apart * (apart - pack.pocket_mm) / 4).tolist()
            line = shapely.affinity.translate(line, dx, dy)
        lines.append(line)
    ways: dict[int, list[shapely.LineString]] = {}
    for line in lines:
        (x0, y0), (x1, y1) = shapely.get_coordinates(line)[[0, -1]].tolist()
        degrees = round(math.degrees(math.atan2(y1 - y0, x1 - x0))) % DEGREES
        ways.setdefault(degrees, []).append(line)
    return [
        one
        for _, same in sorted(ways.items())
        for one in shapely.get_parts(
            shapely.line_merge(shapely.union_all(shapely.set_precision(same, SAME_MM)))
        ).tolist()
    ]


def wall_lines(pack: Pack, tile: HolderTile) -> list[shapely.LineString]:
    """The middle of the wall outside the outermost pockets, within a tile."""
    whole = shapely.make_valid(shapely.Polygon(outline_points_mm(tile.outline)))
    rings = whole.buffer(-pack.holder.wall_mm / 2).boundary
    if tile.mask_mm is not None:
        rings = rings.intersection(shapely.Polygon(tile.mask_mm))
    return list(shapely.get_parts(rings))


def tab_lines(
    tile: HolderTile, bars: BaseGeometry
) -> tuple[list[shapely.LineString], list[shapely.LineString]]:
    """The middle of each of a tile's interlock tabs from the bulb's far end to the seam: of those
    that begin as low as the webs, and of the others."""
    low: list[shapely.LineString] = []
    high: list[shapely.LineString] = []
    if tile.mask_mm is None:
        return low, high
    mask = shapely.Polygon(tile.mask_mm)
    for tab in tile.tabs:
        if tab.is_tab:
            root, bulb = np.array([tab.x0_mm, tab.y0_mm]), np.array([tab.x_mm, tab.y_mm])
            tip = bulb + tab.radius_mm * (bulb - root) / np.hypot(*(bulb - root))
            line = shapely.LineString([tip, root]).difference(mask)
            over_bars = line.intersection(bars).length > line.length / 2
            (low if over_bars else high).append(line)
    return low, high


def _over_nothing(
    lines: Iterable[shapely.LineString], plan: BaseGeometry, under: BaseGeometry
) -> tuple[shapely.LineString, ...]:
    """The parts of lines within the plan that stand on nothing."""
    shapely.prepare([plan, under])
    there = np.array(list(lines), dtype=np.object_)
    there = there[~shapely.covers(under, there)]
    beyond = ~shapely.covers(plan, there)
    there[beyond] = shapely.intersection(there[beyond], plan)
    found = shapely.difference(there, under).tolist()
    return tuple(
        part
        for one in found
        for part in shapely.get_parts(
            shapely.line_merge(one) if one.geom_type == "MultiLineString" else one
        ).tolist()
        if part.geom_type == "LineString" and part.length > SAME_MM
    )


def hanging(spines: Spines, pins: Sequence[SupportPin]) -> tuple[Hanging, ...]:
    """What hangs although pins stand under it, webs first.

    A short end that hangs from what stands carries what meets it."""
    discs, high = _discs(pins), _discs([pin for pin in pins if pin.high_mm > spines.web_mm])
    shapely.prepare([discs, high, spines.web_under, spines.wall_under])
    webs = _stretches(spines.webs, discs, (spines.web_under,), is_wall=False)
    stubs = [
        shapely.get_point(one.line, 0 if one.starts_free else -1)
        for one in webs
        if one.starts_free is not one.ends_free and one.line.length <= FREE_LIMIT_MM
    ]
    if stubs:
        carried = shapely.MultiPoint(stubs)
        webs = _stretches(spines.webs, discs, (spines.web_under, carried), is_wall=False)
    return (*webs, *_stretches(spines.wall, high, (spines.wall_under,), is_wall=True))


def _discs(pins: Sequence[SupportPin]) -> shapely.MultiPolygon:
    return shapely.MultiPolygon(
        [
            shapely.Point(pin.x_mm, pin.y_mm).buffer(pin.diameter_mm / 2, quad_segs=CHORD_QUARTER)
            for pin in pins
        ]
    )


def _stretches(
    lines: Sequence[shapely.LineString],
    discs: shapely.MultiPolygon,
    under: Sequence[BaseGeometry],
    *,
    is_wall: bool,
) -> list[Hanging]:
    """The parts of lines that no disc carries; their ends stand where ``under`` or a disc is."""
    parts = [
        part
        for part in shapely.get_parts(shapely.difference(np.array(lines, dtype=object), discs))
        if part.length >= LEAST_MM
    ]
    ends = np.array([[shapely.get_point(part, k) for k in (0, -1)] for part in parts])
    stands = np.zeros((len(parts), 2), dtype=np.bool_)
    for shape in (*under, discs):
        stands |= shapely.dwithin(shape, ends.reshape(-1, 2), MEET_MM)
    return [
        Hanging(line=part, starts_free=not start, ends_free=not end, is_wall=is_wall)
        for part, (start, end) in zip(parts, stands.tolist(), strict=True)
    ]


def needs_pin(stretch: Hanging) -> bool:
    """Whether a stretch is too long: a shorter one will do where it hangs by one end, or none."""
    limit_mm = FREE_LIMIT_MM if stretch.is_free else SPAN_LIMIT_MM
    return float(stretch.line.length) > limit_mm + SAME_MM
