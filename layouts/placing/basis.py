"""Turned lattices: their basis, sites and directions worth trying."""

from __future__ import annotations

from math import cos, radians, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from layouts.pack import Lattice
from layouts.placing.region import Region, confirmed

__all__ = ["basis_mm", "directions_deg", "order_deg", "rotation", "seated", "site_numbers"]

SAME_DEG = 1e-7  # directions closer than this move no centre of a 10 m field by 0.1 um


def order_deg(lattice: Lattice) -> float:
    """The turn that brings a lattice back onto itself."""
    return 60.0 if lattice is Lattice.HONEYCOMB else 90.0


def basis_mm(lattice: Lattice, *, pitch_mm: float) -> NDArray[np.float64]:
    """(2, 2): the two basis vectors as columns, the first along x."""
    if lattice is Lattice.GRID:
        return np.array([[pitch_mm, 0.0], [0.0, pitch_mm]])
    return np.array([[pitch_mm, pitch_mm / 2], [0.0, pitch_mm * sqrt(3) / 2]])


def rotation(angle_deg: float) -> NDArray[np.float64]:
    """(2, 2) matrix of a turn to the left."""
    angle = radians(angle_deg)
    return np.array([[cos(angle), -sin(angle)], [sin(angle), cos(angle)]])


def directions_deg(
    region: Region, lattice: Lattice, *, pitch_mm: float, most: int, sweep_deg: float
) -> list[float]:
    """Angles worth trying: along the longest walls, for both axes of the lattice, and a sweep.

    Walls in one direction count together. A row of the lattice lies along a wall, or (on a
    honeycomb) a line across the rows does; a grid's two axes are alike.
    """
    order = order_deg(lattice)
    edges = region.inner_edges if len(region.inner_edges) else region.outer_edges
    ahead = edges[:, 2:] - edges[:, :2]
    length = np.hypot(ahead[:, 0], ahead[:, 1])
    folded = np.degrees(np.arctan2(ahead[:, 1], ahead[:, 0])) % order
    long = length > pitch_mm / 4
    along: list[tuple[float, float]] = []
    for angle, far in sorted(zip(folded[long].tolist(), length[long].tolist(), strict=True)):
        if along and angle - along[-1][0] < SAME_DEG:
            along[-1] = (along[-1][0], along[-1][1] + far)
        else:
            along.append((angle, far))
    along.sort(key=lambda one: (-round(one[1], 6), one[0]))
    shifts = (0.0, order / 2) if lattice is Lattice.HONEYCOMB else (0.0,)
    found = [(angle + shift) % order for angle, _ in along[:most] for shift in shifts]
    found += np.arange(0.0, order - 1e-9, sweep_deg).tolist()
    kept: list[float] = []
    for angle in found:
        if all(min(abs(angle - one), order - abs(angle - one)) > SAME_DEG for one in kept):
            kept.append(angle)
    return kept


def seated(
    region: Region,
    lattice: Lattice,
    *,
    pitch_mm: float,
    offset: tuple[float, float],
    angle_deg: float,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Centres (n, 2) [mm] and lattice coordinates (n, 2) of all sites that lie well inside.

    ``offset``: place of the site (0, 0) in units of the basis, from the region's middle.
    """
    if region.is_empty:
        return np.empty((0, 2)), np.empty((0, 2), dtype=np.int64)
    to_mm = rotation(angle_deg) @ basis_mm(lattice, pitch_mm=pitch_mm)
    corners = region.outer_edges[:, :2] @ np.linalg.inv(to_mm).T - offset
    low, high = np.floor(corners.min(axis=0)) - 1, np.ceil(corners.max(axis=0)) + 1
    i, j = np.meshgrid(np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1))
    numbers = np.column_stack([i.ravel(), j.ravel()])
    xy = (numbers + offset) @ to_mm.T + region.middle_mm
    low_x, low_y, high_x, high_y = region.outer.bounds
    near = (xy >= [low_x - 1e-6, low_y - 1e-6]).all(axis=1)
    near &= (xy <= [high_x + 1e-6, high_y + 1e-6]).all(axis=1)
    xy, numbers = xy[near], numbers[near]
    kept = confirmed(region, xy)
    return xy[kept], numbers[kept].astype(np.int64)


def site_numbers(numbers: NDArray[np.int64], lattice: Lattice) -> NDArray[np.int64]:
    """Column and row, as in ``layouts.cells.lattice``, of lattice coordinates (n, 2)."""
    if lattice is Lattice.GRID:
        return numbers
    return np.column_stack([2 * numbers[:, 0] + numbers[:, 1], numbers[:, 1]])
