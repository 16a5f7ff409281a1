"""The solver of heat networks against closed forms and hand-worked cases."""

from __future__ import annotations

import numpy as np
import pytest

from layouts.heat.network import HeatNetwork, factored


def chain(count: int, w_k: float) -> HeatNetwork:
    """``count`` nodes in a row, both ends joined to the held place, all by ``w_k``."""
    held = np.zeros(count)
    held[0] += w_k
    held[-1] += w_k
    own = np.arange(count - 1)
    return HeatNetwork(
        pairs=np.column_stack([own, own + 1]),
        pair_w_k=np.full(count - 1, w_k),
        held_w_k=held,
    )


@pytest.mark.parametrize("count", [1, 3, 7, 101])
def test_the_peak_of_a_chain_with_held_ends(count: int) -> None:
    """q (m + 1)^2 / (8 G) in the middle for m odd (a parabola through both held ends)."""
    q, w_k = 0.4, 0.025
    kelvin = factored(chain(count, w_k))(np.full(count, q))
    assert kelvin.max() == pytest.approx(q * (count + 1) ** 2 / (8.0 * w_k), rel=1e-12)
    assert int(np.argmax(kelvin)) == count // 2


def test_a_chain_of_even_count_peaks_below_the_parabolas_top() -> None:
    """For m even the two middle nodes stand at q m (m + 2) / (8 G)."""
    kelvin = factored(chain(6, 0.5))(np.ones(6))
    assert kelvin[2] == pytest.approx(6 * 8 / (8 * 0.5), rel=1e-12)
    assert kelvin[3] == pytest.approx(kelvin[2], rel=1e-12)


def test_two_nodes_by_hand() -> None:
    """3 W into the first, 1 W/K between, 2 W/K from the second: 1.5 K there, 3 K more here."""
    network = HeatNetwork(
        pairs=np.array([[0, 1]]), pair_w_k=np.array([1.0]), held_w_k=np.array([0.0, 2.0])
    )
    assert factored(network)(np.array([3.0, 0.0])) == pytest.approx([4.5, 1.5], rel=1e-12)


def test_double_links_add() -> None:
    """A pair named twice, also the other way round, conducts with both."""
    network = HeatNetwork(
        pairs=np.array([[0, 1], [1, 0]]),
        pair_w_k=np.array([1.0, 3.0]),
        held_w_k=np.array([0.0, 2.0]),
    )
    assert factored(network)(np.array([4.0, 0.0])) == pytest.approx([3.0, 2.0], rel=1e-12)


def test_a_part_without_a_way_out_is_refused() -> None:
    """Three nodes joined to each other only, beside one that is held: no steady state."""
    network = HeatNetwork(
        pairs=np.array([[0, 1], [1, 2]]),
        pair_w_k=np.array([0.1, 0.3]),
        held_w_k=np.array([0.0, 0.0, 0.0, 1.0]),
    )
    with pytest.raises(ValueError, match="no path to the fixed temperature"):
        factored(network)
    # with a store of its own it warms up instead: 2 W into 5 W/K of store
    kelvin = factored(network, np.full(4, 5.0))(np.full(4, 2.0))
    assert kelvin[:3] == pytest.approx([0.4, 0.4, 0.4], rel=1e-12)


def test_a_conductance_below_zero_is_refused() -> None:
    """Heat can't run uphill."""
    network = HeatNetwork(pairs=np.array([[0, 1]]), pair_w_k=np.array([-1.0]), held_w_k=np.ones(2))
    with pytest.raises(ValueError, match="below zero"):
        factored(network)
