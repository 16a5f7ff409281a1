"""The network that a pack's strips make, as they are laid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.currents.network import Flow, Network, solve
from layouts.field.arrangement import Arrangement
from layouts.formats import conductors
from layouts.pack import Face, Pack
from layouts.strips.bonds import node_of_group
from layouts.strips.joining import Joining

__all__ = ["Sharing", "pack_sharing", "sharing", "strip_network", "touching_network"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Sharing:
    """How evenly cells share a load, and what the strips cost.

    ``spread_ratio``: (largest - smallest) / mean cell current within a group, worst group;
    ``strip_loss_w``; ``hottest_link_a``; all at ``load_a``.
    """

    load_a: float
    spread_ratio: float
    strip_loss_w: float
    hottest_link_a: float


def _ends(arrangement: Arrangement) -> NDArray[np.int64]:
    """(N, 2) node of each cell's lower and upper end."""
    return np.arange(2 * len(arrangement.xy_mm), dtype=np.int64).reshape(-1, 2)


def _network(
    pack: Pack,
    arrangement: Arrangement,
    links: NDArray[np.int64],
    ohm: NDArray[np.float64],
    *,
    minus: NDArray[np.int64],
    plus: NDArray[np.int64],
    landing_ohm: tuple[NDArray[np.float64], NDArray[np.float64]],
) -> Network:
    """All of it, the two leads joined to several ends each."""
    count = len(arrangement.xy_mm)
    ends = _ends(arrangement)
    up = arrangement.positive_up
    nodes = 2 * count + 2
    landings = [
        np.column_stack([np.full(len(minus), nodes - 2), minus]),
        np.column_stack([plus, np.full(len(plus), nodes - 1)]),
    ]
    return Network(
        nodes=nodes,
        link_nodes=np.vstack([links, *landings]).astype(np.int64),
        link_ohm=np.concatenate([ohm, *landing_ohm]),
        cell_nodes=np.column_stack(
            [np.where(up, ends[:, 0], ends[:, 1]), np.where(up, ends[:, 1], ends[:, 0])]
        ),
        cell_v=np.full(count, pack.cell.nominal_v),
        cell_ohm=np.full(count, pack.cell.internal_resistance_mohm / 1000.0),
        minus=nodes - 2,
        plus=nodes - 1,
    )


def strip_network(pack: Pack, arrangement: Arrangement, joining: Joining) -> Network:
    """Every length of strip between two welds is one link; welds themselves are left out.

    The main leads land on the ends of all strips that run out, joined by a bar without
    resistance; where none runs out, on every cell of the end group.
    """
    ends = _ends(arrangement)
    ohm_m = conductors()[pack.strip.material].ohm_m
    pairs: list[tuple[int, int]] = []
    ohm: list[float] = []
    tails: dict[Face, list[tuple[int, float]]] = {Face.LOWER: [], Face.UPPER: []}
    for strip in joining.strips:
        column = 1 if strip.face is Face.UPPER else 0
        per_mm = ohm_m * 1e3 / (strip.width_mm * strip.thickness_mm * strip.layers)
        xy = arrangement.xy_mm[list(strip.cells)]
        steps = np.hypot(*np.diff(xy, axis=0).T) if len(xy) > 1 else np.zeros(0)
        for (i, j), step in zip(strip.links, steps.tolist(), strict=True):
            pairs.append((int(ends[i, column]), int(ends[j, column])))
            ohm.append(per_mm * step)
        if strip.runs_out:
            tail = float(np.hypot(*(np.asarray(strip.end_mm) - xy[-1])))
            tails[strip.face].append((strip.cells[-1], per_mm * tail))
    series = int(arrangement.group.max())
    landed = []
    for group, face in ((1, joining.minus_face), (series, joining.plus_face)):
        column = 1 if face is Face.UPPER else 0
        node = node_of_group(np.array([group]), face)[0]
        mine = [
            (int(ends[cell, column]), ohms)
            for cell, ohms in tails[face]
            if node_of_group(arrangement.group[[cell]], face)[0] == node
        ]
        if not mine:
            mine = [
                (int(ends[cell, column]), 1e-6)
                for cell in np.flatnonzero(arrangement.group == group).tolist()
            ]
        landed.append(mine)
    return _network(
        pack,
        arrangement,
        np.array(pairs, dtype=np.int64).reshape(-1, 2),
        np.array(ohm),
        minus=np.array([cell for cell, _ in landed[0]], dtype=np.int64),
        plus=np.array([cell for cell, _ in landed[1]], dtype=np.int64),
        landing_ohm=(
            np.array([max(ohms, 1e-6) for _, ohms in landed[0]]),
            np.array([max(ohms, 1e-6) for _, ohms in landed[1]]),
        ),
    )


def touching_network(pack: Pack, arrangement: Arrangement) -> Network:
    """The same with a link over every touching pair of one potential on each face.

    What strips could do at best; leads land on every cell of the end groups.
    """
    ends = _ends(arrangement)
    strip = pack.strip
    pairs = arrangement.neighbours.reshape(-1, 2)
    apart = np.hypot(*(arrangement.xy_mm[pairs[:, 0]] - arrangement.xy_mm[pairs[:, 1]]).T)
    per_mm = (
        conductors()[strip.material].ohm_m
        * 1e3
        / (strip.link_width_mm * strip.thickness_mm * strip.layers)
    )
    found, ohm = [], []
    for column, face in ((0, Face.LOWER), (1, Face.UPPER)):
        node = node_of_group(arrangement.group, face)
        same = node[pairs[:, 0]] == node[pairs[:, 1]]
        found.append(ends[pairs[same], column])
        ohm.append(per_mm * apart[same])
    series = int(arrangement.group.max())
    column = 0 if series % 2 == 0 else 1
    minus = ends[arrangement.group == 1, 0]
    plus = ends[arrangement.group == series, column]
    return _network(
        pack,
        arrangement,
        np.vstack(found),
        np.concatenate(ohm),
        minus=minus,
        plus=plus,
        landing_ohm=(np.full(len(minus), 1e-6), np.full(len(plus), 1e-6)),
    )


def sharing(arrangement: Arrangement, network: Network, load_a: float) -> Sharing:
    """Spread and loss of a network at a load; landings are no strips."""
    flow: Flow = solve(network, load_a)
    group = arrangement.group - 1
    series = int(group.max()) + 1
    low, high = np.full(series, np.inf), np.full(series, -np.inf)
    np.minimum.at(low, group, flow.cell_a)
    np.maximum.at(high, group, flow.cell_a)
    mean = np.bincount(group, weights=flow.cell_a) / np.bincount(group)
    strips = (network.link_nodes < network.nodes - 2).all(axis=1)
    return Sharing(
        load_a=load_a,
        spread_ratio=float(((high - low) / np.abs(mean)).max()),
        strip_loss_w=float(flow.link_w[strips].sum()),
        hottest_link_a=float(np.abs(flow.link_a[strips]).max(initial=0.0)),
    )


def pack_sharing(pack: Pack, arrangement: Arrangement, joining: Joining) -> Sharing:
    """Sharing at the asked load, else at the cells' own rating, with the strips as laid."""
    load_a = pack.load.continuous_a if pack.load else pack.parallel * pack.cell.continuous_a
    return sharing(arrangement, strip_network(pack, arrangement, joining), load_a)
