"""Arrange a pack's cells: choose the field, widen its seams, cut it into tiles."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from layouts.cells import cuts as tile_cuts
from layouts.cells import lattice as lattices
from layouts.cells.arrangement import CellLayout, Seam
from layouts.cells.choice import (
    LaidBlock,
    LaidCells,
    choose_block,
    column_growths_mm,
    crossing_pairs,
    lay_block,
    line_need,
    row_growths_mm,
)
from layouts.cells.envelope import Envelope, Estimate
from layouts.cells.fields import BlockShape, ZigzagShape, elbows
from layouts.pack import EnclosureStyle, Lattice, Pack, Side
from layouts.parts.bed import pieces


@dataclass(frozen=True, kw_only=True, slots=True)
class TiledCells:
    """Centres and tiles once the seams are widened."""

    cuts: tile_cuts.Cuts
    xy_mm: NDArray[np.float64]
    tile: NDArray[np.int64]
    fits: bool


def _cut(
    pack: Pack, laid: LaidCells, bands: tuple[int, int], tile_radius_mm: float = inf
) -> TiledCells:
    """Part the field into bands and widen every line that needs it."""
    step = 2 if pack.lattice is Lattice.HONEYCOMB else 1
    lines = tile_cuts.cut_lines(
        laid.sites, bands, column_snaps=tuple(laid.apart_mm), column_step=step
    )
    apart = tile_cuts.tile_apart_mm(pack)
    columns = dict(laid.apart_mm)
    for line in lines.columns:
        columns[line] = max(columns.get(line, 0.0), apart)
    xy = lattices.centres_mm(
        laid.sites,
        pack.lattice,
        pitch_mm=pack.pitch_mm,
        column_shifts_mm=column_growths_mm(pack, columns),
        row_shifts_mm=row_growths_mm(pack, dict.fromkeys(lines.rows, apart)),
    )
    tile = _in_one_piece(lines.tiles(laid.sites), laid.pairs)
    count = int(tile.max()) + 1
    few = count == 1 or int(np.bincount(tile).max()) <= tile_cuts.LARGEST_TILE_CELLS
    sizes = tile_cuts.tile_sizes_mm(xy, tile, pack)
    fits = tile_cuts.tiles_fit(sizes, pack) and tile_cuts.tiles_within(xy, tile, tile_radius_mm)
    return TiledCells(cuts=lines, xy_mm=xy, tile=tile, fits=fits and few)


def _in_one_piece(tile: NDArray[np.int64], pairs: NDArray[np.int64]) -> NDArray[np.int64]:
    """Tiles whose cells do not hang together (in an outline with arms) parted into those that do.

    Numbered in the order of their first cell's tile, then of their first cell.
    """
    inner = pairs[tile[pairs[:, 0]] == tile[pairs[:, 1]]]
    graph = coo_array(
        (np.ones(len(inner), dtype=np.int8), (inner[:, 0], inner[:, 1])),
        shape=(len(tile), len(tile)),
    )
    pieces, piece = connected_components(graph, directed=False)
    first = np.full(pieces, len(tile), dtype=np.int64)
    np.minimum.at(first, piece, np.arange(len(tile)))
    order = np.lexsort((first, tile[first]))
    rank = np.empty(pieces, dtype=np.int64)
    rank[order] = np.arange(pieces)
    return np.asarray(rank[piece], dtype=np.int64)


def cut_into_tiles(pack: Pack, laid: LaidCells, *, tile_radius_mm: float = inf) -> TiledCells:
    """The fewest tiles that fit the bed; one where the whole holder fits. ``tile_radius_mm``: no
    cell lies farther from the middle of its tile."""
    step = 2 if pack.lattice is Lattice.HONEYCOMB else 1
    whole = _cut(pack, laid, (1, 1), tile_radius_mm)
    if whole.fits and len(laid.sites) <= tile_cuts.UNCUT_CELLS:
        return whole
    most = (
        int(np.ptp(laid.sites[:, 0])) // step + 1,
        int(np.ptp(laid.sites[:, 1])) + 1,
    )
    span = np.ptp(whole.xy_mm, axis=0)
    choices = tile_cuts.band_choices(
        (float(span[0]), float(span[1])), len(laid.sites), pack, most=most
    )
    for bands in choices:
        if bands != (1, 1):
            made = _cut(pack, laid, bands, tile_radius_mm)
            if made.fits:
                return made
    return _cut(pack, laid, most)  # a bed for less than one cell: single cells, reported in a note


def block_seams(pack: Pack, laid: LaidCells, tiled: TiledCells) -> tuple[Seam, ...]:
    """Every widened or barred line; a line that is both gets one seam for each reason."""
    found = []
    columns = laid.sites[laid.pairs, 0]
    walled = np.zeros(len(laid.pairs), dtype=np.bool_)
    for lane_line in (line for line, apart in laid.apart_mm.items() if apart > 0):
        walled |= (columns >= lane_line).any(axis=1) & (columns < lane_line).any(axis=1)
    lines = [(0, line) for line in sorted({*laid.apart_mm, *tiled.cuts.columns})]
    lines += [(1, line) for line in tiled.cuts.rows]
    for axis, line in lines:
        pairs = crossing_pairs(laid.sites, laid.pairs, line, axis)
        if not len(pairs):
            continue
        between = tiled.xy_mm[pairs[:, 0]] - tiled.xy_mm[pairs[:, 1]]
        growth = float(np.hypot(*between.T).min()) - pack.pitch_mm
        own = pairs
        if axis or line not in laid.apart_mm:  # a pair that the lanes' barrier parts needs no other
            beyond = laid.sites[laid.pairs, axis] >= line
            own = laid.pairs[(beyond[:, 0] != beyond[:, 1]) & ~walled]
        _, volts, barrier = line_need(pack, laid.group, own)
        reasons = []
        if barrier:
            reasons.append("volts")
        if line in (tiled.cuts.columns, tiled.cuts.rows)[axis]:
            reasons.append("tile")
        found += [
            Seam(
                reason=reason,
                growth_mm=max(0.0, growth),
                pairs=pairs,
                volts=volts,
                barrier=reason == "volts",
            )
            for reason in reasons
        ]
    return tuple(found)


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def _path(shape: BlockShape) -> str:
    """How groups lie beside each other."""
    if isinstance(shape, ZigzagShape):
        return "side by side in columns across straight rows"
    if shape.lanes == 1:
        return "stacked in one straight group path"
    return f"stacked in the group path folded into {shape.lanes} lanes"


def _notes(
    pack: Pack, laid: LaidBlock, sizes: Envelope, tiled: TiledCells, seams: tuple[Seam, ...]
) -> tuple[str, ...]:
    """What was decided, in sentences for the report."""
    shape = laid.shape
    notes = []
    notes.append(
        f"{_count(pack.series, 'group')} of {_count(pack.parallel, 'cell')}, each in "
        f"{_count(shape.rows, 'row')}, {_path(shape)}"
        + (
            f"; at least {_count(laid.fewest_contacts, 'touching pair')} from group to group."
            if pack.series > 1
            else "."
        )
    )
    if shape.lanes > 1:
        low = laid.group[laid.pairs].min(axis=1)
        meet = np.diff(np.sort(laid.group[laid.pairs], axis=1), axis=1)[:, 0] == 1
        fewest = min(int((meet & (low == end)).sum()) for end in shape.turns())
        notes.append(f"At the fold groups meet at {_count(fewest, 'touching pair')}.")
        shared = [f"{first} and {first + 1}" for first in elbows(shape)]
        if shared:
            notes.append(
                f"Groups {', '.join(shared)} share their two rows as left and right part, "
                "so that the fold is crossed at more than one pair."
            )
    if shape.empty_sites:
        total = shape.empty_sites + len(laid.sites)
        stay = "stays" if shape.empty_sites == 1 else "stay"
        notes.append(f"{shape.empty_sites} of the block's {total} sites {stay} empty.")
    barred = [seam for seam in seams if seam.barrier]
    if barred:
        worst = max(barred, key=lambda seam: seam.volts)
        notes.append(
            f"Between adjacent lanes of distant groups ({worst.volts:.1f} V at most) the lattice "
            "is widened and a barrier is fitted."
        )
    tiles = int(tiled.tile.max()) + 1
    named = [
        name
        for name, plan in (
            ("holder", sizes.cell_block_mm),
            ("tub", sizes.tub_mm),
            ("lid", sizes.lid_mm),
        )
        if pieces(plan, pack.printer) > 1
    ]
    bed = "printer.bed_mm {:g} x {:g}".format(*pack.printer.bed_mm[:2])
    if named:
        notes.append(f"Does not fit the bed in one piece ({bed}): {', '.join(named)}.")
    if tiles > 1:
        notes.append(f"Each holder is split into {tiles} tiles.")
    if not tiled.fits:
        notes.append(f"Not even the smallest tiles fit the bed ({bed}).")
    return tuple(notes)


def arrange(
    pack: Pack,
    *,
    estimate: Estimate,
    shape: BlockShape | None = None,
    tile_radius_mm: float = inf,
) -> CellLayout:
    """Every cell's place, group and polarity.

    Pure; the same pack gives the same arrangement. Odd groups stand positive up. Main leads
    leave towards +x; those of groups side by side in columns at both ends, where the enclosure has
    a way between its rooms. ``estimate``: outer sizes by the form that will enclose the cells.
    ``shape``: lay this one (see ``layouts.cells.block_shapes``) instead of the best.
    ``tile_radius_mm``: as of ``cut_into_tiles``.
    """
    if shape is None:
        laid, sizes = choose_block(pack, estimate=estimate)
    else:
        laid, sizes = lay_block(pack, shape, estimate=estimate)
    tiled = cut_into_tiles(pack, laid, tile_radius_mm=tile_radius_mm)
    seams = block_seams(pack, laid, tiled)
    return CellLayout(
        pitch_mm=pack.pitch_mm,
        xy_mm=tiled.xy_mm,
        sites=laid.sites,
        group=laid.group,
        positive_up=laid.group % 2 == 1,
        neighbours=laid.pairs,
        tile=tiled.tile,
        seams=seams,
        empty_sites=laid.shape.empty_sites,
        lanes=laid.shape.lanes,
        rows_per_group=laid.shape.rows,
        fewest_contacts=laid.fewest_contacts,
        notes=_notes(pack, laid, sizes, tiled, seams),
        lead_sides=_lead_sides(pack, laid.shape),
    )


def _lead_sides(pack: Pack, shape: BlockShape) -> tuple[Side, Side]:
    """Of pack minus and pack plus."""
    if isinstance(shape, ZigzagShape) and pack.enclosure.style is EnclosureStyle.FITTED:
        return Side.MINUS_X, Side.PLUS_X
    return Side.PLUS_X, Side.PLUS_X
