"""Rows shifted against each other, by dynamic programming.

Straight rows of cells lie at heights and shifts of their own. Two neighbouring rows whose
shifts differ by d stand sqrt(p^2 - d^2) apart, d folded to half a spacing: d = half gives the
honeycomb, d = 0 the grid, and a pile may change from one to the other on the way up. The best
pile ending in each (height, shift) follows from those below. Heights are steps of a 70th of
the honeycomb's row distance, rounded up, so the honeycomb itself is among the piles.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, sqrt

import numpy as np
from numpy.typing import NDArray

from layouts.pack import Lattice
from layouts.placing.basis import directions_deg, rotation
from layouts.placing.region import Region, confirmed
from layouts.placing.row_steps import pile, row_counts

__all__ = ["RowsFound", "best_rows"]

Array = NDArray[np.float64]

SHIFTS = 48  # a whole number of quarters, so half and quarter shifts are exact
STEPS = 70  # heights a honeycomb row; 81 steps are a whole pitch within 0.2 %
WALLS = 6  # longest wall directions tried
ANCHORS = 3  # walls that rows may start at exactly
PARTS = 4  # starts that divide one step of the shift
LARGE_LEVELS = 2000  # heights above which one start must do
WIDEST = 1.3  # spacing in a row over the pitch, where a row is spread to fill its width
SPREAD_BELOW = 150  # cells below which spread rows are tried


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RowsFound:
    """Centres (n, 2) of the fullest pile, and the direction of its rows."""

    xy_mm: Array
    angle_deg: float


def best_rows(region: Region, *, pitch_mm: float) -> RowsFound:
    """The fullest pile of rows along and across every long wall, from below and from above."""
    best = RowsFound(xy_mm=np.empty((0, 2)), angle_deg=0.0)
    if region.is_empty:
        return best
    along = directions_deg(region, Lattice.GRID, pitch_mm=pitch_mm, most=WALLS, sweep_deg=90.0)
    for angle in along:
        for turn in (angle, angle + 90.0, angle + 180.0, angle + 270.0):
            xy = _best_at(region, turn, pitch_mm, enough=len(best.xy_mm))
            if len(xy) > len(best.xy_mm):
                best = RowsFound(xy_mm=xy, angle_deg=turn % 180.0)
    return best


def _best_at(region: Region, angle_deg: float, pitch_mm: float, *, enough: int) -> Array:
    """The fullest confirmed pile along one direction, if it holds more than ``enough``."""
    turn = rotation(angle_deg)
    edges = _turned(region.outer_edges, turn)
    inner = _turned(region.inner_edges if len(region.inner_edges) else region.outer_edges, turn)
    low, high = float(inner[:, 1].min()), float(inner[:, 1].max())
    width = float(np.ptp(inner[:, 0]))
    best = np.empty((0, 2))
    for spacing in _spacings(width, pitch_mm, small=enough < SPREAD_BELOW):
        shifts = np.minimum(np.arange(SHIFTS), SHIFTS - np.arange(SHIFTS)) * spacing / SHIFTS
        step = pitch_mm * sqrt(3) / 2 / STEPS
        apart = np.sqrt(np.maximum(pitch_mm**2 - shifts**2, 0.0))
        gaps = np.ceil(apart / step - 1e-9).astype(np.int64)
        levels = floor((high - low) / step + 1e-9) + 1
        for first in _anchors(inner, spacing, few=spacing != pitch_mm or levels > LARGE_LEVELS):
            counts = row_counts(edges, low, step, levels, first, spacing, SHIFTS)
            at, shift, held = pile(counts, gaps)
            if held <= max(len(best), enough):
                continue
            heights = low + at * step
            starts = first + shift * spacing / SHIFTS
            many = ceil(width / spacing) + 2
            begin = np.ceil((inner[:, 0].min() - starts) / spacing - 1e-6) * spacing + starts
            x = begin[:, None] + np.arange(-1, many) * spacing
            points = np.column_stack([x.ravel(), np.repeat(heights, many + 1)])
            xy = points @ turn.T + region.middle_mm
            kept = xy[confirmed(region, xy)]
            if len(kept) > len(best):
                best = kept
    return best


def _turned(edges: Array, turn: Array) -> Array:
    """Edges (m, 4) seen along a direction: turned back by its rotation."""
    return np.hstack([edges[:, :2] @ turn, edges[:, 2:] @ turn])


def _spacings(width_mm: float, pitch_mm: float, *, small: bool) -> list[float]:
    """The pitch, and on small fields spacings that fill the width with whole or half steps."""
    found = [pitch_mm]
    if small:
        for halves in range(1, floor(2 * width_mm / pitch_mm + 1e-9) + 1):
            spacing = 2 * width_mm / halves
            if pitch_mm * (1 + 1e-6) < spacing < pitch_mm * WIDEST:
                found.append(spacing)
    return found


def _anchors(edges: Array, spacing_mm: float, *, few: bool) -> list[float]:
    """Where rows may start: at the longest walls across them, and at parts of a shift.

    ``few``: only the first wall, or the leftmost corner where no wall lies across.
    """
    ahead = edges[:, 2:] - edges[:, :2]
    across = np.abs(ahead[:, 0]) < 1e-6 * np.maximum(np.abs(ahead[:, 1]), 1e-12)
    walls = edges[across]
    found: list[float] = []
    for at in np.lexsort((walls[:, 0], -np.abs(walls[:, 3] - walls[:, 1]).round(6))):
        x = float(walls[at, 0])
        if len(found) < ANCHORS and all(abs(x - one) > 1e-6 for one in found):
            found.append(x)
    left = float(edges[:, 0].min())
    if few:
        return found[:1] or [left]
    return found + [left + spacing_mm * part / SHIFTS / PARTS for part in range(PARTS)]
