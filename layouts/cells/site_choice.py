"""Sites of a placement as the pack takes them: some left out, turned, in columns and rows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from layouts.cells import lattice as lattices
from layouts.pack import Lattice, Pack, Side
from layouts.placing.values import PlacedCentres

__all__ = ["TURNS_DEG", "lattice_sites", "subset", "turn_deg", "without"]

SAME_SITE = 0.02  # of a pitch: how far a centre may lie off its lattice site
TURNS_DEG = {Side.PLUS_X: 0.0, Side.PLUS_Y: 90.0, Side.MINUS_X: 180.0, Side.MINUS_Y: 270.0}


def without(
    placed_centres: PlacedCentres, forbidden: NDArray[np.float64], pitch_mm: float
) -> PlacedCentres:
    """A placement without the cells nearest to forbidden places."""
    if not len(forbidden) or not placed_centres.count:
        return placed_centres
    apart = np.hypot(*(placed_centres.xy_mm[:, None] - forbidden[None]).T).T
    nearest = apart.argmin(axis=0)
    near = apart[nearest, np.arange(len(forbidden))] <= pitch_mm / 2
    kept = np.setdiff1d(np.arange(placed_centres.count), nearest[near])
    return subset(placed_centres, kept)


def subset(placed_centres: PlacedCentres, kept: NDArray[np.int64]) -> PlacedCentres:
    """A placement with the cells ``kept`` only, in that order."""
    place = np.full(placed_centres.count, -1, dtype=np.int64)
    place[kept] = np.arange(len(kept))
    pairs = place[placed_centres.neighbours.reshape(-1, 2)]
    return replace(
        placed_centres,
        xy_mm=placed_centres.xy_mm[kept],
        sites=None if placed_centres.sites is None else placed_centres.sites[kept],
        neighbours=pairs[(pairs >= 0).all(axis=1)],
    )


def turn_deg(pack: Pack, placed_centres: PlacedCentres) -> float:
    """The lattice's direction nearest to the side where the leads leave."""
    wanted = TURNS_DEG[pack.leads.side]
    step = 60.0 if pack.lattice is Lattice.HONEYCOMB else 90.0
    if placed_centres.sites is None:
        return wanted
    turns = [(placed_centres.angle_deg + k * step) % 360.0 for k in range(round(360.0 / step))]
    return min(
        turns, key=lambda turn: (round(abs((turn - wanted + 180.0) % 360.0 - 180.0), 6), turn)
    )


def lattice_sites(pack: Pack, xy: NDArray[np.float64]) -> NDArray[np.int64]:
    """Columns and rows of centres whose rows lie along x."""
    away = xy - xy[0]
    row = np.rint(away[:, 1] / lattices.row_mm(pack.lattice, pack.pitch_mm))
    column = np.rint(away[:, 0] / lattices.column_mm(pack.lattice, pack.pitch_mm))
    sites = np.column_stack([column, row]).astype(np.int64)
    back = sites * [
        lattices.column_mm(pack.lattice, pack.pitch_mm),
        lattices.row_mm(pack.lattice, pack.pitch_mm),
    ]
    off = float(np.hypot(*(back - away).T).max(initial=0.0))
    if off > SAME_SITE * pack.pitch_mm:
        raise ValueError(f"a centre lies {off:.3f} mm off its lattice site")
    sites -= sites.min(axis=0)
    if pack.lattice is Lattice.HONEYCOMB and (sites.sum(axis=1) % 2).any():
        sites[:, 0] += 1  # row + column is even on every lattice site
    return sites
