"""Outlines of contents placed at random, on grids and off them, against closings in chords."""

from __future__ import annotations

from dataclasses import astuple

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.figures import TOUCH_MM, RoundedRect, figures_of
from layouts.enclosures.fitted.loops import loop_polygon, parallel
from layouts.enclosures.fitted.outline import ShellOutline, closed_outline
from tests.layouts.enclosures.fitted.contents import (
    assert_tangent,
    closing,
    grown_shapes,
    room,
    samples,
)

CHORD_MM = 2e-3
SLACK_MM = 2 * TOUCH_MM  # figures that overlap by less than the touch are told as flush
Contents = tuple[NDArray[np.float64], tuple[RoundedRect, ...], float]


@st.composite
def contents(draw: st.DrawFn) -> Contents:
    """Up to 9 discs and 5 rooms within some 80 mm, often flush; a third of them off any grid."""
    step = draw(st.sampled_from([0.0, 0.5, 5.0]))
    reach = draw(st.sampled_from([20.0, 35.0]))

    def number(low: float, high: float) -> float:
        if step:
            return step * draw(st.integers(round(low / step), round(high / step)))
        return draw(st.floats(low, high, allow_subnormal=False))

    discs = [
        (number(-reach, reach), number(-reach, reach), number(5.0, 20.0))
        for _ in range(draw(st.integers(0, 9)))
    ]
    rooms = []
    for _ in range(draw(st.integers(0 if discs else 1, 5))):
        x, y = number(-reach - 20, reach - 10), number(-reach - 20, reach - 10)
        wide, high = number(10.0, 60.0), number(10.0, 60.0)
        rooms.append(room(x, y, x + wide, y + high, draw(st.sampled_from([1.0, 3.0, 5.0]))))
    ball_mm = draw(st.sampled_from([4.4, 5.0]))
    return np.array(discs).reshape(-1, 3), tuple(rooms), ball_mm


def assert_follows(outline: ShellOutline, case: Contents) -> None:
    """Tangent, outside of all figures, each hollow as it says, and the closing of the figures."""
    discs, rooms, ball_mm = case
    assert_tangent(outline.loop)
    figures = figures_of(discs, rooms)
    every = np.arange(len(figures.radius))

    def apart(points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Distance of each point from each figure's edge."""
        beyond = [figures.beyond(np.full(len(points), k), points) for k in every]
        far: NDArray[np.float64] = np.hypot(*np.array(beyond).transpose(2, 1, 0)) - figures.radius
        return far

    points = samples(outline.loop)
    assert apart(points).min() > -SLACK_MM
    ends = np.abs(apart(points)).reshape(len(outline.loop), -1, len(every))
    for rows, on in zip(ends, outline.figures, strict=True):
        assert not on or max(rows[0, on[0]], rows[-1, on[-1]]) < SLACK_MM
    if outline.seats:
        gaps = apart(np.array([seat.centre_mm for seat in outline.seats]))
        assert gaps.min() > ball_mm - SLACK_MM
        touched = np.array([seat.figures for seat in outline.seats])
        assert np.abs(np.take_along_axis(gaps, touched, axis=1) - ball_mm).max() < SLACK_MM
    # a smaller ball gets further in, a larger one less far: ours lies between the two, within
    # what the chords of both leave out
    ours = loop_polygon(outline.loop, CHORD_MM)
    assert ours.is_valid
    larger, smaller = (closing(discs, rooms, ball_mm + by) for by in (1e-3, -1e-3))
    slack = ours.length * (CHORD_MM + 1e-3)
    assert ours.difference(larger).area < slack
    assert smaller.difference(ours).area < slack


def assert_told_rightly(error: OutlineError, case: Contents) -> None:
    """Other figures in chords fall apart too, or have such a neck."""
    discs, rooms, ball_mm = case
    by = 1e-3  # a gap or a neck of exactly none may be taken either way
    if "fall into" in error.why:
        union = shapely.union_all(grown_shapes(discs, rooms, ball_mm - by, 100))
        assert shapely.get_num_geometries(union) > 1
        return
    if "two sides" in error.why:  # as good as flush, but not quite
        rooms = tuple(room(*(np.array(astuple(r.rect)) + k / 100)) for k, r in enumerate(rooms))
        shift = np.random.default_rng(len(discs)).uniform(-1e-2, 1e-2, discs.shape)
        check((discs + shift, rooms, ball_mm))
        return
    assert "neck" in error.why
    shape = closing(discs, rooms, ball_mm - by)
    opened = shape.buffer(-0.05).buffer(0.05)
    assert shapely.get_num_geometries(opened) > 1 or opened.interiors


def check(case: Contents) -> None:
    """One case: outline and its wall, or a reason that holds."""
    try:
        outline = closed_outline(*case)
    except OutlineError as error:
        assert_told_rightly(error, case)
        return
    assert_follows(outline, case)
    # wherever the ball rolls, a wall thinner than its radius meets nothing
    outer = parallel(outline.loop, 1.8, 2.6)
    assert_tangent(outer)
    inner = loop_polygon(outline.loop, CHORD_MM)
    gaps = shapely.distance(inner.exterior, shapely.points(samples(outer)))
    assert gaps == pytest.approx(1.8, abs=CHORD_MM + 1e-6)
    assert shapely.contains_xy(inner, samples(outer)).sum() == 0


@settings(max_examples=80)
@given(contents())
def test_random_contents_are_followed(case: Contents) -> None:
    """Or refused for a reason that another way of reckoning confirms."""
    check(case)


@pytest.mark.slow
@settings(max_examples=2000)
@given(contents())
def test_many_random_contents_are_followed(case: Contents) -> None:
    """The same for many."""
    check(case)
