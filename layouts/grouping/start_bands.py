"""First groupings: the field cut into bands, walked up and down, cut into runs of P cells."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import dijkstra

from layouts.grouping.contacts import CellContacts, IntArray

__all__ = ["Bands", "Start", "all_bands", "band_walks", "lattice_angles", "level_walks"]


# Each way of cutting costs a sort of all cells, and a first answer may not keep anyone waiting:
# few wide bands and single rows are always tried, of the others so many at most, by the size of
# the field.
ALWAYS_BANDS = 8
MOST_BANDS = 300
BAND_CELLS = 600_000


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Start:
    """A walk over all cells, and its name. ``order`` (n,): cell indices in walking order."""

    order: IntArray
    name: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Bands:
    """One way of cutting the field: bands along ``angle_rad``, the widest of ``rows`` rows."""

    angle_rad: float
    bands: int
    rows: int


def all_bands(field: CellContacts, *, parallel: int) -> list[Bands]:
    """Bands of every width along every direction of the lattice, widest first, in moderation."""
    settings = []
    for angle in lattice_angles(field):
        for turn in (0.0, math.pi / 2):
            settings += _settings(field, angle + turn, parallel)
    sure = [one for one in settings if one.bands <= ALWAYS_BANDS or one.rows == 1]
    other = [one for one in settings if one.bands > ALWAYS_BANDS and one.rows > 1]
    most = min(MOST_BANDS, BAND_CELLS // max(1, field.count))
    step = max(1, math.ceil(len(other) / max(1, most)))
    return sorted(sure + other[::step], key=lambda one: (-one.rows, one.angle_rad))


def lattice_angles(field: CellContacts) -> list[float]:
    """Directions [rad, 0..pi) in which touching cells lie, the three or four most common."""
    if not len(field.pairs):
        return [0.0]
    way = field.xy_mm[field.pairs[:, 1]] - field.xy_mm[field.pairs[:, 0]]
    degrees = np.round(np.degrees(np.arctan2(way[:, 1], way[:, 0])), 1) % 180.0
    angles, counts = np.unique(degrees, return_counts=True)
    best = sorted(np.argsort(-counts, kind="stable")[:4])
    enough = counts[best] * 20 >= len(way)
    kept = [math.radians(float(angles[i])) for i, keep in zip(best, enough, strict=True) if keep]
    return kept or [0.0]


def _settings(field: CellContacts, angle: float, parallel: int) -> list[Bands]:
    """Numbers of bands worth trying along one direction, fewest first."""
    across = field.xy_mm @ np.array([-math.sin(angle), math.cos(angle)])
    rows = len(_levels(across, field.pitch_mm)[1])
    fewest = max(1, math.ceil(rows / max(1, 2 * parallel)))
    return [
        Bands(angle_rad=angle, bands=bands, rows=math.ceil(rows / bands))
        for bands in range(fewest, rows + 1)
    ]


def _levels(value: NDArray[np.float64], pitch_mm: float) -> tuple[IntArray, NDArray[np.float64]]:
    """Values that lie within a twentieth of the pitch fall on one level: its index, its value."""
    order = np.argsort(value, kind="stable")
    gaps = np.diff(value[order]) > pitch_mm / 20
    level = np.empty(len(value), dtype=np.int64)
    level[order] = np.concatenate([[0], np.cumsum(gaps)])
    firsts = np.concatenate([[0], np.flatnonzero(gaps) + 1])
    return level, value[order][firsts]


def band_walks(field: CellContacts, cut: Bands) -> Iterator[Start]:
    """Bands walked there and back in turn; their columns up alone or up and down."""
    angle, bands = cut.angle_rad, cut.bands
    along = field.xy_mm @ np.array([math.cos(angle), math.sin(angle)])
    across = field.xy_mm @ np.array([-math.sin(angle), math.cos(angle)])
    row, rows = _levels(across, field.pitch_mm)
    band = row * bands // len(rows)
    stations, values = _levels(along, field.pitch_mm)
    spacing = float(np.median(np.diff(values))) if len(values) > 1 else field.pitch_mm
    # stations half a pitch apart (shifted rows) make one zigzag column by twos
    pairs_up = spacing < 0.7 * field.pitch_mm
    for shift in (0, 1) if pairs_up else (0,):
        column = (stations + shift) // 2 if pairs_up else stations
        forth = np.where(band % 2 == 0, column, -column)
        side = np.where(band % 2 == 0, row, -row)
        name = f"{bands} band{'s' if bands > 1 else ''} at {math.degrees(angle):.0f} degrees"
        yield Start(order=np.lexsort((stations, row, forth, band)), name=name)
        yield Start(order=np.lexsort((stations, side, forth, band)), name=name)
        swung = np.where(column % 2 == 0, row, -row)
        yield Start(order=np.lexsort((stations, swung, forth, band)), name=name)


def level_walks(field: CellContacts) -> Iterator[Start]:
    """Sweeps by the number of touching steps from an end of the field (follows bends)."""
    if not len(field.pairs):
        return
    one, other = field.pairs.T
    length = np.hypot(*(field.xy_mm[one] - field.xy_mm[other]).T)
    graph = coo_matrix((length, (one, other)), shape=(field.count, field.count)).tocsr()
    hops = graph.copy()
    hops.data = np.ones_like(hops.data)
    far = 0
    for _ in range(2):
        away = dijkstra(graph, directed=False, indices=far)
        far = int(np.argmax(np.where(np.isfinite(away), away, -1.0)))
    away = dijkstra(graph, directed=False, indices=far)
    back = int(np.argmax(np.where(np.isfinite(away), away, -1.0)))
    steps = dijkstra(hops, directed=False, indices=far)
    steps_back = dijkstra(hops, directed=False, indices=back)
    away_back = dijkstra(graph, directed=False, indices=back)
    around = np.arctan2(*(field.xy_mm - field.xy_mm[far]).T[::-1])
    yield Start(order=np.lexsort((around, steps)), name="sweep by steps")
    yield Start(order=np.lexsort((around, np.round(away - away_back, 3))), name="sweep by distance")
    yield Start(order=np.lexsort((around, steps - steps_back)), name="sweep between two ends")
