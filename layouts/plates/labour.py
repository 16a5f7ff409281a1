"""What it takes to make the joints of a pack: pieces, weld spots, shots and minutes.

The minutes are judgement, no source: they rank ways to join a pack, they do not plan a day.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from layouts.pack import Pack
from layouts.plates.bars import BAR_DABS
from layouts.strips.joining import Interconnect
from layouts.strips.plate import SPOTS_UNDER_LAYERS, BusPlate

__all__ = [
    "Labour",
    "even_spots",
    "joint_labour",
    "labour_words",
    "plate_labour",
    "spots_for",
    "strip_labour",
]

# minutes a piece or place; judgement, no source
STRIP_CUT_MIN, STRIP_LAY_MIN = 0.25, 0.4
PLATE_CUT_MIN, PLATE_LAY_MIN = 1.0, 0.4
SLOT_MIN, HOLE_MIN, FOLD_MIN = 0.12, 0.08, 0.15
NECK_MIN = 0.5  # a ring cut round a pad up to its neck
SHOT_MIN = 0.06
SOLDER_MIN = 1.0

LEAST_SPOTS = 4  # two shots: one that fails opens nothing; common practice, no source
# of a cell's current, in the worst of four spots of 0.4 mohm on a sheet (finite elements)
WORST_SPOT_RATIO = 0.34


@dataclass(frozen=True, kw_only=True, slots=True)
class Labour:
    """``pieces``: of metal to cut, layers and bars counted; ``spots``; ``shots`` of two spots."""

    pieces: int
    spots: int
    minutes: float

    @property
    def shots(self) -> int:
        """Each makes two spots."""
        return -(-self.spots // 2)


def spots_for(cell_a: float, spot_a: float) -> int:
    """Weld spots on each can end for a cell's current: the worst one carries ``spot_a`` at most."""
    shared = 2.0 * WORST_SPOT_RATIO * cell_a / spot_a
    return max(LEAST_SPOTS, 2 * math.ceil(shared - 1e-9))


def even_spots(pack: Pack, interconnect: Interconnect) -> float:
    """Weld spots on each can end as if they shared its current evenly.

    On a plate the worst of four carries ``WORST_SPOT_RATIO``; straight strips feed theirs alike,
    and so do the few that lead from nickel into the copper beneath it."""
    plates = interconnect.plates
    if not plates:
        return float(pack.strip.weld_spots)
    onto_cans = plates[0].spots / (LEAST_SPOTS * WORST_SPOT_RATIO)
    if all(plate.pierced is None for plate in plates):
        return onto_cans
    return min(onto_cans, float(SPOTS_UNDER_LAYERS))


def plate_labour(plates: Sequence[BusPlate]) -> Labour:
    """Of plates with their layers, bars and spots."""
    minutes = 0.0
    pieces = welds = bars = bridges = 0
    for plate in plates:
        many = len(plate.layers) * len(plate.parts)
        pieces += many
        welds += len(plate.cells) * (plate.spots + SPOTS_UNDER_LAYERS * (len(plate.layers) - 1))
        each = PLATE_CUT_MIN + PLATE_LAY_MIN + SLOT_MIN * plate.slots + HOLE_MIN * len(plate.holes)
        each += NECK_MIN * len(plate.cell_fuses)
        through = len(plate.layers_beneath) * len(plate.cells)
        minutes += many * each + HOLE_MIN * through + FOLD_MIN
        bars += 0 if plate.bar is None else len(plate.bar.pieces)
        bridges += plate.is_bridged
    minutes += (bars - bridges) * BAR_DABS * SOLDER_MIN + welds / 2.0 * SHOT_MIN
    return Labour(pieces=pieces + bars, spots=welds, minutes=minutes)


def strip_labour(pack: Pack, interconnect: Interconnect) -> Labour:
    """Of single strips, as laid: every layer of every strip a piece, welded at every cell."""
    pieces = spots = buses = 0
    for strip in interconnect.strips:
        pieces += strip.layers
        spots += len(strip.cells) * (
            pack.strip.weld_spots + SPOTS_UNDER_LAYERS * (strip.layers - 1)
        )
        buses += strip.bus_mm > 0
    minutes = pieces * (STRIP_CUT_MIN + STRIP_LAY_MIN) + spots / 2.0 * SHOT_MIN
    minutes += buses * BAR_DABS * SOLDER_MIN
    return Labour(pieces=pieces + buses, spots=spots, minutes=minutes)


def joint_labour(pack: Pack, interconnect: Interconnect) -> Labour:
    """Of all joints of a pack, plates or strips."""
    if interconnect.plates:
        return plate_labour(interconnect.plates)
    return strip_labour(pack, interconnect)


def labour_words(labour: Labour) -> str:
    """Pieces, spots and shots, in words."""
    return f"{labour.pieces} pieces, {labour.spots} weld spots ({labour.shots} shots)"
