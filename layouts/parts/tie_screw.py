"""Tie posts and their screws: sizes that follow from the pack alone."""

from __future__ import annotations

import math
from dataclasses import dataclass

from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Pack
from layouts.parts.fasteners import USUAL_LENGTHS_MM
from layouts.parts.whole_layers import layers_down_mm

__all__ = [
    "LAND_MM",
    "POST_WALL_MM",
    "TieScrew",
    "check_recess",
    "check_recesses",
    "lead_in_deep_mm",
    "lead_in_mm",
    "post_disc_mm",
    "post_reach_mm",
    "tie_screw",
]

LEAD_IN_MM = 0.5  # widest lead-in round a pocket's mouth; common practice, no source
LEAD_IN_DEEP_MM = 0.8  # common practice, no source
LAND_MM = 0.45  # one printed line left between two lead-ins; common practice, no source
CAN_CLEAR_MM = 0.4  # between a post and a can; common practice, no source
MOUTH_CLEAR_MM = 0.1  # between a post and a pocket's lead-in: they stay two curves
POST_WALL_MM = 1.2  # three lines of a 0.4 nozzle round a post in the holder's plan
SUNK_MM = 0.3  # the head's hole is so much deeper, and the tip ends so far inside
PLAY_MM = 0.2  # across a nut's flats
# across a head, up to the next tenth: loose fit (0.3 to 0.5) of public printing guides
HEAD_PLAY_MM = 0.3
HEAD_SPARE_MM = 0.5  # over a head in its hole at the longest screw that may be taken
LEVEL_MM = 1e-6  # float noise in sums of millimetres
NUT_BACK_MM = 0.3  # thread that shows behind the nut
DEEPEST_MM = 40.0  # pocket that a pack file permits


@dataclass(frozen=True, kw_only=True, slots=True)
class TieScrew:
    """The screw of every tie post and the recesses that keep head and nut from standing proud.

    ``length_mm``: below the head. ``head_recess_mm``, ``nut_recess_mm``: depths from the outer
    faces. ``head_hole_diameter_mm``: diameter; ``nut_flats_mm``: across flats, play included.
    """

    screw: str
    length_mm: float
    hole_diameter_mm: float
    head_hole_diameter_mm: float
    head_recess_mm: float
    nut_flats_mm: float
    nut_recess_mm: float


def lead_in_mm(pack: Pack) -> float:
    """How much wider a pocket's mouth is, on the radius: 0.5, but one line of web stays."""
    return max(0.0, min(LEAD_IN_MM, (pack.holder.web_mm - LAND_MM) / 2))


def post_reach_mm(pack: Pack) -> float:
    """Least distance from a post's centre to a cell's: clear of the can and of the lead-in."""
    mouth = pack.pocket_mm / 2 + lead_in_mm(pack) + MOUTH_CLEAR_MM
    return max(mouth, pack.cell.diameter_mm / 2 + CAN_CLEAR_MM) + pack.holder.post_mm / 2


def post_disc_mm(pack: Pack) -> float:
    """Radius of the holder's plan round a post."""
    return pack.holder.post_mm / 2 + POST_WALL_MM


def tie_screw(pack: Pack) -> TieScrew:
    """The longest usual screw that stays inside both outer faces, and its recesses.

    Head's hole = total - length - 0.3: the tip then ends 0.3 inside the lower outer face. The nut
    lies where the whole of its thread is used and 0.3 shows behind it. Raises PlanError where no
    usual length leaves space for head and nut."""
    size = screws()[pack.holder.screw]
    total = pack.lip_to_lip_mm + 2 * pack.holder.lip_mm
    least = size.head_high_mm + HEAD_SPARE_MM
    fits = [length for length in USUAL_LENGTHS_MM if total - length >= least - LEVEL_MM]
    if not fits:
        raise PlanError(
            field="holder.screw",
            value=size.screw,
            why=f"needs a stack of {USUAL_LENGTHS_MM[0] + least:g} mm, this one has {total:g}",
            remedy="use longer cells or a thicker lip",
        )
    length = float(max(fits))
    return TieScrew(
        screw=size.screw,
        length_mm=length,
        hole_diameter_mm=size.clearance_diameter_mm,
        head_hole_diameter_mm=round(size.head_diameter_mm + HEAD_PLAY_MM, 1),
        head_recess_mm=_recess_mm(total - length - SUNK_MM, pack),
        nut_flats_mm=size.nut_flats_mm + PLAY_MM,
        nut_recess_mm=_recess_mm(size.nut_high_mm + SUNK_MM + NUT_BACK_MM, pack),
    )


def _recess_mm(deep_mm: float, pack: Pack) -> float:
    """A recess in the nearest whole layers: half a layer less than it is sunk by, or deeper."""
    layer_mm = pack.printer.layer_mm
    return round(round(deep_mm / layer_mm) * layer_mm, 6)


def lead_in_deep_mm(layer_mm: float) -> float:
    """Depth of the lead-in round a pocket's mouth, in whole layers of ``layer_mm``."""
    return layers_down_mm(LEAD_IN_DEEP_MM, layer_mm)


def check_recess(recess_mm: float, *, depth_mm: float, mouth_mm: float, layer_mm: float) -> None:
    """Raises PlanError where a screw's recess and its two bridged layers pass a pocket's mouth.

    ``recess_mm``, ``mouth_mm`` from the outer face; ``depth_mm``: of the pockets."""
    beyond = recess_mm + 2 * layer_mm - mouth_mm
    if beyond <= LEVEL_MM:
        return
    least = math.ceil((depth_mm + beyond) * 10 - LEVEL_MM) / 10
    raise PlanError(
        field="holder.depth_mm",
        value=f"{depth_mm:g}",
        why=f"ends below the screws' recess of {recess_mm:g} mm: the longest usual screw is "
        f"{USUAL_LENGTHS_MM[-1]} mm",
        remedy=f"use at least {least:g}"
        if least <= DEEPEST_MM
        else f"use shorter cells: {least:g} would be required, and {DEEPEST_MM:g} is the most",
    )


def check_recesses(pack: Pack) -> None:
    """The same for head and nut of a pack's tie screws."""
    screw, holder = tie_screw(pack), pack.holder
    layer = pack.printer.layer_mm
    lead_in = lead_in_deep_mm(layer) if lead_in_mm(pack) > 0 else 0.0
    mouth = holder.lip_mm + holder.depth_mm - lead_in
    for recess in (screw.head_recess_mm, screw.nut_recess_mm):
        check_recess(recess, depth_mm=holder.depth_mm, mouth_mm=mouth, layer_mm=layer)
