"""Which part is printed on which bed, and where: true outlines on a raster, four ways round.

Where a part may lie on a bed that has others is the correlation of both rasters, computed by
Fourier transform. Large parts go first; each takes the place next to the bed's front left corner
on the first bed that has one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.fft import irfft2, next_fast_len, rfft2
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from layouts.printer_spec import Printer

__all__ = ["BED_GAP_MM", "BedPart", "OnBed", "bed_of", "laid_on_beds", "plate_file"]

BED_GAP_MM = 5.0  # between parts on one bed: room for a scraper; common practice, no source
CELL_MM = 1.0  # of the raster
HALF_DIAGONAL = math.sqrt(0.5)  # of a cell: a cell counts where any of it may be covered
OUTLINE_FINE_MM = 0.05  # of outlines: far below a cell
X_WEIGHT = 0.35  # of a place's x against its y: rows fill from the front
CIRCLE_SEGMENTS = 64  # a quarter of a round bed
INSIDE_NOISE_MM = 1e-6
TURNS = (0, 90, 180, 270)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BedPart:
    """A part to be laid: its plan as printed, and how many. Those of one ``kin`` that is not ""
    lie the same way round or turned by half: shrinkage differs along x and y."""

    name: str
    plan: BaseGeometry
    count: int = 1
    kin: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class OnBed:
    """One copy: turned about its own origin, counter-clockwise, then shifted. The bed's front left
    corner, or that of a round bed's box, is (0, 0); ``bed`` counts from 0."""

    name: str
    bed: int
    turn_deg: int
    shift_mm: tuple[float, float]

    def matrix(self) -> NDArray[np.float64]:
        """(4, 4) from the part's coordinates to the bed's; heights stay."""
        placed = np.eye(4)
        cos, sin = _QUARTERS[self.turn_deg]
        placed[:2, :2] = [[cos, -sin], [sin, cos]]
        placed[:2, 3] = self.shift_mm
        return placed


_QUARTERS = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}


def plate_file(bed: int) -> str:
    """Where a bed's file lies in the folder of the result; ``bed`` counts from 0."""
    return f"plates/plate-{bed + 1}.3mf"


def bed_of(printer: Printer) -> BaseGeometry:
    """The plan of a bed, its box from (0, 0)."""
    if printer.bed_round_mm is None:
        return shapely.box(0.0, 0.0, *printer.bed_mm[:2])
    radius = printer.bed_round_mm[0] / 2.0
    return shapely.Point(radius, radius).buffer(radius, quad_segs=CIRCLE_SEGMENTS)


def laid_on_beds(
    parts: Sequence[BedPart],
    bed: BaseGeometry,
    *,
    edge_mm: float,
    gap_mm: float = BED_GAP_MM,
) -> tuple[tuple[OnBed, ...], tuple[str, ...]]:
    """Every copy in the order of beds, and the names of parts that no bed takes.

    ``edge_mm`` of each bed stays free; a part that needs more of it lies alone in the middle.
    """
    beds = _BedField(bed, edge_mm, gap_mm)
    shapes = {one.name: beds.turned(one.plan) for one in parts}
    order = sorted(parts, key=lambda one: (-one.plan.area, one.name))
    laid: list[OnBed] = []
    alone: list[tuple[BedPart, OnBed]] = []
    refused: list[str] = []
    kin_turn: dict[str, int] = {}
    for part in order:
        if not beds.takes(shapes[part.name]):
            middle = _in_the_middle(part, bed)
            if middle is None:
                refused.append(part.name)
            else:
                alone.append((part, middle))
            continue
        for _ in range(part.count):
            at = beds.lay(part.name, shapes[part.name], kin_turn.get(part.kin))
            if part.kin:
                kin_turn.setdefault(part.kin, at.turn_deg % 180)
            laid.append(at)
    first = beds.count
    for part, middle in alone:
        for _ in range(part.count):
            laid.append(
                OnBed(name=part.name, bed=first, turn_deg=middle.turn_deg, shift_mm=middle.shift_mm)
            )
            first += 1
    return tuple(sorted(laid, key=lambda one: one.bed)), tuple(refused)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Turned:
    """A part one way round: what it covers with half the gap, and its transform."""

    turn_deg: int
    corner_mm: tuple[float, float]
    covered: NDArray[np.bool_]
    spectrum: NDArray[np.complex64]


@dataclass(slots=True, eq=False)
class _Filling:
    """One bed being filled; lives only within one call."""

    covered: NDArray[np.bool_]
    spectrum: NDArray[np.complex64] | None = None
    full_for: set[tuple[str, int | None]] = field(default_factory=set)


class _BedField:
    """Beds of one outline as rasters."""

    def __init__(self, bed: BaseGeometry, edge_mm: float, gap_mm: float) -> None:
        x0, y0, x1, y1 = bed.bounds
        self._origin, self._gap = (x0, y0), gap_mm
        wide, high = int((x1 - x0) / CELL_MM), int((y1 - y0) / CELL_MM)
        inside = bed.buffer(gap_mm / 2.0 - edge_mm - CELL_MM * HALF_DIAGONAL)
        self._closed = ~_covered(inside, (x0, y0), (wide, high))
        self._size = next_fast_len(2 * high, True), next_fast_len(2 * wide, True)
        self._beds: list[_Filling] = []
        self._empty = _Filling(self._closed)

    @property
    def count(self) -> int:
        """Beds so far."""
        return len(self._beds)

    def turned(self, plan: BaseGeometry) -> tuple[_Turned, ...]:
        """A plan all four ways round, of those that the bed's box takes."""
        rough = shapely.simplify(plan, OUTLINE_FINE_MM)
        high, wide = self._closed.shape
        ways = []
        for turn in TURNS:
            way = affinity.rotate(rough, turn, origin=(0.0, 0.0)).buffer(self._gap / 2.0)
            x0, y0, x1, y1 = way.bounds
            cells = math.ceil((x1 - x0) / CELL_MM), math.ceil((y1 - y0) / CELL_MM)
            if cells[0] > wide or cells[1] > high:
                continue
            covered = _covered(way.buffer(CELL_MM * HALF_DIAGONAL), (x0, y0), cells)
            spectrum = rfft2(covered[::-1, ::-1].astype(np.float32), self._size)
            ways.append(
                _Turned(turn_deg=turn, corner_mm=(x0, y0), covered=covered, spectrum=spectrum)
            )
        return tuple(ways)

    def takes(self, ways: Sequence[_Turned]) -> bool:
        """Whether an empty bed has a place for a part."""
        return any(self._place(self._empty, way) is not None for way in ways)

    def lay(self, name: str, ways: Sequence[_Turned], half_turn: int | None) -> OnBed:
        """Lay one copy of a part that an empty bed takes; ``half_turn``: as its kin lies."""
        like_kin = [w for w in ways if half_turn is None or w.turn_deg % 180 == half_turn]
        if half_turn is not None and not self.takes(like_kin):
            half_turn, like_kin = None, list(ways)
        number = 0
        while True:
            if number == len(self._beds):
                self._beds.append(_Filling(self._closed.copy()))
            bed = self._beds[number]
            if (name, half_turn) not in bed.full_for:
                found = [(at, way) for way in like_kin if (at := self._place(bed, way)) is not None]
                if found:
                    return self._put(name, number, *min(found, key=lambda one: one[0]))
                bed.full_for.add((name, half_turn))  # beds only fill
            number += 1

    def _place(self, bed: _Filling, way: _Turned) -> tuple[float, int, int] | None:
        """(rank, row, column) of the best free place's first cell."""
        high, wide = self._closed.shape
        h, w = way.covered.shape
        if bed.spectrum is None:
            bed.spectrum = rfft2(bed.covered.astype(np.float32), self._size)
        hits = irfft2(bed.spectrum * way.spectrum, self._size)[h - 1 : high, w - 1 : wide]
        rows, columns = np.nonzero(hits < 0.5)  # cells that both cover: whole numbers but for noise
        if not len(rows):
            return None
        rank = rows + h + X_WEIGHT * (columns + w)
        best = int(np.argmin(rank))
        return float(rank[best]), int(rows[best]), int(columns[best])

    def _put(self, name: str, number: int, at: tuple[float, int, int], way: _Turned) -> OnBed:
        _, row, column = at
        h, w = way.covered.shape
        bed = self._beds[number]
        bed.covered[row : row + h, column : column + w] |= way.covered
        bed.spectrum = None
        return OnBed(
            name=name,
            bed=number,
            turn_deg=way.turn_deg,
            shift_mm=(
                self._origin[0] + column * CELL_MM - way.corner_mm[0],
                self._origin[1] + row * CELL_MM - way.corner_mm[1],
            ),
        )


def _covered(
    shape: BaseGeometry, corner_mm: tuple[float, float], cells: tuple[int, int]
) -> NDArray[np.bool_]:
    """(rows, columns) whether the middle of each cell lies in a shape; from the first's corner."""
    x = corner_mm[0] + (np.arange(cells[0]) + 0.5) * CELL_MM
    y = corner_mm[1] + (np.arange(cells[1]) + 0.5) * CELL_MM
    shapely.prepare(shape)
    return np.asarray(shapely.contains_xy(shape, *np.meshgrid(x, y)))


def _in_the_middle(part: BedPart, bed: BaseGeometry) -> OnBed | None:
    """Alone on a bed, nearer to its edge than others; None: it does not fit."""
    room = bed.buffer(INSIDE_NOISE_MM)
    for turn in TURNS:
        way = affinity.rotate(part.plan, turn, origin=(0.0, 0.0))
        for middle in (
            shapely.box(*way.bounds).centroid,
            shapely.minimum_bounding_circle(way).centroid,
        ):
            shift = bed.centroid.x - middle.x, bed.centroid.y - middle.y
            if room.covers(affinity.translate(way, *shift)):
                return OnBed(name=part.name, bed=0, turn_deg=turn, shift_mm=shift)
    return None
