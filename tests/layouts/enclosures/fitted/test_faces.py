"""Where brackets may stand: before walls with nothing before them, on two opposite sides."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from layouts.enclosures.fitted.faces import (
    LIP_OUT_MM,
    PAD_OUT_MM,
    BracketReach,
    PadPlace,
    pad_places,
    pad_sets,
)
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.shell import ShellPlan
from layouts.pack import Side
from layouts.parts.shell import Rect, box
from tests.layouts.enclosures.fitted.plain_shells import WALL_MM, insert_boss, plain_shell

REACH = BracketReach(wall_mm=34.0, out_mm=30.0)
NOTHING = shapely.Polygon()
PLAIN = shapely.box(0.0, 0.0, 200.0, 100.0)


def of_side(places: tuple[PadPlace, ...], side: Side) -> list[PadPlace]:
    """Those on one side."""
    return [place for place in places if place.side is side]


def places_on(shell: ShellPlan, taken: shapely.Polygon) -> tuple[PadPlace, ...]:
    """All places of a shell's walls."""
    return pad_places(loop_polygon(shell.outer), shell.lid_plan, REACH, taken)


def test_a_plain_wall_carries_pads_anywhere() -> None:
    """All round, from half a bracket off one corner to half a bracket off the other."""
    places = places_on(plain_shell(PLAIN), NOTHING)
    for side, crest, first, last in (
        (Side.PLUS_X, 202.0, 15.0, 85.0), (Side.MINUS_X, 2.0, 15.0, 85.0),
        (Side.PLUS_Y, 102.0, 15.0, 185.0), (Side.MINUS_Y, 2.0, 15.0, 185.0),
    ):  # fmt: skip
        along = [place.along_mm for place in of_side(places, side)]
        assert along == pytest.approx(np.arange(first, last + 1e-9, 4.0))
        assert {place.crest_mm for place in of_side(places, side)} == {crest}


def test_lanes_begin_at_the_wall_and_past_the_lip() -> None:
    """A place on -y: its face before the crest, its lanes as wide as the bracket's wall."""
    place = PadPlace(side=Side.MINUS_Y, along_mm=50.0, crest_mm=2.0)
    far = -(2.0 + PAD_OUT_MM + 30.0)
    assert place.face_mm == 2.0 + PAD_OUT_MM
    assert place.lane(REACH) == Rect(x0=33.0, x1=67.0, y0=far, y1=-2.0)
    assert place.before(REACH) == Rect(x0=33.0, x1=67.0, y0=far, y1=-2.0 - LIP_OUT_MM)


def test_no_pad_before_what_is_taken_outside() -> None:
    """A gland's lane before half a side: the other half stays; one past the reach is no matter."""
    lane = shapely.box(202.0, 40.0, 240.0, 100.0)
    places = of_side(places_on(plain_shell(PLAIN), lane), Side.PLUS_X)
    assert {place.along_mm for place in places} == {15.0, 19.0}  # up to 40 less half a bracket
    far = shapely.box(242.5, 0.0, 300.0, 100.0)
    assert len(of_side(places_on(plain_shell(PLAIN), far), Side.PLUS_X)) == 18


def test_no_pad_before_which_the_lid_stands_out() -> None:
    """A boss that stands out past the lip takes its part of the wall; one behind the lip none."""

    def along(x_mm: float) -> list[float]:
        shell = plain_shell(PLAIN, screws=(insert_boss(x_mm, 50.0),))
        return [place.along_mm for place in of_side(places_on(shell, NOTHING), Side.PLUS_X)]

    assert len(along(200.0)) == 18
    out = along(204.0)  # to 208.2, the lip to 206
    assert 0 < len(out) < 18
    assert all(abs(one - 50.0) >= 17.0 for one in out)


STEPPED = shapely.union_all(
    [shapely.box(0, 0, 200, 100), shapely.box(200, 60, 240, 100), shapely.box(90, 100, 98, 130)]
)


def assert_free(shell: ShellPlan, place: PadPlace, taken: shapely.Polygon) -> None:
    """Its plane is that of the foremost wall, and nothing stands before it."""
    assert not box(place.before(REACH)).intersects(shell.lid_plan)
    assert not taken.intersects(box(place.lane(REACH)).difference(shell.lid_plan))


def test_pads_of_a_stepped_wall() -> None:
    """Behind the step, on it, and none over both where too little wall lies near the plane; none
    on a fin too narrow to carry one."""
    shell = plain_shell(STEPPED)
    taken = shapely.box(120, 110, 130, 120)
    places = places_on(shell, taken)
    assert {place.side for place in places} == set(Side)
    for place in places:
        assert_free(shell, place, taken)
        assert place.crest_mm in {
            Side.PLUS_X: {202.0, 242.0}, Side.MINUS_X: {WALL_MM}, Side.PLUS_Y: {102.0},
            Side.MINUS_Y: {WALL_MM, WALL_MM - 60.0},
        }[place.side]  # fmt: skip
    on_fin = [p for p in of_side(places, Side.PLUS_Y) if abs(p.along_mm - 94.0) < 17.0 + 6.0]
    assert on_fin == []
    back = [p for p in of_side(places, Side.PLUS_X) if p.crest_mm == 202.0]
    assert back and all(p.along_mm + 17.0 < 58.0 for p in back)


def place(side: Side, along_mm: float) -> PadPlace:
    """A place on a side."""
    return PadPlace(side=side, along_mm=along_mm, crest_mm=50.0)


def test_pairs_are_opposite_and_nearest_to_the_middle() -> None:
    """One a side on short walls; a side without its opposite makes none."""
    short = [place(Side.PLUS_X, y) for y in (0.0, 30.0, 60.0)]
    assert pad_sets(short, (0.0, 33.0)) == []
    both = [*short, *(place(Side.MINUS_X, y) for y in (10.0, 50.0)), place(Side.PLUS_Y, 0.0)]
    sets = pad_sets(both, (0.0, 33.0))
    assert sets[0] == (short[1], both[4]) and len(sets) == 6


def test_a_long_side_carries_two_pads_on_both_sides_of_the_middle() -> None:
    """The outermost ones where these stand far enough apart, else one."""
    sides = (Side.PLUS_Y, Side.MINUS_Y)
    long = [place(side, x) for side in sides for x in (-70.0, -20.0, 0.0, 60.0)]
    sets = pad_sets(long, (5.0, 0.0))
    assert sets[0] == (long[0], long[3], long[4], long[7])
    assert {len(pads) for pads in sets} == {2, 3, 4}
    assert pad_sets(long, (-80.0, 0.0))[0] == (long[0], long[4])
    near = [place(side, x) for side in sides for x in (-50.0, 8.0, 60.0)]
    assert pad_sets(near, (5.0, 0.0))[0] == (near[1], near[4])


def test_the_pair_that_carries_best_comes_first() -> None:
    """Nearer to the middle; two a side on both sides of it carry it better still."""
    near = [place(Side.PLUS_X, 0.0), place(Side.MINUS_X, 0.0)]
    off = [place(Side.PLUS_Y, 9.0), place(Side.MINUS_Y, -9.0)]
    assert pad_sets([*off, *near], (0.0, 0.0)) == [tuple(near), tuple(off)]
    two = [place(side, x) for side in (Side.PLUS_Y, Side.MINUS_Y) for x in (-65.0, 65.0)]
    assert pad_sets([*near, *two], (0.0, 0.0))[:2] == [tuple(two), tuple(near)]
