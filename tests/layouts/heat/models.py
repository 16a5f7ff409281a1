"""Invented packs as heat sees them, of any size, without planning one."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from layouts.heat.model import Can, Case, Gaps, HeatModel, Held, StripPaths

PITCH_MM = 22.95
NO_STRIPS = StripPaths(cells=np.zeros((0, 2), dtype=np.int64), w_k=np.zeros(0), watt=np.zeros(0))


def honeycomb(rows: int, columns: int) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Centres (N, 2) and touching pairs (M, 2) of staggered rows."""
    row, column = (a.ravel() for a in np.mgrid[0:rows, 0:columns])
    xy = PITCH_MM * np.column_stack([column + 0.5 * (row % 2), row * math.sqrt(3.0) / 2.0])
    n = np.arange(rows * columns).reshape(rows, columns)
    pairs = [np.column_stack([n[:, :-1].ravel(), n[:, 1:].ravel()])]
    pairs.append(np.column_stack([n[:-1].ravel(), n[1:].ravel()]))
    for r in range(rows - 1):
        low, high = (n[r, 1:], n[r + 1, :-1]) if r % 2 == 0 else (n[r, :-1], n[r + 1, 1:])
        pairs.append(np.column_stack([low, high]))
    return xy, np.vstack(pairs).astype(np.int64)


def honeycomb_model(
    rows: int, columns: int, *, cell_w: float = 0.375, cased: bool = True
) -> HeatModel:
    """Cells of 21.2 x 70 mm in a box that fits them, 5 A each, ``columns`` in parallel."""
    xy, pairs = honeycomb(rows, columns)
    low, high = xy.min(axis=0) - 15.0, xy.max(axis=0) + 15.0
    a, b = (high - low).tolist()
    tall = 87.0
    return HeatModel(
        neighbours=pairs,
        apart_mm=np.hypot(*(xy[pairs[:, 1]] - xy[pairs[:, 0]]).T),
        most_neighbours=6,
        load_a=5.0 * columns,
        cell_w=np.full(len(xy), cell_w),
        strips=NO_STRIPS,
        can=Can(diameter_mm=21.2, length_mm=70.0, heat_j_k=70.0),
        held=Held(
            pocket_mm=21.45,
            depth_mm=10.0,
            lip_mm=1.6,
            window_mm=16.0,
            wall_mm=2.2,
            site_mm2=PITCH_MM**2 * math.sqrt(3.0) / 2.0,
            w_mk=0.2,
        ),
        gaps=Gaps(
            side_mm=np.min([*(xy - low).T, *(high - xy).T], axis=0) - 10.6,
            lower_mm=3.5,
            upper_mm=3.5,
        )
        if cased
        else None,
        case=Case(
            side_mm2=2.0 * (a + b) * tall,
            top_mm2=a * b,
            bottom_mm2=a * b,
            high_mm=tall,
            plate_mm=a * b / (2.0 * (a + b)),
            wall_w_k=0.2 * 2.0 * (a * b + (a + b) * tall) / 2.8 / 1000.0,
            heat_j_k=500.0,
        )
        if cased
        else None,
        ambient_c=25.0,
    )
