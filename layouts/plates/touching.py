"""Touching cells of one joint: their pairs, and the gaps that three (four) of them surround."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Lattice
from layouts.strips.joints import net_of_group

__all__ = ["Touching", "nets_of", "touching"]

SQUARE_RATIO = 0.05  # of the pitch that a square's diagonal may be off, across a widened seam


@dataclass(frozen=True, kw_only=True, slots=True)
class Touching:
    """``pairs``: cells that touch, (i, j) with i < j. ``gaps``: the cells round each gap, three on
    a honeycomb, four on a grid, rising."""

    pairs: tuple[tuple[int, int], ...]
    gaps: tuple[tuple[int, ...], ...]

    def gaps_beside(self, pair: tuple[int, int]) -> int:
        """How many gaps a pair borders: 0 to 2."""
        return sum(set(pair) <= set(gap) for gap in self.gaps)


def nets_of(cell_layout: CellLayout, face: Face) -> tuple[NDArray[np.int64], ...]:
    """The cells of each net of a face, by the nets' numbers."""
    net = net_of_group(cell_layout.group, face)
    return tuple(np.flatnonzero(net == number) for number in np.unique(net))


def touching(cell_layout: CellLayout, cells: NDArray[np.int64], lattice: Lattice) -> Touching:
    """Pairs and gaps among ``cells`` alone."""
    mine = set(cells.tolist())
    near: dict[int, set[int]] = {cell: set() for cell in mine}
    for i, j in cell_layout.neighbours.reshape(-1, 2).tolist():
        if i in mine and j in mine:
            near[i].add(j)
            near[j].add(i)
    pairs = sorted((i, j) for i in mine for j in near[i] if i < j)
    if lattice is Lattice.HONEYCOMB:
        gaps = {tuple(sorted((i, j, k))) for i, j in pairs for k in near[i] & near[j]}
    else:
        gaps = {
            tuple(sorted((i, a, b, opposite)))
            for i in mine
            for a in near[i]
            for b in near[i]
            if a < b and _square_corner(cell_layout, a, b)
            for opposite in (near[a] & near[b]) - {i}
        }
    return Touching(pairs=tuple(pairs), gaps=tuple(sorted(gaps)))


def _square_corner(cell_layout: CellLayout, a: int, b: int) -> bool:
    """Whether two cells beside a third lie across the corner of a square."""
    apart = float(np.hypot(*(cell_layout.xy_mm[a] - cell_layout.xy_mm[b])))
    return bool(abs(apart / cell_layout.pitch_mm - 2.0**0.5) < SQUARE_RATIO)
