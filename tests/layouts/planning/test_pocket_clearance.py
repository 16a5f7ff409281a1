"""Clearance, play of tiles and cuts where the second holder would not go on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.cells.cuts import LOOSE_TILE_PLAY_MM, TILE_PLAY_MM
from layouts.holders.second_holder import second_holder_check
from layouts.pack import Pack
from layouts.planning.pocket_clearance import LOOSER_MOST_MM
from layouts.planning.steps import CellPlan, laid_out
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


def on_bed(series: int, parallel: int, bed_mm: float) -> Pack:
    """So many cells on a square bed."""
    pack = sample_pack(series, parallel)
    return replace(pack, printer=replace(pack.printer, bed_mm=(bed_mm, bed_mm, 250.0)))


def note(plan: CellPlan) -> str:
    """What is said of the second holder."""
    said = [one for one in plan.cell_layout.notes if "second holder" in one]
    return said[0] if said else ""


@pytest.mark.parametrize(("series", "parallel", "bed_mm"), [(10, 4, 220), (13, 8, 220)])
def test_up_to_a_hundred_cells_nothing_changes(series: int, parallel: int, bed_mm: float) -> None:
    """The cells lie as they did."""
    pack = on_bed(series, parallel, bed_mm)
    plan = laid_out(pack)
    assert plan.pack is pack
    assert np.array_equal(plan.cell_layout.xy_mm, arrange(pack).xy_mm)
    assert plan.cell_layout.tile_play_mm == TILE_PLAY_MM
    assert note(plan) == ""


def test_a_large_piece_gets_wider_pockets() -> None:
    """168 cells on a bed that takes them whole; a clearance in the file is kept, and fails."""
    pack = on_bed(14, 12, 400.0)
    assert not second_holder_check(pack, arrange(pack)).holds
    plan = laid_out(pack)
    wider = plan.pack.holder.clearance_mm - pack.holder.clearance_mm
    assert 0 < wider <= LOOSER_MOST_MM
    assert not plan.cell_layout.tile.any()
    assert second_holder_check(plan.pack, plan.cell_layout).holds
    assert f"holder.clearance_mm is {plan.pack.holder.clearance_mm:.2f}" in note(plan)
    kept = replace(pack, holder=replace(pack.holder, clearance_given=True))
    as_given = laid_out(kept)
    assert as_given.pack is kept
    assert not second_holder_check(kept, as_given.cell_layout).holds


def test_tiles_get_more_play() -> None:
    """320 cells in four tiles: 0.1 mm of play is too little, pockets stay as they were."""
    pack = on_bed(20, 16, 220.0)
    plan = laid_out(pack)
    assert plan.pack is pack
    assert plan.cell_layout.tile_play_mm == LOOSE_TILE_PLAY_MM
    assert np.array_equal(plan.cell_layout.xy_mm, arrange(pack).xy_mm)
    assert second_holder_check(pack, plan.cell_layout).holds
    assert "0.2 mm of play" in note(plan)


def test_a_piece_that_no_clearance_suits_is_cut() -> None:
    """240 cells in a long row of groups on a bed of a metre."""
    pack = on_bed(40, 6, 1000.0)
    assert not arrange(pack).tile.any()
    plan = laid_out(pack)
    assert plan.cell_layout.tile.max() > 0
    assert plan.pack.holder == pack.holder
    assert second_holder_check(plan.pack, plan.cell_layout).holds
    assert "cut into tiles" in note(plan)
