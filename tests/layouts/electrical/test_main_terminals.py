"""Main terminal options compared."""

from __future__ import annotations

import pytest

from layouts.currents.strips import strip_network
from layouts.electrical.flows import shares
from layouts.electrical.main_terminals import Landing, LandingWay, compare_landings, landing_advice
from layouts.pack import Lattice
from tests.layouts.electrical.packs import Laid, laid


def compared(one: Laid) -> dict[LandingWay, Landing]:
    """Each way at 60 A."""
    network = strip_network(one.pack, one.cell_layout, one.interconnect)
    of = shares(network, one.cell_layout.group)
    found = compare_landings(one.cell_layout, one.interconnect, network, of, load_a=60.0)
    assert found[0].way is LandingWay.AS_LAID
    return {landing.way: landing for landing in found}


def test_the_whole_group_is_better_than_its_middle_than_its_corner() -> None:
    """8 cells in a group of a grid: spread and loss grow the farther current has to come."""
    ways = compared(laid(6, 8, lattice=Lattice.GRID))
    whole, middle = ways[LandingWay.WHOLE_GROUP], ways[LandingWay.MIDDLE]
    corner = ways[LandingWay.CORNER]
    assert whole.spread_ratio < 0.01
    assert whole.spread_ratio < middle.spread_ratio < corner.spread_ratio
    assert whole.strip_loss_w < middle.strip_loss_w < corner.strip_loss_w


def test_the_better_way_is_advised_where_it_is_worth_it() -> None:
    """Rows fed at one end: what a collector bar would leave; nothing of an even pack."""
    ways = compared(laid(6, 8, lattice=Lattice.GRID))
    text = landing_advice(tuple(ways.values()))
    assert text is not None
    assert LandingWay.WHOLE_GROUP.words in text
    assert landing_advice((ways[LandingWay.WHOLE_GROUP],)) is None


@pytest.mark.parametrize("series", [1, 3])
def test_a_single_string_has_one_way(series: int) -> None:
    """One cell in a group: nothing to choose."""
    assert set(compared(laid(series, 1))) == {LandingWay.AS_LAID}
