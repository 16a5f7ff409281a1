"""A barrier's volume from its sizes alone."""

from __future__ import annotations

import numpy as np

from layouts.holders.barriers import BarrierDesign


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
