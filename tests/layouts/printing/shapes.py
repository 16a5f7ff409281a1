"""Small drawn parts of known volume."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from layouts.parts.drawing import drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.slabs.bore import Bore
from layouts.slabs.profile import Loop, circle, polygon

__all__ = ["block", "part_of", "rectangle"]


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Loop:
    """An upright rectangle."""
    return polygon([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def part_of(
    features: Sequence[Feature], *, bores: Sequence[Bore] = (), role: str = "tub", copies: int = 1
) -> Part:
    """A part from features."""
    return Part(
        name="piece",
        role=role,
        field="enclosure",
        drawing=drawing_of(features, part="piece", field="enclosure", bores=bores),
        placed=(np.eye(4),) * copies,
        colour=(0.5, 0.5, 0.5),
    )


def block(
    x_mm: float, y_mm: float, z_mm: float, *, hole_mm: float = 0.0, role: str = "tub",
    copies: int = 1,
) -> Part:  # fmt: skip
    """A block standing on z = 0, with a round hole through its middle; ``hole_mm``: its
    diameter."""
    features = [
        Feature(name="block", loops=(rectangle(0.0, 0.0, x_mm, y_mm),), z0_mm=0.0, z1_mm=z_mm)
    ]
    if hole_mm:
        loop = circle((x_mm / 2.0, y_mm / 2.0), hole_mm / 2.0)
        features.append(
            Feature(name="hole", loops=(loop,), z0_mm=0.0, z1_mm=z_mm, effect=Effect.CUT)
        )
    return part_of(features, role=role, copies=copies)
