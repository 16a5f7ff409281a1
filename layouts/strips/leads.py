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

from layouts.cells.arrangement import Arrangement
from layouts.pack import Pack
from layouts.strips.joints import Bonds, components

PAST_OUTLINE_MM = 12.0  # of strip past the holder's outline, to clamp or solder the lead to
BESIDE_POCKET_MM = 0.4  # a strip that runs out keeps so far from other cells' pockets


@dataclass(frozen=True, kw_only=True, slots=True)
class RunOut:
    """One strip end outside the holder: the last cell under it and its end in the plan.

    ``free_mm``: how much of the strip lies outside the holder, beside other lanes and past
    the outline.
    """

    node: int
    cell: int
    end_mm: tuple[float, float]
    free_mm: float


def run_outs(pack: Pack, arrangement: Arrangement, bonds: Bonds, node: int) -> tuple[RunOut, ...]:
    """Ways out of an end group, one for each of its rows that has no cell to its right.

    Each ends 12 past the wall of the field's farthest cell in x, where the wiring compartment
    begins; of cells placed in an outline, 12 past their own wall, where the outline allows. Empty
    where the group is blocked."""
    cells = np.flatnonzero(bonds.node_of == node)
    followed = np.zeros(len(bonds.node_of), dtype=np.bool_)
    followed[bonds.tail[bonds.axis == 0]] = True
    clear = (
        pack.strip.lead_width_mm + pack.holder.channel_play_mm + pack.pocket_mm
    ) / 2 + BESIDE_POCKET_MM
    wall = pack.pocket_mm / 2 + pack.holder.wall_mm
    field_end = float(arrangement.xy_mm[:, 0].max()) + wall + PAST_OUTLINE_MM
    ways = []
    for cell in cells[~followed[cells]].tolist():
        x, y = arrangement.xy_mm[cell].tolist()
        end = field_end
        if arrangement.room is not None:  # in an outline the wire comes to the strip
            end = x + wall + PAST_OUTLINE_MM
            tail = shapely.box(x, y - clear / 2, end, y + clear / 2)
            if not arrangement.room.contains(tail):
                continue
        ahead = arrangement.xy_mm[:, 0] - x
        beside = np.abs(arrangement.xy_mm[:, 1] - y)
        near = (ahead > pack.pitch_mm / 4) & (ahead < end - x + pack.pocket_mm / 2)
        if np.any(near & (beside < clear)):
            continue
        ways.append(RunOut(node=node, cell=cell, end_mm=(end, y), free_mm=end - x - wall))
    return tuple(ways)


def shut_in(bonds: Bonds, lone: NDArray[np.bool_], ways: Iterable[RunOut]) -> NDArray[np.bool_]:
    """(N,) cells of lone end groups whose row has no way out."""
    rows = bonds.axis == 0
    pieces, piece = components(len(bonds.node_of), bonds.tail[rows], bonds.head[rows])
    out = np.zeros(pieces, dtype=np.bool_)
    for way in ways:
        out[piece[way.cell]] = True
    return lone[bonds.node_of] & ~out[piece]
