"""What a cut leaves thinner than two lines beside it: skins along it, knife edges at its end."""

from __future__ import annotations

import pytest
import shapely

from layouts.enclosures.fitted.stubs import thin_ends
from layouts.parts.shell import box

WALL = shapely.box(0.0, 0.0, 60.0, 1.26)


def left_after(cut: shapely.Polygon) -> shapely.Geometry:
    """A wall with a cut and what is thin beside it taken away."""
    rest = WALL.difference(cut)
    return rest.difference(shapely.union_all([box(rect) for rect in thin_ends(rest, cut)]))


def test_a_skin_along_a_cut_goes() -> None:
    """A cut of 1 mm into a wall of 1.26 leaves 0.26: none of it stays, and little else goes."""
    cut = shapely.box(20.0, -1.0, 40.0, 1.0)
    left = left_after(cut)
    assert left.intersection(shapely.box(20.0, 0.0, 40.0, 2.0)).area < 1e-9
    assert left.area == pytest.approx(40.0 * 1.26, rel=0.02)


def test_a_knife_edge_goes() -> None:
    """A cut across at ten degrees leaves an end as thick as two lines."""
    cut = shapely.Polygon([(20.0, 0.0), (40.0, 3.5), (60.1, 3.5), (60.1, 0.0)])
    left = left_after(cut)
    end = left.bounds[2]
    assert left.intersection(shapely.box(end - 0.5, 0.0, end, 2.0)).area > 0.5 * 0.6
    assert left.area > 0.9 * WALL.difference(cut).area


def test_square_ends_and_thin_walls_elsewhere_stay() -> None:
    """Across, square: nothing is thin. Nor is anything taken that no cut touches."""
    assert thin_ends(WALL.difference(cut := shapely.box(20.0, -1.0, 30.0, 2.0)), cut) == ()
    thin = shapely.box(0.0, 5.0, 30.0, 5.5)
    assert thin_ends(thin, shapely.box(50.0, 0.0, 51.0, 1.0)) == ()
