"""Networks of cells: worked by hand, in balance, and refused where they make no sense."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.currents.network import Network, solve


def two_beside_a_tap(strip_ohm: float = 0.001) -> Network:
    """Two equal cells on a strip, tapped at the first: nodes 0 minus, 1 near, 2 far."""
    return Network(
        nodes=3,
        link_nodes=np.array([[1, 2]]),
        link_ohm=np.array([strip_ohm]),
        cell_nodes=np.array([[0, 1], [0, 2]]),
        cell_v=np.array([3.6, 3.6]),
        cell_ohm=np.array([0.02, 0.02]),
        minus=0,
        plus=1,
    )


def test_the_far_cell_gives_less_by_the_strip_between() -> None:
    """I far / I near = r/(r + R): 0.952381 for 20 and 1 milliohm, by hand."""
    flow = solve(two_beside_a_tap(), 10.0)
    near, far = flow.cell_a
    assert far / near == pytest.approx(0.02 / 0.021, rel=1e-12)
    assert near + far == pytest.approx(10.0, rel=1e-12)
    assert flow.link_a[0] == pytest.approx(-far, rel=1e-12)


def test_a_chain_of_cells_by_hand() -> None:
    """Three in series with two links: volts add up, every branch carries the load."""
    network = Network(
        nodes=6,
        link_nodes=np.array([[1, 2], [3, 4]]),
        link_ohm=np.array([0.01, 0.03]),
        cell_nodes=np.array([[0, 1], [2, 3], [4, 5]]),
        cell_v=np.array([3.5, 3.6, 3.7]),
        cell_ohm=np.array([0.02, 0.02, 0.02]),
        minus=0,
        plus=5,
    )
    flow = solve(network, 5.0)
    assert flow.volts == pytest.approx(10.8 - 5.0 * 0.1, rel=1e-12)
    assert np.allclose(flow.cell_a, 5.0)
    assert flow.link_w.tolist() == pytest.approx([0.25, 0.75])


def test_what_the_cells_give_is_what_is_lost_and_taken() -> None:
    """Energy: sources = losses in cells and links + load, to 1e-9."""
    rng = np.random.default_rng(7)
    base = two_beside_a_tap()
    links = np.array([[a, b] for a in range(8) for b in range(a + 1, 8)])
    network = replace(
        base,
        nodes=8,
        link_nodes=links,
        link_ohm=rng.uniform(0.5, 2.0, len(links)),
        cell_nodes=np.array([[0, 3], [1, 4], [2, 5], [0, 7]]),
        cell_v=rng.uniform(3.0, 4.2, 4),
        cell_ohm=rng.uniform(0.01, 0.03, 4),
        plus=7,
    )
    flow = solve(network, 6.0)
    given = float(flow.cell_a @ network.cell_v)
    lost = float(flow.link_w.sum() + flow.cell_a**2 @ network.cell_ohm)
    assert given == pytest.approx(lost + 6.0 * flow.volts, rel=1e-9)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"link_ohm": np.array([0.0])}, "above zero"),
        ({"cell_ohm": np.array([0.02, -0.02])}, "above zero"),
        ({"nodes": 4}, "not connected"),
        ({"nodes": 5, "link_nodes": np.array([[3, 4]])}, "not connected"),
    ],
)
def test_networks_that_make_no_sense_are_refused(change: dict[str, object], why: str) -> None:
    """Resistances of nothing, nodes in the air: a ValueError says which."""
    with pytest.raises(ValueError, match=why):
        solve(replace(two_beside_a_tap(), **change), 1.0)  # type: ignore[arg-type]
