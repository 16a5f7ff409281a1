"""The long search: annealing towards ever wider boundaries, under several limits on volts.

Value weighs the smallest boundary against the worst step between touching groups. Both are made
plain: the step is held under a limit, the boundary driven to a target, and several limits are
tried. Budgets count steps, so the same input gives the same answer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layouts.grouping.anneal import COMPILED, anneal, corners
from layouts.grouping.choice import Aim, judge
from layouts.grouping.contacts import CellContacts, IntArray
from layouts.grouping.start_paths import FoundGrouping, held_together

__all__ = ["improved", "mended"]

# Steps for a small field, and cells that add as many again. Without numba a step takes about a
# hundred times as long, so there are fewer.
STEPS = 110_000_000 if COMPILED else 400_000
CELLS = 1000
MENDING = 1_000_000 if COMPILED else 50_000
MENDED_STARTS = 8

# size cost, heat at begin and end: found by trial over the fields of the benchmark
SETTINGS = ((2.0, 6.0, 0.25), (1.0, 4.0, 0.3), (2.0, 8.0, 0.2), (3.0, 4.0, 0.2))
PIN_COST = 10.0
SIDE_COST = 40.0
LEVELS = (1.0, 0.6, 0.35, 0.2, 0.1, 0.03, 0.0)
SHORT_RUNS = 2
LONG_RUN = 100_000


@dataclass(slots=True, kw_only=True)
class _Level:
    """One limit on the step between touching groups, and how far it has come."""

    most_step: int
    starts: list[FoundGrouping]
    best: FoundGrouping | None = None

    @property
    def fewest_contacts(self) -> int:
        return self.best.verdict.fewest_contacts if self.best else 0


class _GroupingSearch:
    """Runs of the annealer on one field, the budget left, and the best found so far."""

    def __init__(
        self, field: CellContacts, aim: Aim, pool: list[FoundGrouping], seed: int, steps: int | None
    ) -> None:
        self.field = field
        self.aim = aim
        self.corner = corners(field.around)
        self.best = pool[0]
        self.levels = _levels(aim, pool)
        self.runs = 0
        self.seed = seed
        self.total = steps or round(STEPS * (1 + field.count / CELLS))
        self.left = self.total

    def settled(self) -> bool:
        """Nothing better can exist, or no steps are left."""
        verdict = self.best.verdict
        no_volts = self.aim.voltage_weight == 0 or verdict.worst_step <= 1
        asked = self.aim.first_asked or self.aim.last_asked
        sound = verdict.faults == 0 and verdict.fewest_contacts >= self.aim.bound
        return self.left <= 0 or (sound and no_volts and not asked)

    def run(self, level: _Level, start: FoundGrouping, target: int, steps: int) -> FoundGrouping:
        """One run of the annealer; keeps what is better, for the level and over all."""
        size_cost, warm, cold = SETTINGS[self.runs % len(SETTINGS)]
        aim = self.aim
        group = start.group.copy()
        if start.verdict.faults:
            group = held_together(self.field, group, aim.series)
        step_cost = np.zeros(aim.series + 1)
        above = np.arange(aim.series + 1) - level.most_step
        step_cost[above > 0] = 2.0 + above[above > 0]
        asked = aim.first_asked or aim.last_asked
        used = 0
        for size, hot, share in ((size_cost, warm, 0.8), (6 * size_cost, 2.0, 0.2)):
            # where sizes were never all exact, a cooler end brings them there
            answer, cost, made = anneal(
                group, self.field.around, self.corner, aim.series, aim.parallel, target,
                step_cost, aim.pin, PIN_COST,
                _pull(aim.first_pull, aim.first_asked, aim.parallel),
                _pull(aim.last_pull, aim.last_asked, aim.parallel),
                size, hot, cold, max(1, round(share * steps)),
                self.seed * 7919 + self.runs * 104729,
                -1.0 if asked else 0.0,
            )  # fmt: skip
            used += int(made)
            if np.isfinite(cost):
                break
        self.runs += 1
        self.left -= used
        if not np.isfinite(cost):
            return start
        found = _facing(self.field, answer, aim)
        for one in self.levels:
            if _within(found, one) and (
                one.best is None or found.verdict.rank > one.best.verdict.rank
            ):
                one.best = found
        if found.verdict.rank > self.best.verdict.rank:
            self.best = found
        return found


def improved(
    field: CellContacts, aim: Aim, pool: list[FoundGrouping], *, seed: int, steps: int | None = None
) -> FoundGrouping:
    """The best grouping found from the starts in ``pool`` within a fixed budget of steps.

    ``steps``: that budget; None: as suits the field's size.
    """
    search = _GroupingSearch(field, aim, pool, seed, steps)
    levels = search.levels
    # large fields need long runs, small ones many
    long = min(search.total // 5, max(search.total // 12, LONG_RUN * field.count))
    # far above what is reached the annealer comes furthest: most of the way to the bound
    guess = _towards(levels[0].fewest_contacts, aim.bound, 0.8)
    for level in levels:
        _narrow(search, level, guess, long if len(levels) == 1 else search.total // 30)
        guess = max(level.fewest_contacts + 1, 1)
    turn = 0
    while not search.settled():
        ranked = sorted(levels, key=_promise, reverse=True)
        level = ranked[min(len(ranked) - 1, 1 if turn % 4 == 3 else 0)]
        start = level.starts[turn // 2 % len(level.starts)]
        if turn % 2 == 0 and level.best is not None:
            start = level.best
        share = (0.4, 0.2, 0.0)[turn // 2 % 3]
        target = _towards(level.fewest_contacts, aim.bound, share)
        search.run(level, start, target, min(long, search.left))
        turn += 1
    return search.best


def mended(field: CellContacts, aim: Aim, pool: list[FoundGrouping], *, seed: int) -> FoundGrouping:
    """A first sound grouping where no walk gives one: short runs from several starts."""
    search = _GroupingSearch(field, aim, pool, seed, None)
    level = search.levels[0]
    for start in pool[:MENDED_STARTS]:
        search.run(level, start, max(1, aim.bound // 3), MENDING)
        if search.best.verdict.faults == 0:
            break
    return search.best


def _narrow(search: _GroupingSearch, level: _Level, guess: int, steps: int) -> None:
    """Find about how wide boundaries can be under a level's limit: the guess, then up or by
    halves.
    """
    high = search.aim.bound + 1
    target = guess
    for turn in range(SHORT_RUNS):
        low = level.fewest_contacts
        if search.settled() or high - low < 2:
            return
        target = min(max(target, low + 1), high - 1)
        start = level.starts[turn % len(level.starts)]
        if turn % 2 and level.best is not None:
            start = level.best
        search.run(level, start, target, min(steps, search.left))
        if level.fewest_contacts < target:
            high = target
        target = (level.fewest_contacts + high) // 2


def _towards(fewest_contacts: int, bound: int, share: float) -> int:
    """A target at least one above a boundary, so far towards the bound."""
    return max(1, min(bound, fewest_contacts + max(1, round(share * (bound - fewest_contacts)))))


def _levels(aim: Aim, pool: list[FoundGrouping]) -> list[_Level]:
    """Limits worth trying: the widest alone where volts have no weight."""
    top = aim.most_step
    shares = LEVELS if aim.voltage_weight > 0 else LEVELS[:1]
    limits = sorted({max(1, round(top * share)) for share in shares}, reverse=True)
    levels = []
    for most in limits:
        fit = [one for one in pool if one.verdict.worst_step <= most and not one.verdict.faults]
        other = [one for one in pool if one not in fit]
        best = fit[0] if fit else None
        levels.append(_Level(most_step=most, starts=(fit + other)[:6], best=best))
    return levels


def _promise(level: _Level) -> tuple[float, ...]:
    if level.best is None:
        return (-np.inf, -level.most_step)
    return level.best.verdict.rank


def _within(found: FoundGrouping, level: _Level) -> bool:
    return found.verdict.faults == 0 and found.verdict.worst_step <= level.most_step


def _facing(field: CellContacts, group: IntArray, aim: Aim) -> FoundGrouping:
    """The grouping walked from the end that suits the wishes better."""
    one = FoundGrouping(group=group, verdict=judge(field, group, aim), method="annealed")
    turned = np.where(group > 0, aim.series + 1 - group, 0)
    other = FoundGrouping(group=turned, verdict=judge(field, turned, aim), method="annealed")
    return other if other.verdict.rank > one.verdict.rank else one


def _pull(pull: np.ndarray, asked: bool, parallel: int) -> np.ndarray:
    """Cost of each cell for lying away from a required side, 0 at the side itself."""
    if not asked or not len(pull):
        return np.zeros(len(pull))
    span = max(float(pull.max()), 1e-12)
    return SIDE_COST / parallel * (1.0 - pull / span)
