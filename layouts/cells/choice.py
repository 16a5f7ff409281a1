"""Choose the field: what a builder looks at, weighed.

Does it fit the space and the printer's bed, is it compact, how wide are the boundaries between
consecutive groups, does the path of groups fold, do sites stay empty. Weights are judgement, no
source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from heapq import nsmallest
from math import log2, sqrt

import numpy as np
from numpy.typing import NDArray

from layouts.cells import lattice as lattices
from layouts.cells.envelope import Envelope, Estimate, cell_block_mm, overshoot_ratio
from layouts.cells.fields import BlockShape, block_shapes, block_sites, zigzag_shapes
from layouts.cells.spacing import (
    BARRIER_WEB_MM,
    FULL_PACK_MM,
    HIGH_VOLTS,
    pair_volts,
    required_gaps_mm,
)
from layouts.pack import EnclosureStyle, JointForm, Lattice, Pack
from layouts.parts.bed import pieces

LOOK_CLOSER = 12  # fields that are laid out in full after the quick score

# Weights of the score, lower is better. A field that does not fit the space loses to any that
# does; one print job more costs about as much as a third more tub.
OUT_OF_SPACE = 20.0
OUT_OF_SPACE_RATIO = 20.0
TURNED_LEADS = 3.0  # it fits the space only with the leads on another side than required
HOLDER_CUT = 0.5  # each doubling of the holder's pieces
CASE_CUT = 0.25  # the same for the tub and for the lid
FEW_CONTACTS = 0.35  # share of the widest possible boundary that is missing
CROWDED_CONTACTS = 0.6  # each doubling of the cells a touching pair must carry, above one
SINGLE_PAIR = 5.0  # two groups of several cells meet at one pair: only to get into the space
FOLDED = 0.4
MORE_LANES = 0.15  # each doubling of the lanes beyond two
FREE_LEAD = 0.5  # each 100 mm of strip to a main lead that hangs beneath the other lanes
NO_POSTS = 1.5  # it is longer than tie posts may stand apart, and none stands in its way
NO_POSTS_MM = 80.0
MORE_ROWS = 0.1  # each doubling of a group's rows: more leads, strips turn, lips get narrower
ODD_ENDS = 0.05  # any site empty at all
EMPTY = 0.6  # share of sites that stay empty


@dataclass(frozen=True, kw_only=True, slots=True)
class LaidCells:
    """Cells on lattice sites, seams not yet widened for tiles.

    ``apart_mm``: the centre distance that each lane line needs, by the first column beyond it.
    """

    sites: NDArray[np.int64]
    group: NDArray[np.int64]
    pairs: NDArray[np.int64]
    fewest_contacts: int
    apart_mm: dict[int, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class LaidBlock(LaidCells):
    """A field of whole rows laid out."""

    shape: BlockShape


def shapes_of(pack: Pack) -> Iterator[BlockShape]:
    """Every field that a search may lay for a pack.

    First all that ``choose_block`` chooses from; then, where its leads may leave at both ends,
    groups side by side in columns: the enclosure has a way between its rooms, and plates bring all
    current of an end group to one tail."""
    yield from block_shapes(pack.series, pack.parallel, pack.lattice)
    if pack.enclosure.style is EnclosureStyle.FITTED and pack.strip.joints is JointForm.PLATES:
        yield from zigzag_shapes(pack.series, pack.parallel, pack.lattice)


def _lane_lines(shape: BlockShape) -> tuple[int, ...]:
    """First column beyond each line between two lanes."""
    reach = 0 if shape.even >= shape.odd else 1
    return tuple(lane * shape.lane_columns - reach for lane in range(1, shape.lanes))


def _fewest_contacts(group: NDArray[np.int64], pairs: NDArray[np.int64], series: int) -> int:
    """Fewest touching pairs between consecutive groups; 0 for a single group."""
    if series == 1:
        return 0
    a, b = group[pairs[:, 0]], group[pairs[:, 1]]
    low = np.minimum(a, b)[np.abs(a - b) == 1]
    return int(np.bincount(low, minlength=series)[1:series].min())


def crossing_pairs(
    sites: NDArray[np.int64], pairs: NDArray[np.int64], line: int, axis: int
) -> NDArray[np.int64]:
    """The touching pairs that a line parts."""
    beyond = sites[:, axis] >= line
    parted: NDArray[np.int64] = pairs[beyond[pairs[:, 0]] != beyond[pairs[:, 1]]]
    return parted


def line_need(
    pack: Pack, group: NDArray[np.int64], pairs: NDArray[np.int64]
) -> tuple[float, float, bool]:
    """Centre distance across a line, worst volts across it, and whether a barrier stands there."""
    a, b = group[pairs[:, 0]], group[pairs[:, 1]]
    gaps, barrier = required_gaps_mm(a, b, series=pack.series, full_v=pack.cell.full_v)
    volts = pair_volts(a, b, full_v=pack.cell.full_v)
    gap = float(gaps[barrier].max(initial=0.0))
    if not barrier.any():
        return 0.0, float(volts.max(initial=0.0)), False
    return pack.pocket_mm + max(gap, BARRIER_WEB_MM), float(volts.max()), True


def _lay(pack: Pack, shape: BlockShape) -> LaidBlock:
    sites, group = block_sites(shape)
    pairs = lattices.neighbour_pairs(sites, pack.lattice)
    apart = {
        line: line_need(pack, group, crossing_pairs(sites, pairs, line, 0))[0]
        for line in _lane_lines(shape)
    }
    return LaidBlock(
        shape=shape,
        sites=sites,
        group=group,
        pairs=pairs,
        fewest_contacts=_fewest_contacts(group, pairs, pack.series),
        apart_mm=apart,
    )


def column_growths_mm(pack: Pack, apart_mm: dict[int, float]) -> dict[int, float]:
    """Shift of each column line {line: mm} for the centre distances that it needs."""
    return {
        line: lattices.column_growth_mm(pack.lattice, pitch_mm=pack.pitch_mm, apart_mm=apart)
        for line, apart in apart_mm.items()
    }


def row_growths_mm(pack: Pack, apart_mm: dict[int, float]) -> dict[int, float]:
    """Shift of each row line {line: mm} for the centre distances that it needs."""
    return {
        line: lattices.row_growth_mm(pack.lattice, pitch_mm=pack.pitch_mm, apart_mm=apart)
        for line, apart in apart_mm.items()
    }


def _quick_span_mm(pack: Pack, shape: BlockShape) -> tuple[float, float]:
    """Extent of the centres from the field's whole numbers alone."""
    pitch = pack.pitch_mm
    farthest = min(pack.series - 1, 2 * shape.slots - 2)
    apart = 0.0
    if shape.lanes > 1 and farthest * pack.cell.full_v > HIGH_VOLTS:
        gap = FULL_PACK_MM if farthest == pack.series - 1 else BARRIER_WEB_MM
        apart = pack.pocket_mm + gap
    growth = lattices.column_growth_mm(pack.lattice, pitch_mm=pitch, apart_mm=apart)
    return (
        shape.span_columns * lattices.column_mm(pack.lattice, pitch) + (shape.lanes - 1) * growth,
        (shape.field_rows - 1) * lattices.row_mm(pack.lattice, pitch),
    )


def _most_contacts(pack: Pack) -> int:
    """Boundary of two whole rows that lie on each other."""
    return 2 * pack.parallel - 1 if pack.lattice is Lattice.HONEYCOMB else pack.parallel


def _quick_contacts(pack: Pack, shape: BlockShape) -> int:
    honeycomb = pack.lattice is Lattice.HONEYCOMB
    short = pack.parallel // shape.rows
    row_contacts = 2 * short - (shape.even == shape.odd) if honeycomb else short
    if shape.lanes == 1:
        return max(1, row_contacts)
    if not honeycomb:
        return max(1, min(row_contacts, shape.rows))
    fold_contacts = 2 if shape.rows == 1 and pack.parallel > 1 else 2 * shape.rows - 1
    return max(1, min(row_contacts, fold_contacts))


def _score(pack: Pack, sizes: Envelope, *, fewest_contacts: int, shape: BlockShape) -> float:
    """How bad a field is; 0 would be a square tub round cells alone."""
    cells = pack.series * pack.parallel
    site = pack.pitch_mm * lattices.row_mm(pack.lattice, pack.pitch_mm)
    x, y = sizes.tub_mm
    score = (x + y) / (2 * sqrt(cells * site)) - 1
    score += HOLDER_CUT * log2(pieces(sizes.cell_block_mm, pack.printer))
    score += CASE_CUT * log2(pieces(sizes.tub_mm, pack.printer))
    score += CASE_CUT * log2(pieces(sizes.lid_mm, pack.printer))
    score += MORE_ROWS * log2(shape.rows)
    if pack.series > 1:
        score += FEW_CONTACTS * (1 - fewest_contacts / _most_contacts(pack))
        score += CROWDED_CONTACTS * max(0.0, log2(pack.parallel / fewest_contacts))
        if fewest_contacts == 1 and pack.parallel > 1:
            score += SINGLE_PAIR
    if shape.lanes > 1:
        score += FOLDED + MORE_LANES * log2(shape.lanes / 2)
        free_mm = sizes.cell_block_mm[0] * (1 - 1 / shape.lanes)
        score += FREE_LEAD * free_mm / 100 + (NO_POSTS if free_mm > NO_POSTS_MM else 0.0)
    if shape.empty_sites:
        score += ODD_ENDS + EMPTY * shape.empty_sites / (shape.empty_sites + cells)
    if pack.space is not None:
        straight = overshoot_ratio(sizes, pack, turned=False)
        turned = overshoot_ratio(sizes, pack, turned=True)
        worst = min(straight, turned)
        if worst > 0:
            score += OUT_OF_SPACE + OUT_OF_SPACE_RATIO * worst
        elif straight > 0:
            score += TURNED_LEADS
    return score


def lay_block(pack: Pack, shape: BlockShape, *, estimate: Estimate) -> tuple[LaidBlock, Envelope]:
    """One field laid out, and the outer sizes that follow by the form's estimate."""
    laid = _lay(pack, shape)
    xy = lattices.centres_mm(
        laid.sites,
        pack.lattice,
        pitch_mm=pack.pitch_mm,
        column_shifts_mm=column_growths_mm(pack, laid.apart_mm),
    )
    span = np.ptp(xy, axis=0)
    return laid, estimate(pack, cell_block_mm(pack, (float(span[0]), float(span[1]))))


def ranked_blocks(pack: Pack, *, estimate: Estimate, most: int) -> list[BlockShape]:
    """The best fields by the quick score, the best first."""
    return [shape for _, _, shape in _quick_best(pack, estimate, most)]


def _quick_best(pack: Pack, estimate: Estimate, most: int) -> list[tuple[float, int, BlockShape]]:
    """Quick score, number and field of the best."""
    quick = (
        (
            round(
                _score(
                    pack,
                    estimate(pack, cell_block_mm(pack, _quick_span_mm(pack, shape))),
                    fewest_contacts=_quick_contacts(pack, shape),
                    shape=shape,
                ),
                9,
            ),
            number,
            shape,
        )
        for number, shape in enumerate(block_shapes(pack.series, pack.parallel, pack.lattice))
    )
    return nsmallest(most, quick, key=lambda item: item[:2])


def choose_block(pack: Pack, *, estimate: Estimate) -> tuple[LaidBlock, Envelope]:
    """The best field, laid out; ``estimate``: of the form that will enclose it."""
    best: tuple[float, int, LaidBlock, Envelope] | None = None
    for _, number, shape in _quick_best(pack, estimate, LOOK_CLOSER):
        laid, sizes = lay_block(pack, shape, estimate=estimate)
        score = round(_score(pack, sizes, fewest_contacts=laid.fewest_contacts, shape=shape), 9)
        if best is None or (score, number) < best[:2]:
            best = (score, number, laid, sizes)
    assert best is not None  # one row a group in one lane is always a field
    return best[2], best[3]
