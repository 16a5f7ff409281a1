"""Sizes of plates: pads over can ends, slots, clearances. Lengths in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from layouts.pack import Lattice, Pack
from layouts.strips.free_window import LEAST_FREE_MM2
from layouts.strips.vent_area import WINDOW_PA, vent_area_mm2

__all__ = [
    "CHANNEL_PLAY_MM",
    "FILLET_MM",
    "FUSE_PAD_MM",
    "HOLES_MM",
    "INSIDE_MM",
    "LEAST_WIDE_MM",
    "NECK_MM",
    "PLATE_GAP_MM",
    "SHORT_MM",
    "SLOT_MM",
    "SPOTS_REACH_MM",
    "TAIL_MM",
    "TAIL_OUT_MM",
    "PlateSizes",
    "free_beyond_mm2",
    "fuse_reach_mm",
    "needed_mm2",
    "plate_sizes",
]

# All common practice or judgement, no source.
PADS_MM = (5.0, 4.5, 4.0, 3.5, 3.25, 3.0)  # radii tried, largest first
SPARE_RATIO = 1.02  # for chords in place of arcs, and for edges that are not straight
SPOTS_REACH_MM = 2.8  # spots 3.6 x 2.2 apart and 1 mm of sheet beyond: no pad is smaller
FUSE_PAD_MM = SPOTS_REACH_MM  # radius of the pad behind a fusible neck: what is round it stays open
INSIDE_MM = 0.8  # a plate's outer edge between two cans lies so far inside their line
CHANNEL_PLAY_MM = 0.25  # of its channel, a side
PLATE_GAP_MM = 1.5  # to another potential's plate or window
HOLES_MM = (12.0, 10.0, 8.0, 6.0)  # round punches on the bench
# a grid's gaps are wide: a smaller hole in their middle does not reach the cans
GRID_HOLES_MM = (20.0, 18.0, 16.0, 14.0, *HOLES_MM)
TAIL_MM = 6.0  # width of a tail
TAIL_OUT_MM = 12.0  # of tail past the holder's outline, folded down: the wire is soldered there
SLOT_MM = 6.0  # a slot for the lip's tongue
SHORT_MM = 5.0  # that a slot stays short of the gap's middle at a joint's end: current passes there
NECK_MM = 5.0  # of plate that a slot leaves everywhere
FILLET_MM = 1.0  # radius of inner corners: a sharp one tears
LEAST_WIDE_MM = 0.8  # nothing narrower is left


@dataclass(frozen=True, kw_only=True, slots=True)
class PlateSizes:
    """Sizes that follow the pack.

    ``pad_mm``, ``positive_pad_mm``: radius of the plate over negative and positive ends: over a
    positive end the gas of a venting cell must get past its edge. ``hole_mm``: largest punch that
    stays clear of the windows round a gap. ``edge_mm``: from a row's centres to the holder's
    outline."""

    pad_mm: float
    positive_pad_mm: float
    hole_mm: float
    edge_mm: float


def plate_sizes(pack: Pack) -> PlateSizes:
    """Sizes for a pack: the largest pads that leave ``needed_mm2`` of a positive end open."""
    window = pack.holder.window_mm / 2.0
    opening = min(window, pack.holder.ring_hole_mm / 2.0)
    widest = max((pad for pad in PADS_MM if pad <= window - 1.0), default=PADS_MM[-1])
    free_mm2 = needed_mm2(pack)
    fit = (pad for pad in PADS_MM if pad <= widest and free_beyond_mm2(opening, pad) >= free_mm2)
    honeycomb = pack.lattice is Lattice.HONEYCOMB
    root, holes = (3.0, HOLES_MM) if honeycomb else (2.0, GRID_HOLES_MM)
    room = 2.0 * (pack.pitch_mm / math.sqrt(root) - window)
    return PlateSizes(
        pad_mm=widest,
        positive_pad_mm=next(fit, SPOTS_REACH_MM),
        hole_mm=next((hole for hole in holes if hole <= room), holes[-1]),
        edge_mm=pack.pocket_mm / 2.0 + pack.holder.wall_mm,
    )


def fuse_reach_mm(pack: Pack) -> float:
    """From a positive end's middle to the sheet behind its fusible neck; 0 where there is none."""
    fuse_mm = pack.strip.cell_fuse_mm
    return 0.0 if fuse_mm is None else FUSE_PAD_MM + fuse_mm[1]


def needed_mm2(pack: Pack) -> float:
    """What a plate leaves free of every positive end: one venting cell's gas goes through it."""
    gas_mm2 = vent_area_mm2(pack.cell.capacity_ah, pressure_pa=WINDOW_PA)
    return SPARE_RATIO * max(LEAST_FREE_MM2, gas_mm2)


def free_beyond_mm2(radius_mm: float, edge_mm: float) -> float:
    """What a straight edge at ``edge_mm`` from the centre leaves of a disc: a circular segment."""
    if edge_mm >= radius_mm:
        return 0.0
    return radius_mm**2 * math.acos(edge_mm / radius_mm) - edge_mm * math.sqrt(
        radius_mm**2 - edge_mm**2
    )
