"""How two pieces of a tub or lid overlap: sizes of laps, and the steps in a floor or plate."""

from __future__ import annotations

import math
from dataclasses import replace

from layouts.pack import EnclosureSpec, EnclosureStyle

__all__ = [
    "SEAM_GAP_MM", "STEP_MM", "STRAIGHT", "WALL_INSIDE_MM", "WALL_LAP_MM", "Offsets", "lap_levels",
    "offsets_at", "two_lines_mm", "with_lapped_wall",
]  # fmt: skip

SEAM_GAP_MM = 0.2  # between two pieces
LINES = 2.0  # of the nozzle in a wall at least; common practice, no source
STEP_MM = 1.0  # a floor's or plate's line moves by no more to either side of its place
WALL_LAP_MM = 4.0  # each way
WALL_INSIDE_MM = 1.5  # of floor beside the wall that goes with the wall's lap
# of a lap's line at least, at either face: a straight way would let water in, and a thinner edge
# curls off the bed
UPRIGHT_MM = 0.6
FLOAT_MM = 1e-6

Offsets = tuple[float, float]
STRAIGHT: Offsets = (0.0, 0.0)


def two_lines_mm(nozzle_mm: float) -> float:
    """Thickness [mm] of the thinnest wall that a nozzle prints."""
    return LINES * nozzle_mm


def with_lapped_wall(case: EnclosureSpec, nozzle_mm: float) -> EnclosureSpec:
    """A tub with walls no thinner than they need where a printer's bed asks for a cut: two pieces
    overlap there, each with half of what the gap leaves. Walls along cells stay."""
    if case.style is not EnclosureStyle.TUB:
        return case
    least_mm = round(2.0 * two_lines_mm(nozzle_mm) + SEAM_GAP_MM, 6)
    return replace(case, wall_mm=max(case.wall_mm, least_mm))


def lap_levels(thickness_mm: float, layer_mm: float) -> tuple[tuple[float, float, Offsets], ...]:
    """(z0, z1, offsets) of the laps of a floor or plate, from its lower face up.

    ``offsets``: how far the seam's line lies from its place for the piece before it and for
    the piece behind it. The line is upright at both faces and leans between them: the piece behind
    overhangs by one layer's height a layer, 45 degrees, which prints without support. The
    piece before it draws back a layer earlier, or as many as make the seam's gap, so that a
    sagging layer does not hold the pieces apart.
    """
    ahead = max(1, math.ceil(SEAM_GAP_MM / layer_mm - FLOAT_MM))
    layers = math.floor(thickness_mm / layer_mm + FLOAT_MM)
    upright = math.ceil(UPRIGHT_MM / layer_mm - FLOAT_MM)
    count = min(math.floor(2 * STEP_MM / layer_mm + FLOAT_MM), layers - 2 * upright - ahead)
    if count < 1:
        return ((0.0, thickness_mm, STRAIGHT),)
    half, first = count * layer_mm / 2, (layers - count + ahead) // 2

    def off(layer: int) -> float:
        """The line's offset in a layer, for the piece behind."""
        return round(half - layer_mm * min(max(layer + 1 - first, 0), count), 6)

    starts = range(first - ahead, first + count)
    ends = [layer_mm * k for k in starts]
    pairs = [(off(k - 1 + ahead), off(k - 1)) for k in starts]
    pairs.append((off(layers), off(layers)))
    return tuple(
        (z0, z1, pair)
        for z0, z1, pair in zip((0.0, *ends), (*ends, thickness_mm), pairs, strict=True)
    )


def offsets_at(z: float, thickness_mm: float, layer_mm: float) -> Offsets:
    """The seam line's offsets at a height above a floor's or plate's lower face."""
    levels = lap_levels(thickness_mm, layer_mm)
    return next((o for z0, z1, o in levels if z0 < z < z1), STRAIGHT)
