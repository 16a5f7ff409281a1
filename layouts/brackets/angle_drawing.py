"""The angle bracket drawn: an L between two gusset ribs, screw holes bored sideways."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import TYPE_CHECKING

from layouts.brackets.angle_slots import slot_cuts
from layouts.formats import screws
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Feature
from layouts.parts.part import Part
from layouts.slabs.bore import through
from layouts.slabs.profile import polygon, rounded_polygon

if TYPE_CHECKING:
    from layouts.brackets.angle import BracketDesign

__all__ = ["bracket_drawing", "bracket_part"]

FIELD = "mount"  # of the pack file: its sizes come from there
COLOUR = (0.45, 0.47, 0.50)
VIEW = (1.4, 1.0, 0.9)
LOCK_NOTE = (
    "; push the pack into place, tighten these in their slots, then drill the frame through the "
    "{screw} hole between them and fit that screw: it holds where friction may not"
)


def bracket_drawing(design: BracketDesign) -> Drawing:
    """Rib, L, rib; the leg's holes bored along x from its back, the foot's along y from below."""
    thick, wide = design.thickness_mm, design.width_mm
    profile = (rounded_polygon(design.profile_mm, design.profile_radii_mm),)
    rib = (polygon(design.rib.profile_mm()),)
    leg = [
        through((0.0, up, along), (1.0, 0.0, 0.0), design.leg_hole_diameter_mm / 2.0, thick)
        for up, along in design.leg_holes
    ]
    round_holes = [] if design.slot_mm else [design.foot_hole_diameter_mm] * len(design.foot_holes)
    foot = [
        through((out, 0.0, along), (0.0, 1.0, 0.0), diameter / 2.0, thick)
        for diameter, (out, along) in (
            *zip(round_holes, design.foot_holes, strict=False), *_locks(design)
        )
    ]  # fmt: skip
    return drawing_of(
        (
            Feature(name="profile", loops=profile, z0_mm=0.0, z1_mm=wide),
            Feature(name="rib", loops=rib, z0_mm=0.0, z1_mm=design.rib_mm),
            *_upper_rib(design),
            *slot_cuts(design),
        ),
        part="bracket",
        field=FIELD,
        bores=(*leg, *foot),
    )


def _upper_rib(design: BracketDesign) -> Iterator[Feature]:
    """Layer by layer, those of one reach together."""
    layer, low = design.layer_mm, design.width_mm - design.rib_mm
    done = 0
    for share, same in itertools.groupby(design.rib.upper_shares):
        count = len(list(same))
        yield Feature(
            name="rib" if share == 1.0 else f"upper rib {share:.9f}",
            loops=(polygon(design.rib.profile_mm(share)),),
            z0_mm=round(low + done * layer, 6),
            z1_mm=round(low + (done + count) * layer, 6),
        )
        done += count


def _locks(design: BracketDesign) -> list[tuple[float, tuple[float, float]]]:
    """Diameter and place of the locking screws' holes."""
    if design.lock_screw is None:
        return []
    diameter = screws()[design.lock_screw].clearance_diameter_mm
    return [(diameter, hole) for hole in design.lock_holes]


def bracket_print_note(design: BracketDesign) -> str:
    """How to print it, and in which order its screws go in."""
    return (
        "as it lies in the file, on its side: the layers then run around the corner that is "
        "bent. Four walls, infill 50 % or more. The screw holes print without support; the "
        f"upper rib starts as a bridge of {design.rib.bridge_mm:.0f} mm and grows out from "
        "there. Fit the pad screws before the foot screws"
        f"{LOCK_NOTE.format(screw=design.lock_screw) if design.lock_screw else ''}"
    )


def bracket_part(design: BracketDesign) -> Part:
    """The bracket, one placed copy a mounting pad."""
    return Part(
        name="bracket",
        role="bracket",
        field=FIELD,
        drawing=bracket_drawing(design),
        placed=design.placed,
        colour=COLOUR,
        print_note=bracket_print_note(design),
        view=VIEW,
    )
