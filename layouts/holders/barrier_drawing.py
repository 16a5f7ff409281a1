"""A thin zigzag wall between distant groups side by side; it stands in grooves of both holders."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.holders.barriers import BarrierDesign
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Feature
from layouts.parts.part import Part
from layouts.slabs.profile import polygon

__all__ = ["barrier_drawing", "barrier_part", "barrier_placement"]

FIELD = "holder"  # of the pack file: its sizes come from there
COLOUR = (0.88, 0.86, 0.80)
PRINT_NOTE = "standing on its long edge (as in the file), brim 5 mm, no support"


def barrier_drawing(design: BarrierDesign) -> Drawing:
    """The wall standing on z = 0, its plan about the pack's own origin."""
    loop = polygon([(float(x), float(y)) for x, y in design.points_mm])
    wall = Feature(name="wall", loops=(loop,), z0_mm=0.0, z1_mm=design.height_mm)
    return drawing_of((wall,), part=design.name, field=FIELD)


def barrier_placement(design: BarrierDesign) -> NDArray[np.float64]:
    """(4, 4) from the wall's file to the assembly: straight up to its lower edge's height."""
    matrix = np.eye(4)
    matrix[2, 3] = design.z_mm
    return matrix


def barrier_part(design: BarrierDesign) -> Part:
    """The wall as a part."""
    return Part(
        name=design.name,
        role="barrier",
        field=FIELD,
        drawing=barrier_drawing(design),
        placed=(barrier_placement(design),),
        colour=COLOUR,
        print_note=PRINT_NOTE,
    )
