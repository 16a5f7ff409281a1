"""Fits are true of the planned outside, and nothing that fits is left out before."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layouts.errors import PlanError
from layouts.fitting.box_fit import fit_in_box
from layouts.pack import Lattice, Side
from layouts.parts.outside import outside_points
from layouts.planning.pack_plan import plan_pack
from layouts.spaces.space import Prism, Space
from layouts.suggesting.candidates import most_cells
from layouts.suggesting.judging import checked, estimated, planned, planned_outside
from layouts.suggesting.rows import Task
from layouts.suggesting.setting import Axis, Way, pack_of
from tests.layouts.planned import outside_of
from tests.suggesting_samples import offer, one, setting

STRAIGHT = Way(axis=Axis.Z, side=Side.PLUS_X)


@pytest.mark.slow
@given(
    format=st.sampled_from(["18650", "26650"]),
    series=st.integers(1, 11),
    parallel=st.integers(1, 4),
    lattice=st.sampled_from(Lattice),
)
@settings(max_examples=4, deadline=None)
def test_a_box_of_the_packs_own_size_is_found_and_a_smaller_one_is_not(
    format: str, series: int, parallel: int, lattice: Lattice
) -> None:
    """Neither bound nor estimate keeps out what fits exactly; half a millimetre less is refused."""
    candidate = one(series, parallel, lattice)
    cell = offer(format)
    wide = setting((900, 900, 400), cell)
    pack = pack_of(candidate, wide, space=wide.space, side=Side.PLUS_X)
    size = np.ptp(outside_points(planned_outside(pack).pieces), axis=0)
    tight = setting(tuple(size + 1e-6), cell, axes=(Axis.Z,))
    assert most_cells(candidate, STRAIGHT, tight) >= candidate.cells
    task = Task(candidate=candidate, ways=(STRAIGHT,), miss_mm=0.0)
    # the field may be chosen anew for the tight box; the estimate must want it planned all the same
    assert any(STRAIGHT in one.ways for one in estimated(tight, candidate).tasks)
    again = pack_of(candidate, tight, space=tight.space, side=Side.PLUS_X)
    now = np.ptp(outside_points(planned_outside(again).pieces), axis=0)
    (row,) = planned(tight, task)
    assert row.fits == bool((now <= size + 2e-6).all())
    for axis in range(3):
        less = now.copy()
        less[axis] -= 0.5
        small = setting(tuple(less), cell, axes=(Axis.Z,))
        third = pack_of(candidate, small, space=small.space, side=Side.PLUS_X)
        if np.allclose(np.ptp(outside_points(planned_outside(third).pieces), axis=0), now):
            assert not planned(small, task)[0].fits
            break  # one axis is enough for one example: each plans a pack


@pytest.mark.one_in(2)
@pytest.mark.parametrize(("series", "parallel"), [(2, 3), (10, 2)])
def test_the_short_plan_has_the_whole_plans_outside(series: int, parallel: int) -> None:
    """Leaving the inside out changes nothing outside."""
    asked = setting((300, 300, 120))
    pack = pack_of(one(series, parallel), asked, space=asked.space, side=Side.PLUS_Y)
    plan = plan_pack(pack)
    whole = outside_of(plan)
    short = planned_outside(pack).pieces
    assert np.array_equal(outside_points(short), outside_points(whole))


def test_ways_of_one_field_share_one_plan() -> None:
    """In a large box all ways stand on one plan, and each is judged by itself."""
    asked = setting((300, 200, 250))
    (task,) = estimated(asked, one(2, 2)).tasks
    assert len(task.ways) == 6
    rows = planned(asked, task)
    assert [row.fit.way for row in rows] == list(task.ways)
    assert len({row.size_mm for row in rows}) == 1
    assert len({round(row.fit.gap_mm, 6) for row in rows}) > 1
    row = rows[0]
    pack = pack_of(row.candidate, asked, space=asked.space, side=row.fit.way.side)
    there = fit_in_box(outside_points(planned_outside(pack).pieces), asked.space, row.fit.way.side)
    assert row.fit.gap_mm == there.smallest_gap_mm


def test_what_cant_be_planned_says_why() -> None:
    """A refusal of the plan becomes a row that does not fit, with the plan's own words."""
    asked = setting((600, 600, 300))
    thick = replace(asked.base, leads=replace(asked.base.leads, outside_mm=60.0))
    asked = replace(asked, base=thick)  # a wire that no gland takes
    task = Task(candidate=one(2, 1), ways=(STRAIGHT,), miss_mm=0.0)
    (row,) = planned(asked, task)
    with pytest.raises(PlanError) as refusal:
        planned_outside(pack_of(one(2, 1), asked, space=asked.space, side=Side.PLUS_X))
    assert row.refused == str(refusal.value)
    assert not row.fits


def test_checks_that_fail_are_named() -> None:
    """A current that the cells don't give is found by the checks of the plan."""
    sound = setting((300, 300, 200), volts_v=7.2, current_a=2.0)
    (row,) = planned(sound, Task(candidate=one(2, 1), ways=(STRAIGHT,), miss_mm=0.0))
    assert "load_current_a" not in checked(sound, row)
    greedy = setting((300, 300, 200), volts_v=7.2, current_a=20.0)
    assert "load_current_a" in checked(greedy, row)


def test_a_corner_cut_out_of_the_box_counts() -> None:
    """The same sides with a corner missing: what needs the corner no longer fits."""
    box = setting((200, 180, 100))
    task = Task(candidate=one(2, 3), ways=(STRAIGHT,), miss_mm=0.0)
    (row,) = planned(box, task)
    assert row.fits
    a, b = row.size_mm[0] + 2, row.size_mm[1] + 2

    def cut(by: float) -> Space:
        outline = ((0.0, 0.0), (a, 0.0), (a, b - by), (a - by, b - by), (a - by, b), (0.0, b))
        return Space(room=Prism(outline_mm=outline, height_mm=100.0))

    (small,) = planned(setting(cut(1.5)), task)
    (large,) = planned(setting(cut(60.0)), task)
    assert small.fits
    assert not large.fits
    assert large.fit.gap_mm < 0
