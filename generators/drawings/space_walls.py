"""The walls of a space in its plan: a hatched band outside what is free, and its edge."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.drawings.svg import path_of

__all__ = ["HATCH", "WALL_MM", "rings_path", "space_walls", "walls_shape"]

WALL_MM = 5.0  # width of the band

HATCH = (
    '<defs><pattern id="wall" patternUnits="userSpaceOnUse" width="2" height="2" '
    'patternTransform="rotate(45)"><path d="M0 0V2" stroke="#000" stroke-width="0.4"/>'
    "</pattern></defs>"
)


def space_walls(free: BaseGeometry) -> list[str]:
    """The band and the edge of a free plan; a picture with them begins with ``HATCH``."""
    return [
        f'<path d="{rings_path(walls_shape(free))}" fill="url(#wall)" fill-rule="evenodd" '
        'stroke="none"/>',
        f'<path d="{rings_path(free)}" fill="none" stroke="#000" stroke-width="0.6"/>',
    ]


def walls_shape(free: BaseGeometry) -> BaseGeometry:
    """The band round a free plan."""
    return free.buffer(WALL_MM, join_style="mitre").difference(free)


def rings_path(shape: shapely.Geometry) -> str:
    """Path commands along all rings of a shape."""
    return "".join(path_of(ring, closed=True) for ring in _rings(shape))


def _rings(shape: shapely.Geometry) -> list[NDArray[np.float64]]:
    """All rings of a shape, (n, 2) each, not closed."""
    found = []
    for part in shapely.get_parts(shape):
        if isinstance(part, shapely.Polygon):
            for ring in (part.exterior, *part.interiors):
                found.append(np.asarray(shapely.get_coordinates(ring)[:-1]))
    return found
