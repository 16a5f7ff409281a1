"""A pack's network solved once: what each ampere of load puts on every cell, link and weld.

All cells of a pack have the same resting volts and strips join one potential only, so nothing
flows without a load and every current is the load times its share.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.currents.network import solve
from layouts.currents.strips import StripNetwork, spread_ratio

__all__ = ["Losses", "Shares", "losses", "shares"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Shares:
    """Share of the pack's current in each part, a ratio; resistances.

    ``cell`` (N,) out of each positive end; ``link`` (K,) along each length of strip, in the order
    of the joining's strips and their links; ``weld`` (N, 2) of each cell's lower and upper end;
    ``tail`` (T,) of each strip's end to a main lead. ``ohm``: of the whole pack between its main
    terminals. ``spread_ratio``: of the cells within the worst group. ``node_v``: volts of the
    network's nodes at one ampere, the cells without volts."""

    cell: NDArray[np.float64]
    cell_ohm: NDArray[np.float64]
    link: NDArray[np.float64]
    link_ohm: NDArray[np.float64]
    weld: NDArray[np.float64]
    weld_ohm: NDArray[np.float64]
    tail: NDArray[np.float64]
    tail_ohm: NDArray[np.float64]
    ohm: float
    spread_ratio: float
    node_v: NDArray[np.float64]

    @property
    def volts(self) -> float:
        """Plus over minus at one ampere, the cells without volts."""
        return -self.ohm

    def cell_a(self, load_a: float) -> NDArray[np.float64]:
        """(N,) current of each cell at a load [A]."""
        return self.cell * load_a

    def link_a(self, load_a: float) -> NDArray[np.float64]:
        """(K,) current of each link at a load [A], from its first cell to its second."""
        return self.link * load_a

    def link_w(self, load_a: float) -> NDArray[np.float64]:
        """(K,) heat of each link at a load, I^2 R [W]."""
        return self.link_a(load_a) ** 2 * self.link_ohm


@dataclass(frozen=True, kw_only=True, slots=True)
class Losses:
    """A pack at one current: highest currents, voltage drop and losses between main terminals.

    ``hottest_link``, ``hottest_cell``: which one (None without links).
    """

    load_a: float
    lost_v: float
    lost_w: float
    cell_w: float
    strip_w: float
    weld_w: float
    tail_w: float
    most_cell_a: float
    most_link_a: float
    most_weld_a: float
    hottest_cell: int
    hottest_link: int | None


def shares(network: StripNetwork, group: NDArray[np.int64]) -> Shares:
    """Solve a network at one ampere, its cells without volts; ``group`` (N,) of each cell.

    Raises ValueError as ``solve`` does.
    """
    dead = replace(network.network, cell_v=np.zeros(len(network.network.cell_v)))
    flow = solve(dead, 1.0)
    ohm = network.network.link_ohm
    rest = network.strip_links + network.welds
    return Shares(
        cell=flow.cell_a,
        cell_ohm=network.network.cell_ohm,
        link=network.strips_of(flow.link_a),
        link_ohm=network.strips_of(ohm),
        weld=network.welds_of(flow.link_a),
        weld_ohm=network.welds_of(ohm),
        tail=flow.link_a[rest:],
        tail_ohm=ohm[rest:],
        ohm=-flow.volts,
        spread_ratio=spread_ratio(group, flow.cell_a),
        node_v=flow.node_v,
    )


def losses(of: Shares, load_a: float) -> Losses:
    """Everything lost at a load; the parts add up to the whole."""
    squared = load_a**2
    cell_w = of.cell**2 * of.cell_ohm * squared
    link_w = of.link_w(load_a)
    return Losses(
        load_a=load_a,
        lost_v=of.ohm * load_a,
        lost_w=of.ohm * squared,
        cell_w=float(cell_w.sum()),
        strip_w=float(link_w.sum()),
        weld_w=float((of.weld**2 * of.weld_ohm).sum()) * squared,
        tail_w=float((of.tail**2 * of.tail_ohm).sum()) * squared,
        most_cell_a=float(np.abs(of.cell).max()) * load_a,
        most_link_a=float(np.abs(of.link).max(initial=0.0)) * load_a,
        most_weld_a=float(np.abs(of.weld).max()) * load_a,
        hottest_cell=int(np.argmax(np.abs(of.cell))),
        hottest_link=int(np.argmax(link_w)) if len(link_w) else None,
    )
