"""Which printed plates are counted on as solid plastic by the checks."""

from __future__ import annotations

from collections.abc import Mapping

from layouts.pack import EnclosureStyle
from layouts.planning.steps import OutsidePlan

__all__ = ["solid_plates_mm"]


def solid_plates_mm(plan: OutsidePlan) -> Mapping[str, float]:
    """By role of the part, the thickness from the bed up: floor and lid that are checked for
    bending, and straps across their seams, as plates without a hollow."""
    pack = plan.pack
    if (
        pack.load is None
        or plan.enclosure_set is None
        or pack.enclosure.style is not EnclosureStyle.FITTED
    ):
        return {}
    shell = plan.enclosure.shell
    return {
        "tub": shell.z_floor_mm - shell.z_under_mm,
        "lid": shell.z_lid_mm - shell.z_rim_mm,
        **{
            part.role: part.drawing.box_mm()[1][2]
            for part in plan.enclosure.parts
            if part.role in ("floor_strap", "lid_strap")
        },
    }
