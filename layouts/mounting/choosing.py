"""The least set of brackets that holds a pack: sets by their number, screened, then judged."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.holding import FrameHold, HeldBody, apart
from layouts.mounting.closure import level_shortfall
from layouts.mounting.elastic import Answer, answer_of, load_signs_n

__all__ = ["Choice", "choose_brackets", "cost_of", "judged"]

Floats = NDArray[np.float64]
Sets = NDArray[np.int64]

# What a set costs, in grams of plastic; common practice, no source
SCREW_G, DRILLED_G, KIND_G = 15.0, 40.0, 25.0
MOST_SETS = 4000  # of one number that are screened, all of them where there are no more
KEPT = 60  # of the best, to which one more is added where there are more
JUDGED = 250  # of one number: screened ones that are solved in full
NEAR = 1.15  # a screened use up to this may hold when solved in full
LOOKED = 6  # of those with the least use, where none is near
GROUND = 1e-3  # of the mean stiffness: holds up what is not held, so that sets can be compared
MOST_USE = 1e6
LEAST_N = 1e-9  # of a load: one of 0 g asks nothing, and divides nothing
RESERVE_G = 60.0  # worth of brackets that are used by nothing against such that are used in full
RUBS = 9.0  # what friction alone holds ranks as used so much more: other sets are told first


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Choice:
    """A set of brackets and how it answers: the cheapest that holds, else that used least.

    ``short``: level axis, limit and load [N] where holds without friction bear too little.
    ``tried``: sets that were screened; ``offered``: places that there were."""

    chosen: tuple[FrameHold, ...]
    answer: Answer
    short: tuple[int, float, float] | None
    cost: float
    tried: int = 0
    offered: int = 0

    @property
    def holds(self) -> bool:
        """Whether it bears the load, level without friction."""
        return bool(self.chosen) and self.answer.use <= 1.0 and self.short is None

    @property
    def rank(self) -> tuple[bool, float]:
        """Least is best."""
        if self.holds:
            return False, self.cost + RESERVE_G * self.answer.use
        if self.answer.use >= MOST_USE:  # not held: more brackets come nearer to it
            return True, MOST_USE - len(self.chosen)
        return True, self.answer.use + (0.0 if self.short is None else RUBS)


def cost_of(chosen: Sequence[FrameHold]) -> float:
    """Grams of plastic, and what screws, drilled holes and kinds of parts are worth in them."""
    paid = [one for one in chosen if not one.free]
    kinds = {(one.kind, round(one.grams), one.thick_mm) for one in paid}
    each = sum(one.grams + SCREW_G * one.screws + DRILLED_G * one.drilled for one in paid)
    return each + KIND_G * len(kinds)


def judged(
    body: HeldBody, chosen: Sequence[FrameHold], *, better_than: Choice | None = None
) -> Choice:
    """A set solved in full; what friction alone holds is left open where it is no better anyway."""
    answer = answer_of(body, chosen)
    found = Choice(chosen=tuple(chosen), answer=answer, short=None, cost=cost_of(chosen))
    if answer.use > 1.0 or (better_than is not None and found.rank >= better_than.rank):
        return found
    return replace(found, short=level_shortfall(body, chosen))


def choose_brackets(
    body: HeldBody,
    offers: Callable[[float], Sequence[FrameHold]],
    *,
    most: int,
    thick_mm: Sequence[float],
    accepts: Callable[[Sequence[FrameHold]], bool] = lambda chosen: True,
) -> Choice | None:
    """The cheapest set of up to ``most`` brackets at the least thickness at which any holds.

    ``offers(thickness)``: all places. ``accepts``: whether a set that holds also passes what else
    is asked. Where none holds, the one that is used least; None where there is no place at all."""
    best: Choice | None = None
    tried = offered = 0
    for thick in thick_mm:
        made = [one for one in offers(thick) if apart(one.takes_mm, body.taken_mm)]
        free = [one for one in made if one.free]
        paid = [one for one in made if not one.free]
        offered = max(offered, len(made))
        if not paid:
            continue
        screen = _Screen.of(body, paid, free)
        level: Sets = np.arange(len(paid))[:, None]
        for count in range(1, most + 1):
            if count > 1:
                level = screen.grown(level)
            if not len(level):
                break
            tried += len(level)
            best = _best_of(screen, level, best, accepts)
            if best is not None and best.holds and best.rank[1] <= screen.least_cost(count + 1):
                break
        if best is not None and best.holds:
            break
    if best is not None and not best.holds and best.short is None and best.answer.use < MOST_USE:
        best = replace(best, short=level_shortfall(body, best.chosen))
    return None if best is None else replace(best, tried=tried, offered=offered)


def _best_of(
    screen: _Screen,
    level: Sets,
    best: Choice | None,
    accepts: Callable[[Sequence[FrameHold]], bool],
) -> Choice | None:
    """The better of what was found and the sets of one number."""
    uses = screen.uses(level)
    near = np.flatnonzero(uses <= NEAR)
    costs = np.array([cost_of(screen.picked(level[k])) for k in near])
    for k in near[np.argsort(costs, kind="stable")][:JUDGED].tolist():
        chosen = screen.picked(level[k])
        if best is not None and best.holds and cost_of(chosen) >= best.rank[1]:
            break
        found = judged(screen.body, chosen, better_than=best)
        if best is not None and found.rank >= best.rank:
            continue
        if not found.holds or accepts(chosen):
            best = found
    if best is None or not best.holds:
        for k in np.argsort(uses, kind="stable")[:LOOKED].tolist():
            found = judged(screen.body, screen.picked(level[k]))
            if (best is None or found.rank < best.rank) and not found.holds:
                best = found
    return best


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Screen:
    """All places as tables, to compare sets by the thousand: linear springs, no letting go.

    ``rows`` (c, p, 6) wrenches, ``stiff``, ``least`` and ``most`` (c, p), place by place, with 0
    where a bracket has fewer holds; ``matrix`` (c, 6, 6); ``fits`` (c, c) whether two stand beside
    each other."""

    body: HeldBody
    paid: list[FrameHold]
    free: list[FrameHold]
    rows: Floats
    stiff: Floats
    least: Floats
    most: Floats
    places: int
    matrix: Floats
    base: Floats
    fits: NDArray[np.bool_]
    costs: Floats

    @classmethod
    def of(cls, body: HeldBody, paid: list[FrameHold], free: list[FrameHold]) -> _Screen:
        """Made once a thickness."""
        groups = [_by_place(one) for one in paid]
        places = max(len(group) for group in groups)
        wide = max(len(numbers) for group in groups for numbers in group)
        shape = (len(paid), places * wide)
        rows, stiff = np.zeros((*shape, 6)), np.zeros(shape)
        least, most = np.zeros(shape), np.zeros(shape)
        for k, (one, group) in enumerate(zip(paid, groups, strict=True)):
            held = one.wrenches(body.centre_mm, body.half_diagonal_mm)
            for at, number in (
                (g * wide + q, n) for g, ns in enumerate(group) for q, n in enumerate(ns)
            ):
                point = one.points[number]
                rows[k, at], stiff[k, at] = held[number], point.stiffness_n_mm
                if not point.slips:
                    least[k, at], most[k, at] = point.against_n, point.along_n
        matrix = np.einsum("cpi,cp,cpj->cij", rows, stiff, rows)
        base = np.zeros((6, 6))
        for one in free:
            held = one.wrenches(body.centre_mm, body.half_diagonal_mm)
            base += (held.T * [p.stiffness_n_mm for p in one.points]) @ held / 2.0
        beside = np.array([[apart(a.takes_mm, b.takes_mm) for b in paid] for a in paid])
        clear = [
            [apart(a.tools_mm, b.takes_mm) and apart(b.tools_mm, a.takes_mm) for b in paid]
            for a in paid
        ]
        return cls(
            body=body, paid=paid, free=free, rows=rows, stiff=stiff, least=least, most=most,
            places=places, matrix=matrix, base=base, fits=beside & np.array(clear),
            costs=np.sort([cost_of([one]) - KIND_G for one in paid]),
        )  # fmt: skip

    def picked(self, numbers: Sets) -> tuple[FrameHold, ...]:
        """The brackets of a set, and all that cost nothing and stand clear of them."""
        chosen = [self.paid[k] for k in numbers.tolist()]
        taken = [box for one in chosen for box in one.takes_mm]
        return (*chosen, *(one for one in self.free if apart(one.takes_mm, taken)))

    def least_cost(self, count: int) -> float:
        """No set of so many costs less."""
        return math.inf if count > len(self.costs) else float(self.costs[:count].sum()) + KIND_G

    def uses(self, level: Sets) -> Floats:
        """(n,) greatest use of each set by linear springs, on soft ground where they hold nothing;
        at most ``MOST_USE``."""
        loads, found = load_signs_n(self.body), []
        for part in np.array_split(level, max(1, len(level) // 500)):
            stiff = self.matrix[part].sum(axis=1) + self.base
            mean = np.trace(stiff, axis1=1, axis2=2) / 6.0
            soft = stiff + (GROUND * mean)[:, None, None] * np.eye(6)
            shift = np.linalg.solve(soft, np.broadcast_to(-loads.T, (len(part), 6, len(loads))))
            force = np.einsum("nbpi,nil->nbpl", self.rows[part], shift)
            force *= self.stiff[part][..., None]
            cap = np.where(force > 0.0, self.most[part][..., None], self.least[part][..., None])
            share = np.where(cap > 0.0, np.abs(force) / np.where(cap > 0.0, cap, 1.0), 0.0)
            left = np.einsum("nij,njl->nil", GROUND * mean[:, None, None] * np.eye(6), shift)
            total = max(float(np.linalg.norm(loads[0])), LEAST_N)
            unheld = np.linalg.norm(left, axis=1).max(axis=1) / total
            each = share.reshape(*share.shape[:2], self.places, -1, len(loads)).sum(axis=3)
            found.append(each.max(axis=(1, 2, 3)) + np.where(unheld > 0.1, 100.0, 0.0))
        return np.asarray(np.minimum(np.concatenate(found), MOST_USE))

    def grown(self, level: Sets) -> Sets:
        """All sets with one bracket more, those from the best where there are too many."""
        count = level.shape[1] + 1
        if math.comb(len(self.paid), count) <= MOST_SETS:
            every = np.array(
                list(itertools.combinations(range(len(self.paid)), count)), dtype=np.int64
            )
            return self._fitting(every.reshape(-1, count))
        if len(level) > KEPT:
            level = level[np.argsort(self.uses(level), kind="stable")[:KEPT]]
        more = np.array(
            [
                sorted((*one, k))
                for one in level.tolist()
                for k in np.flatnonzero(self.fits[one].all(axis=0)).tolist()
                if k not in one
            ],
            dtype=np.int64,
        ).reshape(-1, count)
        return np.unique(more, axis=0)

    def _fitting(self, sets: Sets) -> Sets:
        ok = np.ones(len(sets), dtype=np.bool_)
        for a, b in itertools.combinations(range(sets.shape[1]), 2):
            ok &= self.fits[sets[:, a], sets[:, b]]
        return sets[ok]


def _by_place(one: FrameHold) -> list[list[int]]:
    """Numbers of a bracket's holds, those in one place together."""
    found: dict[tuple[float, float, float], list[int]] = {}
    for number, point in enumerate(one.points):
        found.setdefault(point.at_mm, []).append(number)
    return list(found.values())
