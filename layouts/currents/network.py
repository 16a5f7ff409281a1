"""A network of cells and resistors, solved for the currents of every branch.

Each cell is a source behind its resistance, taken as a current source beside a conductance
(Norton); one node is ground, the rest are solved at once (nodal analysis; any textbook of
circuit theory). Sparse, so time grows little faster than the number of cells.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.linalg import splu

__all__ = ["Flow", "Network", "solve"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Network:
    """What is joined to what.

    ``nodes``: how many. ``link_nodes`` (m, 2), ``link_ohm`` (m,): resistors.
    ``cell_nodes`` (N, 2): negative and positive node of each cell; ``cell_v`` (N,) open-circuit
    volts, ``cell_ohm`` (N,) resistances. ``minus``, ``plus``: the nodes that the load joins.
    """

    nodes: int
    link_nodes: NDArray[np.int64]
    link_ohm: NDArray[np.float64]
    cell_nodes: NDArray[np.int64]
    cell_v: NDArray[np.float64]
    cell_ohm: NDArray[np.float64]
    minus: int
    plus: int


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Flow:
    """The network under a load.

    ``node_v`` (n,) against minus; ``cell_a`` (N,) out of each positive end; ``link_a`` (m,) from
    a link's first node to its second; ``link_w`` (m,) lost in each; ``volts`` plus over minus.
    """

    node_v: NDArray[np.float64]
    cell_a: NDArray[np.float64]
    link_a: NDArray[np.float64]
    link_w: NDArray[np.float64]
    volts: float


def solve(network: Network, load_a: float) -> Flow:
    """Currents and volts while ``load_a`` is drawn from plus to minus.

    Raises ValueError where a resistance is not above zero, or a node hangs on nothing.
    """
    if np.any(network.link_ohm <= 0) or np.any(network.cell_ohm <= 0):
        raise ValueError("every resistance must be above zero")
    link, cell = network.link_nodes, network.cell_nodes
    a = np.concatenate([link[:, 0], cell[:, 0]])
    b = np.concatenate([link[:, 1], cell[:, 1]])
    siemens = 1.0 / np.concatenate([network.link_ohm, network.cell_ohm])
    n = network.nodes
    rows = np.concatenate([a, b, a, b])
    columns = np.concatenate([a, b, b, a])
    values = np.concatenate([siemens, siemens, -siemens, -siemens])
    # the load's nodes may be bare in a degenerate network: an explicit zero keeps the shape
    whole = coo_array((values, (rows, columns)), shape=(n, n)).tocsc()
    drive = np.zeros(n)
    np.add.at(drive, cell[:, 1], network.cell_v / network.cell_ohm)
    np.add.at(drive, cell[:, 0], -network.cell_v / network.cell_ohm)
    drive[network.plus] -= load_a
    drive[network.minus] += load_a
    kept = np.flatnonzero(np.arange(n) != network.minus)
    reduced = whole[kept][:, kept].tocsc()
    if np.any(reduced.diagonal() <= 0):
        raise ValueError("a node is not connected")
    try:
        factor = splu(
            reduced,
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError as error:
        raise ValueError("a part of the network is not connected") from error
    node_v = np.zeros(n)
    node_v[kept] = factor.solve(drive[kept])
    if not np.all(np.isfinite(node_v)):
        raise ValueError("a part of the network is not connected")
    link_a = (node_v[link[:, 0]] - node_v[link[:, 1]]) / network.link_ohm
    over = node_v[cell[:, 1]] - node_v[cell[:, 0]]
    return Flow(
        node_v=node_v,
        cell_a=(network.cell_v - over) / network.cell_ohm,
        link_a=link_a,
        link_w=link_a**2 * network.link_ohm,
        volts=float(node_v[network.plus]),
    )
