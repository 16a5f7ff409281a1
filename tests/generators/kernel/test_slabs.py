"""Bodies of slabs: each against a closed formula, as a kernel solid and as meshes."""

from __future__ import annotations

import math

import pytest

from layouts.slabs.profile import (
    Arc,
    Line,
    circle,
    moved,
    polygon,
    rectangle,
    reversed_loop,
)
from layouts.slabs.slabs import Cone, Engraved, Slab, build
from tests.generators.kernel.sound import assert_sound


def one(name="a"):
    """Material inside one region."""
    return lambda m: m[name]


def half_band_mm2(half, radius):
    """Area of a half disc within |y| < half."""
    return half * math.sqrt(radius**2 - half**2) + radius**2 * math.asin(half / radius)


def lens_mm2(r1, r2, d):
    """Area that two circles share (plane geometry)."""
    a = (d * d + r1 * r1 - r2 * r2) / (2 * d)
    b = d - a
    return (
        r1 * r1 * math.acos(a / r1)
        - a * math.sqrt(r1 * r1 - a * a)
        + r2 * r2 * math.acos(b / r2)
        - b * math.sqrt(r2 * r2 - b * b)
    )


def test_one_circle_is_a_cylinder():
    """A lone circle: two faces, one wall, one seam."""
    body = build({"a": [circle((3, 4), 5)]}, [Slab(1, 4, one())])
    assert_sound(body, math.pi * 25 * 3)
    assert (len(body.faces), len(body.walls), len(body.ends)) == (2, 1, 1)


def test_box_is_told_exactly_for_arcs():
    """The box reaches the arcs' extremes, not only their ends."""
    low, high = build({"a": [circle((3, 4), 5)]}, [Slab(1, 4, one())]).box_mm()
    assert low == pytest.approx((-2, -1, 1))
    assert high == pytest.approx((8, 9, 4))


def test_loops_may_run_either_way_round():
    """A clockwise loop has the same inside."""
    loop = rectangle(0, 0, 20, 10, 2)
    for given in (loop, reversed_loop(loop)):
        assert_sound(build({"a": [given]}, [Slab(0, 3, one())]), (200 - (4 - math.pi) * 4) * 3)


def test_collinear_overlapping_strips_are_one_strip():
    """Two strips in line that overlap give one rectangle, joined to six faces."""
    body = build({"a": [rectangle(0, 0, 12, 4), rectangle(7, 0, 20, 4)]}, [Slab(0, 2, one())])
    assert_sound(body, 20 * 4 * 2)
    assert len(body.faces) + len(body.walls) == 6


def test_strips_that_share_an_edge_are_joined():
    """Two rectangles side by side, the second taller: eight walls, no wall between them."""
    body = build({"a": [rectangle(0, 0, 10, 4), rectangle(10, 0, 15, 8)]}, [Slab(0, 2, one())])
    assert_sound(body, (40 + 40) * 2)
    assert len(body.walls) == 6


def test_shared_edges_of_different_regions():
    """Two regions that share an edge part at it: each slab carries its own side."""
    regions = {"a": [rectangle(0, 0, 10, 6)], "b": [rectangle(10, 0, 16, 6)]}
    body = build(
        regions, [Slab(0, 2, lambda m: m["a"] | m["b"]), Slab(2, 5, one("a")), Slab(5, 6, one("a"))]
    )
    assert_sound(body, 16 * 6 * 2 + 60 * 4)
    assert body.slab_areas == pytest.approx((96, 60, 60))


def test_the_same_circle_twice_is_one_circle():
    """A region's circle given again in another region, with another start, is one piece."""
    again = (Arc((10, 10), 4, 1.0, math.tau),)
    regions = {"a": [rectangle(0, 0, 20, 20)], "b": [circle((10, 10), 4)], "c": [again]}
    body = build(
        regions, [Slab(0, 2, lambda m: m["a"] & ~m["b"]), Slab(2, 3, lambda m: m["a"] & ~m["c"])]
    )
    assert_sound(body, (400 - 16 * math.pi) * 3)
    assert len(body.ends) == 5


def test_arc_of_another_loop_may_lie_on_a_circle():
    """A half disc on a circle's own line is the same edge."""
    half = (Arc((10, 10), 4, 0, math.pi), Line((6, 10), (14, 10)))
    regions = {"a": [rectangle(0, 0, 20, 20)], "b": [circle((10, 10), 4)], "c": [half]}
    body = build(
        regions, [Slab(0, 2, lambda m: m["a"] & ~m["b"]), Slab(2, 3, lambda m: m["a"] & ~m["c"])]
    )
    assert_sound(body, (400 - 16 * math.pi) * 2 + 400 - 8 * math.pi)


@pytest.mark.parametrize("angle_deg", [20, 60, 90, 135])
def test_crossing_strips_outside_a_window(angle_deg):
    """Two channels that cross on solid ground take their union: 2 w L - w^2 / sin(angle)."""
    strip = rectangle(-15, -2, 15, 2)
    turned = moved(strip, 0, 0, math.radians(angle_deg))
    body = build(
        {"a": [rectangle(-20, -20, 20, 20)], "c": [strip, turned]},
        [Slab(0, 1, lambda m: m["a"] & ~m["c"]), Slab(1, 3, one())],
    )
    crossing = 16 / math.sin(math.radians(angle_deg))
    assert_sound(body, (1600 - 240 + crossing) * 1 + 1600 * 2)


def test_three_strips_through_one_point():
    """Three channels through one centre, all at 60 degrees: corners and centre come out right."""
    strips = [moved(rectangle(-18, -2, 18, 2), 0, 0, math.radians(k)) for k in (0, 60, 120)]
    body = build(
        {"a": [rectangle(-20, -20, 20, 20)], "c": strips},
        [Slab(0, 1, lambda m: m["a"] & ~m["c"]), Slab(1, 3, one())],
    )
    # each pair shares a rhombus of 16/sin 60; all three share a regular hexagon, height 4
    hexagon = 2 * math.sqrt(3) * 4
    union = 3 * 144 - 3 * 16 / math.sin(math.pi / 3) + hexagon
    assert_sound(body, 1600 - union + 3200)


def test_crossing_circles_share_a_lens():
    """Two discs of different size: union and overlap by the lens formula."""
    regions = {"a": [circle((0, 0), 8)], "b": [circle((9, 2), 5)]}
    d = math.hypot(9, 2)
    lens = lens_mm2(8, 5, d)
    body = build(
        regions, [Slab(0, 2, lambda m: m["a"] | m["b"]), Slab(2, 3, lambda m: m["a"] & m["b"])]
    )
    assert_sound(body, (89 * math.pi - lens) * 2 + lens)


def test_run_out_through_a_rounded_corner():
    """A channel that leaves through a corner arc takes exactly its strip of the plate."""
    plate = rectangle(-20, -20, 20, 20, 10)
    body = build(
        {"a": [plate], "c": [rectangle(0, 8, 30, 14)]},
        [Slab(0, 2, lambda m: m["a"] & ~m["c"]), Slab(2, 5, one())],
    )
    # corner arc about (10, 10), radius 10: from y = 8 to 10 the side is straight at x = 20,
    # above it x = 10 + sqrt(100 - (y - 10)^2)
    taken = 20 * 2 + 10 * 4 + half_band_mm2(4, 10) / 2
    full = 1600 - (4 - math.pi) * 100
    assert_sound(body, (full - taken) * 2 + full * 3)


def test_channel_through_a_hole_and_the_outline():
    """A through channel past a window cuts the plate at the bottom only."""
    body = build(
        {
            "a": [rectangle(-30, -15, 30, 15)],
            "w": [circle((0, 0), 8)],
            "c": [rectangle(-40, -3, 40, 3)],
        },
        [
            Slab(0, 1.5, lambda m: m["a"] & ~m["w"] & ~m["c"]),
            Slab(1.5, 6, lambda m: m["a"] & ~m["w"]),
        ],
    )
    hole = 64 * math.pi
    cut = 60 * 6 + hole - 2 * half_band_mm2(3, 8)
    assert_sound(body, (1800 - cut) * 1.5 + (1800 - hole) * 4.5)


def test_islands_between_channels_carry_their_own_holes():
    """Four channels round a square leave an island with a screw hole, held by the slab above."""
    channels = [
        rectangle(-30, 8, 30, 12),
        rectangle(-30, -12, 30, -8),
        rectangle(8, -30, 12, 30),
        rectangle(-12, -30, -8, 30),
    ]
    body = build(
        {"a": [rectangle(-20, -20, 20, 20)], "c": channels, "s": [circle((1, 2), 2)]},
        [
            Slab(0, 2, lambda m: m["a"] & ~m["c"] & ~m["s"]),
            Slab(2, 4, lambda m: m["a"] & ~m["s"]),
        ],
    )
    cut = 4 * 40 * 4 - 4 * 16
    hole = 4 * math.pi
    assert_sound(body, (1600 - cut - hole) * 2 + (1600 - hole) * 2)
    bottom = [face for face in body.faces if face.z_mm == 0]
    assert len(bottom) == 9
    assert sorted(len(face.loops) for face in bottom) == [1] * 8 + [2]


def test_holes_of_a_level_that_meet_in_a_point():
    """A boss and a hole whose corners meet: two simple holes of one face, not a figure of eight."""
    regions = {
        "a": [rectangle(-10, -10, 10, 10)],
        "boss": [rectangle(-5, 0, 0, 5)],
        "hole": [rectangle(0, -5, 5, 0)],
    }
    body = build(regions, [Slab(0, 2, lambda m: m["a"] & ~m["hole"]), Slab(2, 3, one("boss"))])
    assert_sound(body, 375 * 2 + 25)
    (step,) = [face for face in body.faces if face.z_mm == 2]
    assert [len(loop) for loop in step.loops] == [4, 4, 4]


def test_patches_of_a_level_that_meet_in_a_point():
    """An L with a boss on its corner: its two arms are faces that meet in one point."""
    l_shape = polygon([(-10, -10), (0, -10), (0, 0), (10, 0), (10, 10), (-10, 10)])
    regions = {"a": [l_shape], "boss": [rectangle(-10, 0, 0, 10)]}
    body = build(regions, [Slab(0, 2, one()), Slab(2, 3, one("boss"))])
    assert_sound(body, 300 * 2 + 100)
    assert len([face for face in body.faces if face.z_mm == 2]) == 2


def test_a_touch_without_effect_cuts_nothing():
    """A region that no slab uses leaves no vertex behind."""
    plain = build({"a": [rectangle(0, 0, 20, 10, 2)]}, [Slab(0, 2, one())])
    crossed = build(
        {"a": [rectangle(0, 0, 20, 10, 2)], "unused": [circle((0, 5), 3), rectangle(3, -1, 30, 4)]},
        [Slab(0, 2, one())],
    )
    assert len(crossed.ends) == len(plain.ends) == 8
    assert_sound(crossed, (200 - (4 - math.pi) * 4) * 2)


def test_circle_cut_by_shapes_without_effect_is_whole_again():
    """A hole crossed by a channel that only works above stays one circle below it."""
    regions = {
        "a": [rectangle(-10, -10, 10, 10)],
        "h": [circle((0, 0), 4)],
        "unused": [rectangle(-20, -1, 20, 1)],
    }
    body = build(regions, [Slab(0, 2, lambda m: m["a"] & ~m["h"])])
    assert len(body.ends) == 5
    assert_sound(body, (400 - 16 * math.pi) * 2)


def plate_with_cut_pocket(cones, *, post=False):
    """A plate with two pockets, a channel under one of them, and perhaps a post."""
    regions = {
        "a": [rectangle(0, 0, 40, 30, 3)],
        "p": [circle((12, 15), 8), circle((30, 15), 8)],
        "c": [rectangle(-5, 12, 12, 18)],
        "post": [circle((21, 4), 2.5)],
        "s": [circle((21, 4), 1)],
    }
    slabs = [
        Slab(0, 2, lambda m: m["a"] & ~m["c"] & ~m["s"]),
        Slab(2, 3, lambda m: m["a"] & ~m["c"] & ~m["p"] & ~m["s"]),
        Slab(3, 8, lambda m: m["a"] & ~m["p"] & ~m["s"]),
        Slab(8, 9, lambda m: m["a"] & ~m["p"] & ~m["s"]),
    ]
    if post:
        slabs.append(Slab(9, 20, lambda m: m["post"] & ~m["s"]))
    return build(regions, slabs, cones=cones, cone_slab=3 if cones else None)


def plate_with_cut_pocket_mm3(*, lead_in=0.0, post=False):
    """Its volume from sizes only."""
    plate = 1200 - (4 - math.pi) * 9 - math.pi
    pockets = 2 * 64 * math.pi
    channel = 12 * 6
    volume = (plate - channel) * 2
    volume += plate - pockets - (channel - half_band_mm2(3, 8))
    volume += (plate - pockets) * 5
    frustum = math.pi * (64 + 8 * (8 + lead_in) + (8 + lead_in) ** 2) / 3
    volume += plate - 2 * frustum
    return volume + (math.pi * (6.25 - 1) * 11 if post else 0)


@pytest.mark.parametrize("post", [False, True])
def test_cones_on_circles_that_a_channel_has_cut(post):
    """A lead-in over a pocket cut by a channel further down, with and without a post above."""
    cones = [Cone((12, 15), 8, 8.5), Cone((30, 15), 8, 8.5)]
    body = plate_with_cut_pocket(cones, post=post)
    assert_sound(body, plate_with_cut_pocket_mm3(lead_in=0.5, post=post))
    assert {len(cone.lower) for cone in body.cones} == {1, 2}


def test_without_cones_the_pockets_stay_upright():
    """The same plate without lead-in."""
    assert_sound(plate_with_cut_pocket([]), plate_with_cut_pocket_mm3())


def test_a_cone_may_begin_where_a_channel_ends():
    """The channel's roof and the cone share the circle's arc as one edge."""
    regions = {
        "a": [rectangle(-15, -15, 15, 15)],
        "p": [circle((0, 0), 8)],
        "c": [rectangle(-20, -2, 20, 2)],
    }
    body = build(
        regions,
        [Slab(0, 3, lambda m: m["a"] & ~m["p"] & ~m["c"]), Slab(3, 4, lambda m: m["a"] & ~m["p"])],
        cones=[Cone((0, 0), 8, 9)],
        cone_slab=1,
    )
    below = 900 - 30 * 4 - (64 * math.pi - 2 * half_band_mm2(2, 8))
    assert_sound(body, below * 3 + 900 - math.pi * (64 + 72 + 81) / 3)


def test_a_boss_may_taper():
    """A cone with material within: a peg with a pointed end."""
    regions = {"a": [rectangle(-5, -5, 5, 5)], "peg": [circle((0, 0), 3)]}
    body = build(
        regions,
        [Slab(0, 2, one()), Slab(2, 6, one("peg")), Slab(6, 7, one("peg"))],
        cones=[Cone((0, 0), 3, 2)],
        cone_slab=2,
    )
    assert_sound(body, 200 + 36 * math.pi + math.pi * (9 + 6 + 4) / 3)


def test_sunk_figures_keep_their_islands():
    """A ring-shaped figure and a plain one: floors at depth, the ring's island at the face."""
    ring = Engraved([rectangle(2, 2, 9, 12, 1), reversed_loop(rectangle(4, 4, 7, 10))], 0.4)
    bar = Engraved([polygon([(12, 2), (16, 2), (16, 12), (14, 12), (14, 6), (12, 6)])], 0.6)
    dot = Engraved([circle((20, 7), 1.5)], 0.4)
    body = build(
        {"a": [rectangle(0, 0, 30, 14)]},
        [Slab(0, 2, one()), Slab(2, 3, one())],
        engraved=[ring, bar, dot],
    )
    ring_mm2 = 70 - (4 - math.pi) - 18
    bar_mm2 = 4 * 10 - 2 * 6
    assert_sound(body, 30 * 14 * 3 - (ring_mm2 + 2.25 * math.pi) * 0.4 - bar_mm2 * 0.6)
    assert len([face for face in body.faces if face.z_mm == 0]) == 2


def test_sunk_figures_go_with_cones():
    """Pieces of cones and of figures are numbered apart."""
    body = build(
        {"a": [rectangle(0, 0, 30, 14)], "h": [circle((22, 7), 4)]},
        [Slab(0, 2, lambda m: m["a"] & ~m["h"]), Slab(2, 3, lambda m: m["a"] & ~m["h"])],
        cones=[Cone((22, 7), 4, 4.6)],
        cone_slab=1,
        engraved=[Engraved([rectangle(3, 3, 9, 11, 1.5)], 0.5)],
    )
    cone = math.pi * (16 + 4 * 4.6 + 4.6**2) / 3
    figure = (48 - (4 - math.pi) * 2.25) * 0.5
    assert_sound(body, 420 * 3 - 16 * math.pi * 2 - cone - figure)
