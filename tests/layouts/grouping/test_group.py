"""Groups are connected, keep wishes, and are reported correctly."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layouts.errors import PlanError
from layouts.grouping.group import group_sites
from layouts.grouping.values import Grouping, Wishes
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

CONTACTS_ALONE = Wishes(voltage_weight=0.0)


def without(xy_mm: Points, low: tuple[float, float], high: tuple[float, float]) -> Points:
    """The field without the sites between two corners [mm]."""
    inside = (xy_mm > low).all(axis=1) & (xy_mm < high).all(axis=1)
    return xy_mm[~inside]


ODD_SHAPES = {
    "ell": ell(),
    "hexagon": hexagon(6),
    "triangle": triangle(13),
    "ring": without(honeycomb(14, 12), (70.0, 60.0), (210.0, 140.0)),
    "horseshoe": without(grid(12, 10), (50.0, 70.0), (170.0, 400.0)),
    "tee": without(without(honeycomb(14, 12), (-1, -1), (95, 120)), (185, -1), (400, 120)),
}


def quick(xy_mm: Points, series: int, parallel: int, wishes: Wishes = CONTACTS_ALONE) -> Grouping:
    """A quick grouping, some sites left empty where there are more."""
    return group_sites(
        xy_mm,
        touching(xy_mm),
        series=series,
        parallel=parallel,
        wishes=wishes,
        effort=Effort.QUICK,
    )


@st.composite
def odd_fields(draw: st.DrawFn) -> Points:
    """Rows of either lattice, each beginning and ending where it likes, all overlapping."""
    square = draw(st.booleans())
    rows = draw(st.integers(1, 9))
    sites = []
    for row in range(rows):
        first, length = draw(st.integers(0, 4)), draw(st.integers(6, 12))
        shift = 0.0 if square else 0.5 * (row % 2)
        high = row * (1.0 if square else float(np.sqrt(3) / 2))
        sites += [(column + shift, high) for column in range(first, first + length)]
    return np.array(sites) * 20.0


@pytest.mark.slow
@settings(max_examples=15, deadline=None, derandomize=True)
@given(xy_mm=odd_fields(), parallel=st.integers(1, 12), weight=st.sampled_from([0.0, 0.2, 1.0]))
def test_never_a_group_in_pieces_in_any_field(xy_mm: Points, parallel: int, weight: float) -> None:
    """Whatever the outline: S groups of P, each in one piece, each touching the next; or none.

    Some fields (square ones with cells on a single neighbour) have no such groups at all.
    """
    series = len(xy_mm) // parallel
    if series < 1:
        return
    try:
        found = quick(xy_mm, series, parallel, Wishes(voltage_weight=weight))
    except PlanError as error:
        refused = error
    else:
        refused = None
    if refused is not None:
        assert refused.field == "space"
        return
    fewest_contacts, step = judged(xy_mm, found, series=series, parallel=parallel)
    assert found.fewest_contacts == fewest_contacts <= max(found.contact_bound, 0)
    assert found.worst_volts == pytest.approx(step * 4.2)


@pytest.mark.one_in(5)
@pytest.mark.parametrize("parallel", [1, 3, 7, 16, 25])
@pytest.mark.parametrize("shape", ODD_SHAPES)
def test_odd_shapes_are_grouped(shape: str, parallel: int) -> None:
    """Bent, branching, holed and pointed fields all get their groups, few or many."""
    xy_mm = ODD_SHAPES[shape]
    series = len(xy_mm) // parallel
    found = quick(xy_mm, series, parallel, Wishes())
    judged(xy_mm, found, series=series, parallel=parallel)


@pytest.mark.parametrize(
    ("xy_mm", "series", "parallel", "fewest_contacts"),
    [
        # straight zigzag columns of P touch on 2P-1 pairs, square ones on P: counted by hand
        (honeycomb(10, 4), 10, 4, 7),
        (honeycomb(4, 10), 10, 4, 7),
        (grid(10, 4), 10, 4, 4),
        (grid(4, 10), 10, 4, 4),
        (honeycomb(40, 24), 24, 40, 79),
    ],
)
def test_straight_groups_are_found_and_proven(
    xy_mm: Points, series: int, parallel: int, fewest_contacts: int
) -> None:
    """Where whole rows or columns fit, they are found at once and known to be best."""
    found = quick(xy_mm, series, parallel)
    assert judged(xy_mm, found, series=series, parallel=parallel) == (fewest_contacts, 1)
    assert found.contact_bound == fewest_contacts
    assert found.proven
    assert "proven best" in found.notes[0]


def test_same_input_gives_the_same_answer() -> None:
    """Two runs agree cell by cell."""
    xy_mm = hexagon(6)
    one, other = quick(xy_mm, 13, 7), quick(xy_mm, 13, 7)
    assert one.group.tolist() == other.group.tolist()
    assert one.method == other.method


def test_worst_pair_has_the_volts_said() -> None:
    """The pair named touches, and its groups are that many cells apart."""
    xy_mm = honeycomb(14, 15)
    found = quick(xy_mm, 20, 10)
    assert found.worst_pair is not None
    i, j = found.worst_pair
    assert [i, j] in touching(xy_mm).tolist()
    assert abs(found.group[i] - found.group[j]) * 4.2 == pytest.approx(found.worst_volts)
    assert judged(xy_mm, found, series=20, parallel=10)[1] * 4.2 == pytest.approx(found.worst_volts)


def test_volts_weigh_against_the_front() -> None:
    """With the weight on, no pair is worse, and the boundary no wider, than without it."""
    xy_mm = honeycomb(14, 15)
    bare, weighed = quick(xy_mm, 20, 10), quick(xy_mm, 20, 10, Wishes(voltage_weight=2.0))
    assert weighed.worst_volts < bare.worst_volts
    assert weighed.fewest_contacts <= bare.fewest_contacts


def test_volts_limit_is_kept() -> None:
    """A limit of three cells' volts holds for every touching pair."""
    xy_mm = honeycomb(14, 15)
    found = quick(xy_mm, 20, 10, Wishes(voltage_weight=0.0, volts_limit=12.6))
    assert judged(xy_mm, found, series=20, parallel=10)[1] <= 3


def test_volts_limit_below_one_cell_is_refused() -> None:
    """Consecutive groups touch: less than a cell's volts can't be."""
    with pytest.raises(PlanError, match=r"grouping.volts_limit: .*4\.2 V") as caught:
        quick(honeycomb(10, 4), 10, 4, Wishes(volts_limit=4.0))
    assert caught.value.field == "grouping.volts_limit"


@pytest.mark.slow
def test_volts_limit_out_of_reach_is_refused_with_the_volts_found() -> None:
    """A hexagon of short groups can't be one straight sweep: the line says what was found."""
    with pytest.raises(PlanError, match=r"no grouping was found that stays within it") as caught:
        quick(hexagon(6), 13, 7, Wishes(volts_limit=4.2))
    assert caught.value.field == "grouping.volts_limit"
    assert "V between touching cells" in caught.value.why


def test_pins_are_kept() -> None:
    """Cells stand in the groups they are pinned to."""
    xy_mm = honeycomb(10, 4)
    pinned = {0: 10, 9: 1, 13: 7}
    found = quick(xy_mm, 10, 4, Wishes(pinned=pinned))
    judged(xy_mm, found, series=10, parallel=4)
    assert {cell: int(found.group[cell]) for cell in pinned} == pinned


@pytest.mark.parametrize(
    ("pinned", "said"),
    [
        ({0: 1, 1: 1, 2: 1, 3: 1, 4: 1}, "5 cells are pinned to group 1, which holds 4"),
        ({0: 11}, "no such group among 10"),
        ({0: 0}, "no such group among 10"),
        ({40: 1}, "no such cell among 40"),
        ({0: 1, 9: 1}, "cell 0 in group 1 and cell 9 in group 1 lie too far apart"),
        ({0: 1, 9: 2}, "too far apart"),
    ],
)
def test_contradictory_pins_are_refused(pinned: dict[int, int], said: str) -> None:
    """Pins that no grouping can keep are reported with their numbers, before any search."""
    with pytest.raises(PlanError, match=said) as caught:
        quick(honeycomb(10, 4), 10, 4, Wishes(pinned=pinned))
    assert caught.value.field == "grouping.pins"


def test_pins_a_group_of_its_own_walls_off_are_refused() -> None:
    """Pins that no walk or search can keep end in a clear line, not in a wrong grouping."""
    row = honeycomb(12, 1)
    with pytest.raises(PlanError, match="no grouping was found that meets all of them"):
        quick(row, 4, 3, Wishes(pinned={1: 2}))


def test_sides_of_the_ends_are_kept() -> None:
    """Group 1 and group S end where they are wished."""
    xy_mm = honeycomb(10, 4)
    for first in ((1.0, 0.0), (-1.0, 0.0)):
        wishes = Wishes(minus_side=first, plus_side=(-first[0], 0.0))
        group = quick(xy_mm, 10, 4, wishes).group
        ahead = xy_mm[group == 1].mean(axis=0)[0] - xy_mm[group == 10].mean(axis=0)[0]
        assert ahead * first[0] > 0


def test_islands_are_refused() -> None:
    """Cells in two parts can't be one pack of groups."""
    xy_mm = np.concatenate([honeycomb(5, 4), honeycomb(5, 4) + [500.0, 0.0]])
    with pytest.raises(PlanError, match="are not connected: 2 islands") as caught:
        quick(xy_mm, 10, 4)
    assert caught.value.field == "space"


def test_a_star_that_no_path_can_cover_is_refused() -> None:
    """Four arms of one cell each round one cell: five groups of one are no path."""
    xy_mm = np.array([(0, 0), (20, 0), (-20, 0), (0, 20), (0, -20)], dtype=np.float64)
    with pytest.raises(PlanError, match="no 5 connected groups of 1"):
        quick(xy_mm, 5, 1)


def test_sites_on_an_island_stay_empty() -> None:
    """Spare sites: a part that hangs on nothing is empty, its pins are refused."""
    xy_mm = np.concatenate([honeycomb(10, 4), np.array([[600.0, 0.0]])])
    found = quick(xy_mm, 10, 4)
    judged(xy_mm, found, series=10, parallel=4)
    assert found.group[40] == 0
    with pytest.raises(PlanError, match="cell 40 is pinned but not connected"):
        quick(xy_mm, 10, 4, Wishes(pinned={40: 1}))


def test_spare_sites_are_left_empty() -> None:
    """Of 206 sites 200 are used."""
    found = quick(ell(), 20, 10)
    judged(ell(), found, series=20, parallel=10)
    assert np.count_nonzero(found.group == 0) == 6


def test_single_groups_and_single_cells() -> None:
    """One group has no boundary; groups of one cell are one long walk; one cell is one group."""
    whole = quick(triangle(5), 1, 15)
    assert whole.group.tolist() == [1] * 15
    assert (whole.fewest_contacts, whole.worst_pair, whole.proven) == (0, None, True)
    walk = quick(triangle(5), 15, 1)
    assert judged(triangle(5), walk, series=15, parallel=1)[0] == 1
    assert quick(np.zeros((1, 2)), 1, 1).group.tolist() == [1]


def test_wrong_numbers_are_a_fault_of_the_caller() -> None:
    """Too few sites."""
    xy_mm = honeycomb(5, 4)
    with pytest.raises(ValueError, match="20 sites do not hold 3 groups of 7"):
        quick(xy_mm, 3, 7)
