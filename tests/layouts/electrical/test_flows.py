"""What each ampere of load puts on every cell, link and weld: by hand, and in balance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.currents.network import solve
from layouts.currents.strips import ohm_per_mm, strip_network
from layouts.electrical.flows import Shares, losses, shares
from layouts.electrical.main_terminals import landed_on
from layouts.pack import Face, Lattice
from layouts.strips.joining import Interconnect, StripKind
from tests.layouts.electrical.packs import Laid, laid, strip, two_by_two, without_link
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack

NEAR = 3e-4  # joints of 1 micro-ohm at the main terminals, which the hand calculation omits


def solved(one: Laid) -> Shares:
    """Shares of a pack as laid."""
    return shares(strip_network(one.pack, one.cell_layout, one.interconnect), one.cell_layout.group)


def resistances(one: Laid) -> tuple[float, float]:
    """A cell with its two welds, and a strip from one cell to the next [ohm]."""
    pack = one.pack
    weld = pack.strip.weld_spot_mohm / pack.strip.weld_spots
    row = ohm_per_mm(pack, one.interconnect.strips[0]) * one.cell_layout.pitch_mm
    return (pack.cell.internal_resistance_mohm + 2 * weld) / 1000.0, row


def test_a_square_of_four_cells_shares_evenly() -> None:
    """2S2P, both links there: half the load each, nothing along the rows (symmetry)."""
    of = solved(two_by_two())
    assert of.cell == pytest.approx(np.full(4, 0.5), rel=1e-9)
    assert np.abs(of.link) == pytest.approx([0.5, 0.5, 0.0, 0.0, 0.0, 0.0], abs=1e-9)
    assert of.spread_ratio == pytest.approx(0.0, abs=1e-9)


def test_a_series_link_taken_away_puts_the_load_on_the_other() -> None:
    """2S2P without link 1-3, by hand: the other carries all, cells share as (r + R) to r.

    The current of cell 1 takes the row to cell 0: r i0 = (r + R) i1 with i0 + i1 = I.
    """
    whole = two_by_two()
    one = without_link(whole, (1, 3))
    of = solved(one)
    r, row = resistances(one)
    near = (r + row) / (2 * r + row)
    assert abs(of.link[0]) == pytest.approx(1.0, rel=1e-9)
    assert of.cell == pytest.approx([near, 1 - near, near, 1 - near], rel=NEAR)
    link_ohm = row  # of the same length
    whole_ohm = 2 * r * (r + row) / (2 * r + row) + link_ohm
    assert of.ohm == pytest.approx(whole_ohm, rel=NEAR)
    assert of.ohm > solved(whole).ohm


def row_of_two() -> Laid:
    """1S2P: two cells with a row on each face."""
    pack = sample_pack(1, 2, lattice=Lattice.GRID)
    cell_layout = in_rows(pack)
    strips = (
        strip(pack, cell_layout, (0, 1), Face.UPPER, StripKind.ROW),
        strip(pack, cell_layout, (0, 1), Face.LOWER, StripKind.ROW),
    )
    interconnect = Interconnect(
        strips=strips, minus_face=Face.LOWER, plus_face=Face.UPPER, stack_mm=np.zeros((2, 2))
    )
    return Laid(pack=pack, cell_layout=cell_layout, interconnect=interconnect)


def test_a_lead_moved_from_the_group_to_its_corner_loads_the_cell_there() -> None:
    """1S2P, by hand: even from the whole group; from cell 0, i0/i1 = (r + 2 R)/r."""
    one = row_of_two()
    network = strip_network(one.pack, one.cell_layout, one.interconnect)
    group = one.cell_layout.group
    assert shares(network, group).cell == pytest.approx([0.5, 0.5], rel=1e-9)
    corner = shares(landed_on(network, np.array([0]), np.array([1])), group)
    r, row = resistances(one)
    assert corner.cell[0] / corner.cell[1] == pytest.approx((r + 2 * row) / r, rel=1e-9)
    assert corner.spread_ratio == pytest.approx(2 * row / (r + row), rel=1e-9)


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("series", [1, 4, 5])
def test_the_parts_lost_add_up_to_the_whole(series: int, lattice: Lattice) -> None:
    """Cells, links, welds and ends together: I^2 R of the pack, to 1e-9."""
    one = laid(series, 3, lattice=lattice)
    of = solved(one)
    lost = losses(of, 30.0)
    parts = lost.cell_w + lost.strip_w + lost.weld_w + lost.tail_w
    assert lost.lost_w == pytest.approx(parts, rel=1e-9)
    assert lost.lost_w == pytest.approx(30.0**2 * of.ohm, rel=1e-12)
    assert lost.strip_w == pytest.approx(float(of.link_w(30.0).sum()), rel=1e-12)


def test_every_group_gives_the_whole_load() -> None:
    """The shares of each group add up to one."""
    one = laid(5, 4)
    given = np.bincount(one.cell_layout.group, weights=solved(one).cell)[1:]
    assert given == pytest.approx(np.ones(5), rel=1e-9)


def test_shares_are_what_the_loaded_network_says() -> None:
    """With the cells' volts and 40 A the same currents flow, and volts fall by I R."""
    one = laid(4, 3)
    network = strip_network(one.pack, one.cell_layout, one.interconnect)
    of = solved(one)
    flow = solve(network.network, 40.0)
    assert flow.cell_a == pytest.approx(of.cell_a(40.0), rel=1e-9)
    assert network.strips_of(flow.link_a) == pytest.approx(of.link_a(40.0), rel=1e-6, abs=1e-9)
    assert 4 * one.pack.cell.nominal_v - flow.volts == pytest.approx(40.0 * of.ohm, rel=1e-9)


def test_a_network_agrees_with_the_pseudo_inverse_of_its_laplacian() -> None:
    """Resistance between the main terminals by another way: the resistance distance of the graph
    (Klein and Randic 1993; title from memory), its Laplacian inverted densely."""
    one = laid(3, 4)
    network = strip_network(one.pack, one.cell_layout, one.interconnect).network
    a = np.concatenate([network.link_nodes, network.cell_nodes])
    siemens = 1.0 / np.concatenate([network.link_ohm, network.cell_ohm])
    laplacian = np.zeros((network.nodes, network.nodes))
    np.add.at(laplacian, (a[:, 0], a[:, 0]), siemens)
    np.add.at(laplacian, (a[:, 1], a[:, 1]), siemens)
    np.add.at(laplacian, (a[:, 0], a[:, 1]), -siemens)
    np.add.at(laplacian, (a[:, 1], a[:, 0]), -siemens)
    inverse = np.linalg.pinv(laplacian, hermitian=True, rcond=1e-14)
    m, p = network.minus, network.plus
    distance = inverse[m, m] + inverse[p, p] - 2 * inverse[m, p]
    assert solved(one).ohm == pytest.approx(distance, rel=1e-6)


def test_a_resistance_of_nothing_is_refused() -> None:
    """As the network says it."""
    one = laid(2, 2)
    network = strip_network(one.pack, one.cell_layout, one.interconnect)
    bad = replace(network.network, cell_ohm=np.zeros(4))
    with pytest.raises(ValueError, match="above zero"):
        shares(replace(network, network=bad), one.cell_layout.group)
