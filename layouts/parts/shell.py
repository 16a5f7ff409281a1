"""What every enclosure is, whatever its form: walls round a cavity, floor, lid, heights."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

__all__ = ["BoardPlace", "Rect", "Shell", "box", "disc", "ring_of", "shifted"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Rect:
    """An upright rectangle in the plan [mm]."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width along x and along y."""
        return self.x1 - self.x0, self.y1 - self.y0

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x and y, most x and y."""
        return self.x0, self.y0, self.x1, self.y1

    @property
    def centre_mm(self) -> tuple[float, float]:
        """Middle of the rectangle."""
        return (self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2

    def grown(self, by_mm: float) -> Rect:
        """The rectangle grown on all four sides."""
        return Rect(x0=self.x0 - by_mm, y0=self.y0 - by_mm, x1=self.x1 + by_mm, y1=self.y1 + by_mm)


@dataclass(frozen=True, kw_only=True, slots=True)
class Shell:
    """Walls, floor and lid of an enclosure as prisms over its plan, in pack coordinates [mm].

    ``cavity``: inside of the walls; ``outer``: outside of the walls, corners sharp;
    ``corner_radius_mm``: radius of the outside's upright corners. z levels: ``z_under_mm``
    floor's underside, ``z_floor_mm`` its top, ``z_rim_mm`` top of the walls and underside of the
    lid, ``z_lid_mm`` the lid's outer face.
    """

    cavity: shapely.Polygon
    outer: shapely.Polygon
    corner_radius_mm: float
    wall_mm: float
    z_under_mm: float
    z_floor_mm: float
    z_rim_mm: float
    z_lid_mm: float

    @property
    def floor_mm(self) -> float:
        """Thickness of the floor."""
        return self.z_floor_mm - self.z_under_mm

    @property
    def lid_mm(self) -> float:
        """Thickness of the lid's plate."""
        return self.z_lid_mm - self.z_rim_mm

    @property
    def is_rectangle(self) -> bool:
        """Whether its plan is an upright rectangle."""
        return bool(self.cavity.equals(shapely.box(*self.cavity.bounds)))

    @property
    def high_mm(self) -> float:
        """From the floor's underside to the lid's outer face."""
        return self.z_lid_mm - self.z_under_mm

    @property
    def inside_mm(self) -> float:
        """Height of the cavity."""
        return self.z_rim_mm - self.z_floor_mm


@dataclass(frozen=True, kw_only=True, slots=True)
class BoardPlace:
    """Where the protection board stands: its plan, its lower and its upper edge."""

    plan: Rect
    z0_mm: float
    z1_mm: float

    @property
    def centre_mm(self) -> tuple[float, float, float]:
        """The board's middle."""
        x, y = self.plan.centre_mm
        return x, y, (self.z0_mm + self.z1_mm) / 2


def box(rect: Rect) -> shapely.Polygon:
    """A rectangle as a shape."""
    return shapely.box(*rect.bounds)


def disc(x_mm: float, y_mm: float, radius_mm: float) -> BaseGeometry:
    """A disc as a fine polygon."""
    return shapely.Point(x_mm, y_mm).buffer(radius_mm, quad_segs=64)


def ring_of(shape: shapely.Polygon) -> list[tuple[float, float]]:
    """Corners of a polygon, counter-clockwise from the one nearest to -x -y."""
    ring = [(float(x), float(y)) for x, y in shapely.orient_polygons(shape).exterior.coords[:-1]]
    first = min(range(len(ring)), key=lambda k: sum(ring[k]))
    return ring[first:] + ring[:first]


def shifted(shapes: BaseGeometry, dx_mm: float, dy_mm: float) -> BaseGeometry:
    """The shape moved in the plan."""
    return shapely.transform(shapes, lambda xy: xy + (dx_mm, dy_mm))
