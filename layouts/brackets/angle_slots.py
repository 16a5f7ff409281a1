"""Slots in an angle bracket's foot, so that it can be moved away from its wall and towards it, and
the screw that locks the foot where it was adjusted: friction alone never holds a pack.

The slots run away from the wall. The bracket is printed on its side, so a slot's upper side is a
bridge over its length: its ends are round there, layer by layer, and leave a line of less than 10
mm over nothing. Washers lie on both of its sides."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from layouts.brackets.frame_holes import TOOL_GAP_MM
from layouts.brackets.kind import MountingPad
from layouts.brackets.loads import bracket_loads
from layouts.brackets.strength import SAFETY, strength_limit_mpa
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Mount, Pack
from layouts.parts.feature import Effect, Feature
from layouts.parts.whole_layers import layers_down_mm, layers_up_mm
from layouts.slabs.profile import rectangle

if TYPE_CHECKING:
    from layouts.brackets.angle import BracketDesign

__all__ = ["foot_lock_bearing", "lock_of", "slot_cuts"]

# common practice, no source
LOCK_SCREWS = ("M5", "M4", "M3")  # no larger than the foot's own
PAST_MM = 1.0  # cuts begin and end so far outside of the foot
NOISE_MM = 1e-6  # of sums of layers
ROW_MM = 0.05  # holes of one row are equally far from the wall but for this


def lock_of(mount: Mount) -> tuple[str, float] | None:
    """Thread of the locking screw and its place along the wall, as in ``holes_mm``; None without
    slots. It stands between the first two holes of the row that leave room for it.

    Raises PlanError where a slotted foot can't be made with the frame's holes."""
    if not mount.slot_mm:
        return None
    along = sorted(u for u, _ in mount.holes_mm)
    out = [v for _, v in mount.holes_mm]
    if len(along) < 2 or max(out) - min(out) > ROW_MM:
        raise PlanError(
            field="mount.slot_mm", value=f"{mount.slot_mm:g}",
            why="needs two or more of mount.holes_mm, all equally far from the wall: with one the "
                "foot could turn",
            remedy="write holes_mm: [[0, 0], [20, 0]], or slot_mm: 0",
        )  # fmt: skip
    washer = screws()[mount.screw].washer_diameter_mm
    fitting = [one for one in LOCK_SCREWS if float(one[1:]) <= float(mount.screw[1:])]
    for name in fitting:
        needed = washer + screws()[name].washer_diameter_mm + 2 * TOOL_GAP_MM
        for low, high in pairwise(along):
            if high - low >= needed - 1e-9:
                return name, (low + high) / 2
    raise PlanError(
        field="mount.slot_mm", value=f"{mount.slot_mm:g}",
        why=f"leaves no room between mount.holes_mm for a locking {fitting[-1]} screw",
        remedy=f"place two of them {needed:.1f} mm apart or more along the wall, or write "
               "slot_mm: 0",
    )  # fmt: skip


def slot_cuts(design: BracketDesign) -> Iterator[Feature]:
    """Each slot: its lower half as a block, its upper one layer by layer."""
    if not design.slot_mm:
        return
    radius, layer = design.foot_hole_diameter_mm / 2, design.layer_mm
    for number, (out, along) in enumerate(design.foot_holes, start=1):
        low = layers_down_mm(along - radius, layer)
        levels = [low, layers_up_mm(along, layer)]
        while levels[-1] < along + radius - NOISE_MM:
            levels.append(round(levels[-1] + layer, 6))
        for step, (z0, z1) in enumerate(pairwise(levels)):
            over = min((z0 + z1) / 2 - along, radius)
            round_mm = radius if step == 0 else math.sqrt(radius**2 - over**2)
            reach = design.slot_mm + round_mm
            loop = rectangle(out - reach, -PAST_MM, out + reach, design.thickness_mm + PAST_MM)
            yield Feature(
                name=f"slot {number}.{step}", loops=(loop,), effect=Effect.CUT, z0_mm=z0, z1_mm=z1
            )


def foot_lock_bearing(
    pack: Pack, design: BracketDesign, pads: Sequence[MountingPad], *, mass_kg: float
) -> Check:
    """Pressure of the locking screw on the wall of its hole in the foot, where it takes the whole
    force off the wall: screws in slots are counted with no friction.

    Force over diameter times thickness, as of any bolt in a plate."""
    assert design.lock_screw is not None
    area = float(design.lock_screw[1:]) * design.thickness_mm
    force = max(
        load.most(off=1.0) for load in bracket_loads(pack, pads, design.hold, mass_kg=mass_kg)
    )
    limit = strength_limit_mpa(pack)
    return Check(
        id="foot_lock_bearing",
        about=f"pressure of the {design.lock_screw} locking screw on its hole in a slotted foot",
        holds=force / area <= limit, value=force / area, limit=limit, unit="MPa", at_least=False,
        source=(
            "force over diameter times thickness; lowest printed tensile strength along the layers "
            f"(materials table) divided by {SAFETY:g}, common practice, no source"
        ),
        remedy="mount.slot_mm 0 where the frame's holes are known, or a lower load.acceleration_g",
        where="bracket",
    )  # fmt: skip
