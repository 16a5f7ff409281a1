"""A tile's plan: areas with interlock tabs and masks, lip pieces, levels."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from layouts.holders.drawing import holder_drawing
from layouts.holders.holder import InterlockTab
from layouts.holders.levels import hexagon_mm, holder_heights, slot_half_mm
from layouts.holders.tile_plan import (
    ISLAND_MM2,
    lip_pieces,
    open_shape,
    plan_area_mm2,
    plan_polygon,
    tab_neck_mm,
)
from tests.holder_samples import Sizes, sample_tile
from tests.oracles.outline_area import outline_area_mm2

LOOSE = Sizes(21.30, 21.55, 24.4, 16.5, 6.5, 6.5, 70.3)
WIDE = Sizes(21.30, 21.55, 23.0, 16.5, 10.5, 10.5, 70.3)
LEFT = np.array([(-200.0, -200.0), (0.0, -200.0), (0.0, 200.0), (-200.0, 200.0)])


def key(knob: bool) -> InterlockTab:
    """An interlock tab across the cut, as tab or as socket of the same size."""
    return InterlockTab(
        x0_mm=-2.5, y0_mm=0.3, x_mm=1.6, y_mm=0.0, radius_mm=2.2, neck_mm=2.4, is_tab=knob
    )


def test_whole_plan_is_the_outline():
    """Without mask and interlock tabs the plan's area is the outline's."""
    tile = sample_tile(3, 3)
    assert plan_area_mm2(tile) == pytest.approx(outline_area_mm2(tile.outline), rel=1e-13)


def test_knob_and_socket_of_one_size_make_the_whole():
    """Left tile with a tab and right tile with the same socket fill the outline together."""

    def half(mask: np.ndarray, *tabs: InterlockTab):
        return sample_tile(4, 4, sizes=LOOSE, honeycomb=False, mask_mm=mask, tabs=tabs)

    left, right = half(LEFT, key(True)), half(LEFT * (-1, 1), key(False))
    plain = half(LEFT)
    whole = outline_area_mm2(left.outline)
    assert plan_area_mm2(left) + plan_area_mm2(right) == pytest.approx(whole, rel=1e-13)
    assert plan_area_mm2(plain) == pytest.approx(whole / 2, rel=1e-13)
    assert plan_area_mm2(left) > plan_area_mm2(plain) + 10.0


def test_plan_area_is_that_of_the_drawn_plan():
    """Closed forms against chords, in a shape that crosses rim, mask and interlock tab."""
    tile = sample_tile(4, 4, sizes=LOOSE, honeycomb=False, mask_mm=LEFT, tabs=(key(True),))
    shape = shapely.Polygon([(-60.0, -20.0), (20.0, -1.0), (20.0, 9.0), (-60.0, 5.0)])
    drawn = shapely.intersection(plan_polygon(tile), shape).area
    assert plan_area_mm2(tile, shape) == pytest.approx(drawn, rel=1e-3)


def test_neck_ends_in_the_bulb():
    """The neck is as long as asked, as wide as asked, and counter-clockwise."""
    neck = tab_neck_mm(key(True))
    assert shapely.Polygon(neck).area == pytest.approx(2.4 * math.hypot(4.1, 0.3))
    assert shapely.Polygon(neck).exterior.is_ccw


def test_lip_of_rows_is_bands_and_triangles():
    """Links with two slants part the lip into known pieces; the least is their triangle."""
    pieces = lip_pieces(sample_tile(5, 4, links=2))
    # 9 slants between rows of 5 leave 8 triangles; all else hangs together in large bands
    small = [piece for piece in pieces if piece.area_mm2 < 60.0]
    assert len(small) == 8
    assert not any(piece.dropped for piece in pieces)


def test_island_area_is_exact_near_the_limit():
    """A dropped island's area is that of its shape less windows and channels."""
    tile = sample_tile(4, 4, links=2, sizes=WIDE)
    dropped = [piece for piece in lip_pieces(tile) if piece.dropped]
    windows = shapely.union_all(
        [shapely.Point(*xy).buffer(tile.window_mm / 2, quad_segs=2000) for xy in tile.xy_mm]
    )
    assert dropped
    for piece in dropped:
        rest = piece.shape - shapely.union_all(shapely.polygons(tile.channels)) - windows
        assert piece.area_mm2 == pytest.approx(rest.area, abs=1e-4)
        assert piece.area_mm2 < ISLAND_MM2


def test_dropped_islands_open_the_lip():
    """Where an island went, the lip is open like a channel."""
    tile = sample_tile(4, 4, links=2, sizes=WIDE)
    pieces = lip_pieces(tile)
    opened = open_shape(tile, pieces)
    for piece in pieces:
        inside = piece.shape.representative_point()
        assert opened.contains(inside) == piece.dropped


def test_limit_decides_what_is_dropped():
    """No limit drops nothing, a huge one drops all that carries no post."""
    tile = sample_tile(4, 4, links=2)
    assert not any(piece.dropped for piece in lip_pieces(tile, drop_below_mm2=0.0))
    kept = [piece for piece in lip_pieces(tile, drop_below_mm2=1e6) if not piece.dropped]
    posts = [shapely.Point(post.x_mm, post.y_mm) for post in tile.posts]
    assert kept
    assert all(any(piece.shape.contains(post) for post in posts) for piece in kept)


def test_heights_rise_from_the_outer_face_to_the_posts():
    """Each feature begins and ends at the height that its size says."""
    tile = sample_tile(2, 2, grooves=np.zeros((1, 4, 2)))
    h = holder_heights(tile)
    assert h.end_mm == tile.post_high_mm
    assert h.seat_mm < tile.lip_mm < h.web_mm < h.bar_mm < h.groove_mm < h.mouth_mm < h.top_mm
    assert (h.slot_mm, h.square_mm) == pytest.approx((h.recess_mm + 0.2, h.recess_mm + 0.4))
    assert h.recess_mm == tile.recess_deep_mm
    assert h.top_mm == tile.lip_mm + tile.depth_mm


def test_slot_and_square_carry_the_ceiling():
    """The square holds the round hole, lies in the recess, and each is one layer high."""
    tile = sample_tile(2, 2)
    half = slot_half_mm(tile)
    square = shapely.box(-half, -half, half, half)
    nut = shapely.Polygon(hexagon_mm(tile.recess_mm))
    assert half > tile.screw_hole_diameter_mm / 2
    assert nut.contains(square)
    heights = holder_heights(tile)
    assert heights.slot_mm - heights.recess_mm == pytest.approx(tile.layer_mm)
    assert heights.square_mm - heights.slot_mm == pytest.approx(tile.layer_mm)
    # across flats: the hexagon's width over two parallel sides
    assert nut.bounds[2] - nut.bounds[0] == pytest.approx(tile.recess_mm)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"seat_mm": 1.6}, "does not stack"), ({"seat_mm": -0.1}, "does not stack"),
        ({"depth_mm": 1.5}, "does not stack"),
        ({"recess_deep_mm": 10.5}, r"recess of 10\.5.*use at least"),
        ({"lead_in_deep_mm": 1.2, "grooves": np.zeros((1, 4, 2))}, "barrier's groove"),
    ],
)  # fmt: skip
def test_levels_that_do_not_stack_are_refused(change, says):
    """Sizes that contradict each other are reported with the remedy."""
    with pytest.raises(ValueError, match=says):
        holder_heights(sample_tile(2, 2, **change))


def test_thin_slices_of_float_noise_are_no_levels():
    """Heights that differ by less than a millionth are one."""
    body = holder_drawing(sample_tile(2, 2, recess_deep_mm=1.6 + 1e-9)).body
    assert min(z1 - z0 for z0, z1 in body.slabs_mm) > 1e-3
