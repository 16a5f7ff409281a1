"""The sweep: from requirements to planned rows, whatever runs its work.

Work is handed out as plain functions on frozen values, so that it may run here, in other
processes or on other machines; the order of the answers, and so the result, is the same.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import Protocol, TypeVar

from layouts.pack import Lattice
from layouts.suggesting.candidates import (
    MOST_CELLS,
    candidates,
    least_parallel,
    series_choices,
)
from layouts.suggesting.judging import checked, estimated, missing, planned
from layouts.suggesting.ranking import Ranked, ranked
from layouts.suggesting.rows import Estimate, Row, Task
from layouts.suggesting.setting import Combination, Setting

__all__ = [
    "MOST_CHECKED_CELLS",
    "MOST_PLANNED_CELLS",
    "Runner",
    "SweepResult",
    "chosen_tasks",
    "sweep",
]

# Cells of all packs whose outside is planned, together, and of those that are checked inside:
# both take their time by the cell. About ten seconds on two cores of a usual machine.
MOST_PLANNED_CELLS = 8_000
MOST_CHECKED_CELLS = 1_000
LEAST_CHECKED = 5  # of the best rows, whatever their size
LEAST_CELLS = 40  # what planning takes beside that, as cells
NEAREST = 6  # planned where nothing may fit, to report by how much it misses

_Job = TypeVar("_Job")
_Answer = TypeVar("_Answer")


class Runner(Protocol):
    """Does ``work(setting, job)`` for each job, wherever; answers in the order of the jobs.

    ``stage``: what it is, for a person who waits.
    """

    def __call__(
        self,
        work: Callable[[Setting, _Job], _Answer],
        setting: Setting,
        jobs: Sequence[_Job],
        stage: str,
    ) -> list[_Answer]:
        """The answers."""
        ...


@dataclass(frozen=True, kw_only=True, slots=True)
class SweepResult:
    """``rows``: all that fit, best first. ``nearest``: where none does, what comes nearest;
    None where no cell meets the requirements in any space. ``looked_at``, ``planned``: how many
    candidates, and packs planned of them; ``left_out``: packs that may fit and were not planned,
    since a sweep plans ``MOST_PLANNED_CELLS`` at most."""

    rows: tuple[Ranked, ...]
    nearest: Row | None
    looked_at: int
    planned: int
    left_out: int


def sweep(setting: Setting, run: Runner) -> SweepResult:
    """Every sensible pack that fits the space."""
    todo = candidates(setting)
    estimates: list[Estimate] = run(estimated, setting, todo, "estimating")
    tasks = [task for estimate in estimates for task in estimate.tasks]
    chosen = chosen_tasks(setting, tasks)
    rows = _planned(setting, chosen, run)
    count = len(chosen)
    fitting = [row for row in rows if row.fits]
    if fitting:
        first = ranked(fitting, setting.asked)
        return SweepResult(
            rows=ranked(_checked(setting, first, run), setting.asked),
            nearest=None,
            looked_at=len(todo),
            planned=count,
            left_out=len(tasks) - count,
        )
    near = [estimate.nearest for estimate in estimates if estimate.nearest is not None]
    near += chosen
    if not near:  # not even by area: the least that would do
        near = _least(setting, run)
    near = sorted(near, key=lambda task: round(task.miss_mm, 6))[:NEAREST]
    answers: list[tuple[Row, ...]] = run(missing, setting, near, "measuring")
    missed = [row for rows in answers for row in rows]
    return SweepResult(
        rows=(),
        nearest=min(
            missed, key=lambda row: (bool(row.refused), -round(row.fit.gap_mm, 6)), default=None
        ),
        looked_at=len(todo),
        planned=count + len(near),
        left_out=0,
    )


def _planned(setting: Setting, tasks: Sequence[Task], run: Runner) -> list[Row]:
    found: list[tuple[Row, ...]] = run(planned, setting, tasks, "planning")
    return [row for rows in found for row in rows]


def _checked(setting: Setting, rows: Sequence[Ranked], run: Runner) -> list[Row]:
    """All rows, the best of them checked; rows of one plan share its checks."""
    todo: dict[Task, Row] = {}
    cells = 0
    for one in rows:
        task = one.row.task
        if task in todo:
            continue
        cells += task.candidate.cells
        if one.number > LEAST_CHECKED and cells > MOST_CHECKED_CELLS:
            break
        todo[task] = one.row
    answers: list[tuple[str, ...]] = run(checked, setting, list(todo.values()), "checking")
    failed = dict(zip(todo, answers, strict=True))
    return [replace(one.row, failed=failed.get(one.row.task), outside=None) for one in rows]


def chosen_tasks(setting: Setting, tasks: Sequence[Task]) -> list[Task]:
    """The tasks to plan, within ``MOST_PLANNED_CELLS``.

    Each cell, series and lattice takes its turn, with its fewest cells first, then its most,
    then what lies between; so a sweep that is cut short still spans all kinds.
    """
    families: dict[tuple[object, ...], dict[int, list[Task]]] = {}
    for task in tasks:
        one = task.candidate
        numbers = families.setdefault((one.offer, one.series, one.lattice), {})
        numbers.setdefault(one.parallel, []).append(task)
    queues = [_ends_first(numbers) for numbers in families.values()]
    chosen: list[Task] = []
    cells = 0
    for turn in zip_longest(*queues):
        for task in turn:
            if task is None:
                continue
            cost = task.candidate.cells + LEAST_CELLS
            if chosen and cells + cost > MOST_PLANNED_CELLS:
                continue
            cells += cost
            chosen.append(task)
    return chosen


def _ends_first(numbers: dict[int, list[Task]]) -> list[Task]:
    """Fewest in parallel, most, then inwards in turn; ways of standing nearest to fit first."""
    order: list[Task] = []
    left = sorted(numbers)
    take_low = True
    while left:
        key = left.pop(0) if take_low else left.pop()
        take_low = not take_low
        order += sorted(numbers[key], key=lambda task: round(task.miss_mm, 6))
    return order


def _least(setting: Setting, run: Runner) -> list[Task]:
    """The smallest packs that meet the requirements, though the space is too small for any."""
    least = []
    for number, offer in enumerate(setting.offers):
        for series in series_choices(offer, setting.asked):
            parallel = least_parallel(offer, series, setting.asked)
            if series * parallel <= MOST_CELLS:
                least += [
                    Combination(offer=number, series=series, parallel=parallel, lattice=lattice)
                    for lattice in Lattice
                ]
    least = sorted(least, key=lambda one: one.cells)[:NEAREST]
    estimates: list[Estimate] = run(estimated, setting, least, "estimating")
    nearest = [estimate.nearest for estimate in estimates if estimate.nearest is not None]
    return [*nearest, *(task for estimate in estimates for task in estimate.tasks)]
