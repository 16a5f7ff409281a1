"""Grouping placed cells: S connected groups of exactly P, one after the other along a path."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from layouts.errors import PlanError
from layouts.grouping.bounds import contact_bound
from layouts.grouping.choice import Aim, aim_of, judge
from layouts.grouping.contacts import CellContacts, contacts, group_contacts, steps_of, worst_of
from layouts.grouping.pins import check_pins
from layouts.grouping.start_paths import FoundGrouping, from_walks
from layouts.grouping.values import Grouping, Wishes
from layouts.placing.values import Effort

__all__ = ["group_sites"]


def group_sites(
    xy_mm: NDArray[np.float64],
    neighbours: NDArray[np.int64],
    *,
    series: int,
    parallel: int,
    wishes: Wishes,
    effort: Effort,
) -> Grouping:
    """Groups of cells: ``xy_mm`` (n, 2) with n >= S*P, ``neighbours`` (m, 2) touching pairs.

    Sites left empty are chosen too (group 0). Quick: walks in bands alone, plain arrays, nothing
    compiled (unless no walk is sound). Best: annealed from those walks. Raises PlanError where
    no grouping was found that holds together, keeps the pins and stays within the volts allowed.
    """
    if series < 1 or parallel < 1 or len(xy_mm) < series * parallel:
        raise ValueError(f"{len(xy_mm)} sites do not hold {series} groups of {parallel}")
    whole = contacts(xy_mm, neighbours)
    check_pins(whole, series=series, parallel=parallel, pinned=wishes.pinned)
    _check_limit(series, wishes)
    kept = _largest_piece(whole, series * parallel)
    field, pinned = _part(whole, kept, wishes)
    bound, reason = contact_bound(field, series=series, parallel=parallel)
    aim = aim_of(field, series=series, parallel=parallel, bound=bound, wishes=wishes, pinned=pinned)
    found = _searched(field, aim, wishes.seed, effort)
    if found.verdict.faults:
        _refuse(field, found, aim, wishes)
    group = np.zeros(whole.count, dtype=np.int64)
    group[kept] = found.group
    pair, step = worst_of(whole, group)
    return Grouping(
        group=group,
        group_contacts=group_contacts(whole, group, series),
        contact_bound=bound,
        contact_bound_reason=reason,
        proven=found.verdict.fewest_contacts >= bound,
        worst_pair=pair,
        worst_volts=step * wishes.full_v,
        method=found.method,
        notes=_notes(aim, found, wishes),
    )


def _searched(field: CellContacts, aim: Aim, seed: int, effort: Effort) -> FoundGrouping:
    if aim.series == 1:
        group = np.zeros(field.count, dtype=np.int64)
        pool = from_walks(field, aim)
        group = pool[0].group if field.count > aim.parallel else np.ones_like(group)
        return FoundGrouping(group=group, verdict=judge(field, group, aim), method="one group")
    pool = from_walks(field, aim, thrifty=effort is Effort.QUICK)
    sound = pool[0].verdict.faults == 0
    if (effort is Effort.QUICK and sound) or aim.parallel == 1:
        return pool[0]  # single cells have no cell to give: they are a walk or nothing
    # compiled code is loaded only where it is needed
    from layouts.grouping.search import improved, mended

    if not sound:
        first = mended(field, aim, pool, seed=seed)
        if effort is Effort.QUICK:
            return first
        pool = [first, *pool]
    return improved(field, aim, pool, seed=seed)


def _largest_piece(whole: CellContacts, used: int) -> NDArray[np.int64]:
    """Indices of the sites that hang together; PlanError where they are too few."""
    one, other = whole.pairs.T
    graph = coo_matrix((np.ones(len(one)), (one, other)), shape=(whole.count, whole.count))
    pieces, label = connected_components(graph, directed=False)
    if pieces == 1:
        return np.arange(whole.count)
    sizes = np.bincount(label)
    if sizes.max() < used:
        raise PlanError(
            field="space",
            why=f"the cells are not connected: {pieces} islands, the largest of "
            f"{int(sizes.max())} of the {used} cells",
            remedy="join its parts by passages that cells fit through, or use one part alone",
        )
    return np.flatnonzero(label == int(np.argmax(sizes)))


def _part(
    whole: CellContacts, kept: NDArray[np.int64], wishes: Wishes
) -> tuple[CellContacts, dict[int, int]]:
    """The field of the kept sites alone, and the pins by their place in it."""
    if len(kept) == whole.count:
        return whole, dict(wishes.pinned)
    place = np.full(whole.count, -1, dtype=np.int64)
    place[kept] = np.arange(len(kept))
    pairs = place[whole.pairs]
    lost = sorted(cell for cell in wishes.pinned if place[cell] < 0)
    if lost:
        raise PlanError(
            field="grouping.pins",
            why=f"cell {lost[0]} is pinned but not connected to the others",
            remedy="pin another cell",
        )
    field = contacts(whole.xy_mm[kept], pairs[(pairs >= 0).all(axis=1)])
    return field, {int(place[cell]): group for cell, group in wishes.pinned.items()}


def _check_limit(series: int, wishes: Wishes) -> None:
    limit = wishes.volts_limit
    if limit is not None and series > 1 and limit < wishes.full_v - 1e-9:
        raise PlanError(
            field="grouping.volts_limit",
            value=f"{limit:g} V",
            why=f"consecutive groups touch, with a full cell's {wishes.full_v:g} V between them",
            remedy=f"allow at least {wishes.full_v:g} V",
        )


def _refuse(field: CellContacts, found: FoundGrouping, aim: Aim, wishes: Wishes) -> None:
    pinned = aim.pin > 0
    missed = np.flatnonzero(pinned & (found.group != aim.pin))
    if len(missed):
        raise PlanError(
            field="grouping.pins",
            why=f"no grouping was found that meets all of them; the best misses {len(missed)} of "
            f"{int(pinned.sum())}",
            remedy="pin fewer cells, or to groups closer to each other along the path",
        )
    over = int(steps_of(field, found.group).max(initial=0))
    if wishes.volts_limit is not None and over > aim.most_step:
        raise PlanError(
            field="grouping.volts_limit",
            value=f"{wishes.volts_limit:g} V",
            why="no grouping was found that stays within it; the best has "
            f"{over * wishes.full_v:.1f} V between touching cells",
            remedy="allow a higher voltage, or give the pack a longer and narrower shape",
        )
    raise PlanError(
        field="space",
        why=f"no {aim.series} connected groups of {aim.parallel} were found in it",
        remedy="give it a simpler shape or choose other numbers of groups and cells",
    )


def _notes(aim: Aim, found: FoundGrouping, wishes: Wishes) -> tuple[str, ...]:
    fewest_contacts, bound = found.verdict.fewest_contacts, aim.bound
    if aim.series == 1:
        return ()
    if fewest_contacts >= bound:
        notes = [f"smallest group boundary {fewest_contacts} pairs: proven best"]
    else:
        notes = [
            f"smallest group boundary {fewest_contacts} pairs; upper bound {bound}, whether it "
            f"can be "
            "reached is not known"
        ]
    worst = found.verdict.worst_step * wishes.full_v
    notes.append(f"up to {worst:.1f} V between touching cells")
    return tuple(notes)
