"""Sites of a placement as the pack takes them: some left out, turned, in columns and rows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from layouts.cells import lattice as lattices
from layouts.pack import Lattice, Pack, Side
from layouts.placing.values import Placement

__all__ = ["TURNS_DEG", "lattice_sites", "subset", "turn_deg", "without"]

SAME_SITE = 0.02  # of a pitch: how far a centre may lie off its lattice site
TURNS_DEG = {Side.PLUS_X: 0.0, Side.PLUS_Y: 90.0, Side.MINUS_X: 180.0, Side.MINUS_Y: 270.0}


def without(placement: Placement, forbidden: NDArray[np.float64], pitch_mm: float) -> Placement:
    """A placement without the cells nearest to forbidden places."""
    if not len(forbidden) or not placement.count:
        return placement
    apart = np.hypot(*(placement.xy_mm[:, None] - forbidden[None]).T).T
    nearest = apart.argmin(axis=0)
    near = apart[nearest, np.arange(len(forbidden))] <= pitch_mm / 2
    kept = np.setdiff1d(np.arange(placement.count), nearest[near])
    return subset(placement, kept)


def subset(placement: Placement, kept: NDArray[np.int64]) -> Placement:
    """A placement with the cells ``kept`` only, in that order."""
    place = np.full(placement.count, -1, dtype=np.int64)
    place[kept] = np.arange(len(kept))
    pairs = place[placement.neighbours.reshape(-1, 2)]
    return replace(
        placement,
        xy_mm=placement.xy_mm[kept],
        sites=None if placement.sites is None else placement.sites[kept],
        neighbours=pairs[(pairs >= 0).all(axis=1)],
    )


def turn_deg(pack: Pack, placement: Placement) -> float:
    """The lattice's direction nearest to the side where the leads leave."""
    wanted = TURNS_DEG[pack.leads.side]
    step = 60.0 if pack.lattice is Lattice.HONEYCOMB else 90.0
    if placement.sites is None:
        return wanted
    turns = [(placement.angle_deg + k * step) % 360.0 for k in range(round(360.0 / step))]
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
