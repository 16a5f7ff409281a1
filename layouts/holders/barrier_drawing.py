"""A thin zigzag wall between distant groups side by side; it stands in grooves of both holders."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.holders.barriers import BarrierDesign
from layouts.parts.part import Part
from layouts.slabs.profile import polygon
from layouts.slabs.slabs import Body, Slab, build

__all__ = ["barrier_body", "barrier_formula_mm3", "barrier_part", "barrier_placement"]

COLOUR = (0.88, 0.86, 0.80)
PRINT_NOTE = "standing on its long edge (as in the file), brim 5 mm, no support"


def barrier_body(design: BarrierDesign) -> Body:
    """The wall standing on z = 0, its plan about the pack's own origin."""
    loop = polygon([(float(x), float(y)) for x, y in design.points_mm])
    return build(
        {"wall": [loop]},
        [Slab(0.0, design.height_mm, lambda inside: np.asarray(inside["wall"]))],
    )


def barrier_formula_mm3(design: BarrierDesign) -> float:
    """Thickness times the length of the wall's middle line times its height [mm3].

    The wall's two long sides run parallel, mitred at the corners: what a corner adds outside it
    takes inside. The middle line's length is half that of the rim without the two ends, for the
    inner side is shorter by as much as the outer one is longer (plane geometry).
    """
    points = np.asarray(design.points_mm, dtype=np.float64)
    rim = np.hypot(*(np.roll(points, -1, axis=0) - points).T).sum()
    middle = (rim - 2 * design.thick_mm) / 2
    return float(design.thick_mm * middle * design.height_mm)


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
        body=barrier_body(design),
        formula_mm3=barrier_formula_mm3(design),
        placed=(barrier_placement(design),),
        colour=COLOUR,
        print_note=PRINT_NOTE,
    )
