"""Gusset ribs of the angle bracket, which is printed on its side: one lies on the bed, the other
begins over nothing between leg and foot, as a short bridge from which it grows out."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["BRIDGE_MM", "INTO_MM", "Gusset"]

INTO_MM = 1.0  # a rib reaches so far into leg and foot
BRIDGE_MM = 9.5  # longest line of the upper rib's lowest layer; common practice, no source
EDGE_LAYERS = 3  # of the upper rib's outermost edge
PAST_FILLET_MM = 0.2  # that line lies so far beyond the ends of the inside fillet


@dataclass(frozen=True, kw_only=True, slots=True)
class Gusset:
    """A triangle in the inside corner at ``corner_mm``, ``long_mm`` along the foot and ``high_mm``
    up the leg; ``thick_mm`` in whole layers of ``layer_mm``; the corner has a ``fillet_mm``."""

    corner_mm: float
    long_mm: float
    high_mm: float
    thick_mm: float
    layer_mm: float
    fillet_mm: float

    def profile_mm(self, share: float = 1.0) -> tuple[tuple[float, float], ...]:
        """Its corners where it reaches so far along foot and leg, as a share of its whole reach.

        Counter-clockwise; its slope runs on into leg and foot, so that all of it is held at both
        ends."""
        inside, ratio = self.corner_mm - INTO_MM, self.long_mm / self.high_mm
        return (
            (inside, inside),
            (self.corner_mm + share * self.long_mm + INTO_MM * ratio, inside),
            (inside, self.corner_mm + share * self.high_mm + INTO_MM / ratio),
        )

    @property
    def upper_shares(self) -> tuple[float, ...]:
        """Of the upper rib's whole reach, layer by layer from its lowest: first a short bridge,
        then each layer's slope lies a layer's height farther out, 45 degrees, but for the last
        ones: an edge of fewer layers would be a thin one."""
        slope = math.hypot(self.long_mm, self.high_mm)
        past_fillet = (self.fillet_mm + PAST_FILLET_MM) / min(self.long_mm, self.high_mm)
        first = max(BRIDGE_MM / slope, past_fillet)
        step = self.layer_mm * slope / (self.long_mm * self.high_mm)
        count = round(self.thick_mm / self.layer_mm)
        last = count - EDGE_LAYERS
        return tuple(min(1.0, first + min(k, last) * step) for k in range(count))

    @property
    def bridge_mm(self) -> float:
        """Longest line over nothing when the upper rib's lowest layer is printed."""
        return self.upper_shares[0] * math.hypot(self.long_mm, self.high_mm)
