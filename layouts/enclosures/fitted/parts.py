"""Tub and lid of the fitted form as parts: placed, coloured, with what to know for printing."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import numpy as np

from layouts.enclosures.fitted.lid import lid_drawing
from layouts.enclosures.fitted.pieces import lid_pieces, strap_parts, tub_pieces
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.splices import PartCuts
from layouts.enclosures.fitted.tub import tub_drawing
from layouts.enclosures.printed import FIELD, LID_COLOUR, TUB_COLOUR, lid_placed
from layouts.parts.drawing import Drawing
from layouts.parts.part import Part

__all__ = ["fitted_parts"]


def fitted_parts(sizes: FittedSizes) -> tuple[Part, ...]:
    """Tub and lid, or their pieces, and the straps that join these. Raises PlanError where one
    can't be drawn."""
    levels = sizes.shell.levels
    placed = np.eye(4)
    placed[2, 3] = levels.under_mm
    tubs = tuple(
        Part(
            name=name, role="tub", field=FIELD, drawing=drawing, placed=(placed,),
            colour=TUB_COLOUR, print_note=_tub_note(sizes),
        )
        for name, drawing in _drawn("tub", sizes, sizes.splices.tub, tub_drawing, tub_pieces)
    )  # fmt: skip
    lids = tuple(
        Part(
            name=name, role="lid", field=FIELD, drawing=drawing,
            placed=(lid_placed(levels.lid_mm),), colour=LID_COLOUR,
            print_note="outer face down, no support; "
            + ("lip and pads" if sizes.shell.flange is None else "pads")
            + " print upwards"
            + (
                ""
                if sizes.clamp is None
                else "; plinths carry silicone that clamps the upper holder"
            ),
        )
        for name, drawing in _drawn("lid", sizes, sizes.splices.lid, lid_drawing, lid_pieces)
    )  # fmt: skip
    return (*tubs, *lids, *strap_parts(sizes))


def _drawn(
    part: str,
    sizes: FittedSizes,
    cuts: PartCuts,
    whole: Callable[[FittedSizes], Drawing],
    pieces: Callable[[FittedSizes], Iterable[Drawing]],
) -> list[tuple[str, Drawing]]:
    """Names and drawings of a part, or of its pieces."""
    if not cuts.seams:
        return [(part, whole(sizes))]
    return [(f"{part}-{k}", drawing) for k, drawing in enumerate(pieces(sizes), start=1)]


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
