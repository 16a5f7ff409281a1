"""One part on its way from its drawing to files, proofs and report."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.parts.drawing import Drawing
from layouts.parts.given import GivenShape
from layouts.parts.metal_piece import MetalPiece
from layouts.parts.view import VIEW_FROM_ABOVE

# Largest error of R^T R against the unit matrix: float noise of a few turns multiplied.
ROTATION_NOISE = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Part:
    """One part, printed in this orientation, lowest point on z = 0, or bent from sheet metal.

    ``name``: file stem. ``role``: as in result.json (holder_lower, tub, bracket, ...).
    ``field``: section of the pack file that its sizes come from.
    ``drawing``: its features, the body that they make and the bores still to be cut from it; or a
    shape that was given.
    ``placed``: one (4, 4) matrix a copy, from the part file's coordinates to the
    assembly's; rotation and shift only. ``colour``: red, green, blue, each 0 to 1 (sRGB).
    ``view``: from where its picture is drawn. ``supports``: loose bodies in the same coordinates
    that are printed with each copy and thrown away; no part of it as placed. ``sheet``: of sheet
    metal, how it is cut; None: it is printed. Its corners are square in ``drawing``.
    Raises ValueError when a name cannot be a file stem or a matrix mirrors or stretches.
    """

    name: str
    role: str
    field: str
    drawing: Drawing | GivenShape
    placed: tuple[NDArray[np.float64], ...]
    colour: tuple[float, float, float]
    print_note: str = ""
    view: tuple[float, float, float] = VIEW_FROM_ABOVE
    supports: tuple[Drawing, ...] = ()
    sheet: MetalPiece | None = None

    @property
    def is_printed(self) -> bool:
        """Whether a printer makes it."""
        return self.sheet is None

    @property
    def supports_mm3(self) -> float:
        """Volume of what is thrown away after a copy is printed [mm3]."""
        return math.fsum(one.volume_mm3() for one in self.supports)

    def __post_init__(self) -> None:
        """Check what the kernel and the files would trip over later."""
        if not re.fullmatch(r"[A-Za-z0-9_-]+", self.name):
            raise ValueError(
                f"part name {self.name!r} is no file stem: use letters, digits, - and _"
            )
        if not all(0.0 <= share <= 1.0 for share in self.colour):
            raise ValueError(f"{self.name}: colour {self.colour} outside 0 to 1")
        for matrix in self.placed:
            check_rigid(matrix, what=self.name)


def check_rigid(matrix: NDArray[np.float64], *, what: str) -> None:
    """Refuse a (4, 4) placement that is not a rotation (determinant +1) and a shift."""
    placed = np.asarray(matrix, dtype=np.float64)
    if placed.shape != (4, 4) or not np.isfinite(placed).all():
        raise ValueError(f"{what}: a placement is a finite 4x4 matrix, not {placed.shape}")
    turn = placed[:3, :3]
    if (
        np.abs(turn.T @ turn - np.eye(3)).max() > ROTATION_NOISE
        or np.linalg.det(turn) < 0.0
        or np.abs(placed[3] - (0.0, 0.0, 0.0, 1.0)).max() > ROTATION_NOISE
    ):
        raise ValueError(f"{what}: a placement may only turn and shift, this one does more")
