"""The lip that a plate's channel leaves round a can end, read off its outline.

The rule is that of ``layouts.strips.lip``; the arcs are sampled, since an outline of any shape
covers what no set of directions and half widths describes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack
from layouts.strips.lip import (
    CORNER_MM,
    FORCE_LEAST_N,
    GAP_LIMIT_DEG,
    LOAD_INSIDE_MM,
    STRENGTH_MPA,
    TAB_LEAST_MM,
    TABS_LEAST_DEG,
    lip_behind_mm,
    positive_end,
)

__all__ = ["LipLeft", "channel_of", "lip_left", "lips_left"]

CORNERS_MM = 0.002  # far below what is printed: loops with crumbs can't be drawn
SAMPLES = 720  # round a circle: half a degree, 0.1 mm on a can's edge


@dataclass(frozen=True, kw_only=True, slots=True)
class LipLeft:
    """At one can end: load capacity, tabs, sum of their angles, widest angle without one."""

    force_n: float
    tabs: int
    tabs_deg: float
    gap_deg: float

    @property
    def holds(self) -> bool:
        """Whether the can is held."""
        return (
            self.force_n >= FORCE_LEAST_N
            and self.tabs_deg >= TABS_LEAST_DEG
            and self.gap_deg < GAP_LIMIT_DEG
        )


def channel_of(shape: BaseGeometry, play_mm: float) -> BaseGeometry:
    """The channel of a plate: its shape with the play all round, no two corners closer than
    ``CORNERS_MM``."""
    return shape.buffer(play_mm, join_style="mitre").simplify(CORNERS_MM)


def lip_left(
    pack: Pack, at_mm: NDArray[np.float64], channel: BaseGeometry, *, positive: bool
) -> LipLeft:
    """What ``channel`` leaves of the lip round the can end at ``at_mm`` (2,)."""
    can, pocket = pack.cell.diameter_mm / 2.0, pack.pocket_mm / 2.0
    least = math.degrees(TAB_LEAST_MM / can)
    rim = [arc for arc in _arcs(at_mm, can - CORNER_MM, channel) if arc[1] >= least]
    root = sum(wide for _, wide in _arcs(at_mm, pocket, channel) if wide >= least)
    lip = float(lip_behind_mm(pack, np.array([positive]))[0])
    lever = pocket - can + CORNER_MM + LOAD_INSIDE_MM
    return LipLeft(
        force_n=math.radians(root) * pocket * lip**2 / 6.0 * STRENGTH_MPA / lever,
        tabs=len(rim),
        tabs_deg=sum(wide for _, wide in rim),
        gap_deg=_widest_gap(rim),
    )


def lips_left(
    pack: Pack,
    cell_layout: CellLayout,
    cells: Iterable[int],
    shape: BaseGeometry,
    face: Face,
    *,
    play_mm: float,
) -> dict[int, LipLeft]:
    """What the channel of a plate of that shape leaves round each of its cells' ends."""
    xy, positive = cell_layout.xy_mm, positive_end(cell_layout, face)
    cells = list(cells)
    if not cells:
        return {}
    around = pack.pitch_mm + play_mm  # of a plate that goes on beyond, what is near is enough
    low, high = xy[cells].min(axis=0) - around, xy[cells].max(axis=0) + around
    channel = channel_of(shapely.intersection(shape, shapely.box(*low, *high)), play_mm)
    return {
        cell: lip_left(pack, xy[cell], channel, positive=bool(positive[cell])) for cell in cells
    }


def _arcs(
    at_mm: NDArray[np.float64], radius_mm: float, channel: BaseGeometry
) -> list[tuple[float, float]]:
    """(start, length) [degrees] of each arc of a circle outside the channel."""
    angles = 2.0 * np.pi * np.arange(SAMPLES) / SAMPLES
    ring = at_mm + radius_mm * np.column_stack([np.cos(angles), np.sin(angles)])
    free = ~shapely.contains_xy(channel, ring)
    if free.all():
        return [(0.0, 360.0)]
    turn = int(np.argmin(free))  # begin in the channel: no arc goes over the start
    steps = np.diff(np.concatenate([[0], np.roll(free, -turn).astype(np.int8), [0]]))
    step = 360.0 / SAMPLES
    return [
        (float((start + turn) % SAMPLES) * step, float(stop - start) * step)
        for start, stop in zip(np.flatnonzero(steps > 0), np.flatnonzero(steps < 0), strict=True)
    ]


def _widest_gap(arcs: list[tuple[float, float]]) -> float:
    """Widest angle between two arcs; 360 without any, 0 where the circle is whole."""
    if not arcs:
        return 360.0
    if arcs[0][1] >= 360.0:
        return 0.0
    rising = sorted(arcs)
    after = [*rising[1:], (rising[0][0] + 360.0, 0.0)]
    return max(then[0] - start - wide for (start, wide), then in zip(rising, after, strict=True))
