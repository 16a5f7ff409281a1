"""Copper on the rows of the end groups: as much as evens the cells out, no more than has room."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.currents.bus_strips import BUS_STOCK_MM, SPREAD_RATIO, with_bus_strips
from layouts.currents.strips import demand_or_rated_a, ohm_per_mm, sharing, strip_network
from layouts.pack import Lattice
from layouts.strips.joining import StripKind
from layouts.strips.laying import join
from layouts.strips.lip import seat_checks
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("size", [(10, 4), (13, 7), (6, 2)])
def test_a_bus_takes_most_of_the_spread_away(size: tuple[int, int], lattice: Lattice) -> None:
    """At least three quarters of what an end-fed row adds, or down to the limit."""
    pack = sample_pack(*size, lattice=lattice)
    cell_layout = arrange(pack)
    plain = join(pack, cell_layout)
    made = with_bus_strips(pack, cell_layout, plain)
    before, after = (
        sharing(
            cell_layout, strip_network(pack, cell_layout, one), demand_or_rated_a(pack)
        ).spread_ratio
        for one in (plain, made)
    )
    assert after < before
    assert after <= max(SPREAD_RATIO, 0.6 * before)
    assert {strip.bus_mm for strip in made.strips if strip.kind is not StripKind.LEAD} == {0.0}
    thick = {strip.bus_mm for strip in made.strips if strip.kind is StripKind.LEAD}
    assert len(thick) == 1 and thick <= set(BUS_STOCK_MM)


def test_the_stack_with_its_bus_stays_below_the_outer_face() -> None:
    """Copper that would stand proud of the lip is not taken: the seat's own check holds."""
    pack = sample_pack(10, 10)
    cell_layout = arrange(pack)
    made = with_bus_strips(pack, cell_layout, join(pack, cell_layout))
    assert max(strip.bus_mm for strip in made.strips) == 0.8
    assert all(check.holds for check in seat_checks(pack, cell_layout, made))
    thin = replace(pack, holder=replace(pack.holder, lip_mm=1.2))
    low = with_bus_strips(thin, cell_layout, join(thin, cell_layout))
    assert max(strip.bus_mm for strip in low.strips) < 0.8
    assert all(c.holds for c in seat_checks(thin, cell_layout, low) if c.id == "strip_stack_mm")


def test_what_stays_is_told_with_its_reason() -> None:
    """A grid's rows could be even, a honeycomb's not: the note says which it is."""
    told = {}
    for lattice in Lattice:
        pack = sample_pack(13, 7, lattice=lattice)
        cell_layout = arrange(pack)
        told[lattice] = " ".join(with_bus_strips(pack, cell_layout, join(pack, cell_layout)).notes)
    assert "0.0 % with a collector bar across the end group" in told[Lattice.GRID]
    assert "no height for thicker copper" in told[Lattice.GRID]
    assert "flat copper bus 10 x 0.8 mm" in told[Lattice.HONEYCOMB]


def test_copper_lies_beside_the_nickel() -> None:
    """Parallel conductances, by hand: 10 x 0.2 nickel, 6 x 0.5 copper beside the slots."""
    pack = sample_pack(4, 2)
    cell_layout = arrange(pack)
    strip = next(s for s in join(pack, cell_layout).strips if s.kind is StripKind.LEAD)
    with_bus = replace(strip, width_mm=10.0, thickness_mm=0.2, layers=1, bus_mm=0.5)
    by_hand = 1e3 / (10 * 0.2 / 9.60e-8 + 6 * 0.5 / 1.7241e-8)
    assert ohm_per_mm(pack, with_bus) == pytest.approx(by_hand, rel=1e-12)


def test_single_cells_need_none() -> None:
    """With one cell a group nothing is shared."""
    pack = sample_pack(5, 1)
    cell_layout = arrange(pack)
    plain = join(pack, cell_layout)
    assert with_bus_strips(pack, cell_layout, plain) is plain
