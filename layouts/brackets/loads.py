"""What each bracket bears of the pack's jolts: the pack as a stiff body on equal brackets."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.strength import GRAVITY_M_S2
from layouts.pack import Pack

__all__ = ["BracketLoad", "bracket_loads", "guessed_mass_kg", "hold_a_body", "spring_rows"]

Floats = NDArray[np.float64]

# A finished pack against its bare cells, on the safe side; common practice, no source.
PACK_OVER_CELLS = 1.6
SMALL_PARTS_KG = 0.5

STEP_DEG = 3.0  # between directions of a jolt: a cosine is off by less than one in a thousand


def guessed_mass_kg(pack: Pack) -> float:
    """Mass for sizing brackets and walls before parts are drawn: more than the finished pack
    weighs."""
    cells_kg = pack.series * pack.parallel * pack.cell.mass_g / 1000.0
    return cells_kg * PACK_OVER_CELLS + SMALL_PARTS_KG


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BracketLoad:
    """Forces between the frame and one bracket.

    ``forces_n`` (3, 3): rows off the wall, along it and up, columns for 1 g along the pack's x, y
    and z. ``level_g``: both level accelerations at once, in whatever direction: the pack may be
    turned in its space. ``upright_g``: with them."""

    pad: MountingPad
    forces_n: Floats
    level_g: float
    upright_g: float

    def most(self, *, off: float = 0.0, along: float = 0.0, up: float = 0.0) -> float:
        """Greatest value of a sum of the three forces, each times its factor, whatever the signs
        of the accelerations."""
        x, y, z = np.array((off, along, up)) @ self.forces_n
        return float(self.level_g * math.hypot(x, y) + self.upright_g * abs(z))

    def most_added(self, *, off: float = 0.0, along: float = 0.0, up: float = 0.0) -> float:
        """The same where the three act together in whatever signs is worst, as on the corners of a
        section."""
        signs = itertools.product((1.0, -1.0), repeat=2)
        return max(self.most(off=off, along=s * along, up=t * up) for s, t in signs)

    def jolts_n(self) -> Floats:
        """(n, 3) the three forces in jolts from all sides, of both signs upright."""
        turned = np.radians(np.arange(0.0, 360.0, STEP_DEG))
        level = self.level_g * np.stack([np.cos(turned), np.sin(turned)], axis=1)
        upright = np.full((len(turned), 1), self.upright_g)
        jolts = np.vstack([np.hstack([level, s * upright]) for s in (1.0, -1.0)])
        return np.asarray(jolts @ self.forces_n.T)


def bracket_loads(
    pack: Pack, pads: Sequence[MountingPad], hold: Hold, *, mass_kg: float
) -> tuple[BracketLoad, ...]:
    """One for each pad, for all accelerations of the pack's load at once.

    Forces at the cells' centre, balanced by equal springs in all directions (common practice, no
    source), two at each bracket as far apart as its pad's screws: so a jolt along the floor, above
    the frame's holds, also lifts brackets on one side. What rests on the frame below is left out,
    on the safe side. Raises ValueError without a load, or where the pads cannot hold a body."""
    if pack.load is None:
        raise ValueError("load: without one there is no acceleration to withstand")
    points = np.array([_points(pad, hold) for pad in pads]).reshape(-1, 3)
    rows = np.array([_motion(point) for point in points])  # (2 n, 3, 6)
    stiffness = np.einsum("pij,pik->jk", rows, rows)
    if np.linalg.matrix_rank(stiffness, rtol=1e-9) < 6:
        raise ValueError("pads: brackets on one line hold no pack")
    centre = _motion(np.array((0.0, 0.0, pack.lip_to_lip_mm / 2.0)))
    moved = np.linalg.solve(stiffness, centre.T * mass_kg * GRAVITY_M_S2)  # (6, 3)
    forces = (rows @ moved).reshape(len(pads), 2, 3, 3).sum(axis=1)
    x_g, y_g, z_g = pack.load.acceleration_g
    return tuple(
        BracketLoad(
            pad=pad,
            forces_n=np.array(((*pad.normal, 0.0), (*pad.right, 0.0), (0.0, 0.0, 1.0))) @ force,
            level_g=math.hypot(x_g, y_g),
            upright_g=abs(z_g),
        )
        for pad, force in zip(pads, forces, strict=True)
    )


def hold_a_body(pads: Sequence[MountingPad], hold: Hold) -> bool:
    """Whether brackets at these pads hold a body at all: not one alone, nor all on one line."""
    if len(pads) < 2:
        return False
    points = np.array([_points(pad, hold) for pad in pads]).reshape(-1, 3)
    rows = np.array([_motion(point) for point in points])
    stiffness = np.einsum("pij,pik->jk", rows, rows)
    return int(np.linalg.matrix_rank(stiffness, rtol=1e-9)) == 6


def spring_rows(
    pads: Sequence[MountingPad], hold: Hold, *, centre_z_mm: float
) -> tuple[Floats, Floats]:
    """How the points that springs hold move by the pack's shifts and turns about its centre.

    (2 n, 3, 6) in the pack's axes, mm a mm and mm a radian; (2 n, 3, 3) each bracket's axes: off
    its wall, along it, up."""
    points = np.array([_points(pad, hold) for pad in pads]).reshape(-1, 3)
    rows = np.array([_motion(point - np.array((0.0, 0.0, centre_z_mm))) for point in points])
    axes = np.array(
        [((*pad.normal, 0.0), (*pad.right, 0.0), (0.0, 0.0, 1.0)) for pad in pads for _ in range(2)]
    )
    return rows, axes


def _points(pad: MountingPad, hold: Hold) -> Floats:
    """(2, 3) where springs hold a bracket."""
    z = pad.underside_mm - hold.below_mm
    return np.array(
        [
            (*pad.at_mm(pad.along_mm + side * pad.apart_mm / 2.0, pad.face_mm + hold.out_mm), z)
            for side in (-1.0, 1.0)
        ]
    )


def _motion(point: Floats) -> Floats:
    """(3, 6) how a point of a stiff body moves by its shifts and turns."""
    x, y, z = point
    turn = np.array(((0.0, z, -y), (-z, 0.0, x), (y, -x, 0.0)))
    return np.hstack([np.eye(3), turn])
