"""Plates over seams between two holder tiles: space for the tabs that lock the tiles."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest
import shapely

from generators.packfile.resolve import parse_pack
from layouts.cells.cuts import INTERLOCKS_APART_MM, LEAST_INTERLOCKS
from layouts.holders.channels import cut_shapes
from layouts.holders.keys import choose_interlocks
from layouts.pack import Face
from layouts.planning.steps import BlockPlan, fastened, interconnected, laid_out
from layouts.plates import laying
from layouts.plates.laying import _round_holes
from layouts.plates.seams import seam_gaps
from layouts.plates.touching import touching
from tests.layouts.plates.joined import failing

TILED = b"""name: seed-drill
cell: {format: "18650"}
series: 7
parallel: 4
strip: {joints: plates}
printer: {bed_mm: [120, 120, 200]}
"""


def block_in_tiles() -> BlockPlan:
    """A pack of which each holder is printed in two tiles, cut between two rows of one joint."""
    block = fastened(interconnected(laid_out(parse_pack(TILED, "x.yaml").pack)))
    assert int(block.cell_layout.tile.max()) == 1
    return block


tiled = cache(block_in_tiles)


def tabs(block: BlockPlan) -> list[int]:
    """How many tabs lock the two tiles, lower and upper face."""
    joined = (block.pack, block.cell_layout, block.interconnect)
    return [
        len(
            choose_interlocks(
                block.pack,
                block.cell_layout,
                channels=cut_shapes(*joined, block.cell_block.outline, (face,)),
                grooves=np.zeros((0, 4, 2)),
                posts=block.cell_block.posts,
            )
        )
        for face in (Face.LOWER, Face.UPPER)
    ]


def test_tiles_are_locked_under_a_plate() -> None:
    """Two tabs at least on both faces, and all that holds the cans still does."""
    block = tiled()
    assert min(tabs(block)) >= LEAST_INTERLOCKS
    assert failing(block) == []


def test_without_holes_for_them_no_tab_fits(monkeypatch: pytest.MonkeyPatch) -> None:
    """The plate over the seam covers every gap but for its slots, which end at the middle."""

    def none(*_: object) -> Sequence[object]:
        return []

    monkeypatch.setattr(laying, "seam_gaps", none)
    assert min(tabs(block_in_tiles())) < LEAST_INTERLOCKS


def test_gaps_for_tabs_lie_apart_and_ends_come_last() -> None:
    """The two ends of a seam only once nothing else is left; as many as its length asks for."""
    block = tiled()
    layout = block.cell_layout
    near = touching(layout, np.arange(len(layout.xy_mm)), block.pack.lattice).gaps
    ((wanted, gaps),) = seam_gaps(layout, near)
    across = [gap for gap in near if len(set(layout.tile[list(gap)].tolist())) == 2]
    assert sorted(gaps) == sorted(across)
    x = np.array([layout.xy_mm[list(gap), 0].mean() for gap in gaps])
    assert wanted == max(LEAST_INTERLOCKS, int(np.ceil(np.ptp(x) / INTERLOCKS_APART_MM)) + 1)
    assert {x[-1], x[-2]} == {x.min(), x.max()}
    inner = np.sort(x)[1:-1]
    assert {x[0], x[wanted - 1]} == {inner[0], inner[-1]}


def test_no_seam_no_gap() -> None:
    """A holder in one piece needs no tab."""
    layout = tiled().cell_layout
    assert seam_gaps(layout, [tuple(np.flatnonzero(layout.tile == 0)[:3].tolist())]) == []


def test_a_punched_hole_counts_once_and_not_in_a_slot() -> None:
    """By itself as punched; merged with another as one of the same area; in a slot not at all."""
    sheet = shapely.box(0.0, 0.0, 60.0, 40.0)
    alone, left, right, edge = (10.0, 20.0), (30.0, 20.0), (34.0, 20.0), (58.0, 20.0)
    punched = [(x, y, 6.0) for x, y in (alone, left, right, edge)]
    holes = shapely.union_all([shapely.Point(x, y).buffer(d / 2.0, 32) for x, y, d in punched])
    first, merged = sorted(_round_holes(sheet.difference(holes), punched))
    assert first == (10.0, 20.0, 6.0)
    assert merged[:2] == pytest.approx((32.0, 20.0))
    both = shapely.union_all([shapely.Point(x, 20.0).buffer(3.0, 32) for x in (30.0, 34.0)])
    assert merged[2] == pytest.approx(2.0 * np.sqrt(both.area / np.pi))
