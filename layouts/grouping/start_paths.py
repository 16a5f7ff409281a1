"""Groupings cut from walks over the field, and one long walk where bands do not serve."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from layouts.grouping.choice import Aim, GroupingScore, facing, judge, value_of
from layouts.grouping.contacts import CellContacts, IntArray, group_contacts, steps_of
from layouts.grouping.start_bands import Bands, Start, all_bands, band_walks, level_walks

__all__ = ["FoundGrouping", "from_walks", "held_together", "long_walk"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class FoundGrouping:
    """A grouping (n,), what it amounts to, and how it was found."""

    group: IntArray
    verdict: GroupingScore
    method: str


def from_walks(field: CellContacts, aim: Aim, *, thrifty: bool = False) -> list[FoundGrouping]:
    """Groupings cut from walks, in runs of P cells, the best first.

    Kept: for each worst step the two best, so that a search has starts of every kind.
    ``thrifty``: bands too narrow to beat what was found are left out.
    """
    pool = _Pool(field, aim, thrifty)
    for start in level_walks(field):
        pool.add(start)
    for cut in all_bands(field, parallel=aim.parallel):
        if thrifty and not pool.could_win(cut):
            continue
        for start in band_walks(field, cut):
            pool.add(start)
    if not pool.sound:
        order = long_walk(field)
        if order is not None:
            pool.add(Start(order=order, name="one long walk"))
    found = [one for ones in pool.kept.values() for one in ones]
    return sorted(found, key=lambda one: one.verdict.rank, reverse=True)


class _Pool:
    """The best groupings so far of each kind, and which walks were seen."""

    def __init__(self, field: CellContacts, aim: Aim, thrifty: bool) -> None:
        self.field = field
        self.aim = aim
        self.thrifty = thrifty
        self.ranks = np.repeat(np.arange(1, aim.series + 1), aim.parallel)
        self.whole = field.count == len(self.ranks) and not aim.pin.any()
        self.kept: dict[tuple[bool, int], list[FoundGrouping]] = {}
        self.seen: set[bytes] = set()
        self.sound = False
        self.best_value = -np.inf

    def could_win(self, cut: Bands) -> bool:
        """False where even the widest boundary of a band, at no volts, would be worth less.

        Across a band of w rows a cut meets 2w-1 pairs, a few more where it has steps.
        """
        ceiling = min(1.0, (2 * cut.rows + 2) / max(1, self.aim.bound))
        return ceiling + self.aim.most_for_ends > self.best_value

    def add(self, start: Start) -> None:
        """Cut a walk into groups, from either end, and keep what is good of its kind."""
        key = start.order.tobytes()
        if key in self.seen:
            return
        self.seen.add(key)
        for order in (start.order, start.order[::-1]):
            group = np.zeros(self.field.count, dtype=np.int64)
            group[order[: len(self.ranks)]] = self.ranks
            if self.whole:
                # the same groups counted from the other end: only the ends' places differ
                group = facing(group, self.aim)
            if self.sound and self._hopeless(group):
                continue
            verdict = judge(self.field, group, self.aim)
            if verdict.faults == 0:
                self.sound = True
                self.best_value = max(self.best_value, verdict.value)
            ones = self.kept.setdefault((verdict.faults == 0, verdict.worst_step), [])
            ones.append(FoundGrouping(group=group, verdict=verdict, method=start.name))
            ones.sort(key=lambda one: one.verdict.rank, reverse=True)
            del ones[2:]
            if self.whole:
                return

    def _hopeless(self, group: IntArray) -> bool:
        """Not worth a full judgement: groups that should touch don't, or no gain if thrifty."""
        between = group_contacts(self.field, group, self.aim.series)
        if (between == 0).any():
            return True
        if not self.thrifty or not len(between):
            return False
        steps = steps_of(self.field, group)
        return value_of(group, self.aim, int(between.min()), int(steps.max())) < self.best_value


def held_together(field: CellContacts, group: IntArray, series: int) -> IntArray:
    """The grouping with every group in one piece: smaller pieces go to groups beside them.

    Sizes may then differ from P. Each group keeps its largest piece (the first of equals).
    """
    piece = np.full(field.count, -1, dtype=np.int64)
    largest: dict[int, list[int]] = {}
    for first in range(field.count):
        if piece[first] >= 0 or group[first] == 0:
            continue
        cells = [first]
        piece[first] = first
        for cell in cells:
            for other in field.around[cell].tolist():
                if other >= 0 and piece[other] < 0 and group[other] == group[first]:
                    piece[other] = first
                    cells.append(other)
        if len(cells) > len(largest.get(int(group[first]), [])):
            largest[int(group[first])] = cells
    whole = np.full(field.count, -1, dtype=np.int64)
    whole[group == 0] = 0
    for number in range(1, series + 1):
        whole[largest.get(number, [])] = number
    waiting = deque(np.flatnonzero(whole > 0).tolist())
    while waiting:
        cell = waiting.popleft()
        for other in field.around[cell].tolist():
            if other >= 0 and whole[other] < 0:
                whole[other] = whole[cell]
                waiting.append(other)
    return np.where(whole < 0, 0, whole)


def long_walk(field: CellContacts, *, tries: int = 6, turns_a_cell: int = 40) -> IntArray | None:
    """A walk (n,) over all cells from touching cell to touching cell, or None if none was found.

    Grown at its end; where it can't grow, its tail is turned over at a neighbour of the end
    (rotations after Posa, from memory), and now and then it is continued from its other end.
    """
    if not field.count:
        return np.zeros(0, dtype=np.int64)
    around = [[other for other in row if other >= 0] for row in field.around.tolist()]
    for attempt in range(tries):
        walk = _grown(around, 1 + attempt, turns_a_cell * field.count)
        if len(walk) == field.count:
            return np.array(walk, dtype=np.int64)
    return None


def _grown(around: list[list[int]], seed: int, turns: int) -> list[int]:
    """The longest walk reached within so many turns."""
    chance = np.random.default_rng(seed)
    first = min(range(len(around)), key=lambda cell: (len(around[cell]), cell))
    walk = [first]
    place = {first: 0}
    while turns > 0 and len(walk) < len(around):
        end = walk[-1]
        free = [other for other in around[end] if other not in place]
        if free:
            # cells with few free neighbours first, or they are left behind
            step = min(free, key=lambda c: (sum(o not in place for o in around[c]), c))
            place[step] = len(walk)
            walk.append(step)
            continue
        turns -= 1
        choices = [other for other in around[end] if place[other] < len(walk) - 2]
        if not choices or chance.random() < 0.02:
            walk.reverse()
            place = {cell: at for at, cell in enumerate(walk)}
            continue
        at = place[choices[int(chance.integers(len(choices)))]] + 1
        walk[at:] = walk[at:][::-1]
        for index in range(at, len(walk)):
            place[walk[index]] = index
    return walk
