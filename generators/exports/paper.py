"""Paper for drawings at true size: its sizes, and how many sheets a large drawing takes."""

from __future__ import annotations

import math
from enum import Enum

__all__ = ["MARGIN_MM", "OVERLAP_MM", "Paper", "tiling"]

MARGIN_MM = 10.0  # printers leave about 5 mm blank; common practice, no source
OVERLAP_MM = 10.0


class Paper(Enum):
    """Sizes of paper: ISO 216 A4, and North American letter (8.5 by 11 in)."""

    A4 = "a4"
    LETTER = "letter"

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height, upright."""
        return (210.0, 297.0) if self is Paper.A4 else (215.9, 279.4)

    def room_mm(self, *, foot_mm: float) -> tuple[float, float]:
        """What is drawn on: within the margins, above a foot with bar and title."""
        wide, high = self.size_mm
        return wide - 2 * MARGIN_MM, high - 2 * MARGIN_MM - foot_mm


def tiling(
    size_mm: tuple[float, float], room_mm: tuple[float, float]
) -> tuple[bool, int, int, tuple[float, float]]:
    """Whether a drawing is turned to save sheets, their columns and rows, the step between two."""
    step_x, step_y = (side - OVERLAP_MM for side in room_mm)

    def grid(w: float, h: float) -> tuple[int, int]:
        return (
            max(1, math.ceil((w - OVERLAP_MM) / step_x - 1e-9)),
            max(1, math.ceil((h - OVERLAP_MM) / step_y - 1e-9)),
        )

    w, h = size_mm
    upright, across = grid(w, h), grid(h, w)
    turned = math.prod(across) < math.prod(upright)
    columns, rows = across if turned else upright
    return turned, columns, rows, (step_x, step_y)
