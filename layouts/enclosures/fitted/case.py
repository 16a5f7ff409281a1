"""What stays the same while an enclosure is chosen: the held cells, the rooms at them, what leads
and brackets need.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.registry import kind_of
from layouts.enclosures.fitted.clamp import ClampSite
from layouts.enclosures.fitted.faces import LIP_OUT_MM, BracketReach
from layouts.enclosures.fitted.rooms import Room
from layouts.enclosures.fitted.shell import LID_LIP_MM, LIP_PLAY_MM, Levels
from layouts.enclosures.groove import groove_of
from layouts.holders.fastening import CellBlock
from layouts.pack import Pack
from layouts.parts.glands import gland_for
from layouts.parts.outlet import BEND_RATIO

__all__ = ["FittedCase", "outside_mm"]

FLANGE_PLAY_MM = 0.3  # a straight flange stands off the walls' crests by less


def outside_mm(pack: Pack) -> float:
    """From the walls' inner face to the lid's outside, lid screws' bosses not counted."""
    groove = groove_of(pack.enclosure)
    if groove is not None:
        return groove.reach_mm(pack.enclosure.wall_mm)
    return pack.enclosure.wall_mm + LIP_PLAY_MM + LID_LIP_MM


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FittedCase:
    """What stays the same for all poses and sets of rooms.

    ``fixed``: rooms at the cells. ``metal``: that leaves the held cells at the lower face.
    ``clamp``: where the lid clamps the upper holder, None where posts do. ``over_mm``: height that
    straps on the lid take over its screws' heads."""

    pack: Pack
    cell_block: CellBlock
    held: BaseGeometry
    fixed: tuple[Room, ...]
    levels: Levels
    metal: BaseGeometry
    clamp: ClampSite | None = None
    over_mm: float = 0.0

    @property
    def lane_mm(self) -> tuple[float, float]:
        """Before the glands: across, and out, with the wire's bend."""
        gland = gland_for(self.pack.leads.outside_mm)
        bend = (BEND_RATIO + 1.0) * self.pack.leads.outside_mm
        return 2 * gland.keep_radius_mm, gland.long_mm + bend

    @property
    def port_lane_mm(self) -> tuple[float, float]:
        """The same before the charge port's gland."""
        gland = gland_for(0.0)
        return 2 * gland.keep_radius_mm, gland.long_mm + (BEND_RATIO + 1.0) * gland.wire_mm

    @property
    def out_mm(self) -> float:
        """From the walls' inner face to the lid's outside."""
        return outside_mm(self.pack)

    @property
    def cells_plan(self) -> BaseGeometry:
        """The lid round held cells and the rooms at them alone."""
        inside = shapely.union_all([self.held, *(room.plan for room in self.fixed)])
        return inside.buffer(self.out_mm, quad_segs=4)

    @property
    def reach(self) -> BracketReach:
        """What a bracket of the kind that the pack asks for needs."""
        kind = kind_of(self.pack)
        lid_out = max(LIP_OUT_MM, self.out_mm - self.pack.enclosure.wall_mm + FLANGE_PLAY_MM)
        return BracketReach(
            wall_mm=kind.wall_mm(self.pack), out_mm=kind.most_out_mm(self.pack), lid_out_mm=lid_out
        )
