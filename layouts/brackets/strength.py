"""What strength checks of printed parts share: gravity, safety factor, allowed stress."""

from __future__ import annotations

from layouts.formats import materials, softening_c
from layouts.pack import Pack
from layouts.physics import GRAVITY_M_S2

__all__ = [
    "ACROSS_SOURCE",
    "GRAVITY_M_S2",
    "SAFETY",
    "across_limit_mpa",
    "strength_limit_mpa",
    "warm_ratio",
]

SAFETY = 4.0  # printed polymer, short-term load; general design practice (2.5 to 4), from memory

# Table values hold at room temperature; at the softening temperature a tenth is left. A straight
# line between them: judgement, no source; no test of printed parts was found for it
ROOM_C = 23.0
SOFT_RATIO = 0.1

ACROSS_SOURCE = (
    "lowest printed tensile strength across the layers (materials table), less by a straight line "
    f"from {ROOM_C:g} C to a tenth where the material softens, at load.ambient_c (judgement, no "
    f"source), divided by {SAFETY:g}, common practice, no source"
)


def strength_limit_mpa(pack: Pack) -> float:
    """Allowed stress of the printer's material in its layers [MPa]."""
    return materials()[pack.printer.material].strength_mpa / SAFETY


def across_limit_mpa(pack: Pack) -> float:
    """Allowed stress of the printer's material across its layers at the ambient temperature
    [MPa]."""
    return materials()[pack.printer.material].across_mpa * warm_ratio(pack) / SAFETY


def warm_ratio(pack: Pack) -> float:
    """Strength at the load's ambient temperature over that at room temperature; 1 without one."""
    if pack.load is None:
        return 1.0
    over = (pack.load.ambient_c - ROOM_C) / (softening_c()[pack.printer.material] - ROOM_C)
    return min(1.0, max(SOFT_RATIO, 1.0 - (1.0 - SOFT_RATIO) * over))
