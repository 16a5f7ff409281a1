"""Block and cap of a tube clamp drawn: profiles along the wall, screw holes bored across."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.clamp_sizes import FILLET_MM, NUT_PLAY_MM, ClampSizes
from layouts.formats import screws
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.parts.whole_layers import layers_down_mm, layers_up_mm
from layouts.slabs.bore import through
from layouts.slabs.profile import Loop, circle, rectangle, rounded_polygon

__all__ = ["block_drawing", "cap_drawing", "clamp_parts"]

FIELD = "mount"  # of the pack file: its sizes come from there
COLOUR = (0.45, 0.47, 0.50)
VIEW = (1.4, 1.0, 0.9)
ROUND_MM = 2.0  # free corners
HEEL_ROUND_MM = 1.0  # corners on the pad
TROUGH_ROUND_MM = 1.5  # corners of a square trough: a tube's own are rounder
PAST_MM = 1.0  # cuts begin so far outside
BLOCK_NOTE = (
    "as it lies in the file, on its side, no support: the layers then run around the corner that "
    "is bent. Four walls, infill 50 % or more. Press the nuts into their pockets before it is "
    "screwed to its pad; then the tube with its rubber goes in and the cap on"
)
CAP_NOTE = (
    "as it lies in the file, on its side, no support. Four walls, infill 50 % or more. Tighten its "
    "screws evenly until the gap to the block is the same above and below; "
)
CROSS_NOTE = "then drill the tube through the hole in the cap's middle and fit that screw"
NO_CROSS_NOTE = "along the tube it holds by friction: mark the tube and look for slip"


def clamp_parts(sizes: ClampSizes, placed: tuple[NDArray[np.float64], ...]) -> tuple[Part, ...]:
    """Both parts, in the same coordinates, with a copy each for every matrix."""
    cap_note = CAP_NOTE + (CROSS_NOTE if sizes.cross_bolt else NO_CROSS_NOTE)
    return tuple(
        Part(
            name=name, role="bracket", field=FIELD, drawing=drawing, placed=placed, colour=COLOUR,
            print_note=note, view=VIEW,
        )
        for name, drawing, note in (
            ("bracket", block_drawing(sizes), BLOCK_NOTE),
            ("bracket-cap", cap_drawing(sizes), cap_note),
        )
    )  # fmt: skip


def block_drawing(sizes: ClampSizes) -> Drawing:
    """Leg and block; pockets for nuts in its back, holes from their floors on."""
    radii = (HEEL_ROUND_MM, 0.0, 0.0, FILLET_MM, ROUND_MM, HEEL_ROUND_MM)
    size, small = screws()[sizes.screw], screws()[sizes.pad_screw]
    split = sizes.block_mm[1][0]
    ways = [(y, split - sizes.nut_mm) for y in sizes.clamp_ys_mm]
    if sizes.cross_bolt:
        ways.append((sizes.tube_y_mm, sizes.back_mm - sizes.flat_mm - sizes.nut_mm))
    middle = sizes.wide_mm / 2
    bores = [
        through((sizes.nut_mm, y, middle), (1.0, 0.0, 0.0), size.clearance_diameter_mm / 2, deep)
        for y, deep in ways
    ]
    bores += [
        through(
            (0.0, sizes.pad_y_mm, middle + side * sizes.apart_mm / 2), (1.0, 0.0, 0.0),
            small.clearance_diameter_mm / 2, sizes.thick_mm,
        )
        for side in (-1.0, 1.0)
    ]  # fmt: skip
    return drawing_of(
        (
            Feature(
                name="block", loops=(rounded_polygon(sizes.block_mm, radii),),
                z0_mm=0.0, z1_mm=sizes.wide_mm,
            ),
            *_trough(sizes),
            _nut_pockets(sizes, [y for y, _ in ways]),
        ),
        part="bracket", field=FIELD, bores=bores,
    )  # fmt: skip


def cap_drawing(sizes: ClampSizes) -> Drawing:
    """The cap, its holes from the outer face on."""
    radii = (0.0, ROUND_MM, ROUND_MM, 0.0)
    radius, middle = screws()[sizes.screw].clearance_diameter_mm / 2, sizes.wide_mm / 2
    ways = [(y, sizes.cap_mm) for y in sizes.clamp_ys_mm]
    if sizes.cross_bolt:
        ways.append((sizes.tube_y_mm, sizes.crown_mm - sizes.flat_mm))
    return drawing_of(
        (
            Feature(
                name="cap", loops=(rounded_polygon(sizes.cap_outline_mm, radii),),
                z0_mm=0.0, z1_mm=sizes.wide_mm,
            ),
            *_trough(sizes),
        ),
        part="bracket-cap", field=FIELD,
        bores=[through((sizes.face_mm, y, middle), (-1.0, 0.0, 0.0), radius, d) for y, d in ways],
    )  # fmt: skip


def _trough(sizes: ClampSizes) -> Sequence[Feature]:
    """What the tube with its rubber takes, and the flats beside the cross bolt."""
    x, y, half = sizes.tube_x_mm, sizes.tube_y_mm, sizes.hollow_mm
    hole: Loop = (
        rectangle(x - half, y - half, x + half, y + half, TROUGH_ROUND_MM)
        if sizes.square
        else circle((x, y), half)
    )
    found = [Feature(name="trough", loops=(hole,), z0_mm=0.0, z1_mm=sizes.wide_mm,
                     effect=Effect.CUT)]  # fmt: skip
    flat = sizes.flat_mm
    if flat:
        wide = screws()[sizes.screw].clearance_diameter_mm / 2 + flat
        groove = rectangle(x - half - flat, y - wide, x + half + flat, y + wide)
        found.append(
            Feature(name="flats", loops=(groove,), z0_mm=0.0, z1_mm=sizes.wide_mm,
                    effect=Effect.CUT)
        )  # fmt: skip
    return found


def _nut_pockets(sizes: ClampSizes, heights_mm: Sequence[float]) -> Feature:
    """Square holes from the back: a nut's flats lie above and below, its corners to the sides."""
    size, middle = screws()[sizes.screw], sizes.wide_mm / 2
    flats = size.nut_flats_mm / 2 + NUT_PLAY_MM
    corner = size.nut_flats_mm / math.sqrt(3.0) + NUT_PLAY_MM
    return Feature(
        name="nut pockets",
        loops=tuple(rectangle(-PAST_MM, y - flats, sizes.nut_mm, y + flats) for y in heights_mm),
        z0_mm=layers_down_mm(middle - corner, sizes.layer_mm),
        z1_mm=layers_up_mm(middle + corner, sizes.layer_mm),
        effect=Effect.CUT,
    )
