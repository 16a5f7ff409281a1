"""The rolling ball's outline: against shapely's closing, by tangency and by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from layouts.holders.outline import (
    BALL_MM,
    Outline,
    exit_mm,
    mirrored_outline,
    outline_box_mm,
    outline_points_mm,
    rolling_outline,
)
from tests.oracles.outline_area import outline_area_mm2

PITCH_MM = 23.0
DISC_MM = 12.975  # pocket 21.55 / 2 + wall 2.2


def honeycomb(rows: int, columns: int) -> NDArray[np.float64]:
    """Rows of a honeycomb, every second one half a pitch to the right."""
    return np.array(
        [
            (PITCH_MM * (column + 0.5 * (row % 2)), PITCH_MM * math.sqrt(3) / 2 * row, DISC_MM)
            for row in range(rows)
            for column in range(columns)
        ]
    )


def grid(rows: int, columns: int) -> NDArray[np.float64]:
    """Rows and columns."""
    return np.array(
        [
            (PITCH_MM * column, PITCH_MM * row, DISC_MM)
            for row in range(rows)
            for column in range(columns)
        ]
    )


def bay() -> NDArray[np.float64]:
    """A field with a bay of three empty sites, so that the ball comes back to a cell."""
    field = grid(4, 6)
    return field[[k for k in range(24) if k not in (20, 14, 8)]]


def widened() -> NDArray[np.float64]:
    """A honeycomb with a wider seam between its second and third row."""
    field = honeycomb(4, 4)
    field[8:, 1] += 1.15
    return field


def with_posts() -> NDArray[np.float64]:
    """A honeycomb with small discs of tie posts round it."""
    return np.vstack(
        [
            honeycomb(5, 4),
            [(11.5, -10.2, 5.2), (-3.9, PITCH_MM * math.sqrt(3) / 2, 5.2), (80.0, 45.0, 5.2)],
        ]
    )


FIELDS = {
    "two": np.array([(0.0, 0.0, 12.0), (24.0, 3.0, 5.0)]),
    "row": grid(1, 6),
    "column": grid(5, 1),
    "honeycomb": honeycomb(6, 5),
    "grid": grid(4, 6),
    "bay": bay(),
    "widened": widened(),
    "posts": with_posts(),
    "small between": np.array([(0.0, 0.0, 12.0), (20.0, 0.0, 3.0), (40.0, 0.0, 12.0)]),
}


def closing(discs: NDArray[np.float64], ball_mm: float) -> shapely.Polygon:
    """The closing of the discs by the ball, holes filled: an independent way, in chords."""
    union = shapely.union_all(
        [shapely.Point(x, y).buffer(r + ball_mm, quad_segs=400) for x, y, r in discs]
    )
    assert union.geom_type == "Polygon"
    return shapely.Polygon(shapely.Polygon(union.exterior).buffer(-ball_mm, quad_segs=400).exterior)


def assert_tangent_chain(outline: Outline) -> None:
    """Each arc ends where the next begins, in the same direction."""
    for arc, after in zip(outline.arcs, outline.arcs[1:] + outline.arcs[:1], strict=True):
        ends = []
        for one, angle in ((arc, arc.start_rad + arc.sweep_rad), (after, after.start_rad)):
            way = math.copysign(1.0, one.sweep_rad)
            unit = np.array([math.cos(angle), math.sin(angle)])
            ends.append((one.centre_mm + one.radius_mm * unit, way * np.array([-unit[1], unit[0]])))
        assert ends[0][0] == pytest.approx(ends[1][0], abs=1e-9)
        assert ends[0][1] == pytest.approx(ends[1][1], abs=1e-9)


@pytest.mark.parametrize("name", FIELDS)
def test_outline_is_the_closing_of_the_discs(name: str) -> None:
    """The walk gives the same shape as growing and shrinking the union, within a chord."""
    outline = rolling_outline(FIELDS[name])
    ours = shapely.Polygon(outline_points_mm(outline, 0.004))
    other = closing(FIELDS[name], BALL_MM)
    assert ours.is_valid
    # a chord of 0.004 rad departs by r/8 * 0.004^2 < 4e-5 mm along the whole outline
    assert ours.symmetric_difference(other).area < 4e-4 * ours.length
    assert outline_area_mm2(outline) == pytest.approx(other.area, rel=2e-5)
    assert outline_box_mm(outline) == pytest.approx(other.bounds, abs=1e-3)


@pytest.mark.parametrize("name", FIELDS)
def test_arcs_are_tangent_and_seats_touch_their_discs(name: str) -> None:
    """Neighbouring arcs share point and direction; every seat touches two discs and cuts none."""
    outline = rolling_outline(FIELDS[name])
    assert_tangent_chain(outline)
    assert len(outline.seats) == sum(arc.sweep_rad < 0 for arc in outline.arcs)
    discs = np.asarray(outline.discs)
    for seat in outline.seats:
        gaps = np.hypot(discs[:, 0] - seat.x_mm, discs[:, 1] - seat.y_mm) - discs[:, 2] - BALL_MM
        assert gaps.min() > -1e-9
        assert gaps[list(seat.discs)] == pytest.approx([0.0, 0.0], abs=1e-9)
    # a closed counter-clockwise loop turns once
    assert sum(arc.sweep_rad for arc in outline.arcs) == pytest.approx(math.tau)


def test_single_disc_is_one_full_circle() -> None:
    """One cell: one arc of a whole turn, no seat."""
    outline = rolling_outline([(3.0, -2.0, 12.0)])
    assert len(outline.arcs) == 1
    assert outline.arcs[0].sweep_rad == math.tau
    assert outline.seats == ()
    assert outline_area_mm2(outline) == pytest.approx(math.pi * 144.0)
    assert outline_box_mm(outline) == pytest.approx((-9.0, -14.0, 15.0, 10.0))


def test_two_equal_discs_match_the_formula_by_hand() -> None:
    """Two discs: area from the triangle of centre, centre and ball."""
    outline = rolling_outline([(0.0, 0.0, 10.0), (24.0, 0.0, 10.0)], 4.0)
    # ball's centre 12 along, sqrt(14^2 - 12^2) up; kite of the four centres less the balls'
    # sectors, and what is left of both discs
    high = math.sqrt(14.0**2 - 12.0**2)
    half = math.atan2(high, 12.0)
    area = 24.0 * high + 100.0 * (math.tau - 2 * half) - 16.0 * (math.pi - 2 * half)
    assert outline_area_mm2(outline) == pytest.approx(area, rel=1e-12)
    assert sorted(seat.y_mm for seat in outline.seats) == pytest.approx([-high, high])


def test_ball_comes_back_to_the_same_disc() -> None:
    """In a bay a cell carries more than one arc of the outline."""
    outline = rolling_outline(bay())
    carried = [arc.disc for arc in outline.arcs if arc.disc >= 0]
    assert len(carried) > len(set(carried))


def test_ball_touching_three_discs_at_once_is_one_seat() -> None:
    """A ball that fits a hollow of three discs exactly leaves one hollow and no stub."""
    far = 12.0 + BALL_MM
    angles = np.radians([30.0, 100.0, 170.0])
    discs = [(far * math.cos(a), far * math.sin(a), 12.0) for a in angles]
    outline = rolling_outline(discs)
    assert_tangent_chain(outline)
    at_middle = [s for s in outline.seats if math.hypot(s.x_mm, s.y_mm) < 1e-6]
    assert len(at_middle) == 1
    assert set(at_middle[0].discs) == {0, 2}
    assert min(abs(arc.sweep_rad) for arc in outline.arcs) > 1e-6


def test_mirror_twice_is_the_start() -> None:
    """Mirroring keeps the area, turns the box over, and twice gives the outline back."""
    outline = rolling_outline(with_posts())
    once = mirrored_outline(outline)
    assert_tangent_chain(once)
    assert outline_area_mm2(once) == pytest.approx(outline_area_mm2(outline), rel=1e-12)
    x0, y0, x1, y1 = outline_box_mm(outline)
    assert outline_box_mm(once) == pytest.approx((-x1, y0, -x0, y1))
    twice = mirrored_outline(once)
    assert [seat.discs for seat in twice.seats] == [seat.discs for seat in outline.seats]
    for arc, start in zip(twice.arcs, outline.arcs, strict=True):
        assert arc.centre_mm == pytest.approx(start.centre_mm)
        assert math.cos(arc.start_rad - start.start_rad) == pytest.approx(1.0)


def test_exit_is_the_last_crossing() -> None:
    """A ray from inside leaves at the far side of the last disc; one that misses gives None."""
    outline = rolling_outline(grid(1, 3))
    assert exit_mm(outline, (0.0, 0.0), (2.0, 0.0)) == pytest.approx(2 * PITCH_MM + DISC_MM)
    assert exit_mm(outline, (0.0, 0.0), (0.0, -1.0)) == pytest.approx(DISC_MM)
    assert exit_mm(outline, (0.0, 50.0), (1.0, 0.0)) is None
    # into the hollow between two cells: the ball's lowest point
    high = math.sqrt((DISC_MM + BALL_MM) ** 2 - (PITCH_MM / 2) ** 2) - BALL_MM
    assert exit_mm(outline, (PITCH_MM / 2, 0.0), (0.0, 1.0)) == pytest.approx(high)


@pytest.mark.parametrize(
    ("discs", "message"),
    [
        (np.zeros((0, 3)), "shape"),
        ([(0.0, 0.0)], "shape"),
        ([(0.0, 0.0, math.nan)], "finite"),
        ([(0.0, 0.0, -1.0)], "above 0"),
        ([(0.0, 0.0, 5.0), (0.0, 0.0, 5.0)], "twice"),
        ([(0.0, 0.0, 5.0), (1.0, 0.0, 3.0)], "inside another"),
        ([(0.0, 0.0, 5.0), (40.0, 0.0, 5.0)], "passes between 2 parts"),
        ([(0.0, 0.0, 5.0), (19.0, 0.0, 5.0)], "neck"),
    ],
)
def test_unusable_discs_are_refused(discs: object, message: str) -> None:
    """Each kind of unusable field is refused with its reason."""
    with pytest.raises(ValueError, match=message):
        rolling_outline(discs)  # type: ignore[arg-type]


@settings(max_examples=40, deadline=None)
@given(
    sites=st.sets(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=1, max_size=20),
    slant=st.sampled_from([0.0, 0.5]),
)
def test_random_fields_agree_with_the_closing(sites: set[tuple[int, int]], slant: float) -> None:
    """Any set of lattice sites that hangs together gives the closing's shape."""
    high = PITCH_MM * math.sqrt(1 - slant**2)
    discs = np.array([(PITCH_MM * (c + slant * r), high * r, DISC_MM) for c, r in sorted(sites)])
    union = shapely.union_all(shapely.buffer(shapely.points(discs[:, :2]), DISC_MM + BALL_MM))
    assume(union.geom_type == "Polygon")  # else the ball passes between two parts
    outline = rolling_outline(discs)
    ours = shapely.Polygon(outline_points_mm(outline, 0.01))
    other = closing(discs, BALL_MM)
    assert ours.symmetric_difference(other).area < 3e-3 * ours.length
    assert_tangent_chain(outline)


def test_only_the_boundary_of_ten_thousand_cells_is_walked() -> None:
    """As many arcs as the rim of a hundred by a hundred cells has, no more."""
    outline = rolling_outline(honeycomb(100, 100))
    assert len(outline.arcs) < 1200
