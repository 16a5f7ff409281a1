"""Fusible necks: the only way between the pad on a positive end and the rest of its plate.

Round each positive end a ring is cut out of the sheet, from the pad's edge outwards by the neck's
length, and one straight neck crosses it. Sheets in several layers are all cut alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.errors import PlanError
from layouts.pack import Face, Pack
from layouts.plates.bars import cells_under_bar, outer_row
from layouts.plates.outline import CURVE, largest_part
from layouts.plates.sizes import FUSE_PAD_MM, fuse_reach_mm, plate_sizes
from layouts.plates.whole import is_open
from layouts.strips.lip import positive_end
from layouts.strips.plate import BusPlate, CellFuse

__all__ = ["FusedRest", "check_cell_fuses_lead", "fused_rest", "with_necks"]

ROOT_MM = 1.5  # of sheet behind a neck, and half of that on both sides of it; judgement
CORNER_MM = 0.5  # radius of a neck's inner corners: a smaller one tears, a larger one shortens it
WAYS = 24  # directions tried round a can end
SLENDER_RATIO = 1.5  # least length over width: shorter ones are no necks between cold sheets
TIMES_WIDER = 2.0  # the rest of a plate is nowhere narrower than so many necks; judgement
ARM_MM = 3.0  # nor than this: arms beside a ring carry nothing
LEVEL_MM = 1e-6
NO_ROOM_REMEDY = (
    "write a shorter or narrower neck, use another lattice or a larger holder.web_mm, or leave the "
    "key out"
)
ON_MM = 0.1  # chords in place of arcs


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FusedRest:
    """What of a plate lies outside the rings round its positive ends; ``least_mm``: that it keeps
    when holes are punched; the neck to each of these ends; ``places_mm`` (n, 2) that it must lead
    to."""

    shape: shapely.Polygon
    least_mm: float
    fuses: tuple[CellFuse, ...]
    places_mm: NDArray[np.float64]


def fused_rest(
    pack: Pack,
    cell_layout: CellLayout,
    face: Face,
    net: NDArray[np.int64],
    body: shapely.Polygon,
) -> FusedRest | None:
    """The rest of the plate over the cells of ``net``, with the necks that
    ``strip.cell_fuse_mm`` gives; None where it is not given or the net has no positive end.

    Raises PlanError where there is no place for them, or the rest would be too narrow."""
    size_mm = pack.strip.cell_fuse_mm
    ends = net[positive_end(cell_layout, face)[net]]
    if size_mm is None or not len(ends):
        return None
    if size_mm[1] < SLENDER_RATIO * size_mm[0]:
        raise _refused(pack, f"is less than {SLENDER_RATIO:g} times as long as wide",
                       f"write a length of {SLENDER_RATIO * size_mm[0]:g} or more")  # fmt: skip
    narrowest = TIMES_WIDER * size_mm[0]
    for least_mm in (ARM_MM, narrowest):  # without arms, where these are not needed
        if least_mm >= narrowest:
            found = _fused(pack, cell_layout, net, ends, body, least_mm)
            if found is not None:
                return found
    groups = " and ".join(str(one) for one in np.unique(cell_layout.group[net]))
    raise _refused(
        pack,
        f"cuts the plate of group {groups} on the {face.value} face to pieces: sheet "
        f"{narrowest:g} mm wide and more does not lead to all of its necks and can ends",
    )


def with_necks(
    pack: Pack, cell_layout: CellLayout, plate: BusPlate, rest: FusedRest | None
) -> BusPlate:
    """The plate, whose body is that rest with its holes, with its necks and pads.

    Raises PlanError where they leave a cell's opening too small."""
    if rest is None:
        return plate
    xy = cell_layout.xy_mm[[fuse.cell for fuse in rest.fuses]]
    necks = [_neck(fuse, at) for fuse, at in zip(rest.fuses, xy, strict=True)]
    pads = shapely.buffer(shapely.points(xy), FUSE_PAD_MM, quad_segs=4 * CURVE)
    whole = shapely.union_all([plate.body, *pads, *necks])
    body = whole.buffer(CORNER_MM, quad_segs=2 * CURVE).buffer(-CORNER_MM, quad_segs=2 * CURVE)
    if not all(is_open(pack, at, body) for at in xy):
        raise _refused(pack, f"leaves too little of a positive end of plate {plate.name} open for "
                       "the gas of a venting cell")  # fmt: skip
    return replace(plate, body=body, cell_fuses=rest.fuses)


def _fused(
    pack: Pack,
    cell_layout: CellLayout,
    net: NDArray[np.int64],
    ends: NDArray[np.int64],
    body: shapely.Polygon,
    least_mm: float,
) -> FusedRest | None:
    """None where the rest does not lead to all ends of the net."""
    xy, reach = cell_layout.xy_mm, fuse_reach_mm(pack)
    width_mm, length_mm = pack.strip.cell_fuse_mm or (0.0, 0.0)
    rest = _rest(body, xy[ends], reach, least_mm)
    others = np.vstack([xy[np.setdiff1d(net, ends)], _under_bar_mm(pack, cell_layout, net)])
    if not shapely.dwithin(rest, shapely.points(others), LEVEL_MM).all():
        return None
    fuses, places = [], [others]
    for cell in ends.tolist():
        way = _way(cell_layout, net, cell, rest, reach, width_mm)
        if way is None:
            return None
        fuses.append(
            CellFuse(
                cell=cell,
                width_mm=width_mm,
                length_mm=length_mm,
                pad_mm=_pair(xy[cell] + way * FUSE_PAD_MM),
                rest_mm=_pair(xy[cell] + way * reach),
            )
        )
        places.append((xy[cell] + way * (reach + ROOT_MM))[None])
    return FusedRest(shape=rest, least_mm=least_mm, fuses=tuple(fuses), places_mm=np.vstack(places))


def check_cell_fuses_lead(pack: Pack, cell_layout: CellLayout, plate: BusPlate) -> None:
    """Raises PlanError where copper on a plate or a main lead would lie across its necks."""
    if not plate.cell_fuses:
        return
    reach = fuse_reach_mm(pack) - ON_MM
    ends = shapely.points(cell_layout.xy_mm[[fuse.cell for fuse in plate.cell_fuses]])
    if plate.bar is not None and (shapely.distance(ends, plate.bar.shape) < reach).any():
        raise _refused(pack, f"would be bridged by the copper bar of plate {plate.name}")
    if plate.is_end and plate.bar is None and plate.tail is None:
        raise _refused(pack, f"has no use on plate {plate.name}: its main lead finds no place but "
                       "on a can end")  # fmt: skip


def _refused(pack: Pack, why: str, remedy: str = NO_ROOM_REMEDY) -> PlanError:
    size_mm = pack.strip.cell_fuse_mm
    assert size_mm is not None
    return PlanError(
        field="strip.cell_fuse_mm",
        value=f"{size_mm[0]:g} x {size_mm[1]:g} mm",
        why=why,
        remedy=remedy,
    )


def _pair(at: NDArray[np.float64]) -> tuple[float, float]:
    return float(at[0]), float(at[1])


def _rest(
    body: shapely.Polygon, ends_mm: NDArray[np.float64], reach_mm: float, least_mm: float
) -> shapely.Polygon:
    """What of a plate lies outside the rings round its positive ends and is ``least_mm`` wide: its
    largest part."""
    rings = shapely.buffer(shapely.points(ends_mm), reach_mm, quad_segs=4 * CURVE)
    core = body.difference(shapely.union_all(rings)).buffer(-least_mm / 2.0, quad_segs=CURVE)
    return largest_part(core.buffer(least_mm / 2.0, quad_segs=2 * CURVE))


def _under_bar_mm(
    pack: Pack, cell_layout: CellLayout, net: NDArray[np.int64]
) -> NDArray[np.float64]:
    """(k, 2) places of the sheet that a bar is soldered to, one beside each cell of its row."""
    row = cells_under_bar(cell_layout, net)
    if not len(row):
        return np.zeros((0, 2))
    out = outer_row(cell_layout, net)[1] * (plate_sizes(pack).edge_mm - ROOT_MM)
    return np.asarray(cell_layout.xy_mm[row] + np.array([0.0, out]))


def _way(
    cell_layout: CellLayout,
    cells: NDArray[np.int64],
    cell: int,
    rest: shapely.Polygon,
    reach_mm: float,
    width_mm: float,
) -> NDArray[np.float64] | None:
    """(2,) direction of a can end's neck: nearest to where its current goes, with sheet behind."""
    xy, group = cell_layout.xy_mm, cell_layout.group
    is_end = len(np.unique(group[cells])) == 1
    if cell in cells_under_bar(cell_layout, cells):
        aim = np.array([0.0, float(outer_row(cell_layout, cells)[1])])
    else:
        others = cells[~np.isin(cells, [cell])]
        if not is_end:  # to the next group
            others = others[group[others] != group[cell]]
        off = np.hypot(*(xy[others] - xy[cell]).T)
        aim = (xy[others] if is_end else xy[others[off < 1.2 * off.min()]]).mean(axis=0)
        aim = aim - xy[cell]
    first = float(np.arctan2(aim[1], aim[0]))
    steps = sorted(range(-WAYS // 2 + 1, WAYS // 2 + 1), key=lambda k: (abs(k), k))
    shapely.prepare(rest)
    for step in steps:
        angle = first + 2.0 * np.pi * step / WAYS
        way = np.array([np.cos(angle), np.sin(angle)])
        behind = shapely.LineString(
            [xy[cell] + way * (reach_mm + ON_MM), xy[cell] + way * (reach_mm + ROOT_MM)]
        ).buffer((width_mm + ROOT_MM) / 2.0, cap_style="flat")
        if rest.covers(behind):
            return way
    return None


def _neck(fuse: CellFuse, centre_mm: NDArray[np.float64]) -> BaseGeometry:
    """The straight neck, into the pad and into the sheet behind it."""
    end = np.array(fuse.rest_mm)
    way = (end - centre_mm) / np.hypot(*(end - centre_mm))
    line = shapely.LineString([centre_mm, end + way * ROOT_MM / 2.0])
    return line.buffer(fuse.width_mm / 2.0, cap_style="flat")
