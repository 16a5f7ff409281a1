"""Plans in polygons: exact for each angle, the gap the true one, pose and shift honest."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from layouts.pack import Side
from layouts.parts.outside import OutsidePiece
from layouts.spaces.regions import prism_solid
from layouts.spaces.space import Prism, Solid, Space
from layouts.suggesting.in_prism import fit_in_region, place_in_polygon, places
from layouts.suggesting.setting import Axis, Way

L_SHAPE = shapely.Polygon([(0, 0), (100, 0), (100, 40), (40, 40), (40, 100), (0, 100)])


def rect(x0: float, y0: float, x1: float, y1: float) -> NDArray[np.float64]:
    """Corners of a rectangle."""
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def block(corners: NDArray[np.float64], high: float = 20.0) -> OutsidePiece:
    """A piece of a pack."""
    return OutsidePiece(name="block", corners_mm=corners, z0_mm=0.0, z1_mm=high)


def test_a_rectangle_in_a_rectangle_has_all_the_play_there_is() -> None:
    """Places form the rectangle of both plays; the gap is half of the smaller one."""
    region = shapely.box(0, 0, 100, 60)
    found = places(region, [rect(0, 0, 80, 50)])
    assert found.bounds == pytest.approx((0, 0, 20, 10), abs=1e-3)
    assert found.area == pytest.approx(200, rel=1e-3)
    placed = place_in_polygon(region, [block(rect(0, 0, 80, 50))], start_deg=0.0)
    assert placed is not None
    assert placed.gap_mm == pytest.approx(5.0, abs=0.06)


def test_an_exact_fit_is_a_fit_and_a_hair_more_is_none() -> None:
    """Gap 0 is found; a twentieth of a millimetre more is refused."""
    region = shapely.box(0, 0, 100, 60)
    assert place_in_polygon(region, [block(rect(0, 0, 100, 60))], start_deg=0.0) is not None
    assert place_in_polygon(region, [block(rect(0, 0, 100.05, 60))], start_deg=0.0) is None


def test_an_l_fits_where_its_box_does_not() -> None:
    """Two pieces that follow the free space's corner fit; the box round them would not."""
    pieces = [block(rect(0, 0, 90, 30)), block(rect(0, 0, 30, 90))]
    placed = place_in_polygon(L_SHAPE, pieces, start_deg=0.0)
    assert placed is not None
    assert placed.gap_mm == pytest.approx(5.0, abs=0.06)
    assert place_in_polygon(L_SHAPE, [block(rect(0, 0, 90, 90))], start_deg=0.0) is None


def test_the_l_turned_wrong_does_not_fit() -> None:
    """The same pieces a half turn round would stand in the missing corner."""
    pieces = [block(rect(0, 0, 90, 30)), block(rect(0, 0, 30, 90))]
    assert place_in_polygon(L_SHAPE, pieces, start_deg=180.0) is None


def test_a_plan_is_turned_onto_an_edge() -> None:
    """In a space that stands askew only the turned plan fits."""
    region = shapely.affinity.rotate(shapely.box(0, 0, 100, 30), 30, origin=(0, 0))
    placed = place_in_polygon(region, [block(rect(0, 0, 96, 26))], start_deg=0.0)
    assert placed is not None
    assert placed.angle_deg == pytest.approx(30.0)
    assert placed.gap_mm == pytest.approx(2.0, abs=0.06)


def test_holes_are_kept_clear() -> None:
    """A pillar in the middle leaves only what is beside it."""
    region = shapely.box(0, 0, 100, 60).difference(shapely.box(48, 0, 52, 60))
    assert place_in_polygon(region, [block(rect(0, 0, 40, 40))], start_deg=0.0) is not None
    assert place_in_polygon(region, [block(rect(0, 0, 60, 40))], start_deg=0.0) is None


@given(
    seed=st.integers(0, 10_000),
    width=st.floats(5, 60),
    length=st.floats(5, 60),
)
@settings(max_examples=40, deadline=None)
def test_places_are_all_and_only_those_that_hold(seed: int, width: float, length: float) -> None:
    """Against a plain test of many shifts, in star-shaped spaces with dents."""
    random = np.random.default_rng(seed)
    angles = np.sort(random.uniform(0, math.tau, 9))
    radii = random.uniform(25, 60, 9)
    room = shapely.Polygon(np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]))
    if not room.is_valid:
        room = shapely.convex_hull(room)
    figure = rect(0, 0, width, length)
    found = places(room, [figure])
    shifts = random.uniform(-60, 60, (300, 2))
    moved = shapely.polygons(figure[None] + shifts[:, None])
    inside = shapely.covers(room, moved)
    near = shapely.distance(shapely.boundary(found), shapely.points(shifts)) < 0.01
    told = shapely.intersects(found, shapely.points(shifts))
    # at the edge of a place the test's own rounding decides
    assert (inside == told)[~near | np.isnan(shapely.boundary(found).length)].all()


def test_a_fit_in_an_outline_says_how_it_stands() -> None:
    """Gap and turn of a pack in an askew prism; one higher than the free space is refused."""
    region = shapely.affinity.rotate(shapely.box(0, 0, 100, 30), 20, origin=(0, 0))
    outline = tuple((float(x), float(y)) for x, y in region.exterior.coords[:-1])
    space = Space(room=Prism(outline_mm=outline, height_mm=25.0))
    way = Way(axis=Axis.Z, side=Side.PLUS_X)
    fit = fit_in_region([block(rect(0, 0, 94, 24))], space, way)
    assert fit.fits
    assert fit.gap_mm == pytest.approx(3.0, abs=0.06)
    assert fit.angle_deg == pytest.approx(20.0)
    high = fit_in_region([block(rect(0, 0, 94, 24), high=25.5)], space, way)
    assert high.gap_mm == pytest.approx(-0.5)
    block_ = [block(rect(0, 0, 94, 34))]
    assert not fit_in_region(block_, space, way).fits
    wide = fit_in_region(block_, space, way, measure_miss=True)
    assert wide.gap_mm == pytest.approx(-2.0, abs=1.0)  # 4 mm too wide: 2 on either side


def slab(x1: float, y1: float, z1: float) -> Solid:
    """A box as a mesh, its corner at the origin."""
    return prism_solid(Prism(outline_mm=((0.0, 0.0), (x1, 0.0), (x1, y1), (0.0, y1)), height_mm=z1))


def test_a_mesh_of_a_box_gives_what_the_box_gives() -> None:
    """The same gap whether the free space comes as a prism or as triangles."""
    way = Way(axis=Axis.Z, side=Side.PLUS_Y)
    pieces = [block(rect(0, 0, 80, 40))]
    outline = ((0.0, 0.0), (60.0, 0.0), (60.0, 110.0), (0.0, 110.0))
    plain = fit_in_region(pieces, Space(room=Prism(outline_mm=outline, height_mm=30.0)), way)
    mesh = fit_in_region(pieces, Space(room=slab(60.0, 110.0, 30.0)), way)
    assert mesh.fits
    assert mesh.gap_mm == pytest.approx(plain.gap_mm, abs=0.06)
    assert plain.gap_mm == pytest.approx(10.0, abs=0.06)


def test_what_lies_on_the_floor_is_stood_above() -> None:
    """A bolt head in the way leaves room higher up, or none where the free space is too low."""
    way = Way(axis=Axis.Z, side=Side.PLUS_X)
    pieces = [block(rect(0, 0, 80, 40), high=20.0)]
    outline = ((0.0, 0.0), (90.0, 0.0), (90.0, 50.0), (0.0, 50.0))
    head = replace(slab(30.0, 30.0, 8.0), name="bolt head")

    def fit(high: float) -> bool:
        room = Prism(outline_mm=outline, height_mm=high)
        return fit_in_region(pieces, Space(room=room, keep_out=(head,)), way).fits

    assert fit(30.0)
    assert not fit(26.0)
