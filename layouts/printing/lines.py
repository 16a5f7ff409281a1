"""The lines that fill a part's layers, without a path: closed lines along the rims, areas inside.

No tool path is made. Wall lines are the rims of a section, set in; what they leave is solid where
one of the next layers above or below leaves it bare, and sparse elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.printing.sections import LayerStack
from layouts.printing.settings import PrintSettings

__all__ = ["ClosedLines", "FillAreas", "PartLines", "WallLines", "closed_lines", "part_lines"]

FloatArray = NDArray[np.float64]

MITRE_LIMIT = 2.0
LEAST_EDGE_MM = 1e-6
LEAST_AREA_MM2 = 0.01  # less is noise of offsets, no place that is left bare
SOLID_BELOW_MM2 = 70.0  # sparse islands smaller than this are filled; common practice, no source
# a closed line within another goes only where so much of its distance is left between its sides;
# narrower places are filled along. Slicers lay two lines where each is 0.85 of the nozzle wide:
# common practice, no source; one sliced holder with webs of 1.45 mm had them at 0.46
LINE_ROOM = 0.4
THIN_SHARE = 0.2  # second walls shorter than this share of the first: the wall is filled along it


@dataclass(frozen=True, kw_only=True, slots=True)
class ClosedLines:
    """Closed lines of straight runs, one after another.

    ``run_mm`` (n,); ``turn`` (n,): change of direction at each run's end, as the difference of unit
    vectors on the axis where it is greater; ``begins`` (k,): first run of each line.
    """

    run_mm: FloatArray
    turn: FloatArray
    begins: NDArray[np.int64]

    @property
    def length_mm(self) -> float:
        """All lines together."""
        return float(self.run_mm.sum())


@dataclass(frozen=True, kw_only=True, slots=True)
class WallLines:
    """Walls of one section. ``outer``, ``second``: the first line from the rim and the next;
    ``inner_mm``: length of all lines but the first; ``wall_mm2``: plan of all of them;
    ``core``: what they leave; ``across_mm``: size of the section by the root of its lines."""

    outer: ClosedLines
    second: ClosedLines
    inner_mm: float
    wall_mm2: float
    core: BaseGeometry
    across_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class FillAreas:
    """What fills one layer within its walls [mm2]: ``top``, ``hanging`` are shares of ``solid``
    that lie open, and over air or sparse lines; rims: of the solid and of the sparse areas."""

    solid_mm2: float
    rim_mm: float
    top_mm2: float
    hanging_mm2: float
    sparse_mm2: float
    sparse_rim_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PartLines:
    """All layers of a part: ``walls`` of its different sections, ``fills`` of its different layers;
    ``of``: numbers of both for each layer, from below."""

    settings: PrintSettings
    walls: tuple[WallLines, ...]
    fills: tuple[FillAreas, ...]
    of: tuple[tuple[int, int], ...]


def part_lines(stack: LayerStack, settings: PrintSettings) -> PartLines:
    """The lines of all layers. ``stack`` is cut at the settings' layer height."""
    walls = [_walls(section, settings) for section in stack.sections]
    found: dict[tuple[object, ...], int] = {}
    fills: list[FillAreas] = []
    sparse: list[BaseGeometry] = []
    of: list[tuple[int, int]] = []
    layers = _Neighbours(stack, tuple(one.core for one in walls), settings)
    for k, section in enumerate(stack.of):
        below = of[-1][1] if of else None
        key = (*layers.key(k), below)
        if key not in found:
            fill, left = layers.fill(k, None if below is None else sparse[below])
            same = _same(fill, fills)
            found[key] = len(fills) if same is None else same
            if same is None:
                fills.append(fill)
                sparse.append(left)
        of.append((section, found[key]))
    return PartLines(settings=settings, walls=tuple(walls), fills=tuple(fills), of=tuple(of))


def closed_lines(shape: BaseGeometry) -> ClosedLines:
    """The rims of a shape as lines to be printed."""
    rings = shapely.get_rings(shapely.get_parts(shape))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    run = np.diff(points, axis=0)
    length = np.hypot(*run.T)
    kept = (ring[1:] == ring[:-1]) & (length > LEAST_EDGE_MM)
    length, ring = length[kept], ring[1:][kept]
    way = run[kept] / length[:, None]
    begins = np.flatnonzero(np.diff(ring, prepend=-1)) if len(ring) else np.zeros(0, np.int64)
    following = np.arange(1, len(ring) + 1)
    if len(ring):
        following[np.append(begins[1:], len(ring)) - 1] = begins
    turn = np.abs(way[following] - way).max(axis=1) if len(ring) else np.zeros(0)
    return ClosedLines(run_mm=length, turn=turn, begins=begins)


def _grown(shape: BaseGeometry, by_mm: float) -> BaseGeometry:
    # the library tells divisions by zero at mitres of parallel edges, which it has an answer for
    with np.errstate(divide="ignore", invalid="ignore"):
        return shapely.buffer(shape, by_mm, join_style="mitre", mitre_limit=MITRE_LIMIT)


def _walls(section: BaseGeometry, settings: PrintSettings) -> WallLines:
    wide, apart = settings.line_mm, settings.apart_mm
    outer = closed_lines(_grown(section, -wide / 2.0))
    core = _grown(section, -(wide / 2.0 + (settings.wall_lines - 0.5) * apart))
    wall_mm2 = section.area - core.area
    # what is narrower than a line is left empty
    core = _grown(_grown(core, -apart / 2.0), apart / 2.0)
    room_mm = LINE_ROOM * apart / 2.0
    second = closed_lines(_grown(_grown(section, -wide / 2.0 - apart - room_mm), room_mm))
    if second.length_mm < THIN_SHARE * outer.length_mm:
        second = outer
    # a layer of which nothing is left has no bounds
    x0, y0, x1, y1 = (0.0,) * 4 if section.is_empty else section.bounds
    return WallLines(
        outer=outer,
        second=second,
        inner_mm=max(wall_mm2 / apart - outer.length_mm, 0.0),
        wall_mm2=wall_mm2,
        core=core,
        across_mm=((x1 - x0) * (y1 - y0) / max(len(outer.begins), 1)) ** 0.5,
    )


class _Neighbours:
    """What the layers above and below leave bare of each layer's core.

    Pieces of a core that are small are solid whatever lies above: only the others are looked at.
    """

    def __init__(
        self, stack: LayerStack, cores: Sequence[BaseGeometry], settings: PrintSettings
    ) -> None:
        self._of, self._cores, self._settings = stack.of, cores, settings
        pieces = [shapely.get_parts(core) for core in cores]
        self._large = [shapely.MultiPolygon(list(one[_is_large(one)])) for one in pieces]
        self._small = [shapely.MultiPolygon(list(one[~_is_large(one)])) for one in pieces]

        @cache
        def bare(section: int, other: int) -> BaseGeometry:
            """Of the large pieces of a section's core what another section does not cover."""
            return shapely.difference(self._large[section], stack.sections[other])

        @cache
        def bare_mm2(section: int, other: int) -> float:
            """The same of the whole core, its area."""
            small = shapely.difference(self._small[section], stack.sections[other])
            return float(bare(section, other).area + small.area)

        self._bare, self._bare_mm2 = bare, bare_mm2

    def key(self, k: int) -> tuple[object, ...]:
        """Equal for layers that are filled alike, as far as neighbours go."""
        return self._of[k], self._above(k), self._below(k), self._next(k, 1), self._next(k, -1)

    def _above(self, k: int) -> frozenset[int | None]:
        return self._sections(range(k + 1, k + 1 + self._settings.top_layers), k)

    def _below(self, k: int) -> frozenset[int | None]:
        return self._sections(range(k - self._settings.bottom_layers, k), k)

    def _next(self, k: int, step: int) -> int | None:
        """Section of the layer above or below; None: there is none."""
        return self._of[k + step] if 0 <= k + step < len(self._of) else None

    def _sections(self, layers: range, k: int) -> frozenset[int | None]:
        """Other sections than its own in these layers; None: beyond the part."""
        of = self._of
        there = {of[j] if 0 <= j < len(of) else None for j in layers}
        return frozenset(there - {of[k]})

    def fill(self, k: int, sparse_below: BaseGeometry | None) -> tuple[FillAreas, BaseGeometry]:
        """Areas of one layer and its sparse places; ``sparse_below``: those of the layer below."""
        section = self._of[k]
        core, small = self._large[section], self._small[section]
        apart = self._settings.apart_mm
        solid = self._solid(k)
        islands: list[BaseGeometry] = []
        if core.area - solid.area > LEAST_AREA_MM2:
            # necks too narrow for a line part the islands
            rest = _grown(_grown(core.difference(solid), -apart / 2.0), apart / 2.0)
            islands = [one for one in shapely.get_parts(rest) if not one.is_empty]
        filled = [small, *(one for one in islands if one.area < SOLID_BELOW_MM2)]
        left = shapely.MultiPolygon([one for one in islands if one.area >= SOLID_BELOW_MM2])
        solid_mm2 = float(solid.area + sum(one.area for one in filled))
        above = self._next(k, 1)
        open_mm2 = self._cores[section].area if above is None else self._bare_mm2(section, above)
        top_mm2 = min(open_mm2, solid_mm2)
        fill = FillAreas(
            solid_mm2=solid_mm2,
            rim_mm=float(solid.length + sum(one.length for one in filled)),
            top_mm2=top_mm2,
            hanging_mm2=min(self._hanging_mm2(k, solid, sparse_below), solid_mm2 - top_mm2),
            sparse_mm2=float(left.area),
            sparse_rim_mm=float(left.length),
        )
        return fill, left

    def _hanging_mm2(self, k: int, solid: BaseGeometry, sparse_below: BaseGeometry | None) -> float:
        """Solid area over air; the first solid layer over sparse lines hangs too."""
        section, below = self._of[k], self._next(k, -1)
        if below is None or sparse_below is None:
            return 0.0
        over_air = 0.0 if below == section else self._bare_mm2(section, below)
        return over_air + float(solid.intersection(sparse_below).area)

    def _solid(self, k: int) -> BaseGeometry:
        """Of the large pieces what the layers above or below leave bare."""
        section, above, below = self._of[k], self._above(k), self._below(k)
        if None in above or None in below:
            return self._large[section]
        return self._open(section, above | below)

    def _open(self, section: int, others: frozenset[int | None]) -> BaseGeometry:
        """What these sections leave bare, grown by a line within the core."""
        core = self._large[section]
        if core.is_empty:
            return core
        bare = [self._bare(section, other) for other in sorted(o for o in others if o is not None)]
        bare = [one for one in bare if one.area > LEAST_AREA_MM2]
        if not bare:
            return shapely.Polygon()
        return _grown(shapely.union_all(bare), self._settings.apart_mm).intersection(core)


def _is_large(pieces: NDArray[np.object_]) -> NDArray[np.bool_]:
    return np.asarray(shapely.area(pieces) >= SOLID_BELOW_MM2)


def _same(fill: FillAreas, fills: Sequence[FillAreas]) -> int | None:
    """The same areas found before: so layers over them count as alike."""
    return fills.index(fill) if fill in fills else None
