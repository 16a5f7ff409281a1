"""What tub and lid of every form are drawn with: colours, rectangles, how a lid is turned over."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.parts.shell import Rect
from layouts.slabs.profile import Loop, rectangle

__all__ = ["FIELD", "LEVEL_DIGITS", "LID_COLOUR", "TUB_COLOUR", "lid_placed", "loop_of"]

FIELD = "enclosure"  # of the pack file: the sizes of tub and lid come from there
TUB_COLOUR = (0.62, 0.64, 0.67)
LID_COLOUR = (0.74, 0.76, 0.78)
LEVEL_DIGITS = 6  # heights that differ by less than a nanometre are one


def loop_of(rect: Rect, corner_mm: float = 0.0) -> Loop:
    """A rectangle's outline."""
    return rectangle(*rect.bounds, corner_mm)


def lid_placed(z_lid_mm: float) -> NDArray[np.float64]:
    """(4, 4): half a turn about y, then up, so that the lid's outer face lies at that height."""
    placed = np.diag([-1.0, 1.0, -1.0, 1.0])
    placed[2, 3] = z_lid_mm
    return placed
