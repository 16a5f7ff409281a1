"""Where the main leads take their current from, compared: as laid, whole end groups, one cell."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.currents.strips import LANDING_OHM, StripNetwork
from layouts.electrical.flows import Shares, losses, shares
from layouts.pack import Face
from layouts.strips.joining import Interconnect

__all__ = ["Landing", "LandingWay", "compare_landings", "landed_on", "landing_advice"]

WORTH_RATIO = 0.05  # of the mean cell current: a smaller gain in evenness is not worth mentioning
COMPARED_CELLS = 2_000  # larger packs are not compared: each way takes a solve of its own


class LandingWay(Enum):
    """Where both main leads connect."""

    AS_LAID = "as_laid"
    WHOLE_GROUP = "whole_group"
    MIDDLE = "middle_cell"
    CORNER = "corner_cell"

    @property
    def words(self) -> str:
        """In words."""
        return {
            "as_laid": "as laid",
            "whole_group": "on every cell of both end groups",
            "middle_cell": "on the middle cell of each end group",
            "corner_cell": "on an outermost cell of each end group",
        }[self.value]


@dataclass(frozen=True, kw_only=True, slots=True)
class Landing:
    """One way to connect: spread of the cells within the worst group, the most that one link
    carries, and heat of all links, at ``load_a``."""

    way: LandingWay
    load_a: float
    spread_ratio: float
    hottest_link_a: float
    strip_loss_w: float


def landed_on(
    network: StripNetwork, minus: NDArray[np.int64], plus: NDArray[np.int64]
) -> StripNetwork:
    """The same strips with the main leads on other strip nodes, joints without resistance."""
    old, kept = network.network, network.strip_links + network.welds
    landings = [(old.minus, node) for node in minus.tolist()]
    landings += [(node, old.plus) for node in plus.tolist()]
    return replace(
        network,
        network=replace(
            old,
            link_nodes=np.vstack([old.link_nodes[:kept], np.array(landings, dtype=np.int64)]),
            link_ohm=np.concatenate([old.link_ohm[:kept], np.full(len(landings), LANDING_OHM)]),
        ),
    )


def compare_landings(
    cell_layout: CellLayout,
    interconnect: Interconnect,
    network: StripNetwork,
    as_laid: Shares,
    *,
    load_a: float,
) -> tuple[Landing, ...]:
    """The ways to connect, as laid first; of packs above 2000 cells and of single strings as laid
    alone."""
    found = [_landing(LandingWay.AS_LAID, as_laid, load_a)]
    group, series = cell_layout.group, int(cell_layout.group.max())
    ends = [np.flatnonzero(group == 1), np.flatnonzero(group == series)]
    if len(group) > COMPARED_CELLS or len(ends[0]) == 1:
        return tuple(found)
    columns = [
        1 if face is Face.UPPER else 0 for face in (interconnect.minus_face, interconnect.plus_face)
    ]
    for way in (LandingWay.WHOLE_GROUP, LandingWay.MIDDLE, LandingWay.CORNER):
        nodes = [
            2 * _cells(cell_layout, cells, way) + column
            for cells, column in zip(ends, columns, strict=True)
        ]
        solved = shares(landed_on(network, nodes[0], nodes[1]), group)
        found.append(_landing(way, solved, load_a))
    return tuple(found)


def _cells(cell_layout: CellLayout, cells: NDArray[np.int64], way: LandingWay) -> NDArray[np.int64]:
    """Which of a group's cells a lead connects to."""
    if way is LandingWay.WHOLE_GROUP:
        return cells
    xy = cell_layout.xy_mm[cells]
    away = np.round(np.hypot(*(xy - xy.mean(axis=0)).T), 6)  # float noise decides nothing
    at = np.argmin(away) if way is LandingWay.MIDDLE else np.argmax(away)
    return cells[[int(at)]]


def _landing(way: LandingWay, solved: Shares, load_a: float) -> Landing:
    lost = losses(solved, load_a)
    return Landing(
        way=way,
        load_a=load_a,
        spread_ratio=solved.spread_ratio,
        hottest_link_a=lost.most_link_a,
        strip_loss_w=lost.strip_w,
    )


def landing_advice(compared: tuple[Landing, ...]) -> str | None:
    """The better connection, where worth mentioning; None where what is laid is as good."""
    laid = compared[0]
    best = min(compared, key=lambda one: (one.spread_ratio, one.strip_loss_w))
    if laid.spread_ratio - best.spread_ratio <= WORTH_RATIO:
        return None
    return (
        f"Main leads connected {best.way.words} would leave a current imbalance of "
        f"{100 * best.spread_ratio:.1f} % within a group instead of "
        f"{100 * laid.spread_ratio:.1f} %, and {best.strip_loss_w:.2g} W in the strips instead "
        f"of {laid.strip_loss_w:.2g} W: connect each lead at several places along its group's "
        "rows, or lay more copper there."
    )
