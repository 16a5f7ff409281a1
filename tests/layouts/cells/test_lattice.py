"""Lattice sites, touching pairs, Voronoi cells and widened lines."""

import numpy as np
import pytest
from scipy.spatial.distance import pdist, squareform

from layouts.cells import lattice as lattices
from layouts.pack import Lattice


def block(lattice: Lattice, columns: int, rows: int) -> np.ndarray:
    """Sites of a block, row by row."""
    step = 2 if lattice is Lattice.HONEYCOMB else 1
    return np.array(
        [(step * c + (r % 2 if step == 2 else 0), r) for r in range(rows) for c in range(columns)],
        dtype=np.int64,
    )


@pytest.mark.parametrize("lattice", Lattice)
def test_touching_pairs_are_just_the_pairs_one_pitch_apart(lattice: Lattice) -> None:
    """Pairs found by steps are those found by distance between centres."""
    sites = np.random.default_rng(7).permutation(block(lattice, 6, 5))[:22]
    distance = squareform(pdist(lattices.centres_mm(sites, lattice, pitch_mm=21.0)))
    expected = np.argwhere(np.triu(distance < 21.0 + 1e-6, 1))
    assert np.array_equal(lattices.neighbour_pairs(sites, lattice), expected)


def test_a_single_site_touches_nothing() -> None:
    """One cell: no pairs, and it stands at the origin."""
    sites = np.array([[4, 2]])
    assert lattices.neighbour_pairs(sites, Lattice.HONEYCOMB).shape == (0, 2)
    assert lattices.centres_mm(sites, Lattice.HONEYCOMB, pitch_mm=20.0).tolist() == [[0.0, 0.0]]


@pytest.mark.parametrize("lattice", Lattice)
def test_centres_surround_the_origin(lattice: Lattice) -> None:
    """The origin is the centre of the centres' bounding box, also with a shift."""
    xy = lattices.centres_mm(
        block(lattice, 4, 3),
        lattice,
        pitch_mm=20.0,
        column_shifts_mm={3: 1.5},
        row_shifts_mm={2: 0.7},
    )
    assert xy.min(axis=0) + xy.max(axis=0) == pytest.approx([0.0, 0.0], abs=1e-12)


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("lattice", Lattice)
def test_a_widened_line_gives_just_the_distance_asked_for(lattice: Lattice, axis: int) -> None:
    """Across the line the nearest centres stand as far apart as asked; elsewhere at the pitch."""
    sites = block(lattice, 5, 6)
    line = 4 if lattice is Lattice.HONEYCOMB and axis == 0 else 3
    make = (lattices.column_growth_mm, lattices.row_growth_mm)[axis]
    shift = {line: make(lattice, pitch_mm=20.0, apart_mm=22.5)}
    xy = lattices.centres_mm(
        sites,
        lattice,
        pitch_mm=20.0,
        column_shifts_mm=shift if axis == 0 else None,
        row_shifts_mm=shift if axis else None,
    )
    beyond = sites[:, axis] >= line
    distance = squareform(pdist(xy))
    assert distance[np.ix_(beyond, ~beyond)].min() == pytest.approx(22.5, abs=1e-9)
    assert pdist(xy[beyond]).min() == pytest.approx(20.0, abs=1e-9)


@pytest.mark.parametrize("lattice", Lattice)
def test_a_line_that_is_wide_enough_is_left_alone(lattice: Lattice) -> None:
    """No growth where the pitch already gives the distance."""
    assert lattices.row_growth_mm(lattice, pitch_mm=20.0, apart_mm=19.0) == 0.0
    assert lattices.column_growth_mm(lattice, pitch_mm=20.0, apart_mm=0.0) == 0.0
