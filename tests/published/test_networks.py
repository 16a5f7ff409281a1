"""The solver of networks against resistances that are known in closed form or tabulated."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

import numpy as np
import pytest

from layouts.currents.network import Network, solve

Pair = tuple[int, int]


def resistance(pairs: Iterable[Pair], a: int, b: int) -> float:
    """Resistance between two nodes of a network of unit resistors."""
    links = np.array(list(pairs), dtype=np.int64)
    network = Network(
        nodes=int(links.max()) + 1,
        link_nodes=links,
        link_ohm=np.ones(len(links)),
        cell_nodes=np.zeros((0, 2), dtype=np.int64),
        cell_v=np.zeros(0),
        cell_ohm=np.zeros(0),
        minus=a,
        plus=b,
    )
    return -solve(network, 1.0).volts


def square(side: int) -> list[Pair]:
    """Unit resistors between neighbours of side x side nodes."""
    node = np.arange(side * side).reshape(side, side)
    across = zip(node[:, :-1].ravel().tolist(), node[:, 1:].ravel().tolist(), strict=True)
    up = zip(node[:-1].ravel().tolist(), node[1:].ravel().tolist(), strict=True)
    return [*across, *up]


def triangular(side: int) -> list[Pair]:
    """The same on a rhombus of the triangular lattice."""
    node = np.arange(side * side).reshape(side, side)
    slant = zip(node[1:, :-1].ravel().tolist(), node[:-1, 1:].ravel().tolist(), strict=True)
    return [*square(side), *slant]


# Fibonacci ratios F(2n+1)/F(2n), by the continued fraction of the ladder
@pytest.mark.parametrize(
    ("rungs", "ohm"),
    [(1, Fraction(2)), (2, Fraction(5, 3)), (3, Fraction(13, 8)), (5, Fraction(89, 55))],
)
def test_a_finite_ladder_is_a_ratio_of_fibonacci_numbers(rungs: int, ohm: Fraction) -> None:
    """Series and shunt of one ohm each: 2, 5/3, 13/8, ... (continued fraction)."""
    pairs = [pair for k in range(1, rungs + 1) for pair in ((k, k + 1), (k + 1, 0))]
    assert resistance(pairs, 0, 1) == pytest.approx(float(ohm), rel=1e-12)


def test_a_long_ladder_comes_to_the_golden_ratio() -> None:
    """Twenty rungs reach (1 + sqrt 5)/2 to the last digits."""
    pairs = [pair for k in range(1, 21) for pair in ((k, k + 1), (k + 1, 0))]
    assert resistance(pairs, 0, 1) == pytest.approx((1 + 5**0.5) / 2, rel=1e-12)


# OEIS A357113/A357114: corner to corner of n x n nodes
@pytest.mark.parametrize(
    ("side", "ohm"),
    [
        (2, 1),
        (3, Fraction(3, 2)),
        (4, Fraction(13, 7)),
        (5, Fraction(47, 22)),
        (6, Fraction(1171, 495)),
    ],
)
def test_a_square_grid_from_corner_to_corner(side: int, ohm: Fraction) -> None:
    """Exact fractions of OEIS A357113/A357114."""
    assert resistance(square(side), 0, side * side - 1) == pytest.approx(float(ohm), rel=1e-12)


# Infinite lattices: square 1/2 and 2/pi (OEIS A355565, A131406; Atkinson and van Steenwijk
# 1999), triangular 1/3 (2/z for z equal edges a node)
def test_lattices_come_to_their_infinite_values_as_they_grow() -> None:
    """Neighbours in the middle: 1/2 on the square lattice, 1/3 on the triangular one."""
    for lattice, limit in ((square, 1 / 2), (triangular, 1 / 3)):
        errors = []
        for side in (11, 41, 101):
            middle = side // 2 * side + side // 2
            errors.append(resistance(lattice(side), middle, middle + 1) - limit)
        assert errors == sorted(errors, reverse=True)
        assert 0 < errors[-1] < 1e-4


def test_the_square_lattice_across_its_diagonal() -> None:
    """2/pi in the limit (OEIS A355565): 101 x 101 nodes come within 0.0002."""
    middle = 101 // 2 * 101 + 101 // 2
    assert resistance(square(101), middle, middle + 102) == pytest.approx(0.6366197724, abs=2e-4)


def test_foster_holds_on_any_network() -> None:
    """Foster's first theorem: the edges' resistances sum to the nodes less one."""
    pairs = triangular(5)
    total = sum(resistance(pairs, a, b) for a, b in pairs)
    assert total == pytest.approx(24.0, rel=1e-10)
