"""Whole sweeps of small settings: all that is listed fits, what does not fit is not listed."""

from __future__ import annotations

import pytest

from layouts.fitting.box_fit import fit_in_box
from layouts.pack import Lattice
from layouts.parts.outside import outside_points
from layouts.planning.pack_plan import plan_pack
from layouts.suggesting import sweep as sweeping
from layouts.suggesting.candidates import ways_of
from layouts.suggesting.rows import Task
from layouts.suggesting.setting import Axis, pack_of
from layouts.suggesting.sweep import SweepResult, chosen_tasks, sweep
from layouts.suggesting.turning import seen_along
from tests.layouts.planned import outside_of
from tests.suggesting_samples import here, offer, one, setting

SMALL = setting(
    (165, 110, 90), offer(), offer("32700", "lfp"), volts_v=14.4, energy_wh=65.0, axes=(Axis.Z,)
)


@pytest.fixture(scope="module")
def small() -> SweepResult:
    """A sweep over two cells at four in series."""
    return sweep(SMALL, here)


@pytest.mark.slow
def test_every_row_really_fits(small: SweepResult) -> None:
    """Planned again as its file would have it, each pack lies within the box."""
    assert small.rows
    for ranked in small.rows[:6]:
        row = ranked.row
        space = seen_along(SMALL.space, row.fit.way.axis)
        plan = plan_pack(pack_of(row.candidate, SMALL, space=space, side=row.fit.way.side))
        points = outside_points(outside_of(plan))
        fit = fit_in_box(points, space, row.fit.way.side)
        assert fit.smallest_gap_mm == pytest.approx(row.fit.gap_mm)
        assert fit.smallest_gap_mm >= 0
        assert row.outside is None  # half a plan is kept only until it is checked


@pytest.mark.slow
def test_one_more_in_parallel_than_listed_does_not_fit(small: SweepResult) -> None:
    """The greatest number is the greatest that fits, on either lattice, so nothing more is
    listed."""
    most = max(r.row.candidate.parallel for r in small.rows if r.row.candidate.offer == 0)
    for lattice in Lattice:
        more = one(4, most + 1, lattice)
        for way in ways_of(SMALL):
            space = seen_along(SMALL.space, way.axis)
            plan = plan_pack(pack_of(more, SMALL, space=space, side=way.side))
            points = outside_points(outside_of(plan))
            assert fit_in_box(points, space, way.side).smallest_gap_mm < 0


def test_a_cell_that_is_too_large_is_not_listed(small: SweepResult) -> None:
    """The wide cell goes nowhere into this box, so no row has it."""
    assert {r.row.candidate.offer for r in small.rows} == {0}


def test_rows_are_checked_and_numbered(small: SweepResult) -> None:
    """The best rows have had all their checks; numbers run from 1."""
    assert [r.number for r in small.rows] == list(range(1, len(small.rows) + 1))
    assert all(r.row.failed is not None for r in small.rows)
    assert small.nearest is None


@pytest.mark.slow
def test_what_is_asked_bounds_the_rows() -> None:
    """Every row has the required energy and current."""
    asked = setting((175, 110, 90), volts_v=14.4, energy_wh=65.0, current_a=7.0, axes=(Axis.Z,))
    found = sweep(asked, here)
    assert found.rows
    assert all(r.row.energy_wh >= 65.0 and r.row.current_a >= 7.0 for r in found.rows)


@pytest.mark.one_in(2)
@pytest.mark.parametrize("box", [(165.0, 85.0, 90.0), (60.0, 60.0, 60.0)])
def test_where_nothing_fits_the_nearest_is_told(box: tuple[float, float, float]) -> None:
    """A little too small or far too small: the least pack, and by how much it misses."""
    found = sweep(setting(box, volts_v=14.4, energy_wh=65.0, axes=(Axis.Z,)), here)
    assert found.rows == ()
    assert found.nearest is not None
    assert found.nearest.fit.gap_mm < 0
    assert min(found.nearest.fit.spare_mm) < 0


def test_no_cell_for_the_volts_is_no_row_and_no_nearest() -> None:
    """Volts that no number of cells gives end without a plan."""
    found = sweep(setting((300, 300, 200), volts_v=1.0), here)
    assert (found.rows, found.nearest, found.planned) == ((), None, 0)


def test_a_long_list_is_cut_evenly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Within the budget every kind has its smallest and its largest first."""
    tasks = [
        Task(candidate=one(10, parallel, lattice), ways=(), miss_mm=0.0)
        for lattice in Lattice
        for parallel in range(1, 9)
    ]
    monkeypatch.setattr(sweeping, "MOST_PLANNED_CELLS", 4 * sweeping.LEAST_CELLS + 180)
    chosen = chosen_tasks(SMALL, tasks)
    assert [(t.candidate.lattice, t.candidate.parallel) for t in chosen] == [
        (Lattice.HONEYCOMB, 1),
        (Lattice.GRID, 1),
        (Lattice.HONEYCOMB, 8),
        (Lattice.GRID, 8),
    ]
    assert len(chosen_tasks(SMALL, [tasks[-1]])) == 1
