"""Measured cells on the sites of a plan. All cells are invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from generators.packfile.resolve import parse_pack
from layouts.pack import EnclosureStyle, Pack
from layouts.planning.pack_plan import plan_checks, plan_pack
from layouts.planning.sorted_cells import direct_mohm, measured_cells, sort_cells
from layouts.planning.steps import laid_out
from tests.generators.packfile.files import PLAIN
from tests.layouts.sorting.lots import lot_of


def bare() -> Pack:
    """10S4P in holders alone."""
    pack = parse_pack(PLAIN.encode(), "p.yaml").pack
    return replace(pack, enclosure=replace(pack.enclosure, style=EnclosureStyle.NONE))


@pytest.mark.slow
def test_sorted_cells_are_even_in_capacity_and_current() -> None:
    """Every site has one cell, groups are even, spare cells are the weakest; currents are more
    even than as the cells came, and the plan that reads them holds its places."""
    pack, lot = bare(), lot_of(44, 3)
    kept = np.arange(44)
    found = sort_cells(pack, lot, kept)
    assert sorted([*found.cell.tolist(), *found.spare.tolist()]) == kept.tolist()
    assert lot.capacity_ah[found.spare].max() <= lot.capacity_ah[found.cell].min()
    assert found.sorted.capacity_ratio < 0.001
    assert found.sorted.smallest_ah > found.random.smallest_ah
    assert found.currents is not None
    assert found.currents.sorted < found.currents.listed
    measured = measured_cells(pack, lot, found)
    assert (found.cell_layout.xy_mm == laid_out(pack).cell_layout.xy_mm).all()
    plan = plan_pack(replace(pack, measured_cells=measured))
    # the same network, asked for by the plan
    assert plan.electrical.shares.spread_ratio == pytest.approx(found.currents.sorted, rel=1e-9)
    assert plan.electrical.ratings.capacity_ah == pytest.approx(found.sorted.smallest_ah)
    (check,) = (one for one in plan_checks(plan, mass_kg=4.0) if one.id == "sorted_places")
    assert check.holds


def test_the_order_of_the_list_is_told_as_it_came() -> None:
    """The first S x P kept cells, in their order."""
    pack, lot = bare(), lot_of(43, 5)
    kept = np.delete(np.arange(43), 2)
    found = sort_cells(pack, lot, kept)
    totals = lot.capacity_ah[kept[:40]].reshape(10, 4).sum(axis=1)
    assert found.listed.smallest_ah == pytest.approx(totals.min())
    assert found.listed.largest_ah == pytest.approx(totals.max())


def test_too_few_cells_are_refused() -> None:
    """The command has told how many before."""
    with pytest.raises(ValueError, match="39 cells, 40 are needed"):
        sort_cells(bare(), lot_of(39, 1), np.arange(39))


def test_values_at_1_khz_become_direct_ones_by_the_ratio_of_the_pack_file() -> None:
    """Of its two resistances, or of 3 to 1 where it has one; direct values stay."""
    pack, lot = bare(), lot_of(40, 1, direct_current=False)
    assert direct_mohm(pack, lot) == pytest.approx(3.0 * lot.resistance_mohm)
    both = replace(pack, cell=replace(pack.cell, ac_resistance_mohm=7.0))
    assert direct_mohm(both, lot) == pytest.approx(2.0 * lot.resistance_mohm)
    direct = replace(lot, direct_current=True)
    assert (direct_mohm(both, direct) == lot.resistance_mohm).all()
