"""A round bore as plain values; cutting it is for ``drilled``."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Bore"]


@dataclass(frozen=True, slots=True)
class Bore:
    """A round blind bore: from ``start`` [mm], on the surface, ``depth_mm`` along ``direction``.

    ``direction`` has length 1. The tool begins 0.05 mm before the start; there must be air.
    """

    start: tuple[float, float, float]
    direction: tuple[float, float, float]
    radius_mm: float
    depth_mm: float
