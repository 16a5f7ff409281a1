"""Where the rows of an end group run out of the holder towards a main lead.

Main leads leave towards +x alone: on the other sides the enclosure's wall stands next to the
holder. A row with other cells to its right can't run out. In a folded field the rows of
group 1 lie below all lanes but their own and run out beneath those.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.pack import Pack
from layouts.strips.joints import Joints, components

PAST_OUTLINE_MM = 12.0  # of strip past the holder's outline, to clamp or solder the lead to
BESIDE_POCKET_MM = 0.4  # a strip that runs out keeps so far from other cells' pockets


@dataclass(frozen=True, kw_only=True, slots=True)
class LeadExit:
    """One strip end outside the holder: the last cell under it and its end in the plan.

    ``free_mm``: how much of the strip lies outside the holder, beside other lanes and past
    the outline.
    """

    net: int
    cell: int
    end_mm: tuple[float, float]
    free_mm: float


def lead_exits(
    pack: Pack, cell_layout: CellLayout, joints: Joints, net: int
) -> tuple[LeadExit, ...]:
    """Ways out of an end group, one for each of its rows that has no cell to its right.

    Each ends 12 past the wall of the field's farthest cell in x, where the wiring compartment
    begins; of cells placed in an outline, 12 past their own wall, where the outline allows. Empty
    where the group is blocked."""
    cells = np.flatnonzero(joints.net_of == net)
    followed = np.zeros(len(joints.net_of), dtype=np.bool_)
    followed[joints.tail[joints.axis == 0]] = True
    clear = (
        pack.strip.lead_width_mm + pack.holder.channel_play_mm + pack.pocket_mm
    ) / 2 + BESIDE_POCKET_MM
    wall = pack.pocket_mm / 2 + pack.holder.wall_mm
    field_end = float(cell_layout.xy_mm[:, 0].max()) + wall + PAST_OUTLINE_MM
    ways = []
    for cell in cells[~followed[cells]].tolist():
        x, y = cell_layout.xy_mm[cell].tolist()
        end = field_end
        if cell_layout.room is not None:  # in an outline the wire comes to the strip
            end = x + wall + PAST_OUTLINE_MM
            tail = shapely.box(x, y - clear / 2, end, y + clear / 2)
            if not cell_layout.room.contains(tail):
                continue
        ahead = cell_layout.xy_mm[:, 0] - x
        beside = np.abs(cell_layout.xy_mm[:, 1] - y)
        near = (ahead > pack.pitch_mm / 4) & (ahead < end - x + pack.pocket_mm / 2)
        if np.any(near & (beside < clear)):
            continue
        ways.append(LeadExit(net=net, cell=cell, end_mm=(end, y), free_mm=end - x - wall))
    return tuple(ways)


def blocked(joints: Joints, lone: NDArray[np.bool_], ways: Iterable[LeadExit]) -> NDArray[np.bool_]:
    """(N,) cells of lone end groups whose row has no way out."""
    rows = joints.axis == 0
    pieces, piece = components(len(joints.net_of), joints.tail[rows], joints.head[rows])
    out = np.zeros(pieces, dtype=np.bool_)
    for way in ways:
        out[piece[way.cell]] = True
    return lone[joints.net_of] & ~out[piece]
