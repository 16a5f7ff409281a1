"""Tub and lid of the fitted form as parts: placed, coloured, with what to know for printing."""

from __future__ import annotations

import numpy as np

from layouts.enclosures.fitted.lid import lid_drawing
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.tub import tub_drawing
from layouts.enclosures.printed import FIELD, LID_COLOUR, TUB_COLOUR, lid_placed
from layouts.parts.part import Part

__all__ = ["fitted_parts"]


def fitted_parts(sizes: FittedSizes) -> tuple[Part, ...]:
    """Tub and lid. Raises PlanError where one can't be drawn."""
    levels = sizes.shell.levels
    placed = np.eye(4)
    placed[2, 3] = levels.under_mm
    tub = Part(
        name="tub",
        role="tub",
        field=FIELD,
        drawing=tub_drawing(sizes),
        placed=(placed,),
        colour=TUB_COLOUR,
        print_note=_tub_note(sizes),
    )
    lid = Part(
        name="lid",
        role="lid",
        field=FIELD,
        drawing=lid_drawing(sizes),
        placed=(lid_placed(levels.lid_mm),),
        colour=LID_COLOUR,
        print_note="outer face down, no support; "
        + ("lip and pads" if sizes.shell.flange is None else "pads")
        + " print upwards"
        + ("" if sizes.clamp is None else "; plinths carry silicone that clamps the upper holder"),
    )
    return tub, lid


def _tub_note(sizes: FittedSizes) -> str:
    """What to know for the tub's print and its inserts."""
    screws = sizes.shell.screws
    forming = sum(not screw.insert for screw in screws)
    inserts = "in the bosses from above"
    if forming:
        inserts = "in the large bosses from above"
    if sizes.pads:
        inserts += ", in mounting pads from outside"
    if not forming:
        small = ""
    elif forming == 1:
        small = ". The small boss takes no insert: its screw forms its own thread"
    else:
        small = f". The {forming} small bosses take no insert: their screws form their own thread"
    return (
        "floor down, no support: bosses of the lid's screws lean out of the wall at 45 degrees, "
        f"gland holes bridge as round arches. {_sealed_note(sizes)}Heat-set the inserts: "
        f"{inserts}{small}. "
        "Fit glands, fuse holder and board before the cells"
    )


def _sealed_note(sizes: FittedSizes) -> str:
    """The same of a rim with a gasket."""
    if sizes.shell.flange is None or sizes.vent is None:
        return ""
    return (
        "The rim's flange grows out of the wall at 45 degrees; its top face must be smooth, "
        f"iron it or rub it flat. The vent's opening bridges {sizes.vent.wide_mm:g} mm. Walls must "
        "be tight: four lines, no gaps between them. "
    )
