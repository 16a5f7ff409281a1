"""Ways for gas out of the rectangular tub.

Out of the cell block it gets into the electronics compartment on the +x side, past the board,
through the slots in the wall's top edge and down behind the drip skirt; over the upper face it
also reaches the -x wall's slots.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.enclosures.box.sizes import EnclosureDesign
from layouts.enclosures.form import OUTSIDE, GasLink, RimEdge, gas_site
from layouts.enclosures.gas_way import free_height_mm
from layouts.pack import Face, Pack
from layouts.parts.shell import box, disc

__all__ = ["Opening", "blocked", "box_gas_links", "compartment_mm2", "opening"]

WAY_OUT, ROOM = "exit from the cell block", "space beside the board"
SLOTS, SKIRT = "slots", "gap behind the drip skirt"
REMEDIES = {
    WAY_OUT: "a larger enclosure.gas_gap_mm",
    ROOM: "a smaller bms.board_mm",
    SLOTS: "a longer tub, which has more slots",
    SKIRT: "a longer tub, which has more slots",
}
ABOVE_BOARD_MM2 = 1e7  # the gap under the lid is open over the whole board: never the narrowest


@dataclass(frozen=True, kw_only=True, slots=True)
class Opening:
    """How gas leaves through one wall.

    ``wide_mm``: of all slots together, ``high_mm``: of each, from the wall's top edge down.
    ``behind_mm2``: level section behind the drip skirt, where it leaves downwards.
    """

    wide_mm: float
    high_mm: float
    behind_mm2: float


def blocked(d: EnclosureDesign, face: Face) -> NDArray[np.float64]:
    """(n, 3) pads and bosses in the gap over a face: x, y, radius."""
    support_pads = d.support_pads_lid if face is Face.UPPER else d.support_pads_floor
    found = [(one.x_mm, one.y_mm, one.radius_mm) for one in support_pads]
    found += [(one.x_mm, one.y_mm, one.radius_mm) for one in d.bosses]
    return np.array(found, dtype=np.float64).reshape(-1, 3)


def compartment_mm2(d: EnclosureDesign) -> float:
    """Level section of the compartment that board, guides and bosses leave for rising gas [mm2]."""
    taken = [box(d.bay.board), *(box(g) for g in (*d.bay.guides, *d.bay.rests))]
    for boss in d.bosses:
        taken.append(disc(boss.x_mm, boss.y_mm, boss.radius_mm))
        if boss.web is not None:
            taken.append(box(boss.web))
    return float(box(d.compartment).difference(shapely.union_all(taken)).area)


def opening(d: EnclosureDesign, side: int) -> Opening:
    """Slots of the +x (1) or -x (-1) wall, and the section behind the drip skirts before it."""
    return Opening(
        wide_mm=sum((s.y1_mm - s.y0_mm for s in d.slots if s.side == side), 0.0),
        high_mm=d.z_rim_mm - d.slot_z0_mm,
        behind_mm2=sum(
            (
                (s.y1_mm - s.y0_mm - 2 * d.skirt_mm) * d.skirt_gap_mm
                for s in d.skirts
                if s.side == side
            ),
            0.0,
        ),
    )


def box_gas_links(
    d: EnclosureDesign, pack: Pack, cell_layout: CellLayout, rim: Sequence[RimEdge]
) -> tuple[GasLink, ...]:
    """All ways from the rim of the cell block to the outside."""
    links: list[GasLink] = []

    def link(start: str, end: str, section_mm2: float, kind: str) -> None:
        links.append(
            GasLink(start=start, end=end, section_mm2=section_mm2, kind=kind, remedy=REMEDIES[kind])
        )

    room = {Face.LOWER: "beside the board", Face.UPPER: "above the board"}
    for edge in rim:
        site = gas_site(edge.face, edge.cell)
        to_right = not _shadowed(pack, cell_layout, edge, 1.0)
        aside = min(edge.middle_mm[1] - d.cavity.y0, d.cavity.y1 - edge.middle_mm[1])
        if edge.way[0] > 0.4 and to_right:
            link(site, room[edge.face], edge.section_mm2, WAY_OUT)
        elif edge.way[0] < -0.4:
            if edge.face is Face.UPPER and not _shadowed(pack, cell_layout, edge, -1.0):
                link(site, "before the -x slots", edge.section_mm2, WAY_OUT)
        elif abs(edge.way[0]) < 0.1 and to_right and aside > edge.long_mm / 2:
            # beside open cavity an edge's right half leads past the last cell to the compartment
            link(site, room[edge.face], edge.section_mm2 / 2, WAY_OUT)
    link(room[Face.LOWER], "before the +x slots", compartment_mm2(d), ROOM)
    link(room[Face.UPPER], "before the +x slots", ABOVE_BOARD_MM2, ROOM)
    right, left = opening(d, 1), opening(d, -1)
    link("before the +x slots", "behind the +x skirt", right.wide_mm * right.high_mm, SLOTS)
    # at the -x wall only as much of a slot serves as stands beside the gap under the lid
    height = free_height_mm(pack, Face.UPPER, z_floor_mm=d.z_floor_mm, z_rim_mm=d.z_rim_mm)
    beside = min(height, left.high_mm)
    link("before the -x slots", "behind the -x skirt", left.wide_mm * beside, SLOTS)
    link("behind the +x skirt", OUTSIDE, right.behind_mm2, SKIRT)
    link("behind the -x skirt", OUTSIDE, left.behind_mm2, SKIRT)
    return tuple(links)


def _shadowed(pack: Pack, cell_layout: CellLayout, edge: RimEdge, sign: float) -> bool:
    """Another cell lies beyond the edge on its way along x."""
    xy, pitch = cell_layout.xy_mm, pack.pitch_mm
    beyond = sign * (xy[:, 0] - xy[edge.cell, 0]) > pitch / 4
    return bool(np.any(beyond & (np.abs(xy[:, 1] - edge.middle_mm[1]) < pitch / 2)))
