"""The angle bracket as pieces of card."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely

from layouts.brackets.angle_strength import STAND_MM
from layouts.brackets.kind import Plate, Stack

if TYPE_CHECKING:
    from layouts.brackets.angle import BracketDesign

__all__ = ["angle_card_words", "angle_plates"]

SAME_CARD_MM = 1e-6


def angle_plates(design: BracketDesign, stack: Stack) -> tuple[Plate, ...]:
    """Foot, leg and gussets of card; the foot runs under the leg."""
    count = len(design.placed)
    if not count:
        return ()
    layers, thick = stack(design.thickness_mm)
    wide, each = design.width_mm, f"{layers} layers, {count} brackets"
    whole = shapely.Polygon(design.rib.profile_mm())
    beyond = whole.intersection(shapely.box(thick, thick, 1e4, 1e4))
    ring = [(float(x), float(y)) for x, y in shapely.orient_polygons(beyond).exterior.coords]
    ribs = stack(design.rib_mm)[0]
    return (
        Plate(
            name="bracket-foot", title=f"bracket foot, {each}",
            outline_mm=_upright(wide, design.foot_mm), places=(((0.0, thick), (wide, thick)),),
            holes=tuple((z, x, design.foot_hole_diameter_mm) for x, z in design.foot_holes
                        for x in _travel(x, design.slot_mm)),
            words=((wide / 2, thick / 2, "foot: leg here", 2.5),
                   (wide / 2, design.foot_mm - 3.0, f"drill {design.mount_screw}", 2.5)),
            count=layers * count,
        ),
        Plate(
            name="bracket-leg", title=f"bracket leg, {each}",
            outline_mm=_upright(wide, design.leg_mm - thick),
            holes=tuple((z, up - thick, design.leg_hole_diameter_mm) for up, z in design.leg_holes),
            words=((wide / 2, 2.5, f"leg: {design.pad_screw} to the mounting pad", 2.5),),
            count=layers * count,
        ),
        Plate(
            name="bracket-gusset", title=f"bracket gusset, {ribs} a side, 2 per bracket",
            outline_mm=tuple(ring[:-1]), count=2 * ribs * count,
            words=((thick + 6.0, thick + 3.0, "gusset", 2.0),),
        ),
    )  # fmt: skip


def angle_card_words(design: BracketDesign, stack: Stack) -> tuple[str, ...]:
    """How the card bracket goes together; then what is off, if anything is."""
    layers, thick = stack(design.thickness_mm)
    how = (
        f"Brackets: {layers} layers each for foot and leg. The leg stands on the foot, flush "
        "with its back; gussets at both ends. Glue the leg on the block of its mounting "
        f"pad, the foot {STAND_MM:g} mm below the floor."
    )
    if abs(thick - design.thickness_mm) <= SAME_CARD_MM:
        return (how,)
    return (
        how,
        f"Legs and feet are {thick:g} mm thick instead of {design.thickness_mm:g}; the feet's "
        "far ends and holes are to size.",
    )


def _upright(wide: float, high: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))


def _travel(at_mm: float, slot_mm: float) -> tuple[float, ...]:
    """Both ends of a slot; of a round hole its middle."""
    return (at_mm - slot_mm, at_mm + slot_mm) if slot_mm else (at_mm,)
