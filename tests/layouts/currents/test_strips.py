"""The networks that a pack's strips make."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.cells.arrangement import CellLayout
from layouts.cells.fields import BlockShape
from layouts.currents.network import solve
from layouts.currents.strips import demand_or_rated_a, sharing, strip_network, touching_network
from layouts.pack import Lattice, Pack
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


def rows_of_eight(lattice: Lattice) -> tuple[Pack, CellLayout]:
    """12S8P in whole rows."""
    pack = sample_pack(12, 8, lattice=lattice)
    shape = BlockShape(
        lattice=lattice, series=12, parallel=8, rows=1, even=8, odd=8, lanes=1, slots=12
    )
    return pack, arrange(pack, shape=shape)


def test_whole_rows_on_a_grid_share_evenly_when_all_cells_are_fed() -> None:
    """By symmetry: P equal columns side by side, no current between them."""
    pack, cell_layout = rows_of_eight(Lattice.GRID)
    shared = sharing(cell_layout, touching_network(pack, cell_layout), 60.0)
    assert shared.spread_ratio < 1e-9
    assert shared.hottest_link_a == pytest.approx(60.0 / 8, rel=1e-9)


def test_whole_rows_on_a_honeycomb_lose_less_and_share_less_evenly() -> None:
    """Two links to a cell halve the current in most; the ends of the rows have one only."""
    shared = {}
    for lattice in Lattice:
        pack, cell_layout = rows_of_eight(lattice)
        shared[lattice] = sharing(cell_layout, touching_network(pack, cell_layout), 60.0)
    grid, comb = shared[Lattice.GRID], shared[Lattice.HONEYCOMB]
    assert comb.strip_loss_w < grid.strip_loss_w
    assert 0.05 < comb.spread_ratio < 0.3


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("series", [5, 6])
def test_strips_as_laid_carry_the_load_through_every_group(series: int, lattice: Lattice) -> None:
    """The cells of each group give the whole load together, whichever face the leads leave."""
    pack = sample_pack(series, 3, lattice=lattice)
    cell_layout = arrange(pack)
    flow = solve(strip_network(pack, cell_layout, join(pack, cell_layout)).network, 9.0)
    by_group = np.bincount(cell_layout.group, weights=flow.cell_a)[1:]
    assert by_group == pytest.approx(np.full(series, 9.0), rel=1e-9)


def test_a_row_fed_at_its_end_shares_as_the_closed_form_says() -> None:
    """1S8P, both leads on the same end: i_k ~ cosh(a (p - 1/2 - k)), cosh a = 1 + R/rc.

    R: a length of strip on both faces; rc: the cell and its two welds.

    Two rails of equal links R/2 each, shunted by cells: the ladder's difference equation, solved by
    hand. Main terminals are excluded: tails have no part in how cells share."""
    pack = sample_pack(1, 8)
    pack = replace(pack, strip=replace(pack.strip, lead_width_mm=6.0))
    row = BlockShape(
        lattice=pack.lattice, series=1, parallel=8, rows=1, even=8, odd=8, lanes=1, slots=1
    )
    cell_layout = arrange(pack, shape=row)
    flow = solve(strip_network(pack, cell_layout, join(pack, cell_layout)).network, 40.0)
    along = np.argsort(-cell_layout.xy_mm[:, 0])  # from the end where the leads leave
    shares = flow.cell_a[along]
    rail = 9.60e-8 * cell_layout.pitch_mm * 1e3 / (6.0 * pack.strip.thickness_mm)
    weld = pack.strip.weld_spot_mohm / 1000.0 / pack.strip.weld_spots
    a = np.arccosh(1 + rail / (pack.cell.internal_resistance_mohm / 1000.0 + 2 * weld))
    expected = np.cosh(a * (8 - 0.5 - np.arange(8)))
    assert shares / shares.sum() == pytest.approx(expected / expected.sum(), rel=1e-9)


def test_a_pack_is_judged_at_its_load_else_at_its_cells_rating() -> None:
    """Without a load: P times the cell's own rating."""
    pack = sample_pack(4, 3)
    cell_layout = arrange(pack)
    network = strip_network(pack, cell_layout, join(pack, cell_layout))
    shared = sharing(cell_layout, network, demand_or_rated_a(pack))
    assert shared.load_a == pytest.approx(36.0)
    assert shared.strip_loss_w > 0
