"""How two pieces of a tub or lid overlap: sizes of laps, and the steps in a floor or plate."""

from __future__ import annotations

__all__ = [
    "SEAM_GAP_MM", "STEP_MM", "STRAIGHT", "WALL_INSIDE_MM", "WALL_LAP_MM", "Offsets", "lap_levels",
    "offsets_at",
]  # fmt: skip

SEAM_GAP_MM = 0.2  # between two pieces
STEP_MM = 1.0  # one of the floor's and plate's laps: overhangs that much, three times
WALL_LAP_MM = 4.0  # each way
WALL_INSIDE_MM = 1.5  # of floor beside the wall that goes with the wall's lap

Offsets = tuple[float, float]
STRAIGHT: Offsets = (0.0, 0.0)


def lap_levels(thickness_mm: float) -> tuple[tuple[float, float, Offsets], ...]:
    """(z0, z1, offsets) of the laps of a floor or plate, from its lower face up.

    ``offsets``: how far the seam's line lies from its place for the piece before it and for
    the piece behind it. The piece behind overhangs in steps; under each step a gap as wide
    as the seam's is left, so that a sagging layer does not hold the pieces apart.
    """
    third, s = thickness_mm / 3, STEP_MM
    gap = min(SEAM_GAP_MM, third / 2)
    return (
        (0.0, third, (s, s)),
        (third, third + gap, (0.0, s)),
        (third + gap, 2 * third, (0.0, 0.0)),
        (2 * third, 2 * third + gap, (-s, 0.0)),
        (2 * third + gap, thickness_mm, (-s, -s)),
    )


def offsets_at(z: float, thickness_mm: float) -> Offsets:
    """The seam line's offsets at a height above a floor's or plate's lower face."""
    return next((o for z0, z1, o in lap_levels(thickness_mm) if z0 < z < z1), STRAIGHT)
