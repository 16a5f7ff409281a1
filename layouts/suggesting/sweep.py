"""The sweep: from requirements to planned rows, whatever runs its work.

Work is handed out as plain functions on frozen values, so that it may run here, in other
processes or on other machines; the order of the answers, and so the result, is the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

from layouts.pack import EnclosureStyle, Lattice
from layouts.suggesting.candidates import (
    MOST_CELLS,
    candidates,
    least_parallel,
    series_choices,
)
from layouts.suggesting.confirming import Confirmed, advised, confirm
from layouts.suggesting.estimating import by_estimate, families, row_by_estimate
from layouts.suggesting.judging import checked, estimated, missing, planned
from layouts.suggesting.ranking import Ranked, ranked, without_twins
from layouts.suggesting.rows import Estimate, Row, Task
from layouts.suggesting.runner import Runner
from layouts.suggesting.setting import Combination, Setting

__all__ = [
    "MOST_CHECKED_CELLS",
    "MOST_PLANNED_CELLS",
    "SweepResult",
    "chosen_tasks",
    "sweep",
]

# Cells of all packs whose outside is planned, together, and of those that are checked inside:
# both take their time by the cell. Less than ten seconds of one core of a usual machine each.
MOST_PLANNED_CELLS = 700
MOST_CHECKED_CELLS = 300
LEAST_CHECKED = 3  # of the best rows, whatever their size
LEAST_CELLS = 40  # what planning takes beside that, as cells
CONFIRMED = 3  # of the best rows, by the planner that ``make`` asks
NEAREST = 6  # planned where nothing may fit, to report by how much it misses


@dataclass(frozen=True, kw_only=True, slots=True)
class SweepResult:
    """``rows``: all that fit, best first. ``nearest``: where none does, what comes nearest;
    None where no cell meets the requirements in any space. ``looked_at``, ``planned``: how many
    candidates, and packs planned of them; ``left_out``: packs that may fit and were not planned,
    since a sweep plans ``MOST_PLANNED_CELLS`` at most. ``twins``: rows left out since they are
    another row's pack. ``refused``: of the packs by estimate those that the planner refused;
    ``open``: rows by estimate that were not planned though none is confirmed. ``advice``: why the
    least pack with a fitted enclosure does not go in, and what would do."""

    rows: tuple[Ranked, ...]
    nearest: Row | None
    looked_at: int
    planned: int
    left_out: int
    twins: int = 0
    refused: int = 0
    open: int = 0
    advice: str = ""

    @property
    def confirmed(self) -> bool:
        """Whether a row is more than an estimate."""
        return any(not one.row.by_estimate for one in self.rows)


def sweep(setting: Setting, run: Runner) -> SweepResult:
    """Every sensible pack that fits the space.

    Tubs are planned as far as their outside. Fitted enclosures, then cells alone where nothing
    with an enclosure goes in, are estimated, and the best of them planned as a whole."""
    todo = candidates(setting)
    estimates: list[Estimate] = run(estimated, setting, todo, "estimating")
    tasks = [task for estimate in estimates for task in estimate.tasks]
    chosen = chosen_tasks(setting, tasks)
    tubs, planned_tubs = _planned(setting, chosen, run)
    if tubs:
        tubs = _checked(setting, ranked(tubs, setting.asked), run)
    likely = _likely(setting, tasks, {id(task) for task in chosen})
    others = _others(setting, tubs, likely, run)
    rows = [*tubs, *others.rows]
    nearest, advice, more = None, "", 0
    if not rows:
        near = [estimate.nearest for estimate in estimates if estimate.nearest is not None]
        nearest, more = _nearest(setting, [*near, *chosen], run)
        advice = _advice(setting, others.refused, run)
    kept = without_twins(ranked(rows, setting.asked))
    return SweepResult(
        rows=ranked(kept, setting.asked),
        nearest=nearest,
        looked_at=len(todo) + others.looked_at,
        planned=planned_tubs + len(others.refused) + others.confirmed + more,
        left_out=len(tasks) - len(chosen) - len(likely) if rows else 0,
        twins=len(rows) - len(kept),
        refused=len(others.refused),
        open=others.open,
        advice=advice,
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Others:
    """Rows of the forms that are estimated first; ``confirmed``: how many of them are planned."""

    rows: tuple[Row, ...] = ()
    refused: tuple[Row, ...] = ()
    open: int = 0
    looked_at: int = 0

    @property
    def confirmed(self) -> int:
        """How many the planner confirms."""
        return sum(not row.by_estimate for row in self.rows)


def _likely(setting: Setting, tasks: Sequence[Task], chosen: set[int]) -> list[Row]:
    """Rows of the tubs that are not planned for lack of time, as far as their estimate fits; in a
    space that is no box it says too little."""
    if not setting.space.is_box:
        return []
    return [
        row_by_estimate(setting, task)
        for task in tasks
        if id(task) not in chosen and task.miss_mm <= 0.0
    ]


def _others(setting: Setting, tubs: Sequence[Row], likely: list[Row], run: Runner) -> _Others:
    """Tubs by estimate, and fitted enclosures above what goes into a tub; without an enclosure
    where none goes in."""
    known = [*tubs, *likely]
    fitted = _by_estimate(setting, EnclosureStyle.FITTED, known, likely, len(tubs), run)
    if tubs or fitted.confirmed:
        return fitted
    alone = _by_estimate(setting, EnclosureStyle.NONE, (), [], 0, run)
    return _Others(
        rows=(*fitted.rows, *alone.rows),
        refused=(*fitted.refused, *alone.refused),
        open=fitted.open + alone.open,
        looked_at=fitted.looked_at + alone.looked_at,
    )


def _by_estimate(
    setting: Setting,
    form: EnclosureStyle,
    known: Sequence[Row],
    likely: list[Row],
    planned_already: int,
    run: Runner,
) -> _Others:
    """Rows of a form above those ``known``; planned with those that are ``likely``."""
    todo = families(setting, form, known)
    answers: list[tuple[Row, ...]] = run(by_estimate, setting, todo, "estimating")
    rows = ranked([*likely, *(row for rows in answers for row in rows)], setting.asked)
    wanted = max(1, CONFIRMED - planned_already)
    found: Confirmed = confirm(setting, rows, run, wanted=wanted)
    return _Others(rows=found.rows, refused=found.refused, open=found.open, looked_at=len(todo))


def _nearest(setting: Setting, near: list[Task], run: Runner) -> tuple[Row | None, int]:
    """Of tubs, what misses by least, and how many were planned for it."""
    if EnclosureStyle.TUB not in setting.forms:
        return None, 0
    if not near:  # not even by area: the least that would do
        near = _least(setting, run)
    near = sorted(near, key=lambda task: round(task.miss_mm, 6))[:NEAREST]
    answers: list[tuple[Row, ...]] = run(missing, setting, near, "measuring")
    missed = [row for rows in answers for row in rows]
    nearest = min(
        missed, key=lambda row: (bool(row.refused), -round(row.fit.gap_mm, 6)), default=None
    )
    return nearest, len(near)


def _advice(setting: Setting, refused: Sequence[Row], run: Runner) -> str:
    """What the planner advises for the least pack that it refuses a fitted enclosure."""
    fitted = [row for row in refused if row.candidate.form is EnclosureStyle.FITTED]
    if not fitted:
        return ""
    least = min(fitted, key=lambda row: row.candidate.cells)
    answers: list[Row] = run(advised, setting, [least], "measuring")
    return answers[0].refused


def _planned(setting: Setting, tasks: Sequence[Task], run: Runner) -> tuple[list[Row], int]:
    """Rows of the tubs that fit, and how many were planned: first the least of each cell, series
    and lattice, and where that fits the others."""
    least: dict[tuple[object, ...], int] = {}
    for task in tasks:
        one = task.candidate
        key = one.offer, one.series, one.lattice
        least[key] = min(least.get(key, one.parallel), one.parallel)

    def is_least(task: Task) -> bool:
        one = task.candidate
        return least[one.offer, one.series, one.lattice] == one.parallel

    first = [task for task in tasks if is_least(task)]
    found: list[tuple[Row, ...]] = run(planned, setting, first, "planning the least")
    rows = [row for rows in found for row in rows if row.fits]
    fit = {(row.candidate.offer, row.candidate.series, row.candidate.lattice) for row in rows}
    more = [
        task
        for task in tasks
        if not is_least(task)
        and (task.candidate.offer, task.candidate.series, task.candidate.lattice) in fit
    ]
    found = run(planned, setting, more, "planning")
    return [*rows, *(row for rows in found for row in rows if row.fits)], len(first) + len(more)


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
