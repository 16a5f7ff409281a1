"""The long search: boundaries it must reach, exact answers on small fields, and its wishes."""

from __future__ import annotations

import ast
import subprocess
import sys
from itertools import combinations

import numpy as np
import pytest

from layouts.grouping.anneal import COMPILED, anneal, corners
from layouts.grouping.bounds import contact_bound
from layouts.grouping.choice import aim_of, judge
from layouts.grouping.contacts import contacts
from layouts.grouping.group import group_sites
from layouts.grouping.search import improved
from layouts.grouping.start_paths import FoundGrouping, from_walks, held_together, long_walk
from layouts.grouping.values import Wishes
from layouts.placing.values import Effort
from tests.layouts.grouping.fields import (
    Points,
    ell,
    grid,
    hexagon,
    honeycomb,
    judged,
    touching,
    triangle,
)
from tests.sampled import sampled

CONTACTS_ALONE = Wishes(voltage_weight=0.0)


def searched(
    xy_mm: Points, series: int, parallel: int, steps: int, wishes: Wishes = CONTACTS_ALONE
) -> FoundGrouping:
    """A search of so many steps over a whole field."""
    field = contacts(xy_mm, touching(xy_mm))
    bound, _ = contact_bound(field, series=series, parallel=parallel)
    aim = aim_of(
        field,
        series=series,
        parallel=parallel,
        bound=bound,
        wishes=wishes,
        pinned=wishes.pinned,
    )
    return improved(field, aim, from_walks(field, aim), seed=wishes.seed, steps=steps)


def best_by_trying_all(xy_mm: Points, series: int, parallel: int) -> int:
    """The largest smallest boundary of all groupings there are, by trying every one."""
    count = len(xy_mm)
    around: list[set[int]] = [set() for _ in range(count)]
    for i, j in touching(xy_mm).tolist():
        around[i].add(j)
        around[j].add(i)

    def connected(cells: frozenset[int]) -> bool:
        seen = {min(cells)}
        waiting = list(seen)
        while waiting:
            fresh = (around[waiting.pop()] & cells) - seen
            seen |= fresh
            waiting += fresh
        return seen == cells

    def of_size(free: frozenset[int]) -> set[frozenset[int]]:
        grown = {frozenset({cell}) for cell in free}
        for _ in range(parallel - 1):
            grown = {
                one | {other}
                for one in grown
                for cell in one
                for other in around[cell] & free - one
            }
        return grown

    best = 0

    def extend(last: frozenset[int], free: frozenset[int], least: int) -> None:
        nonlocal best
        if not free:
            best = max(best, least)
            return
        if not connected(free):
            return
        for fresh in of_size(free):
            fewest_contacts = sum(len(around[cell] & last) for cell in fresh)
            if min(fewest_contacts, least) > best:
                extend(fresh, free - fresh, min(fewest_contacts, least))

    for first in of_size(frozenset(range(count))):
        extend(first, frozenset(range(count)) - first, 10**6)
    return best


def test_trying_all_agrees_with_counting_by_hand() -> None:
    """Two groups of two in a square of four: 2 pairs; three in a row of three: 1."""
    assert best_by_trying_all(grid(2, 2), 2, 2) == 2
    assert best_by_trying_all(grid(3, 1), 3, 1) == 1


@pytest.mark.parametrize(
    ("xy_mm", "series", "parallel"),
    [
        (honeycomb(4, 3), 4, 3),
        (honeycomb(3, 4), 3, 4),
        (grid(4, 3), 3, 4),
        pytest.param(triangle(4), 5, 2, marks=pytest.mark.slow),
        (honeycomb(4, 4), 4, 4),
    ],
)
def test_search_finds_the_best_there_is(xy_mm: Points, series: int, parallel: int) -> None:
    """On fields so small that every grouping can be tried, no boundary is missed."""
    found = searched(xy_mm, series, parallel, 300_000)
    assert found.verdict.faults == 0
    assert found.verdict.fewest_contacts == best_by_trying_all(xy_mm, series, parallel)


def test_four_by_four_honeycomb_reaches_seven() -> None:
    """Straight zigzag columns: 2P-1 = 7, counted by hand; the bound is 8."""
    found = searched(honeycomb(4, 4), 4, 4, 300_000)
    assert found.verdict.fewest_contacts == 7
    assert searched(honeycomb(5, 4), 5, 4, 300_000).verdict.fewest_contacts == 7


SMALL = [
    (honeycomb(8, 5), 10, 4, 5, 8_000_000),
    (grid(8, 5), 10, 4, 3, 3_000_000),
    (hexagon(6), 13, 7, 10, 6_000_000),
]


@pytest.mark.parametrize(
    ("xy_mm", "series", "parallel", "fewest_contacts", "steps"),
    sampled(SMALL, lambda case: case is SMALL[1]),
)
def test_fronts_of_small_fields(
    xy_mm: Points, series: int, parallel: int, fewest_contacts: int, steps: int
) -> None:
    """Boundaries a short search must reach already, no weight on volts."""
    found = searched(xy_mm, series, parallel, steps)
    assert found.verdict.faults == 0
    assert found.verdict.fewest_contacts >= fewest_contacts


LARGE = {
    "honeycomb 8x5": (honeycomb(8, 5), 10, 4, 5),
    "grid 8x5": (grid(8, 5), 10, 4, 3),
    "hexagon of 91": (hexagon(6), 13, 7, 11),
    "triangle of 91": (triangle(13), 13, 7, 11),
    "honeycomb 14x15": (honeycomb(14, 15), 20, 10, 15),
    "ell of 206": (ell(), 20, 10, 14),
    "honeycomb 40x24": (honeycomb(40, 24), 24, 40, 79),
    "honeycomb 31x31": (honeycomb(31, 31), 24, 40, 71),
    "honeycomb 84x84": (honeycomb(84, 84), 100, 70, 71),
    "honeycomb 100x70": (honeycomb(100, 70), 100, 70, 139),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", LARGE)
def test_fronts_of_the_whole_table(name: str) -> None:
    """Boundaries the full search must reach, no weight on volts, judged by a count of their own."""
    xy_mm, series, parallel, fewest_contacts = LARGE[name]
    found = group_sites(
        xy_mm,
        touching(xy_mm),
        series=series,
        parallel=parallel,
        wishes=CONTACTS_ALONE,
        effort=Effort.BEST,
    )
    assert judged(xy_mm, found, series=series, parallel=parallel)[0] >= fewest_contacts


def test_same_search_twice_gives_the_same_answer() -> None:
    """Budgets count steps and seeds are fixed."""
    one = searched(honeycomb(8, 5), 10, 4, 400_000)
    other = searched(honeycomb(8, 5), 10, 4, 400_000)
    assert one.group.tolist() == other.group.tolist()


def test_search_keeps_pins_and_limits() -> None:
    """Pinned cells stand in their groups and no touching pair is above the limit."""
    wishes = Wishes(voltage_weight=0.2, volts_limit=21.0, pinned={0: 1, 39: 10})
    found = searched(honeycomb(8, 5), 10, 4, 2_000_000, wishes)
    assert found.verdict.faults == 0
    assert found.verdict.worst_step <= 5
    assert (found.group[0], found.group[39]) == (1, 10)


@pytest.mark.slow
def test_search_weighs_volts() -> None:
    """With a heavy weight the worst pair comes down, at a narrower or equal boundary."""
    bare = searched(honeycomb(14, 15), 20, 10, 4_000_000).verdict
    weighed = searched(honeycomb(14, 15), 20, 10, 4_000_000, Wishes(voltage_weight=1.0)).verdict
    assert weighed.faults == bare.faults == 0
    assert weighed.worst_step < bare.worst_step


def test_search_brings_the_ends_to_the_asked_sides() -> None:
    """Asked sides: group 1 left and group S right of the middle."""
    xy_mm = honeycomb(8, 5)
    wishes = Wishes(voltage_weight=0.0, minus_side=(-1.0, 0.0), plus_side=(1.0, 0.0))
    group = searched(xy_mm, 10, 4, 2_000_000, wishes).group
    middle = xy_mm[:, 0].mean()
    assert xy_mm[group == 1, 0].mean() < middle < xy_mm[group == 10, 0].mean()


def test_moves_keep_groups_in_one_piece_and_costs_true() -> None:
    """After any number of moves groups hold together and the cost is that of the answer."""
    xy_mm = honeycomb(8, 5)
    field = contacts(xy_mm, touching(xy_mm))
    aim = aim_of(field, series=10, parallel=4, bound=7, wishes=CONTACTS_ALONE, pinned={})
    nothing = np.zeros(field.count)
    for steps in (1_000, 20_000, 200_000):
        group = from_walks(field, aim)[0].group.copy()
        best, cost, made = anneal(
            group, field.around, corners(field.around), 10, 4, 6, np.zeros(11), aim.pin,
            0.0, nothing, nothing, 2.0, 6.0, 0.3, steps, 5, 0.0,
        )  # fmt: skip
        assert made == steps
        graph_pieces = judge(field, group, aim)
        sizes = np.bincount(group, minlength=11)[1:]
        off = int((sizes != 4).sum())
        group_contacts_apart = graph_pieces.fewest_contacts == 0
        assert graph_pieces.faults == off or group_contacts_apart
        verdict = judge(field, best, aim)
        assert verdict.faults == 0
        ends = best[field.pairs]
        low = ends.min(axis=1)[np.abs(ends[:, 0] - ends[:, 1]) == 1]
        group_contacts = np.bincount(low, minlength=10)[1:10]
        assert cost == pytest.approx(float((np.maximum(0, 6 - group_contacts) ** 2).sum()))


def test_corners_of_both_lattices() -> None:
    """Neighbours side by side touch on a honeycomb; on a grid the far corner joins them."""
    hexes = contacts(honeycomb(5, 5), touching(honeycomb(5, 5)))
    assert corners(hexes.around)[12].tolist() == [-2] * 6
    squares = contacts(grid(3, 3), touching(grid(3, 3)))
    assert sorted(corners(squares.around)[4].tolist()) == [0, 2, 6, 8]


def test_groups_in_pieces_are_held_together() -> None:
    """The largest piece of each group stays; smaller ones go to groups beside them."""
    xy_mm = honeycomb(6, 1)
    field = contacts(xy_mm, touching(xy_mm))
    whole = held_together(field, np.array([1, 1, 2, 1, 2, 2]), 2)
    assert whole.tolist() in ([1, 1, 1, 2, 2, 2], [1, 1, 2, 2, 2, 2])


def test_long_walk_visits_every_cell_by_touching_steps() -> None:
    """Each cell once, each step between touching cells; none where there is no such walk."""
    xy_mm = honeycomb(9, 7)
    field = contacts(xy_mm, touching(xy_mm))
    walk = long_walk(field)
    assert walk is not None
    assert sorted(walk.tolist()) == list(range(63))
    assert all(b in field.around[a] for a, b in zip(walk[:-1], walk[1:], strict=True))
    star = np.array([(0, 0), (20, 0), (-20, 0), (0, 20), (0, -20)], dtype=np.float64)
    assert long_walk(contacts(star, touching(star))) is None


def test_bound_holds_for_every_grouping_of_a_small_field() -> None:
    """The bound printed is never below what trying all finds."""
    for xy_mm, series, parallel in (
        (honeycomb(4, 3), 4, 3),
        (grid(4, 3), 4, 3),
        (triangle(4), 5, 2),
        (honeycomb(3, 3), 3, 3),
    ):
        field = contacts(xy_mm, touching(xy_mm))
        bound, _ = contact_bound(field, series=series, parallel=parallel)
        assert best_by_trying_all(xy_mm, series, parallel) <= bound


def test_bound_with_spare_sites_counts_any_choice_of_them() -> None:
    """Whichever two of ten sites stay empty, no more touching pairs are left than counted."""
    xy_mm = triangle(4)
    field = contacts(xy_mm, touching(xy_mm))
    bound, reason = contact_bound(field, series=2, parallel=4)
    counted = int(reason.split()[0])
    for empty in combinations(range(10), 2):
        left = sum(1 for pair in field.pairs.tolist() if not set(pair) & set(empty))
        assert left <= counted
    assert bound == counted - 6


def short_run() -> tuple[list[int], float, int]:
    """A few moves in a small field: the best groups, their cost, and steps made."""
    xy_mm = honeycomb(8, 5)
    field = contacts(xy_mm, touching(xy_mm))
    aim = aim_of(field, series=10, parallel=4, bound=7, wishes=CONTACTS_ALONE, pinned={})
    nothing = np.zeros(field.count)
    best, cost, made = anneal(
        from_walks(field, aim)[0].group.copy(), field.around, corners(field.around), 10, 4, 6,
        np.zeros(11), aim.pin, 0.0, nothing, nothing, 2.0, 6.0, 0.3, 3_000, 5, 0.0,
    )  # fmt: skip
    return best.tolist(), float(cost), int(made)


def test_compiled_and_plain_code_agree() -> None:
    """Where the compiler can't be loaded the same moves are made, only slower."""
    code = (
        "import sys\nsys.modules['numba'] = None\n"
        "from tests.layouts.grouping.test_search import COMPILED, short_run\n"
        "print((COMPILED, short_run()))"
    )
    said = subprocess.check_output([sys.executable, "-c", code], text=True)
    assert ast.literal_eval(said) == (False, short_run())


def test_search_is_compiled_here() -> None:
    """The environment of the tests has the compiler, or the budgets above mean nothing."""
    assert COMPILED
