"""Constants of physics that more than one folder takes."""

from __future__ import annotations

__all__ = ["GRAVITY_M_S2"]

GRAVITY_M_S2 = 9.80665  # standard gravity, exact by convention (ISO 80000-3)
