"""What the process that makes solids needs, and no more: it loads the kernel, not the planner."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from layouts.parts.part import Part

__all__ = ["SolidJob"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SolidJob:
    """``name``: of the pack; ``folder``: of the run, which has its folder ``parts``, and
    ``metal`` where there are parts of sheet metal; ``cells_mm``:
    (n, 2) centres of the cells."""

    name: str
    parts: tuple[Part, ...]
    cells_mm: NDArray[np.float64]
    can_diameter_mm: float
    can_length_mm: float
    folder: Path
