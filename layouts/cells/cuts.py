"""Straight cuts that part a field into holder tiles which fit the printer's bed.

A cut is a line between two rows or two columns of the lattice; tiles are what bands of rows
and bands of columns have in common. Only numbers of rows and columns are decided here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.cells.envelope import LONE_POSTS_MM
from layouts.pack import Pack
from layouts.parts.bed import usable_bed_mm

UNCUT_CELLS = 240  # a holder that fits the bed is left whole up to here
TILE_CELLS = 160  # time to make a solid grows faster than its cells beyond this
LARGEST_TILE_CELLS = 180  # bands of whole rows and columns do not come out even
TILE_WALL_MM = 1.2  # three lines of a 0.4 nozzle beside the cut
TILE_GAP_MM = 0.2  # between two tiles
# All round an interlock tab in its socket, and where the second holder needs its tiles to follow
# the cells below: no more than the gap, so that tiles never meet, and less than what holds a bulb
TILE_PLAY_MM, LOOSE_TILE_PLAY_MM = 0.1, 0.2
SPREAD = 8  # more bands than the least that are tried each way; beds need one or two
TAB_OUT_MM = 4.0  # bulbs that lock two tiles stick out beyond the cut
INTERLOCKS_APART_MM = 60.0  # interlock tabs along a cut need not be closer
LEAST_INTERLOCKS = 2  # of them on each cut between two tiles


@dataclass(frozen=True, kw_only=True, slots=True)
class Cuts:
    """Lines at which tiles end: the first column (row) beyond each cut, rising."""

    columns: tuple[int, ...] = ()
    rows: tuple[int, ...] = ()

    def tiles(self, sites: NDArray[np.int64]) -> NDArray[np.int64]:
        """(N,) tile of each site, 0-based without holes, counted along x, then up."""
        across = np.searchsorted(np.array(self.columns, dtype=np.int64), sites[:, 0], side="right")
        up = np.searchsorted(np.array(self.rows, dtype=np.int64), sites[:, 1], side="right")
        band = up * (len(self.columns) + 1) + across
        return np.asarray(np.unique(band, return_inverse=True)[1].reshape(-1), dtype=np.int64)


def tile_apart_mm(pack: Pack) -> float:
    """Centre distance across a cut: a wall on each side and the gap between the tiles."""
    return pack.pocket_mm + 2 * TILE_WALL_MM + TILE_GAP_MM


def _lines(
    low: int, high: int, bands: int, *, snaps: tuple[int, ...], step: int
) -> tuple[int, ...]:
    """Lines that part low..high into bands of equal size, drawn to a near line in ``snaps``.

    ``step``: columns per site, so that bands differ by one site at most.
    """
    size = (high - low + step) / bands
    found = []
    for i in range(1, bands):
        line = low + step * round(i * size / step)
        near = min(snaps, key=lambda snap: abs(snap - line), default=line)
        found.append(near if abs(near - line) <= size / 4 else line)
    return tuple(sorted(set(found)))


def tile_sizes_mm(
    xy_mm: NDArray[np.float64], tile: NDArray[np.int64], pack: Pack
) -> NDArray[np.float64]:
    """(T, 2) box of each tile: pockets and walls, posts' bulges, interlock tabs beyond its cuts."""
    count = int(tile.max()) + 1
    low = np.full((count, 2), np.inf)
    high = np.full((count, 2), -np.inf)
    np.minimum.at(low, tile, xy_mm)
    np.maximum.at(high, tile, xy_mm)
    rim = pack.pocket_mm + 2 * pack.holder.wall_mm
    cut_sides = (low > xy_mm.min(axis=0)).astype(float) + (high < xy_mm.max(axis=0))
    sizes = high - low + rim + cut_sides * TAB_OUT_MM
    if pack.parallel == 1:
        sizes += (2 - cut_sides) * np.array(LONE_POSTS_MM) / 2
    return np.asarray(sizes, dtype=np.float64)


def tiles_fit(sizes_mm: NDArray[np.float64], pack: Pack) -> bool:
    """Whether every tile fits the usable bed, each as drawn or turned by a quarter."""
    bed = np.array(usable_bed_mm(pack.printer))
    fits = (sizes_mm <= bed).all(axis=1) | (sizes_mm <= bed[::-1]).all(axis=1)
    return bool(fits.all())


def tiles_within(xy_mm: NDArray[np.float64], tile: NDArray[np.int64], radius_mm: float) -> bool:
    """Whether no cell lies farther than ``radius_mm`` from the middle of its tile's cells."""
    count = np.bincount(tile)[:, None]
    sums = np.column_stack([np.bincount(tile, weights=one) for one in xy_mm.T])
    off = xy_mm - (sums / count)[tile]
    return bool(np.hypot(*off.T).max() <= radius_mm)


def band_choices(
    span_mm: tuple[float, float], cells: int, pack: Pack, *, most: tuple[int, int]
) -> list[tuple[int, int]]:
    """Numbers of bands (along x, along y) worth a try: fewest tiles first, then the squarest.

    ``most``: bands that the field allows (its sites in x, its rows). Only choices that no
    bed could take are left out; the caller confirms the others with real centres.
    """
    bed = usable_bed_mm(pack.printer)
    rim = pack.pocket_mm + 2 * pack.holder.wall_mm
    single = pack.pitch_mm  # a band's centres span one pitch less than its share
    if cells <= UNCUT_CELLS:
        least = 1
    else:
        least = -(-cells // TILE_CELLS)
    choices = []
    for a, b in {bed, bed[::-1]}:
        across_least = max(1, int(np.ceil((span_mm[0] + single) / (a - rim + single))))
        up_least = max(1, int(np.ceil((span_mm[1] + single) / (b - rim + single))))
        for across in range(across_least, min(most[0], across_least + SPREAD) + 1):
            low = max(up_least, -(-least // across))
            for up in range(low, min(most[1], low + SPREAD) + 1):
                shape = abs(span_mm[0] / across - span_mm[1] / up)
                choices.append((across * up, shape, across, up))
    return [(across, up) for _, _, across, up in sorted(set(choices))]


def cut_lines(
    sites: NDArray[np.int64],
    bands: tuple[int, int],
    *,
    column_snaps: tuple[int, ...] = (),
    column_step: int,
) -> Cuts:
    """Lines that part the sites into bands (along x, along y)."""
    low, high = sites.min(axis=0), sites.max(axis=0)
    return Cuts(
        columns=_lines(int(low[0]), int(high[0]), bands[0], snaps=column_snaps, step=column_step),
        rows=_lines(int(low[1]), int(high[1]), bands[1], snaps=(), step=1),
    )
