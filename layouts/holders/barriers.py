"""Barriers between distant groups side by side: their line, grooves and the wall itself."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.cells.arrangement import CellLayout, Seam
from layouts.holders.channels import box_along_mm
from layouts.holders.outline import Outline, exit_mm
from layouts.holders.tile_plan import GROOVE_DEEP_MM
from layouts.pack import Pack
from layouts.parts.bed import usable_bed_mm
from layouts.parts.tie_screw import lead_in_mm

__all__ = [
    "GROOVE_MM",
    "BarrierDesign",
    "barrier_designs",
    "barrier_line_mm",
    "groove_quads_mm",
]

BARRIER_MM = 0.9  # two lines of a 0.4 nozzle and their overlap
GROOVE_MM = 1.1  # the barrier and 0.1 of play on each side
END_PLAY_MM = 0.2  # from a groove's floor or end to the barrier
INSIDE_MM = 1.2  # of wall left between a groove's end and the outline
GROOVE_LAND_MM = 0.45  # one line between a groove and a lead-in
STRAIGHT_MM2 = 1e-6  # corners that turn by less than float noise
STEP_MM = 0.1  # how finely a barrier's end is looked for


@dataclass(frozen=True, kw_only=True, slots=True)
class BarrierDesign:
    """One printed wall that stands in the grooves of both holders.

    ``points_mm`` (k, 2): its plan in pack coordinates, counter-clockwise; it spans
    ``z_mm`` to ``z_mm`` + ``height_mm`` in pack coordinates. ``volts``: worst across it.
    """

    name: str
    points_mm: NDArray[np.float64]
    z_mm: float
    height_mm: float
    thick_mm: float
    volts: float


def barrier_line_mm(
    pack: Pack, cell_layout: CellLayout, seam: Seam, outline: Outline
) -> NDArray[np.float64]:
    """(k, 2) corners of the line half-way between both sides of a seam.

    Each piece lies on the perpendicular bisector of one touching pair (the side of a Voronoi
    cell); pieces meet where three cells, on a grid four, are equally far. Both ends stop
    ``INSIDE_MM`` inside the outline, or where the next cell would be too near.
    """
    pairs = _in_order(cell_layout, seam)
    xy = cell_layout.xy_mm
    middles = (xy[pairs[:, 0]] + xy[pairs[:, 1]]) / 2
    corners = [
        _corner(xy, set(before.tolist()) | set(after.tolist()))
        for before, after in itertools.pairwise(pairs)
    ]
    ends: list[NDArray[np.float64]] = []
    for pair, middle, toward in (
        (pairs[0], middles[0], corners[0] if corners else None),
        (pairs[-1], middles[-1], corners[-1] if corners else None),
    ):
        between = xy[pair[1]] - xy[pair[0]]
        unit = np.array([-between[1], between[0]]) / np.hypot(*between)
        if toward is None:
            unit = unit if not ends else -unit
        elif float(unit @ (toward - middle)) > 0:
            unit = -unit
        ends.append(_end(pack, xy, middle, unit, outline))
    return np.array([ends[0], *corners, ends[1]])


def groove_quads_mm(line_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """(g, 4, 2) rectangles of a groove along a line, overlapping at its corners."""
    quads = []
    line = _without_straight(line_mm)
    for k, (start, end) in enumerate(itertools.pairwise(line)):
        unit = (end - start) / np.hypot(*(end - start)) * GROOVE_MM / 2
        first = start if k == 0 else start - unit
        last = end if k == len(line) - 2 else end + unit
        quads.append(box_along_mm(first, last, GROOVE_MM))
    return np.array(quads)


def barrier_designs(
    pack: Pack, cell_layout: CellLayout, outline: Outline
) -> tuple[BarrierDesign, ...]:
    """The walls of all seams with a barrier, cut where they are longer than the bed."""
    made: list[BarrierDesign] = []
    deep = pack.holder.depth_mm - GROOVE_DEEP_MM + END_PLAY_MM
    for seam in cell_layout.seams:
        if not (seam.barrier and len(seam.pairs)):
            continue
        line = barrier_line_mm(pack, cell_layout, seam, outline)
        for piece in _pieces(line, usable_bed_mm(pack.printer)):
            wall = shapely.LineString(_shortened(_without_straight(piece))).buffer(
                BARRIER_MM / 2, cap_style="flat", join_style="mitre"
            )
            points = shapely.get_coordinates(shapely.orient_polygons(wall).exterior)[:-1]
            made.append(
                BarrierDesign(
                    name=f"barrier-{len(made) + 1}",
                    points_mm=points,
                    z_mm=deep,
                    height_mm=pack.lip_to_lip_mm - 2 * deep,
                    thick_mm=BARRIER_MM,
                    volts=seam.volts,
                )
            )
    return tuple(made)


def _in_order(cell_layout: CellLayout, seam: Seam) -> NDArray[np.int64]:
    """Touching pairs of the seam, sorted along it."""
    pairs = np.asarray(seam.pairs, dtype=np.int64)
    middles = cell_layout.xy_mm[pairs].mean(axis=1)
    spread = middles - middles.mean(axis=0)
    along = np.linalg.svd(spread)[2][0] if len(pairs) > 1 else np.array([1.0, 0.0])
    if along[int(np.argmax(np.abs(along)))] < 0:
        along = -along
    return pairs[np.argsort(middles @ along, kind="stable")]


def _corner(xy: NDArray[np.float64], cells: set[int]) -> NDArray[np.float64]:
    """Where two pieces of the line meet: equally far from three cells, or between four."""
    points = xy[sorted(cells)]
    if len(points) != 3:
        return np.asarray(points.mean(axis=0))
    sides = 2 * (points[1:] - points[0])
    away = (points[1:] ** 2).sum(axis=1) - (points[0] ** 2).sum()
    return np.asarray(np.linalg.solve(sides, away))


def _end(
    pack: Pack,
    xy: NDArray[np.float64],
    middle: NDArray[np.float64],
    unit: NDArray[np.float64],
    outline: Outline,
) -> NDArray[np.float64]:
    """The line's end on the way out from its last pair."""
    way = exit_mm(
        outline, (float(middle[0]), float(middle[1])), (float(unit[0]), float(unit[1])), last=False
    )
    if way is None:
        raise ValueError("seam: its last pair lies outside the outline")
    steps = np.append(np.arange(0.0, way - INSIDE_MM, STEP_MM), way - INSIDE_MM)
    near = cKDTree(xy).query(middle + steps[:, None] * unit)[0]
    least = pack.pocket_mm / 2 + lead_in_mm(pack) + GROOVE_LAND_MM + GROOVE_MM / 2
    low = (near < least) & (steps > pack.pitch_mm / 4)
    stop = int(np.argmax(low)) - 1 if low.any() else len(steps) - 1
    return np.asarray(middle + steps[max(stop, 0)] * unit)


def _pieces(line: NDArray[np.float64], bed_mm: tuple[float, float]) -> list[NDArray[np.float64]]:
    """The line in as few pieces as the bed takes, of about equal numbers of corners.

    Cut within straight stretches: two walls that ended at one corner would overlap there."""
    room = np.sort(np.asarray(bed_mm))
    stretches = len(line) - 1
    parts = [line]
    for count in range(1, stretches + 1):
        cut = [round(k * stretches / count) for k in range(1, count)]
        middles = [(line[k : k + 1] + line[k + 1 : k + 2]) / 2 for k in cut]
        begins = [line[:0], *middles]
        ends = [*middles, line[:0]]
        parts = [
            np.concatenate([begin, line[a:b], end])
            for (a, b), begin, end in zip(
                itertools.pairwise([0, *(k + 1 for k in cut), len(line)]),
                begins,
                ends,
                strict=True,
            )
        ]
        if all((np.sort(np.ptp(part, axis=0)) + GROOVE_MM <= room).all() for part in parts):
            return parts
    return parts  # a bed for less than one stretch: reported where holders are cut


def _without_straight(line: NDArray[np.float64]) -> NDArray[np.float64]:
    """The line without corners at which it does not turn."""
    before, after = line[1:-1] - line[:-2], line[2:] - line[1:-1]
    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    bent = np.concatenate([[True], np.abs(turn) > STRAIGHT_MM2, [True]])
    return np.asarray(line[bent], dtype=np.float64)


def _shortened(line: NDArray[np.float64]) -> NDArray[np.float64]:
    """The line with play at both ends."""
    line = line.copy()
    for end, other in ((0, 1), (-1, -2)):
        inward = line[other] - line[end]
        line[end] += inward / np.hypot(*inward) * END_PLAY_MM
    return line
