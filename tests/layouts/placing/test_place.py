"""The most cells, or a number of them: counts, form, soundness, bad input."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from layouts.cells import lattice as lattices
from layouts.pack import Lattice
from layouts.placing.basis import rotation
from layouts.placing.compact import chosen_sites, gaps_in
from layouts.placing.place import decks, place_most, place_number
from layouts.placing.values import Effort, PlacedCentres, touching_pairs
from tests.layouts.placing.shapes import (
    CAVITIES,
    OBSTACLES,
    PITCH_MM,
    REACH_MM,
    TRIANGLE,
    assert_sound,
    ell,
)
from tests.sampled import sampled

ELL = Polygon([(0, 0), (300, 0), (300, 120), (120, 120), (120, 280), (0, 280)])
CIRCLE = Point(0, 0).buffer(120, quad_segs=32)
# Counts at least to be reached, from this project's own first trials: no outside truth
LEAST = {
    "rectangle": (box(0, 0, 300, 200), 162, 150, 163),
    "triangle": (TRIANGLE, 167, 149, 170),
    "triangle with obstacles": (OBSTACLES, 155, 137, 159),
    "L": (ELL, 142, 138, 143),
    "circle": (CIRCLE, 121, 104, 121),
}


def most(cavity: Polygon, lattice: Lattice = Lattice.HONEYCOMB, **more: object) -> PlacedCentres:
    """``place_most`` at the sizes of these tests."""
    return place_most(cavity, pitch_mm=PITCH_MM, reach_mm=REACH_MM, lattice=lattice, **more)  # type: ignore[arg-type]


def parts(count: int, pairs: np.ndarray) -> int:
    """Connected parts of a graph."""
    part = list(range(count))
    for _ in range(count):
        for a, b in pairs.tolist():
            part[a] = part[b] = min(part[a], part[b])
    return len(set(part))


@pytest.mark.parametrize("name", LEAST)
def test_first_answer_reaches_the_lattice_counts(name: str) -> None:
    """The quick effort finds the best honeycomb and the best grid of the known shapes."""
    cavity, hexagonal, square, _ = LEAST[name]
    for lattice, least in ((Lattice.HONEYCOMB, hexagonal), (Lattice.GRID, square)):
        placed = most(cavity, lattice)
        assert placed.count >= least
        assert_sound(placed, cavity, pitch_mm=PITCH_MM, reach_mm=REACH_MM)


@pytest.mark.parametrize("name", sampled(LEAST, lambda name: name == "rectangle"))
def test_best_effort_reaches_the_counts_of_shifted_rows(name: str) -> None:
    """Rows where they gain; the lattice is proven, and nothing beats the bound."""
    cavity, hexagonal, _, rows = LEAST[name]
    placed = most(cavity, effort=Effort.BEST)
    assert placed.count >= rows
    assert placed.lattice_bound is not None and placed.lattice_bound >= hexagonal
    assert placed.method == ("rows" if placed.count > placed.lattice_bound else "lattice")
    assert_sound(placed, cavity, pitch_mm=PITCH_MM, reach_mm=REACH_MM)


@pytest.mark.slow
def test_free_spacing_beats_every_lattice_in_a_small_odd_shape() -> None:
    """In a small L cells that leave the lattice are more than any lattice holds."""
    cavity = ell(130, 130, 55)
    lattice = most(cavity, effort=Effort.BEST)
    free = most(cavity, free=True, effort=Effort.BEST)
    assert free.method == "free" and free.sites is None
    assert lattice.lattice_bound is not None and free.count >= lattice.lattice_bound + 4
    assert_sound(free, cavity, pitch_mm=PITCH_MM, reach_mm=REACH_MM)
    assert any("free spacing" in note for note in free.notes)


@pytest.mark.slow
def test_free_spacing_finds_thirty_seven_in_a_circle() -> None:
    """A circle 6.77 times a cell's radius: lattices hold 34, free spacing all of 37."""
    cavity = Point(0, 0).buffer(6.77 * PITCH_MM / 2 + REACH_MM - PITCH_MM / 2, quad_segs=64)
    free = most(cavity, free=True, effort=Effort.BEST)
    assert free.count >= 37
    assert free.lattice_bound is not None and free.lattice_bound <= 34
    assert_sound(free, cavity, pitch_mm=PITCH_MM, reach_mm=REACH_MM)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(cavity=CAVITIES, lattice=st.sampled_from(Lattice), reach=st.sampled_from([0.5, 6.0, 9.5]))
def test_any_polygon_quick(cavity: Polygon, lattice: Lattice, reach: float) -> None:
    """Any simple polygon, either lattice: every cell inside, none too near another."""
    placed = place_most(cavity, pitch_mm=17.0, reach_mm=reach, lattice=lattice)
    assert_sound(placed, cavity, pitch_mm=17.0, reach_mm=reach)
    assert (placed.neighbours[:, 0] < placed.neighbours[:, 1]).all()


@pytest.mark.slow
@settings(max_examples=5, deadline=None, derandomize=True)
@given(cavity=CAVITIES, lattice=st.sampled_from(Lattice))
def test_any_polygon_free(cavity: Polygon, lattice: Lattice) -> None:
    """The same with free spacing, which never holds less than the lattice."""
    placed = place_most(
        cavity, pitch_mm=21.0, reach_mm=9.5, lattice=lattice, free=True, effort=Effort.BEST
    )
    assert_sound(placed, cavity, pitch_mm=21.0, reach_mm=9.5)
    quick = place_most(cavity, pitch_mm=21.0, reach_mm=9.5, lattice=lattice)
    assert placed.count >= quick.count


@pytest.mark.slow
@settings(max_examples=60, deadline=None, derandomize=True)
@given(cavity=CAVITIES, lattice=st.sampled_from(Lattice), free=st.booleans())
def test_any_polygon_best(cavity: Polygon, lattice: Lattice, free: bool) -> None:
    """Many more polygons at the best effort."""
    placed = place_most(
        cavity, pitch_mm=17.0, reach_mm=9.0, lattice=lattice, free=free, effort=Effort.BEST
    )
    assert_sound(placed, cavity, pitch_mm=17.0, reach_mm=9.0)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(cavity=CAVITIES, lattice=st.sampled_from(Lattice), count=st.integers(1, 30))
def test_any_number_in_any_polygon(cavity: Polygon, lattice: Lattice, count: int) -> None:
    """The required number, or no fewer than the search for the most finds; connected wherever
    the sites are. Both searches are quick: that for a number may find more than that for the most.
    """
    placed = place_number(cavity, count, pitch_mm=13.0, reach_mm=7.0, lattice=lattice)
    assert_sound(placed, cavity, pitch_mm=13.0, reach_mm=7.0)
    everything = place_most(cavity, pitch_mm=13.0, reach_mm=7.0, lattice=lattice)
    assert min(count, everything.count) <= placed.count <= count
    if parts(everything.count, everything.neighbours) == 1 and everything.count >= count:
        chosen = chosen_sites(
            everything.xy_mm,
            everything.neighbours,
            count,
            middle_mm=np.array(cavity.centroid.coords[0]),
            pitch_mm=13.0,
        )
        inner = touching_pairs(everything.xy_mm[chosen], pitch_mm=13.0)
        assert len(set(chosen.tolist())) == count and parts(count, inner) == 1


@pytest.mark.parametrize("lattice", Lattice)
def test_sites_are_the_centres_turned_and_shifted(lattice: Lattice) -> None:
    """Sites in the project's numbers, turned by the angle and shifted, are the centres."""
    placed = most(Polygon([(0, 40), (160, 0), (190, 110), (30, 150)]), lattice)
    assert placed.sites is not None
    flat = lattices.centres_mm(placed.sites, lattice, pitch_mm=PITCH_MM)
    turned = flat @ rotation(placed.angle_deg).T
    assert np.ptp(placed.xy_mm - turned, axis=0) == pytest.approx([0.0, 0.0], abs=1e-9)
    if lattice is Lattice.HONEYCOMB:
        assert (placed.sites.sum(axis=1) % 2 == 0).all()
    assert (lattices.neighbour_pairs(placed.sites, lattice) == placed.neighbours).all()


@pytest.mark.parametrize("lattice", sampled(Lattice, lambda one: one is Lattice.HONEYCOMB))
def test_a_number_is_connected_compact_and_central(lattice: Lattice) -> None:
    """60 cells in a wide triangle: one piece, no holes, not far from round, mass near middle."""
    placed = place_number(
        TRIANGLE, 60, pitch_mm=PITCH_MM, reach_mm=REACH_MM, lattice=lattice, effort=Effort.BEST
    )
    assert placed.count == 60 and parts(60, placed.neighbours) == 1
    assert_sound(placed, TRIANGLE, pitch_mm=PITCH_MM, reach_mm=REACH_MM)
    mean = placed.xy_mm.mean(axis=0)
    assert np.hypot(*(mean - np.array(TRIANGLE.centroid.coords[0]))) < 2 * PITCH_MM
    covered = shapely.union_all(shapely.points(placed.xy_mm).tolist()).buffer(PITCH_MM * 0.75)
    assert isinstance(covered, Polygon) and not covered.interiors
    moment = ((placed.xy_mm - mean) ** 2).sum()
    # a disc of as many cells of a honeycomb has the least second moment, n^2 p^2 sqrt(3)/(4 pi)
    assert moment < 1.25 * 60**2 * PITCH_MM**2 * np.sqrt(3) / (4 * np.pi) * (
        1.0 if lattice is Lattice.HONEYCOMB else 2 / np.sqrt(3)
    )


@pytest.mark.parametrize("lattice", Lattice)
def test_a_number_does_not_close_round_an_obstacle(lattice: Lattice) -> None:
    """40 cells lie beside a post in the middle of the space; nearly all that fit lie around it."""
    cavity = box(0, 0, 240, 240).difference(box(105, 105, 135, 135))
    for count, closed in ((40, 0), (92, 1)):
        placed = place_number(cavity, count, pitch_mm=PITCH_MM, reach_mm=REACH_MM, lattice=lattice)
        near: list[list[int]] = [[] for _ in range(placed.count)]
        for a, b in placed.neighbours.tolist():
            near[a].append(b)
            near[b].append(a)
        assert placed.count == count and gaps_in(near, list(range(count))) == closed


def test_a_number_lies_low_where_asked() -> None:
    """With a way down the mass moves that way, by a third of the pack's radius or more."""
    ask = {"pitch_mm": PITCH_MM, "reach_mm": REACH_MM, "lattice": Lattice.HONEYCOMB}
    middle = place_number(CIRCLE, 50, **ask).xy_mm.mean(axis=0)  # type: ignore[arg-type]
    for low in ((0.0, -1.0), (3.0, 0.0)):
        moved = place_number(CIRCLE, 50, **ask, low=low).xy_mm.mean(axis=0) - middle  # type: ignore[arg-type]
        assert moved @ np.array(low) / np.hypot(*low) > 0.3 * 70


def test_more_than_goes_in_gives_all_and_says_so() -> None:
    """Too many required: everything that fits, and a note with both numbers."""
    placed = place_number(box(0, 0, 60, 60), 50, pitch_mm=20.0, reach_mm=10.0, lattice=Lattice.GRID)
    assert placed.count == 9
    assert "50 cells required, 9 fit" in placed.notes


def test_parts_that_hang_apart_are_filled_largest_first() -> None:
    """Two chambers: a number that one holds stays in it; more takes both."""
    chambers = MultiPolygon([box(0, 0, 100, 60), box(120, 0, 180, 60)])
    ask = {"pitch_mm": 20.0, "reach_mm": 10.0, "lattice": Lattice.GRID}
    one = place_number(chambers, 12, **ask)  # type: ignore[arg-type]
    assert one.xy_mm[:, 0].max() < 100
    both = place_number(chambers, 20, **ask)  # type: ignore[arg-type]
    assert both.count == 20 and (both.xy_mm[:, 0] < 100).sum() == 15


@pytest.mark.parametrize("effort", Effort)
@pytest.mark.parametrize("free", [False, True])
def test_a_room_too_small_for_a_cell_holds_none(effort: Effort, free: bool) -> None:
    """No cell, no error: the bound is 0 and says why."""
    placed = most(box(0, 0, 300, 21.4), effort=effort, free=free)
    assert placed.count == 0 and placed.bound == 0
    assert placed.xy_mm.shape == (0, 2) and placed.neighbours.shape == (0, 2)
    assert "no position" in placed.bound_name


def test_empty_cavity_holds_none() -> None:
    """An empty polygon holds nothing."""
    assert most(Polygon()).count == 0


def test_bad_input_is_named() -> None:
    """A cavity that crosses itself, lengths below zero, a number below 1: reported by name."""
    bow = Polygon([(0, 0), (100, 100), (100, 0), (0, 100)])
    with pytest.raises(ValueError, match=r"^cavity: not a valid polygon: Self-intersection"):
        most(bow)
    with pytest.raises(ValueError, match=r"^pitch_mm: must be above 0, is -1"):
        place_most(CIRCLE, pitch_mm=-1, reach_mm=5, lattice=Lattice.GRID)
    with pytest.raises(ValueError, match=r"^reach_mm: must be above 0, is nan"):
        place_most(CIRCLE, pitch_mm=9, reach_mm=float("nan"), lattice=Lattice.GRID)
    with pytest.raises(ValueError, match=r"^count: must be 1 or more, is 0"):
        place_number(CIRCLE, 0, pitch_mm=9, reach_mm=5, lattice=Lattice.GRID)
    with pytest.raises(ValueError, match=r"^cavity: must be a polygon, is a Point"):
        most(Point(0, 0))  # type: ignore[arg-type]


@pytest.mark.slow
def test_same_input_same_cells() -> None:
    """Two runs give the same numbers to the last bit, free spacing too."""
    cavity = ell(80, 80, 40)
    one = most(cavity, free=True, effort=Effort.BEST)
    two = most(cavity, free=True, effort=Effort.BEST)
    assert one.xy_mm.tobytes() == two.xy_mm.tobytes()
    assert one.notes == two.notes


def test_touching_is_the_pitch_and_a_little_play() -> None:
    """Half a percent and 0.05 mm more than the pitch still touches, more does not."""
    limit = 20 * 1.005 + 0.05
    row = np.array([[0.0, 0.0], [limit - 1e-6, 0.0], [2 * limit + 1e-6, 0.0]])
    assert touching_pairs(row, pitch_mm=20.0).tolist() == [[0, 1]]
    assert touching_pairs(row[:1], pitch_mm=20.0).shape == (0, 2)


def test_decks_count_whole_layers() -> None:
    """Whole layers only, exact fits count, and a layer of no height is refused."""
    assert [decks(h, deck_mm=75.0) for h in (0.0, 74.999, 75.0, 149.9, 225.0)] == [0, 0, 1, 1, 3]
    with pytest.raises(ValueError, match="deck_mm"):
        decks(100.0, deck_mm=0.0)


def test_first_answer_loads_no_compiler() -> None:
    """The quick effort never waits for compiled code: numba stays unloaded."""
    code = (
        "import sys; from shapely import box; from layouts.pack import Lattice\n"
        "from layouts.placing.place import place_most\n"
        "placed = place_most(box(0, 0, 300, 200), pitch_mm=19.5, reach_mm=10.75,"
        " lattice=Lattice.HONEYCOMB)\n"
        "print(placed.count, 'numba' in sys.modules)"
    )
    said = subprocess.check_output([sys.executable, "-c", code], text=True)
    assert said.split() == ["162", "False"]
