"""Loose pieces of lip on the first layer: how small they get, and if cans hold without them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.checks import Check
from layouts.holders.holder import HolderTile
from layouts.holders.tile_plan import ISLAND_MM2, LipPiece, lip_pieces
from layouts.pack import Pack
from layouts.strips.lip import CORNER_MM, LipState, lip_state

__all__ = ["island_check", "lip_without_dropped"]

SAMPLES = 3600  # places looked at round a can's edge: every tenth of a degree


def island_check(pack: Pack, tiles: Sequence[HolderTile]) -> Check:
    """Smallest piece of lip on the bed that is needed: those that stay, and dropped ones without
    which a can would not be held."""
    value, where, dropped = math.inf, "", 0
    for tile in tiles:
        pieces = lip_pieces(tile)
        gone = [piece for piece in pieces if piece.dropped]
        dropped += len(gone)
        cells, state = lip_without_dropped(pack, tile, pieces)
        loose = tile.xy_mm[cells[~state.holds]]
        for piece in pieces:
            near = shapely.distance(piece.shape, shapely.points(loose)) < tile.pocket_mm / 2
            if piece.area_mm2 < value and (not piece.dropped or near.any()):
                x, y = piece.shape.representative_point().coords[0]
                value, where = piece.area_mm2, f"{tile.name} at ({x:.1f}, {y:.1f}) in its plan"
    holds = value >= ISLAND_MM2
    return Check(
        id="smallest_island_mm2",
        about="smallest loose piece of lip on the first layer"
        + (f"; {dropped} smaller ones that no can needs are omitted" if dropped else ""),
        holds=holds, value=value, limit=ISLAND_MM2, unit="mm2", source="common practice, no source",
        remedy="" if holds else "narrower strip.link_width_mm or strip.row_width_mm",
        where=where,
    )  # fmt: skip


def lip_without_dropped(
    pack: Pack, tile: HolderTile, pieces: tuple[LipPiece, ...]
) -> tuple[NDArray[np.int64], LipState]:
    """The lip left at the cells beside dropped pieces: their positions in the tile, and its state.

    What stays is looked at every tenth of a degree round the can's edge; ``layouts.strips.lip``
    then judges it by its own formulas. No dropped piece: no cells.
    """
    gone = [piece.shape for piece in pieces if piece.dropped]
    apart = shapely.distance(shapely.points(tile.xy_mm), shapely.MultiPolygon(gone))
    cells = np.flatnonzero(apart < tile.pocket_mm / 2)
    stays = shapely.union_all([piece.shape for piece in pieces if not piece.dropped])
    shapely.prepare(stays)
    radius = pack.cell.diameter_mm / 2 - CORNER_MM
    angles = math.tau * np.arange(SAMPLES) / SAMPLES
    ring = radius * np.c_[np.cos(angles), np.sin(angles)]
    rows = [_open_ways(~shapely.contains_xy(stays, tile.xy_mm[cell] + ring)) for cell in cells]
    most = max((len(row) for row in rows), default=0)
    angle_deg, half_mm = np.zeros((2, len(cells), most))
    for k, row in enumerate(rows):
        for n, (middle, half) in enumerate(row):
            angle_deg[k, n], half_mm[k, n] = middle, radius * math.sin(math.radians(half))
    lip = np.where(tile.positive_end[cells], tile.lip_mm - tile.seat_mm, tile.lip_mm)
    state = lip_state(
        angle_deg, half_mm, can_mm=pack.cell.diameter_mm, pocket_mm=tile.pocket_mm,
        depth_mm=tile.depth_mm, length_mm=pack.cell.length_mm, lip_mm=lip,
    )  # fmt: skip
    return cells, state


def _open_ways(opened: NDArray[np.bool_]) -> list[tuple[float, float]]:
    """Middle and half width [degrees] of each open run round a circle, none wider than 120."""
    step = 360.0 / len(opened)
    if opened.all():
        return [(60.0, 60.0), (180.0, 60.0), (300.0, 60.0)]
    first = int(np.argmin(opened))  # a closed place: no run goes over the start
    turned = np.roll(opened, -first).astype(np.int8)
    edges = np.diff(np.concatenate([[0], turned, [0]]))
    ways: list[tuple[float, float]] = []
    for a, b in zip(np.flatnonzero(edges > 0), np.flatnonzero(edges < 0), strict=True):
        parts = math.ceil((b - a) * step / 120.0)
        wide = float((b - a) * step / parts)
        start = float((first + a - 0.5) * step)
        ways += [((start + wide * (k + 0.5)) % 360.0, wide / 2) for k in range(parts)]
    return ways
