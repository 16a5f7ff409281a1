"""Openings of the partition at a main lead's landing: what they leave of it can be printed."""

from __future__ import annotations

import pytest
import shapely

from layouts.enclosures.fitted.design import SKIN_MM, _opening
from layouts.parts.shell import Rect, box

HELD = shapely.box(-46.0, -95.0, 44.6, 93.6)
LANDING = Rect(x0=39.6, y0=-94.36, x1=59.6, y1=-80.76)
THICK_MM = 1.26


def partition(*path: tuple[float, float]) -> shapely.Polygon:
    """A wall round the line through some points, its corners rounded."""
    return shapely.LineString(path).buffer(3.0).buffer(-3.0 + THICK_MM / 2)


def thin_mm2(shape: shapely.Geometry) -> float:
    """Area that no disc as wide as two lines gets into."""
    half = SKIN_MM / 2
    return float(shape.difference(shape.buffer(-half).buffer(half + 0.02)).area)


@pytest.mark.parametrize("way_y", [1.0, -1.0])
def test_a_partition_that_runs_along_a_landing_stays_whole(way_y: float) -> None:
    """Along its side, at one end turning away from it, at the other crossing it: no skin is left,
    and the landing is open all the same."""
    y = -80.76 + THICK_MM / 2 + 0.01
    wall = partition((30.0, -60.0), (30.0, y), (46.0, y), (46.0, -97.0))
    turned = shapely.transform(wall, lambda xy: xy * [1.0, way_y])
    rect = Rect(x0=39.6, x1=59.6, y0=min(-94.36 * way_y, -80.76 * way_y),
                y1=max(-94.36 * way_y, -80.76 * way_y))  # fmt: skip
    held = shapely.transform(HELD, lambda xy: xy * [1.0, way_y])
    opening = _opening(rect, held, turned)
    left = turned.difference(box(opening))
    assert thin_mm2(left) < 0.3
    assert left.intersection(shapely.box(32.0, -100.0, 44.0, 100.0)).area > 0.95 * 12.0 * THICK_MM
    assert not left.intersects(box(rect.grown(-0.1)))
    # an opening with the usual room beside the landing leaves one
    assert thin_mm2(turned.difference(box(rect.grown(1.0)))) > 2.0


def test_a_partition_that_crosses_is_left_out_with_some_room_beside_the_landing() -> None:
    """Straight across, and at a slant: 1 mm beside it on both sides."""
    for lean in (0.0, 3.0):
        wall = partition((50.0 - lean, -70.0), (50.0 + lean, -97.0))
        opening = _opening(LANDING, HELD, wall)
        assert (opening.y0, opening.y1) == pytest.approx((LANDING.y0 - 1.0, LANDING.y1 + 1.0))
