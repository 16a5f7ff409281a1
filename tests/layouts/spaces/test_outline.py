"""Outlines: closed, turned the right way, never crossing; else reported where not."""

from __future__ import annotations

import math
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from layouts.errors import PlanError
from layouts.spaces.outline import place_of, sound_prism, sound_ring

SQUARE = [(0, 0), (100, 0), (100, 80), (0, 80)]


def refused(points: list[tuple[float, float]]) -> PlanError:
    """The error that a ring raises."""
    with pytest.raises(PlanError) as caught:
        sound_ring(points, field="space.outline_mm")
    return caught.value


@pytest.mark.parametrize("clockwise", [False, True])
@pytest.mark.parametrize("points", [SQUARE, SQUARE[::-1], [*SQUARE, SQUARE[0]]])
def test_a_ring_comes_back_open_and_turned(points, clockwise) -> None:
    """Either way round and closed or not, the same four corners come back as asked."""
    ring = sound_ring(points, field="f", clockwise=clockwise)
    assert set(ring) == {(float(x), float(y)) for x, y in SQUARE} and len(ring) == 4
    assert Polygon(ring).exterior.is_ccw is not clockwise


def test_corners_drawn_twice_are_dropped() -> None:
    """A repeated corner, exact or off by float noise, is one corner; corners on a side stay."""
    doubled = [(0, 0), (0, 0), (50, 0), (100, 0), (100, 1e-9), (100, 80), (0, 80), (0, 1e-8)]
    assert sound_ring(doubled, field="f") == (
        (0.0, 0.0), (50.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("points", "why", "value"),
    [
        ([(0, 0), (5, 5), (0, 0)], "has fewer than three corners that differ", "2"),
        ([], "has fewer than three corners that differ", "0"),
        ([(0, 0), (50, 0), (100, 0)],
         "encloses nothing, all corners lie on one line", "100 x 0 mm"),
        ([(0, 0), (0.5, 0), (0.5, 0.5)], "encloses less than 1 mm2", "0.125 mm2"),
        ([(0, 0), (10, 10), (10, 0), (0, 10)],
         "crosses or touches itself: side 1 meets side 3", "at [5, 5]"),
        ([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)],
         "crosses or touches itself: side 1 meets side 3", "at [5, 0]"),
        ([(0, 0), (20, 0), (10, 0), (10, 10), (0, 10)],
         "crosses or touches itself: side 1 meets side 3", "at [10, 0]"),
    ],
)  # fmt: skip
def test_an_unsound_ring_is_told_with_its_place(points, why, value) -> None:
    """Too few corners, no area, a crossing, a touch, a side that runs back."""
    error = refused(points)
    assert (error.why, error.value) == (why, value)
    assert error.field == "space.outline_mm"


@settings(max_examples=150, deadline=None, derandomize=True)
@given(
    st.lists(
        st.tuples(st.floats(-500, 500), st.floats(-500, 500)).map(
            lambda p: (round(p[0], 1), round(p[1], 1))
        ),
        max_size=9,
    )
)
def test_any_polygon_is_sound_or_refused(points) -> None:
    """Whatever the corners: a valid, counter-clockwise ring, or a fault; never both, as shapely
    (an independent library) judges it."""
    ring: tuple[tuple[float, float], ...] = ()
    with suppress(PlanError):
        ring = sound_ring(points, field="f")
    if not ring:
        told = Polygon(points) if len(points) >= 4 else None
        distinct = told is not None and len(set(points)) == len(points)
        assert not (distinct and told.is_valid) or told.area < 1.0
        return
    polygon = Polygon(ring)
    assert polygon.is_valid and polygon.exterior.is_ccw and polygon.area >= 1.0
    assert polygon.area == pytest.approx(Polygon(points).area)
    assert set(ring) <= {(float(x), float(y)) for x, y in points}


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.floats(10, 200), min_size=3, max_size=24), st.booleans())
def test_any_star_shaped_polygon_is_taken(radii, reverse) -> None:
    """Concave outlines of any number of corners are never refused."""
    points = [
        (r * math.cos(2 * math.pi * i / len(radii)), r * math.sin(2 * math.pi * i / len(radii)))
        for i, r in enumerate(radii)
    ]
    ring = sound_ring(points[::-1] if reverse else points, field="f")
    assert Polygon(ring).area == pytest.approx(Polygon(points).area)


def test_a_prism_has_its_holes_clockwise() -> None:
    """Both rings drawn the same way round come back each in its own."""
    prism = sound_prism(SQUARE, [[(10, 10), (30, 10), (30, 30), (10, 30)]], 50)
    assert Polygon(prism.outline_mm).exterior.is_ccw
    assert not Polygon(prism.holes_mm[0]).exterior.is_ccw
    assert Polygon(prism.outline_mm, prism.holes_mm).area == 8000 - 400
    assert prism.height_mm == 50.0


@pytest.mark.parametrize(
    ("holes", "why", "value"),
    [
        ([[(200, 0), (210, 0), (210, 10)]], "lies outside the outline", None),
        ([[(90, 10), (120, 10), (120, 20)]], "crosses or touches the outline", "near [100, "),
        ([[(0, 20), (20, 10), (20, 30)]], "crosses or touches the outline", "near [0, 20]"),
        ([[(-9, -9), (200, -9), (200, 200), (-9, 200)]], "crosses or touches the outline", None),
        ([[(10, 10), (30, 10), (10, 30)], [(20, 5), (40, 5), (40, 40), (15, 15)]],
         "overlaps or touches another hole", None),
        ([[(10, 10), (60, 10), (60, 60), (10, 60)], [(20, 20), (30, 20), (30, 30)]],
         "overlaps or touches another hole", None),
        ([[(10, 10), (30, 30), (30, 10), (10, 30)]],
         "crosses or touches itself: side 1 meets side 3", "at [20, 20]"),
    ],
)  # fmt: skip
def test_a_hole_that_does_not_lie_within_is_refused(holes, why, value) -> None:
    """Outside, across, touching, round the outline, over another hole, crossing itself."""
    with pytest.raises(PlanError) as caught:
        sound_prism(SQUARE, holes, 50)
    assert caught.value.why == why
    assert caught.value.field == f"space.holes_mm.{len(holes)}"
    assert value is None or str(caught.value.value).startswith(value)


def test_places_have_no_minus_before_zero() -> None:
    """Rounded to 0.01 mm."""
    assert place_of(-1e-9, 12.3456) == "[0, 12.35]"
