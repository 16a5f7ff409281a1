"""Placing against published packings of equal discs and counts of lattice points.

State of the placing: it fills every container below (gap 0 for circles of 1 to 20 and squares
of 1 to 24), each rounded up from the printed value by 0.001 of a disc's radius.
"""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon, box

from layouts.pack import Lattice
from layouts.placing.lattice import best_offset
from layouts.placing.packings import best_known
from layouts.placing.place import place_most
from layouts.placing.polish import freed
from layouts.placing.region import region_of
from layouts.placing.values import Effort
from tests.sampled import sampled

# N equal discs in a disc: ratio of radii, truncated as printed. Encyclopaedia and HandWiki
# tables "Circle packing in a circle" (Graham, Pirl, Melissen, Fodor, Goldberg, Reis).
CIRCLE = {1: 1, 2: 2, 3: 2.154, 4: 2.414, 5: 2.701, 6: 3, 7: 3, 8: 3.304, 9: 3.613, 10: 3.813,
          11: 3.923, 12: 4.029, 13: 4.236, 14: 4.328, 15: 4.521, 16: 4.615, 17: 4.792, 18: 4.863,
          19: 4.863, 20: 5.122}  # fmt: skip
CIRCLE_PROVEN = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 19)  # same tables
# N equal discs in a square: side over a disc's radius, truncated as printed. E. Friedman,
# Circles in Squares; proven to 20 there and to 30 by later work.
SQUARE = {1: 2, 2: 3.414, 3: 3.931, 4: 4, 5: 4.828, 6: 5.328, 7: 5.732, 8: 5.863, 9: 6,
          10: 6.747, 11: 7.022, 12: 7.144, 13: 7.463, 14: 7.732, 15: 7.863, 16: 8, 17: 8.532,
          18: 8.656, 19: 8.907, 20: 8.978, 21: 9.358, 22: 9.463, 23: 9.727, 24: 9.863}  # fmt: skip
PRINTED = 0.001  # a truncated value lies below the true one by less than this
# Points of a lattice that a closed disc of diameter 1, 2, 3, ... can hold, its middle anywhere.
# Square: defined as OEIS A123690; triangular: as OEIS A125852. Terms from an enumeration of our
# own (discs through two points of the lattice), repeated below; the OEIS pages were not seen.
SQUARE_POINTS = (2, 5, 9, 14, 22, 32, 41, 52, 69, 81, 97, 116, 137, 157, 180, 208, 231, 258, 293,
                 319)  # fmt: skip
HEX_POINTS = (2, 7, 10, 19, 24, 37, 48, 61, 77, 94, 115, 134)

RADIUS_MM = 10.0


def container(kind: str, ratio: float, *, around: bool) -> Polygon:
    """A round or square cavity for discs of ``RADIUS_MM``.

    The round one is a polygon of 256 corners ``around`` the true circle, or inside it.
    """
    if kind == "circle":
        far = ratio / np.cos(np.pi / 256) if around else ratio
        return Point(0, 0).buffer(far * RADIUS_MM, quad_segs=64)
    return box(0, 0, ratio * RADIUS_MM, ratio * RADIUS_MM)


def assert_filled(kind: str, count: int, ratio: float) -> None:
    """Free spacing places as many as published, in the container rounded up."""
    cavity = container(kind, ratio + PRINTED, around=True)
    placed = place_most(
        cavity,
        pitch_mm=2 * RADIUS_MM,
        reach_mm=RADIUS_MM,
        lattice=Lattice.HONEYCOMB,
        free=True,
        effort=Effort.BEST,
    )
    assert placed.count >= count


def assert_not_beaten(kind: str, count: int, ratio: float) -> None:
    """In a container smaller than proven the search, given no bound, stays below."""
    region = region_of(container(kind, ratio * (1 - 1e-3), around=False), reach_mm=RADIUS_MM)
    if region.is_empty:
        return
    start = np.empty((0, 2))
    assert len(freed(region, start, pitch_mm=2 * RADIUS_MM, bound=count)) < count


@pytest.mark.one_in(3)
@pytest.mark.parametrize("count", [1, 4, 5, 7, 10, 12])
def test_circles_are_filled_as_published(count: int) -> None:
    """A sample of circles: gap 0."""
    assert_filled("circle", count, CIRCLE[count])


@pytest.mark.parametrize("count", sampled([2, 5, 9, 10, 13, 17, 20], lambda count: count != 5))
def test_squares_are_filled_as_published(count: int) -> None:
    """A sample of squares: gap 0."""
    assert_filled("square", count, SQUARE[count])


@pytest.mark.slow
@pytest.mark.parametrize("count", CIRCLE)
def test_every_circle_is_filled_as_published(count: int) -> None:
    """All circles: gap 0."""
    assert_filled("circle", count, CIRCLE[count])


@pytest.mark.slow
@pytest.mark.parametrize("count", SQUARE)
def test_every_square_is_filled_as_published(count: int) -> None:
    """All squares: gap 0."""
    assert_filled("square", count, SQUARE[count])


@pytest.mark.parametrize(("kind", "count"), [("circle", 3), ("circle", 6), ("square", 5)])
def test_no_placement_beats_a_proven_packing(kind: str, count: int) -> None:
    """A sample of containers that are proven too small by a thousandth."""
    assert_not_beaten(kind, count, (CIRCLE if kind == "circle" else SQUARE)[count])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "count"),
    [("circle", count) for count in CIRCLE_PROVEN] + [("square", count) for count in SQUARE],
)
def test_no_placement_beats_any_proven_packing(kind: str, count: int) -> None:
    """All containers that are proven too small by a thousandth."""
    assert_not_beaten(kind, count, (CIRCLE if kind == "circle" else SQUARE)[count])


def test_the_table_holds_the_printed_values() -> None:
    """The table that bounds come from, typed a second time: detects a change only."""
    for kind, printed, proven in (
        ("circle", CIRCLE, CIRCLE_PROVEN),
        ("square", SQUARE, tuple(SQUARE)),
    ):
        rows = [one for one in best_known() if one.container == kind]
        assert {one.count: one.ratio for one in rows} == printed
        assert tuple(one.count for one in rows if one.proven) == proven


# Ratios in closed form: centres on rings round the middle, or on lines of the square (plane
# geometry; the forms for squares as printed by Friedman)
CLOSED = {
    "circle": {
        3: 1 + 2 / 3**0.5,
        4: 1 + 2**0.5,
        5: 1 + 1 / np.sin(np.pi / 5),
        6: 1 + 1 / np.sin(np.pi / 6),
        7: 1 + 1 / np.sin(np.pi / 6),
        8: 1 + 1 / np.sin(np.pi / 7),
        9: 1 + 1 / np.sin(np.pi / 8),
        11: 1 + 1 / np.sin(np.pi / 9),
        13: 2 + 5**0.5,
        19: 1 + 2**0.5 + 6**0.5,
    },
    "square": {
        1: 2.0,
        2: 2 + 2**0.5,
        3: 2 + (2**0.5 + 6**0.5) / 2,
        4: 4.0,
        5: 2 + 2 * 2**0.5,
        7: 4 + 3**0.5,
        8: 2 + 2**0.5 + 6**0.5,
        9: 6.0,
        16: 8.0,
    },
}


@pytest.mark.parametrize("kind", CLOSED)
def test_the_tables_values_are_truncated_closed_forms(kind: str) -> None:
    """Where the published packing has a closed form, the table holds it to three decimals, cut."""
    table = {one.count: one.ratio for one in best_known() if one.container == kind}
    for count, exact in CLOSED[kind].items():
        assert 0.0 <= exact - table[count] < PRINTED, count


def enumerated(diameter: float, basis: np.ndarray) -> int:
    """Most lattice points in a closed disc.

    The best disc can be moved until two of its points lie on its rim, or it holds one point.
    """
    radius, reach = diameter / 2, int(diameter) + 4
    i, j = np.meshgrid(np.arange(-reach, reach + 1), np.arange(-reach, reach + 1))
    points = np.column_stack([i.ravel(), j.ravel()]) @ basis
    length = np.hypot(*points.T)
    chords = points[(length > 0) & (length <= diameter + 1e-9)]
    across = np.column_stack([-chords[:, 1], chords[:, 0]]) / np.hypot(*chords.T)[:, None]
    high = np.sqrt(np.maximum(radius**2 - (chords**2).sum(axis=1) / 4, 0.0))[:, None]
    middles = np.vstack([chords / 2 + high * across, chords / 2 - high * across])
    apart = np.hypot(
        middles[:, None, 0] - points[None, :, 0], middles[:, None, 1] - points[None, :, 1]
    )
    return int((apart <= radius + 1e-9).sum(axis=1).max())


def solved(diameter: int, lattice: Lattice) -> int:
    """The placing's own count in a polygon round the disc, so close that it can hold no more.

    How close is found by enumeration: a disc round the polygon's corners holds as many.
    """
    basis, radius, spare = basis_of(lattice), diameter / 2, 1e-2
    while enumerated(diameter + 2 * spare, basis) > enumerated(diameter, basis):
        spare /= 4
    chords = int(np.ceil(np.pi * np.sqrt(radius / spare)))
    angles = 2 * np.pi * (np.arange(chords) + 0.5) / chords
    # ten times as large, and a reach that the region takes off again
    far = (10 * radius + 1) / np.cos(np.pi / chords)
    cavity = Polygon(far * np.column_stack([np.cos(angles), np.sin(angles)]))
    region = region_of(cavity, reach_mm=1.0)
    return best_offset(region, lattice, pitch_mm=10.0, angle_deg=0.0)[0]


def basis_of(lattice: Lattice) -> np.ndarray:
    """Rows: two steps of the unit lattice."""
    if lattice is Lattice.GRID:
        return np.eye(2)
    return np.array([[1.0, 0.0], [0.5, np.sqrt(3) / 2]])


CASES = [(Lattice.GRID, n + 1, term) for n, term in enumerate(SQUARE_POINTS)] + [
    (Lattice.HONEYCOMB, n + 1, term) for n, term in enumerate(HEX_POINTS)
]


@pytest.mark.parametrize(("lattice", "diameter", "term"), [c for c in CASES if c[1] <= 6])
def test_discs_hold_as_many_lattice_points_as_can_be(
    lattice: Lattice, diameter: int, term: int
) -> None:
    """Small discs: enumeration and placing agree with the term."""
    assert enumerated(diameter, basis_of(lattice)) == term
    assert solved(diameter, lattice) == term


@pytest.mark.slow
@pytest.mark.parametrize(("lattice", "diameter", "term"), [c for c in CASES if c[1] > 6])
def test_large_discs_hold_as_many_lattice_points_as_can_be(
    lattice: Lattice, diameter: int, term: int
) -> None:
    """Discs to diameter 20 (square) and 12 (triangular): the same."""
    assert enumerated(diameter, basis_of(lattice)) == term
    assert solved(diameter, lattice) == term
