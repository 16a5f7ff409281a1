"""Placed cells as an arrangement: tiles that fit, seams that carry barriers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.cells.placed import reach_mm
from layouts.cells.spacing import can_spacing, pair_volts
from layouts.errors import PlanError
from layouts.pack import Lattice, Printer
from layouts.placing.values import Effort
from layouts.planning.in_space import arrange_in_space, is_placed
from layouts.planning.pack_plan import plan_checks, plan_pack
from tests.layouts.placed_packs import HULL, placed_pack
from tests.sampled import sampled
from tests.samples import sample_pack


def test_only_packs_without_an_enclosure_in_a_space_are_placed() -> None:
    """Others keep their fields of whole rows."""
    assert is_placed(placed_pack(4, 2))
    assert not is_placed(sample_pack(4, 2))
    assert not is_placed(replace(placed_pack(4, 2), space=None))


@pytest.mark.parametrize("lattice", Lattice)
def test_a_holder_cut_for_the_bed_stays_within_the_space(lattice: Lattice) -> None:
    """Cuts widen the lattice; every cell still keeps its reach from the walls."""
    printer = replace(sample_pack().printer, bed_mm=(150.0, 150.0, 200.0))
    pack, placed, cell_layout = arrange_in_space(
        placed_pack(10, 5, lattice=lattice, printer=printer)
    )
    assert cell_layout.tile.max() > 0
    there = cell_layout.xy_mm @ placed.pose[:2, :2].T + placed.pose[:2, 3]
    apart = shapely.distance(shapely.points(there), placed.cavity.boundary)
    assert apart.min() >= reach_mm(pack) - 1e-6
    assert shapely.contains(placed.cavity, shapely.points(there)).all()


def test_the_cells_of_a_tile_hang_together() -> None:
    """In arms of an outline too: a tile is one printed piece."""
    printer = Printer(bed_mm=(130.0, 130.0, 200.0), nozzle_mm=0.4, layer_mm=0.2, material="petg")
    _, _, cell_layout = arrange_in_space(placed_pack(10, 6, printer=printer))
    pairs = cell_layout.neighbours
    for tile in range(int(cell_layout.tile.max()) + 1):
        mine = np.flatnonzero(cell_layout.tile == tile)
        seen, edge = {int(mine[0])}, [int(mine[0])]
        while edge:
            cell = edge.pop()
            near = {
                *pairs[pairs[:, 0] == cell, 1].tolist(),
                *pairs[pairs[:, 1] == cell, 0].tolist(),
            }
            fresh = {one for one in near if cell_layout.tile[one] == tile} - seen
            seen |= fresh
            edge += sorted(fresh)
        assert seen == set(mine.tolist())


def test_every_touching_pair_of_high_volts_stands_in_one_seam_with_a_barrier() -> None:
    """None is left out, none is barred twice, and the gap that barriers need is kept."""
    pack, _, cell_layout = arrange_in_space(placed_pack(10, 6, lattice=Lattice.GRID))
    pairs = cell_layout.neighbours
    volts = pair_volts(
        cell_layout.group[pairs[:, 0]], cell_layout.group[pairs[:, 1]], full_v=pack.cell.full_v
    )
    high = sorted(map(tuple, pairs[volts > 15.0].tolist()))
    barred = sorted(
        tuple(sorted(pair)) for seam in cell_layout.seams if seam.barrier
        for pair in seam.pairs.tolist()
    )  # fmt: skip
    assert high
    assert barred == high
    assert can_spacing(pack, cell_layout).holds


@pytest.mark.parametrize(
    ("series", "parallel", "lattice"),
    sampled(
        [(10, 8, Lattice.HONEYCOMB), (7, 4, Lattice.HONEYCOMB), (10, 6, Lattice.GRID)],
        lambda case: case[0] == 7,
    ),
)
def test_a_placed_pack_is_planned_whole(series: int, parallel: int, lattice: Lattice) -> None:
    """Strips, posts, holders: every check that needs no solid holds."""
    plan = plan_pack(placed_pack(series, parallel, lattice=lattice), effort=Effort.QUICK)
    failing = [check.id for check in plan_checks(plan, mass_kg=5.0) if not check.holds]
    assert failing == []
    assert plan.placed is not None and plan.enclosure_set is None
    room = plan.cell_layout.room
    assert room is not None
    posts = shapely.points([(post.x_mm, post.y_mm) for post in plan.cell_block.posts])
    assert shapely.distance(posts, room.boundary).min() > 5.2


def test_free_spacing_is_refused_for_parts() -> None:
    """No rows, no straight strips: the message says what shows it instead."""
    with pytest.raises(PlanError, match="cellstead place draws"):
        plan_pack(placed_pack(5, 4, HULL, free_spacing=True))
