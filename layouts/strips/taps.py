"""Taps: where each balance lead is soldered on, and the notch by which it leaves the holder.

Tap k lies between group k and group k + 1: tap 0 is pack minus, tap S pack plus. A wire is
soldered to the end of a row's strip and leaves towards +x through a notch in the lip and the
holder's wall, as deep as the lip; at the main leads it is soldered to the tail.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack
from layouts.strips.joining import BalanceLead, Interconnect, StripKind
from layouts.strips.joints import net_of_group
from layouts.strips.leads import BESIDE_POCKET_MM
from layouts.strips.lip import channels_at, lip_behind_mm, lip_state, notch_mm, positive_end

__all__ = ["choose_balance_leads"]


def choose_balance_leads(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[BalanceLead, ...]:
    """All taps, by number, one to a net.

    Where a row's end has a free way to +x and the lip permits a notch there, the tap is on it,
    nearest to the pack's middle; else it is on the net's cell farthest to +x, without a notch,
    and its wire lies over the face."""
    series = int(cell_layout.group.max())
    balance_leads = []
    for face in (Face.LOWER, Face.UPPER):
        sound = _free_to_plus_x(pack, cell_layout) & _bears_a_notch(
            pack, cell_layout, interconnect, face
        )
        net_of = net_of_group(cell_layout.group, face)
        tails = {
            int(net_of[strip.cells[-1]]): strip.cells[-1]
            for strip in interconnect.strips
            if strip.face is face and strip.runs_out and strip.kind is StripKind.LEAD
        }
        for net in np.unique(net_of).tolist():
            cells = np.flatnonzero(net_of == net)
            groups = tuple(np.unique(cell_layout.group[cells]).tolist())
            if net in tails:
                cell, notch = tails[net], False
            else:
                fit = cells[sound[cells]]
                notch = bool(len(fit))
                cell = _farthest(cell_layout, fit if notch else cells)
            balance_leads.append(
                BalanceLead(
                    number=_number(groups, face, series),
                    face=face,
                    groups=groups,
                    cell=cell,
                    notch=notch,
                )
            )
    return tuple(sorted(balance_leads, key=lambda balance_lead: balance_lead.number))


def _number(groups: tuple[int, ...], face: Face, series: int) -> int:
    """How many groups lie between a net and pack minus."""
    if len(groups) == 2:
        return groups[0]
    return 0 if face is Face.LOWER and groups[0] == 1 else series


def _farthest(cell_layout: CellLayout, cells: NDArray[np.int64]) -> int:
    """The cell farthest to +x, of several the one nearest to the pack's middle."""
    x, y = cell_layout.xy_mm[cells].T
    return int(cells[np.lexsort((cells, np.abs(y).round(6), -x.round(6)))[0]])


def _free_to_plus_x(pack: Pack, cell_layout: CellLayout) -> NDArray[np.bool_]:
    """(N,) no other pocket stands in a notch's way to the holder's outside."""
    xy = cell_layout.xy_mm
    clear = (notch_mm(pack) + pack.pocket_mm) / 2 + BESIDE_POCKET_MM
    # the nearest cells decide: any farther one in the way has a touching one before it, or a gap
    tree = cKDTree(xy[:, 1:])
    free = np.ones(len(xy), dtype=np.bool_)
    for cell, beside in enumerate(tree.query_ball_point(xy[:, 1:], clear)):
        ahead = xy[beside, 0] - xy[cell, 0] > pack.pitch_mm / 4
        free[cell] = not ahead.any()
    return free


def _bears_a_notch(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face
) -> NDArray[np.bool_]:
    """(N,) the lip still holds the can with a notch towards +x."""
    angle, half = channels_at(pack, cell_layout, interconnect, face)
    count = len(cell_layout.xy_mm)
    state = lip_state(
        np.column_stack([angle, np.zeros(count)]),
        np.column_stack([half, np.full(count, notch_mm(pack) / 2)]),
        can_mm=pack.cell.diameter_mm,
        pocket_mm=pack.pocket_mm,
        depth_mm=pack.holder.depth_mm,
        length_mm=pack.cell.length_mm,
        lip_mm=lip_behind_mm(pack, positive_end(cell_layout, face)),
    )
    return np.asarray(state.holds, dtype=np.bool_)
