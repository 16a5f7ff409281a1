"""Tails: a tongue of each plate straight out through the holder's rim, for its balance lead."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack
from layouts.plates.bars import takes_a_bar
from layouts.plates.outline import largest_part
from layouts.plates.sizes import (
    CHANNEL_PLAY_MM,
    INSIDE_MM,
    PLATE_GAP_MM,
    TAIL_MM,
    TAIL_OUT_MM,
    fuse_reach_mm,
    plate_sizes,
)
from layouts.plates.whole import is_open
from layouts.strips.lip import positive_end
from layouts.strips.lip_left import lips_left
from layouts.strips.plate import BusPlate

__all__ = ["with_tails"]

SIDES = {"+x": (1.0, 0.0), "-x": (-1.0, 0.0), "+y": (0.0, 1.0), "-y": (0.0, -1.0)}
# of a tail that is folded down: the sheet, a sleeved wire on it; judgement, no source
FOLDED_MM = 4.0
# widths of a tail that is all that a main lead is soldered to, the first that fits
LEAD_TAILS_MM = (12.0, 10.0, 8.0, TAIL_MM)
FAR_MM = 1e4  # beyond any holder
LONGEST_PITCHES = 3.0  # of a tail: a longer one is a plate of its own


def with_tails(
    pack: Pack,
    cell_layout: CellLayout,
    plates: Sequence[BusPlate],
    posts_mm: NDArray[np.float64],
    outline: BaseGeometry,
    face: Face,
) -> list[BusPlate]:
    """The plates with a tail each, towards the leads' side where there is a way, else another.

    A plate with a bar needs none: its balance lead begins on the bar's end."""
    made = list(plates)
    for k, plate in enumerate(plates):
        if takes_a_bar(cell_layout, plate):
            continue
        others = [other.sheet for other in made if other.name != plate.name]
        away = _kept_clear(pack, cell_layout, plate, others, posts_mm)
        reach = outline.buffer(FOLDED_MM)
        for tail, end in _tried(pack, cell_layout, plate, outline):
            if tail.intersects(away):
                continue
            # the main lead of an end group without a bar is soldered to its tail, left straight
            # crumbs where the outline bends in again beside the tail are no part of it
            folded = tail if plate.is_end else largest_part(shapely.intersection(tail, reach))
            if not isinstance(shapely.union(plate.body, folded), shapely.Polygon):
                continue
            if cell_layout.room is not None and not cell_layout.room.contains(folded):
                continue
            tailed = replace(plate, tail=tail, folded=folded, tail_end_mm=end)
            if _fits(pack, cell_layout, tailed, face):
                made[k] = tailed
                break
    return made


def _kept_clear(
    pack: Pack,
    cell_layout: CellLayout,
    plate: BusPlate,
    others: list[shapely.Polygon],
    posts_mm: NDArray[np.float64],
) -> BaseGeometry:
    """Other plates, other potentials' cans and posts, with their clearances; pads behind
    fusible necks, which a tail would bridge."""
    foreign = np.setdiff1d(np.arange(len(cell_layout.xy_mm)), np.array(plate.cells))
    # a tail passes beside other cells, not over their rims as plates' edges between windows do
    can = pack.cell.diameter_mm / 2.0 + PLATE_GAP_MM
    fused = cell_layout.xy_mm[[fuse.cell for fuse in plate.cell_fuses]].reshape(-1, 2)
    necks = fuse_reach_mm(pack)
    return shapely.union_all(
        [
            *(other.buffer(PLATE_GAP_MM) for other in others),
            *shapely.buffer(shapely.points(cell_layout.xy_mm[foreign]), can),
            *shapely.buffer(shapely.points(posts_mm[:, :2]), posts_mm[:, 2]),
            *(shapely.Point(at).buffer(necks) for at in fused),
        ]
    )


def _tried(
    pack: Pack, cell_layout: CellLayout, plate: BusPlate, outline: BaseGeometry
) -> Iterator[tuple[shapely.Polygon, tuple[float, float]]]:
    """Tails from every cell of a plate, the leads' side first, outermost cells first.

    That of an end group, on which a main lead begins, goes on beside longer rows to where the
    wiring compartment begins."""
    xy, cells = cell_layout.xy_mm, np.array(plate.cells)
    centre, pad = xy[cells].mean(axis=0), plate_sizes(pack).pad_mm
    first, apart = _first_side(pack, cell_layout, plate), cell_layout.leads_apart
    lone = apart and plate.is_end
    words = (first, *(side for side in SIDES if side != first))
    for word, wide in itertools.product(words, LEAD_TAILS_MM if lone else (TAIL_MM,)):
        out = np.array(SIDES[word])
        across = np.array([-out[1], out[0]])
        order = np.argsort(-(xy[cells] @ out), kind="stable")
        if lone:  # in the middle of the group, so that its cells share the current evenly
            aside = np.abs((xy[cells] - centre) @ across).round(6)
            order = np.lexsort((-xy[cells, 1].round(6), aside, -(xy[cells] @ out).round(6)))
        led = plate.is_end and cell_layout.room is None and (out[0] > 0 or (lone and out[0] < 0))
        compartment = float((xy @ out).max()) + plate_sizes(pack).edge_mm + TAIL_OUT_MM
        for cell in cells[order].tolist():
            inward = float(np.sign((centre - xy[cell]) @ across)) or 1.0
            shifts = (inward * (wide / 2.0 + INSIDE_MM), inward * (pad - wide / 2.0), 0.0)
            for shift in shifts:
                start = xy[cell] + across * shift
                long_mm = _way_out_mm(start, out, outline)
                if long_mm is not None and led:
                    long_mm = max(long_mm, compartment - float(start @ out))
                if long_mm is None or long_mm > LONGEST_PITCHES * cell_layout.pitch_mm:
                    continue
                end = start + out * long_mm
                line = shapely.LineString([start, end])
                yield (
                    line.buffer(wide / 2.0, cap_style="flat"),
                    (float(end[0]), float(end[1])),
                )


def _first_side(pack: Pack, cell_layout: CellLayout, plate: BusPlate) -> str:
    """The side that a plate's tail should leave to: an enclosure that is made to fit has its
    compartment at +x, or takes the main leads at both ends."""
    if cell_layout.room is not None:
        return pack.leads.side.value
    return cell_layout.lead_sides[0 if plate.is_end and plate.is_minus else 1].value


def _way_out_mm(
    start: NDArray[np.float64], out: NDArray[np.float64], outline: BaseGeometry
) -> float | None:
    """From a place past the outline by what a tail stands out; None where it lies outside."""
    way = shapely.LineString([start, start + out * FAR_MM]).intersection(outline)
    if way.is_empty:
        return None
    far = float((shapely.get_coordinates(way) @ out).max())
    return far - float(start @ out) + TAIL_OUT_MM


def _fits(pack: Pack, cell_layout: CellLayout, plate: BusPlate, face: Face) -> bool:
    """Whether lip still holds each can, and gas gets out of those whose opening the tail covers."""
    assert plate.tail is not None
    cells = np.array(plate.cells)
    beneath = cells[positive_end(cell_layout, face)[cells]]
    near = shapely.distance(shapely.points(cell_layout.xy_mm[beneath]), plate.tail)
    beneath = beneath[near < pack.holder.ring_hole_mm / 2.0]
    if not all(is_open(pack, cell_layout.xy_mm[cell], plate.sheet) for cell in beneath):
        return False
    left = lips_left(pack, cell_layout, plate.cells, plate.sheet, face, play_mm=CHANNEL_PLAY_MM)
    return all(lip.holds for lip in left.values())
