"""Bought bodies that have a place of their own in the fitted enclosure."""

from __future__ import annotations

import shapely

from layouts.enclosures.fitted.clamp_springs import CORD_MM, DISC_MM
from layouts.enclosures.fitted.fittings import FUSE_MM, LUG_MM
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.form import StandingBody
from layouts.parts.shell import box

__all__ = ["standing_bodies"]


def standing_bodies(sizes: FittedSizes) -> tuple[StandingBody, ...]:
    """The fuse on its tie blocks; cords and discs of a clamp under their plinths, unsqueezed."""
    z0 = sizes.shell.levels.floor_mm + LUG_MM[1]
    fuse = StandingBody(
        item="main fuse", plan=box(sizes.fuse.plan), z0_mm=z0, z1_mm=z0 + FUSE_MM[2]
    )
    clamp = sizes.clamp
    if clamp is None:
        return (fuse,)
    top = sizes.shell.levels.rim_mm - clamp.plinth_mm
    cords = [("cord", loop_polygon(cord.band(CORD_MM))) for cord in clamp.cords]
    discs = [("disc", shapely.Point(at).buffer(DISC_MM / 2)) for at in clamp.discs]
    return (
        fuse,
        *(
            StandingBody(item=item, plan=plan, z0_mm=top - CORD_MM, z1_mm=top)
            for item, plan in (*cords, *discs)
        ),
    )
