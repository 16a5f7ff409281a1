"""What strength checks of printed brackets share: gravity, safety factor, allowed stress."""

from __future__ import annotations

from layouts.formats import materials
from layouts.pack import Pack

__all__ = ["GRAVITY_M_S2", "SAFETY", "strength_limit_mpa"]

GRAVITY_M_S2 = 9.80665  # standard gravity, ISO 80000-3
SAFETY = 4.0  # printed polymer, short-term load; general design practice (2.5 to 4), from memory


def strength_limit_mpa(pack: Pack) -> float:
    """Allowed stress of the printer's material in its layers [MPa]."""
    return materials()[pack.printer.material].strength_mpa / SAFETY
