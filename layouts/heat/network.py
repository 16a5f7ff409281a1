"""Nodes that heat flows between, solved for their temperatures over that of one held place.

Steady: conductances only. In time: each node also stores heat, and an implicit step adds its
store over the step to its own conductance. Sparse, one factor, any number of right hand sides.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

__all__ = ["HeatNetwork", "Solver", "factored"]

Solver = Callable[[NDArray[np.float64]], NDArray[np.float64]]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class HeatNetwork:
    """N nodes. ``pairs`` (M, 2) and ``pair_w_k`` (M,): what joins two of them; ``held_w_k`` (N,):
    what joins each to the held place, 0 where nothing does."""

    pairs: NDArray[np.int64]
    pair_w_k: NDArray[np.float64]
    held_w_k: NDArray[np.float64]


def factored(network: HeatNetwork, store_w_k: NDArray[np.float64] | None = None) -> Solver:
    """A function from watts put into the nodes (N,) to their kelvins over the held place (N,).

    ``store_w_k`` (N,): heat capacity of each node over the length of an implicit step; the watts
    then hold what the stores bring along. Raises ValueError where a conductance is below zero or a
    node has no path to the fixed temperature."""
    held = network.held_w_k
    if np.any(network.pair_w_k < 0) or np.any(held < 0):
        raise ValueError("no conductance may be below zero")
    n = len(held)
    a, b, w_k = network.pairs[:, 0], network.pairs[:, 1], network.pair_w_k
    own = np.arange(n)
    diagonal = held if store_w_k is None else held + store_w_k
    rows = np.concatenate([a, b, a, b, own])
    columns = np.concatenate([a, b, b, a, own])
    values = np.concatenate([w_k, w_k, -w_k, -w_k, diagonal])
    whole = coo_array((values, (rows, columns)), shape=(n, n)).tocsc()
    # rounding can hide that a part is not connected: check the graph
    parts, part = connected_components(whole, directed=False)
    if np.any(np.bincount(part, weights=np.maximum(diagonal, 0.0), minlength=parts) <= 0):
        raise ValueError("a node has no path to the fixed temperature")
    factor = splu(
        whole,
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )

    def solve(watt: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(factor.solve(watt), dtype=np.float64)

    return solve
