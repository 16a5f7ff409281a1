"""Lattice seats, the fullest first: which angles are tried, and the best offset at each."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.pack import Lattice
from layouts.placing.basis import directions_deg
from layouts.placing.lattice import best_offset, screen
from layouts.placing.region import Region
from layouts.placing.values import Effort

__all__ = ["LatticePosition", "lattice_seats"]

QUICK_WALLS, QUICK_SWEEP_DEG = 8, 10.0
QUICK_FIRST, QUICK_ANGLES = 4, 4  # longest walls' directions always solved, and others ranked
BEST_WALLS, BEST_SWEEP_DEG = 64, 1.0
LARGE_CELLS = 1500  # above, the best effort too solves only the most promising angles
LARGE_FIRST, LARGE_ANGLES = 12, 8
SCREEN_FINENESS = 12  # offsets a side of the unit cell when angles are ranked


@dataclass(frozen=True, kw_only=True, slots=True)
class LatticePosition:
    """One place of a lattice: its offset in units of the basis, its angle, what it holds."""

    count: int
    offset: tuple[float, float]
    angle_deg: float


def lattice_seats(
    region: Region, lattice: Lattice, *, pitch_mm: float, effort: Effort
) -> list[LatticePosition]:
    """The best seat at each angle tried, the fullest first, never empty.

    ``QUICK`` solves the longest walls' directions, since what only just touches shows nowhere
    else, and of the other angles those that promise most on a coarse net of offsets.
    """
    quick = effort is Effort.QUICK
    angles = directions_deg(
        region,
        lattice,
        pitch_mm=pitch_mm,
        most=QUICK_WALLS if quick else BEST_WALLS,
        sweep_deg=QUICK_SWEEP_DEG if quick else BEST_SWEEP_DEG,
    )
    large = region.outer.area > LARGE_CELLS * pitch_mm**2
    if (quick or large) and not region.is_empty:
        first, most = (QUICK_FIRST, QUICK_ANGLES) if quick else (LARGE_FIRST, LARGE_ANGLES)
        ranked = [
            screen(region, lattice, pitch_mm=pitch_mm, angle_deg=angle, fineness=SCREEN_FINENESS)
            for angle in angles
        ]
        order = sorted(range(first, len(angles)), key=lambda at: ranked[at], reverse=True)
        angles = angles[:first] + [angles[at] for at in order[:most]]
    seats = []
    for angle in angles:
        count, offset = best_offset(region, lattice, pitch_mm=pitch_mm, angle_deg=angle)
        seats.append(LatticePosition(count=count, offset=offset, angle_deg=angle))
    return sorted(seats, key=lambda seat: -seat.count)
