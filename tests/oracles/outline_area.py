"""Area of an outline from its arcs alone."""

from __future__ import annotations

import numpy as np

from layouts.slabs.areas import ArcChain


def outline_area_mm2(outline: ArcChain) -> float:
    """Area within a closed chain of tangent arcs [mm2].

    Neighbouring arcs touch on the line that joins their centres, so the area is the polygon of
    the centres, plus half R squared times the sweep of each convex arc, less that of each
    concave one (plane geometry).
    """
    sectors = sum(0.5 * arc.radius_mm**2 * arc.sweep_rad for arc in outline.arcs)
    if len(outline.arcs) < 3:
        return float(sectors)
    centres = np.array([arc.centre_mm for arc in outline.arcs], dtype=np.float64)
    x, y = (centres - centres[0]).T  # far from the origin the products would lose digits
    return float(0.5 * (x * np.roll(y, -1) - np.roll(x, -1) * y).sum() + sectors)
