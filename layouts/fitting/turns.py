"""Ways in which a pack can be turned in a space: right angles, turns about an axis, in words."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from layouts.fitting.obstacles import Obstacle
from layouts.pack import Side

__all__ = [
    "Turn",
    "about",
    "by_vector",
    "lead_way",
    "oddness",
    "right_angles",
    "straight",
    "turn_words",
    "turns_of",
    "upright_turns",
]

FloatArray = NDArray[np.float64]

GRID_DEG = 15.0  # turns about an axis are tried so far apart, besides those along walls
WALLS = 3  # most frequent directions of walls that are tried besides
LEVEL = 0.2  # a wall counts for an axis when its normal lies within 11.5 degrees of square to it
BIN_DEG = 2.0
NAMES = {(1, 0, 0): "+x", (-1, 0, 0): "-x", (0, 1, 0): "+y", (0, -1, 0): "-y"}
NAMES |= {(0, 0, 1): "+z", (0, 0, -1): "-z"}
STRAIGHT_DEG = 0.005  # turned by less, a pack stands straight


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Turn:
    """A turn to begin a search with.

    ``square`` (3, 3): the right-angle turn; then ``angle_deg`` about the space's ``axis``
    (0, 1, 2), which a refinement may change.
    """

    square: FloatArray
    axis: int
    angle_deg: float

    @property
    def matrix(self) -> FloatArray:
        """(3, 3) the whole turn."""
        turned: FloatArray = about(self.axis, self.angle_deg) @ self.square
        return turned


def about(axis: int, angle_deg: float) -> FloatArray:
    """(3, 3) turn about x, y or z; whole quarters are exact."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    if angle_deg % 90.0 == 0.0:
        c, s = round(c), round(s)
    a, b = [(1, 2), (2, 0), (0, 1)][axis]
    turn = np.eye(3)
    turn[a, a] = turn[b, b] = c
    turn[a, b], turn[b, a] = -s, s
    return turn


def by_vector(vector_rad: FloatArray) -> FloatArray:
    """(..., 3, 3) turns about the directions of vectors (..., 3) by their lengths in radians."""
    turn: FloatArray = Rotation.from_rotvec(vector_rad).as_matrix()
    return turn


def right_angles(side: Side) -> tuple[FloatArray, ...]:
    """All 24 right-angle turns; first upright ones, the leads towards ``side`` first of all."""
    made = []
    for order in itertools.permutations(range(3)):
        for signs in itertools.product((1.0, -1.0), repeat=3):
            turn = np.zeros((3, 3))
            for row, (column, sign) in enumerate(zip(order, signs, strict=True)):
                turn[row, column] = sign
            if np.linalg.det(turn) > 0:
                made.append(turn)
    wanted = about(2, _side_deg(side))
    return tuple(
        sorted(
            made,
            key=lambda t: (
                -t[2, 2],
                not np.array_equal(t, wanted),
                -float(t[:, 0] @ wanted[:, 0]),
                t.tolist(),
            ),
        )
    )


def _side_deg(side: Side) -> float:
    return {Side.PLUS_X: 0.0, Side.PLUS_Y: 90.0, Side.MINUS_X: 180.0, Side.MINUS_Y: 270.0}[side]


def turns_of(obstacles: Sequence[Obstacle], side: Side) -> tuple[Turn, ...]:
    """Every turn that a search begins with: right angles, then turned along walls and by steps.

    Where the free space stands on a floor only turns about z besides; else about x, y and z."""
    floor = any(one.floor for one in obstacles)
    squares = right_angles(side)
    turns = [Turn(square=square, axis=2, angle_deg=0.0) for square in squares]
    for axis in (2,) if floor else (2, 1, 0):
        for angle in _angles(obstacles, axis):
            turns += [Turn(square=square, axis=axis, angle_deg=angle) for square in squares]
    return tuple(turns)


def upright_turns(obstacles: Sequence[Obstacle], side: Side) -> tuple[Turn, ...]:
    """Cells upright and the leads towards ``side`` of the plan, give or take 45 degrees."""
    square = about(2, _side_deg(side))
    angles = (0.0, *_angles(obstacles, 2))
    return tuple(Turn(square=square, axis=2, angle_deg=angle) for angle in angles)


def _angles(obstacles: Sequence[Obstacle], axis: int) -> tuple[float, ...]:
    """Turns about an axis within (-45, 45] degrees, none 0: along frequent walls, and by steps."""
    a, b = [(1, 2), (2, 0), (0, 1)][axis]
    bins = round(90.0 / BIN_DEG)
    weight = np.zeros(bins)
    sums = np.zeros(bins)
    for one in obstacles:
        surface = one.surface
        sides = surface.small[:, 1:] - surface.small[:, :1]
        area = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1) / 2
        normal = surface.normal[surface.parent]
        level = np.abs(normal[:, axis]) < LEVEL
        angle = np.degrees(np.arctan2(normal[level, b], normal[level, a])) % 90.0
        place = np.minimum((angle / BIN_DEG).astype(np.int64), bins - 1)
        np.add.at(weight, place, area[level])
        np.add.at(sums, place, area[level] * angle)
    found = []
    for place in np.argsort(-weight, kind="stable")[: WALLS + 1]:
        if weight[place] > 0.02 * weight.sum():
            found.append(_folded(float(sums[place] / weight[place])))
    steps = np.arange(-45.0 + GRID_DEG, 45.0 + 1e-9, GRID_DEG).tolist()
    kept: list[float] = []
    for angle in [*found, *steps]:
        if abs(angle) > BIN_DEG / 4 and all(abs(angle - other) > BIN_DEG for other in kept):
            kept.append(angle)
    return tuple(kept)


def _folded(angle_deg: float) -> float:
    folded = angle_deg % 90.0
    return folded - 90.0 if folded > 45.0 else folded


def straight(turn: FloatArray) -> bool:
    """Whether a turn (3, 3) is one of the right-angle turns."""
    return bool(np.abs(np.abs(turn).max(axis=0) - 1.0).max() < 1e-12)


def lead_way(side: Side) -> FloatArray:
    """(3,) unit vector towards a side of the plan."""
    return about(2, _side_deg(side))[:, 0]


def oddness(turn: FloatArray, side: Side) -> tuple[bool, float, float]:
    """Less is a more usual stand: at right angles, then upright, then leads towards ``side``."""
    wanted = lead_way(side)
    return not straight(turn), -round(float(turn[2, 2]), 3), -round(float(turn[:, 0] @ wanted), 3)


def turn_words(turn: FloatArray) -> str:
    """How a pack stands that is turned so (3, 3): where its cells' axis and its leads point.

    Further turns are about the space's axes, one after the other as they are told."""
    square, angles = _split(turn)
    up = _name(square[:, 2])
    stands = {"+z": "upright", "-z": "upside down"}.get(up, f"on its side, lid towards {up}")
    words = f"{stands}, leads towards {_name(square[:, 0])}"
    turned = [
        f"{angle:.2f} degrees about {axis}"
        for axis, angle in zip("xyz", angles, strict=True)
        if abs(angle) >= STRAIGHT_DEG
    ]
    return words + (f", then turned {', then '.join(turned)}" if turned else "")


def _split(turn: FloatArray) -> tuple[FloatArray, tuple[float, float, float]]:
    """The nearest right-angle turn; then degrees about x, about y and about z, in this order."""
    best = max(right_angles(Side.PLUS_X), key=lambda square: float((square * turn).sum()))
    rest = turn @ best.T
    y = math.degrees(math.asin(min(1.0, max(-1.0, -rest[2, 0]))))
    x = math.degrees(math.atan2(rest[2, 1], rest[2, 2]))
    z = math.degrees(math.atan2(rest[1, 0], rest[0, 0]))
    return best, (x, y, z)


def _name(way: FloatArray) -> str:
    x, y, z = (round(float(v)) for v in way)
    return NAMES[(x, y, z)]
