"""What a meter reads at each joint of plates while a test current flows: a bad one is found so.

Across one joint, from the can ends of one group to those of the next: all its sheets, its bar and
its weld spots. Their heat over the current squared is the mean of what its can ends read, each
weighed with its current (Tellegen's theorem). Between two neighbouring balance leads lie, besides,
the cells of a group and what the two sheets lose up to their tails.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.currents.strips import face_column, strip_nodes
from layouts.electrical.flows import Shares
from layouts.strips.joining import Interconnect
from layouts.strips.plate import BusPlate

__all__ = ["TEST_A", "joint_ohms", "lead_pair_ohms"]

TEST_A = 5.0  # through the whole pack; judgement, no source


def joint_ohms(plates: Sequence[BusPlate], of: Shares) -> NDArray[np.float64]:
    """(plates,) of each joint at 20 C: sheets, bar, weld spots. Their sum is the pack's without its
    cells."""
    link_w = of.link**2 * of.link_ohm
    weld_w = of.weld**2 * of.weld_ohm
    tail_w = of.tail**2 * of.tail_ohm
    begin = np.cumsum([0, *(len(plate.conducts.ohm) for plate in plates)])
    # landings on pack minus come first
    minus = sum(len(plate.conducts.landing) for plate in plates if plate.is_minus)
    found = np.zeros(len(plates))
    for k, plate in enumerate(plates):
        found[k] = link_w[begin[k] : begin[k + 1]].sum()
        found[k] += weld_w[list(plate.cells), face_column(plate.face)].sum()
        if plate.is_end:
            found[k] += (tail_w[:minus] if plate.is_minus else tail_w[minus:]).sum()
    return found


def lead_pair_ohms(
    cell_layout: CellLayout, interconnect: Interconnect, of: Shares
) -> NDArray[np.float64]:
    """(S,) between balance leads k and k + 1, cells included; their sum is the whole pack's.

    A tail carries no current: it reads what the can end nearest to it does."""
    nodes = strip_nodes(cell_layout)
    count = 2 * nodes.size
    volts = np.zeros(len(interconnect.balance_leads))
    for k, lead in enumerate(interconnect.balance_leads):
        if lead.number == 0:
            volts[k] = of.node_v[count]
        elif lead.number == len(volts) - 1:
            volts[k] = of.node_v[count + 1]
        else:
            volts[k] = of.node_v[nodes[lead.cell, face_column(lead.face)]]
    return np.asarray(-np.diff(volts))
