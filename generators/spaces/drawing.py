"""An outline as it is drawn in a DXF or SVG file, and what the reading left out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from generators.spaces.curves import Loop, Stroke, flattened, joined

__all__ = ["SpaceDrawing", "rings"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SpaceDrawing:
    """What a drawing holds.

    ``unit``: the file's own, and the length in mm of what the strokes are in; None where the
    file carries none.
    ``left_out``: what was passed over, in words.
    """

    strokes: tuple[Stroke, ...]
    unit: tuple[str, float] | None
    left_out: tuple[str, ...] = ()

    @property
    def size(self) -> tuple[float, float]:
        """Sides of the box round all control points, in the file's unit."""
        low = [min(float(s[..., axis].min()) for s in self.strokes) for axis in (0, 1)]
        high = [max(float(s[..., axis].max()) for s in self.strokes) for axis in (0, 1)]
        return high[0] - low[0], high[1] - low[1]


Ring = list[tuple[float, float]]


def rings(strokes: Sequence[Stroke], scale_mm: float) -> tuple[Ring, list[Ring]]:
    """The outline and its holes, flattened, mm: the largest loop, and all others.

    ``scale_mm``: length of the strokes' unit. Raises OpenOutlineError where a line doesn't close.
    """
    loops = joined([stroke * scale_mm for stroke in strokes])
    outline = max(loops, key=lambda loop: abs(loop.area_mm2))
    return _corners(outline, hole=False), [
        _corners(loop, hole=True) for loop in loops if loop is not outline
    ]


def _corners(loop: Loop, *, hole: bool) -> Ring:
    return [(x, y) for x, y in flattened(loop, hole=hole).tolist()]
