"""Screws of brackets shaped as an L: through the leg into a mounting pad, through the foot into
the frame. In the bracket's own plan x runs away from the pad, y up the leg, z along the wall."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from layouts.parts.fasteners import Into
from layouts.parts.screw import PlacedScrew

__all__ = ["frame_screws", "pad_screws"]

Holes = Sequence[tuple[float, float]]


def pad_screws(
    number: int,
    matrix: NDArray[np.float64],
    holes: Holes,
    *,
    thickness_mm: float,
    screw: str,
    length_mm: float,
) -> list[PlacedScrew]:
    """Through the leg of bracket ``number`` into a mounting pad's inserts.

    ``matrix`` (4, 4): from its plan to the pack's coordinates. ``holes``: (up the leg, along)."""
    turn, shift = matrix[:3, :3], matrix[:3, 3]
    return [
        PlacedScrew(
            where="brackets to mounting pads",
            name=f"screw in mounting pad {number}",
            heads=f"screw heads on bracket {number}",
            screw=screw,
            at_mm=turn @ np.array((thickness_mm, up, along)) + shift,
            out=turn @ np.array((1.0, 0.0, 0.0)),
            through_mm=thickness_mm,
            into=Into.INSERT,
            length_mm=length_mm,
            washer=True,
            on=number,
        )
        for up, along in holes
    ]


def frame_screws(
    number: int,
    matrix: NDArray[np.float64],
    holes: Holes,
    *,
    thickness_mm: float,
    screw: str,
) -> list[PlacedScrew]:
    """Through the foot of bracket ``number`` into the machine's frame; ``holes``: (out, along)."""
    turn, shift = matrix[:3, :3], matrix[:3, 3]
    return [
        PlacedScrew(
            where="brackets to the frame",
            name=f"frame screw of bracket {number}",
            heads=f"screw heads on bracket {number}",
            screw=screw,
            at_mm=turn @ np.array((out, thickness_mm, along)) + shift,
            out=turn @ np.array((0.0, 1.0, 0.0)),
            through_mm=thickness_mm,
            into=Into.FRAME,
            length_mm=None,
            washer=True,
            on=number,
        )
        for out, along in holes
    ]
