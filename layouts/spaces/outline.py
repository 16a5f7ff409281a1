"""Outlines made sound: corners that close, turn the right way round and never cross."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LinearRing, Polygon

from layouts.errors import PlanError
from layouts.spaces.space import Point, Prism

__all__ = ["LEAST_AREA_MM2", "place_of", "sound_prism", "sound_ring"]

SAME_MM = 1e-6  # corners nearer than this are one corner drawn twice; far below any saw's cut
LEAST_AREA_MM2 = 1.0  # less is a line, not a space


def sound_prism(
    outline_mm: Sequence[Sequence[float]],
    holes_mm: Sequence[Sequence[Sequence[float]]],
    height_mm: float,
    *,
    outline_field: str = "space.outline_mm",
    holes_field: str = "space.holes_mm",
) -> Prism:
    """The prism over an outline less its holes, all rings checked and turned the right way.

    Doubled corners are dropped. Raises PlanError, naming the place, where a ring is unsound (see
    ``sound_ring``), or a hole leaves the outline, crosses or touches it or another hole.
    """
    outline = sound_ring(outline_mm, field=outline_field)
    names = [f"{holes_field}.{number}" for number in range(1, len(holes_mm) + 1)]
    holes = tuple(
        sound_ring(hole, clockwise=True, field=name)
        for hole, name in zip(holes_mm, names, strict=True)
    )
    whole = Polygon(outline)
    shapely.prepare(whole)
    areas = [Polygon(hole) for hole in holes]
    for name, area in zip(names, areas, strict=True):
        if not shapely.contains_properly(whole, area):
            raise _astray(name, whole, area)
    for (_, first), (name, second) in combinations(zip(names, areas, strict=True), 2):
        if first.intersects(second):
            x, y = _middle(first.intersection(second))
            raise PlanError(
                field=name,
                why="overlaps or touches another hole",
                value=f"near {place_of(x, y)}",
                remedy="draw the two as one hole, or keep them apart",
            )
    return Prism(outline_mm=outline, holes_mm=holes, height_mm=float(height_mm))


def sound_ring(
    points_mm: Sequence[Sequence[float]], *, field: str, clockwise: bool = False
) -> tuple[Point, ...]:
    """A ring's corners, not closed, none doubled, counter-clockwise unless ``clockwise``.

    ``points_mm`` (n, 2), closed or not, either way round. Raises PlanError where fewer than
    three corners are left, the ring encloses nothing, or it crosses or touches itself.
    """
    ring = _without_doubles(np.asarray(points_mm, dtype=np.float64).reshape(-1, 2))
    if len(ring) < 3:
        raise PlanError(
            field=field,
            why="has fewer than three corners that differ",
            value=f"{len(ring)}",
            remedy="give the corners in order around the outline",
        )
    area = _signed_area_mm2(ring)
    extent = np.ptp(ring, axis=0)
    if np.linalg.matrix_rank(ring - ring[0], tol=SAME_MM) < 2:
        raise PlanError(
            field=field,
            why="encloses nothing, all corners lie on one line",
            value=f"{extent[0]:g} x {extent[1]:g} mm",
            remedy="give the corners in order around the outline",
        )
    if not LinearRing(ring).is_simple:
        raise _crossing(ring, field)
    if abs(area) < LEAST_AREA_MM2:
        raise PlanError(
            field=field,
            why=f"encloses less than {LEAST_AREA_MM2:g} mm2",
            value=f"{abs(area):.3g} mm2",
            remedy="give lengths in mm",
        )
    if (area < 0) is not clockwise:
        ring = ring[::-1]
    return tuple((float(x), float(y)) for x, y in ring)


def place_of(x_mm: float, y_mm: float) -> str:
    """A place as messages write it, to 0.01 mm, no minus before zero."""
    return f"[{round(x_mm, 2) + 0.0:g}, {round(y_mm, 2) + 0.0:g}]"


def _without_doubles(points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, 2) corners without those that repeat the one before, and without the closing one."""
    kept: list[NDArray[np.float64]] = []
    for point in points_mm:
        if not kept or np.abs(point - kept[-1]).max() > SAME_MM:
            kept.append(point)
    while len(kept) > 1 and np.abs(kept[0] - kept[-1]).max() <= SAME_MM:
        kept.pop()
    return np.array(kept).reshape(-1, 2)


def _signed_area_mm2(ring: NDArray[np.float64]) -> float:
    """Shoelace formula (plane geometry), from the first corner so that little is lost."""
    x, y = (ring - ring[0]).T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def _crossing(ring: NDArray[np.float64], field: str) -> PlanError:
    """Where a ring that is not simple first meets itself, in words.

    Sides next to each other count only by what they bring with them: where one runs back along
    the other, the side beyond it touches too.
    """
    sides = shapely.linestrings(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1))
    one, other = shapely.STRtree(sides).query(sides, predicate="intersects")
    count = len(ring)
    apart = (one < other) & (other - one > 1) & ~((one == 0) & (other == count - 1))
    pairs = sorted(zip(one[apart].tolist(), other[apart].tolist(), strict=True))
    first, second = pairs[0]
    x, y = _middle(shapely.intersection(sides[first], sides[second]))
    return PlanError(
        field=field,
        why=f"crosses or touches itself: side {first + 1} meets side {second + 1}",
        value=f"at {place_of(x, y)}",
        remedy="give the corners in order around the outline, with no side touching another",
    )


def _astray(field: str, whole: Polygon, area: Polygon) -> PlanError:
    """What is wrong with a hole that does not lie within the outline."""
    if not whole.intersects(area):
        return PlanError(
            field=field,
            why="lies outside the outline",
            value=f"near {place_of(*_middle(area))}",
            remedy="delete it, or check its coordinates",
        )
    x, y = _middle(whole.exterior.intersection(area.exterior) or area)
    return PlanError(
        field=field,
        why="crosses or touches the outline",
        value=f"near {place_of(x, y)}",
        remedy="draw the outline around it, or make it a keep_out",
    )


def _middle(shape: shapely.Geometry) -> Point:
    """A point on a shape: of several pieces on the first."""
    piece = next(iter(getattr(shape, "geoms", [shape])))
    point = piece.representative_point()
    return float(point.x), float(point.y)
