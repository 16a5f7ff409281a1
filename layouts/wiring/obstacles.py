"""What a wire must keep clear of: upright prisms and discs, bars, other wires, the room's walls."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.parts.shell import Rect

__all__ = [
    "Block",
    "Obstacle",
    "Round",
    "Tube",
    "UprightPost",
    "WireRoom",
    "nearest",
    "own_reach_mm",
]

Points = NDArray[np.float64]

JOINED_MM = 14.0  # a crimp, a nut or a post next to it


@dataclass(frozen=True, kw_only=True, slots=True)
class Block:
    """A body of a rectangular plan between two heights."""

    name: str
    rect: Rect
    z0_mm: float
    z1_mm: float

    def gap_mm(self, at_mm: Points) -> Points:
        """From points (n, 3) to its surface; negative inside."""
        r = self.rect
        low, high = np.array([r.x0, r.y0, self.z0_mm]), np.array([r.x1, r.y1, self.z1_mm])
        off = np.maximum(low - at_mm, at_mm - high)
        gap: Points = np.linalg.norm(np.maximum(off, 0.0), axis=-1)
        gap += np.minimum(off.max(axis=-1), 0.0)
        return gap


@dataclass(frozen=True, kw_only=True, slots=True)
class UprightPost:
    """An upright round body between two heights."""

    name: str
    x_mm: float
    y_mm: float
    radius_mm: float
    z0_mm: float
    z1_mm: float

    def gap_mm(self, at_mm: Points) -> Points:
        """From points (n, 3) to its surface; negative inside."""
        aside = np.hypot(at_mm[..., 0] - self.x_mm, at_mm[..., 1] - self.y_mm) - self.radius_mm
        along = np.maximum(self.z0_mm - at_mm[..., 2], at_mm[..., 2] - self.z1_mm)
        return _of_two(aside, along)


@dataclass(frozen=True, kw_only=True, slots=True)
class Round:
    """A round body along x or y, such as a gland's nut. ``axis`` 0: along x, 1: along y."""

    name: str
    axis: int
    from_mm: float
    to_mm: float
    across_mm: float
    z_mm: float
    radius_mm: float

    def gap_mm(self, at_mm: Points) -> Points:
        """From points (n, 3) to its surface; negative inside."""
        along_at, across_at = at_mm[..., self.axis], at_mm[..., 1 - self.axis]
        aside = np.hypot(across_at - self.across_mm, at_mm[..., 2] - self.z_mm) - self.radius_mm
        return _of_two(aside, np.maximum(self.from_mm - along_at, along_at - self.to_mm))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Tube:
    """A wire that lies already: points (n, 3) of its middle, close to each other."""

    name: str
    line_mm: Points
    radius_mm: float

    def gap_mm(self, at_mm: Points) -> Points:
        """From points (n, 3) to its surface; negative inside."""
        flat = at_mm.reshape(-1, 1, 3)
        off = np.linalg.norm(flat - self.line_mm[None], axis=-1).min(axis=1)
        gap: Points = off.reshape(at_mm.shape[:-1]) - self.radius_mm
        return gap


Obstacle = Block | UprightPost | Round | Tube


@dataclass(frozen=True, kw_only=True, slots=True)
class WireRoom:
    """The inside in which wires lie: an upright box, with the name of each side."""

    rect: Rect
    z0_mm: float
    z1_mm: float
    names: tuple[str, str, str, str, str, str]  # -x, -y, floor, +x, +y, lid

    def gaps_mm(self, at_mm: Points) -> Points:
        """(n, 6) from points to each side, negative outside."""
        low = np.array([self.rect.x0, self.rect.y0, self.z0_mm])
        high = np.array([self.rect.x1, self.rect.y1, self.z1_mm])
        return np.concatenate([at_mm - low, high - at_mm], axis=-1)


def _of_two(aside: Points, along: Points) -> Points:
    gap: Points = np.hypot(np.maximum(aside, 0.0), np.maximum(along, 0.0))
    gap += np.minimum(np.maximum(aside, along), 0.0)
    return gap


def nearest(
    line_mm: Points,
    room: WireRoom,
    obstacles: Iterable[Obstacle],
    own: Sequence[str],
    own_reach_mm: float = np.inf,
) -> tuple[float, str, Points]:
    """The least gap of points (n, 3) to the room's sides and to obstacles; what is there, and the
    point.

    ``own``: bodies that the wire is joined to at its ends: not looked at within ``own_reach_mm``
    of these."""
    worst: tuple[float, str, Points] = (np.inf, "", line_mm[0])
    sides = room.gaps_mm(line_mm)
    for k, name in enumerate(room.names):
        at = int(np.argmin(sides[:, k]))
        if sides[at, k] < worst[0]:
            worst = float(sides[at, k]), name, line_mm[at]
    off = np.linalg.norm(line_mm[:, None] - line_mm[[0, -1]][None], axis=2).min(axis=1)
    between = line_mm[off > own_reach_mm]
    for one in obstacles:
        seen = between if one.name in own else line_mm
        if not len(seen):
            continue
        gaps = one.gap_mm(seen)
        at = int(np.argmin(gaps))
        if gaps[at] < worst[0]:
            worst = float(gaps[at]), one.name, seen[at]
    return worst


def own_reach_mm(outside_mm: float) -> float:
    """How far from its ends a wire may touch what it is joined to."""
    return JOINED_MM + outside_mm
