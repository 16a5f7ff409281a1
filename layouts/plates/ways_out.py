"""Where metal leaves the held cells, and the space that it needs there with wires, lugs and screws.

One account for whatever is built round them: how far each reaches, in the plan and along z.
"""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.pack import Face, Pack
from layouts.plates.sizes import TAIL_OUT_MM
from layouts.strips.joining import Interconnect, Strip
from layouts.strips.plate import BusPlate

__all__ = ["WayOut", "ways_out"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class WayOut:
    """One of them.

    ``purpose``: the lead that begins there; ``groups``: of the strip or plate. ``space``: in the
    plan, the metal over the held cells too, with wire, lug and screw. ``reach_mm``: of it past the
    held cells' outline. ``outward_mm``, ``inward_mm``: of it beyond the face that the metal lies
    on, and behind it, towards the other face."""

    purpose: str
    face: Face
    groups: tuple[int, ...]
    space: BaseGeometry
    reach_mm: float
    outward_mm: float
    inward_mm: float


def ways_out(pack: Pack, interconnect: Interconnect, outline: BaseGeometry) -> tuple[WayOut, ...]:
    """All of a pack's; ``outline``: of the held cells in the plan."""
    leaving: list[Strip | BusPlate] = [one for one in interconnect.strips if one.runs_out]
    leaving += [one for one in interconnect.plates if one.bar or one.tail]
    return tuple(_way_out(pack, one, outline) for one in leaving)


def _way_out(pack: Pack, one: Strip | BusPlate, outline: BaseGeometry) -> WayOut:
    """A folded tail with the balance lead on it, a bar's end with its lug, or metal that the main
    lead is soldered along, on its outer side."""
    purpose = "pack minus" if one.groups[0] == 1 and one.face is Face.LOWER else "pack plus"
    outward, inward = pack.leads.outside_mm, 0.0
    if isinstance(one, Strip):
        metal = shapely.Polygon(one.outline_mm)
    else:
        metal = one.shape
        lugs = () if one.bar is None else one.bar.lugs
        if not one.is_end:
            purpose = "bridge" if one.is_bridged else f"balance lead {one.groups[0]}"
            outward, inward = 0.0, TAIL_OUT_MM
        if lugs:
            metal = shapely.union_all([metal, *(lug.shape for lug in lugs)])
            outward = max(lug.outward_mm for lug in lugs)
            inward = max(lug.inward_mm for lug in lugs)
    corners = shapely.points(shapely.get_coordinates(metal))
    return WayOut(
        purpose=purpose,
        face=one.face,
        groups=one.groups,
        space=metal,
        reach_mm=float(shapely.distance(corners, outline).max(initial=0.0)),
        outward_mm=outward,
        inward_mm=inward,
    )
