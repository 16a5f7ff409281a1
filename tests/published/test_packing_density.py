"""Fields against what plane geometry says of the two lattices."""

import math

import numpy as np
import pytest

from layouts.cells import lattice as lattices
from layouts.pack import Lattice, Printer
from tests.layouts.boxed import arrange
from tests.samples import sample_pack

# Greatest density of equal discs in the plane, pi/sqrt(12) (Thue; Lagrange for lattices), and
# density of the square lattice, pi/4. Digits: plane geometry.
DENSITY = {Lattice.HONEYCOMB: 0.9068996821, Lattice.GRID: 0.7853981634}
# Touching neighbours of an inner disc; second-nearest distance over the pitch (plane geometry)
NEIGHBOURS = {Lattice.HONEYCOMB: 6, Lattice.GRID: 4}
SECOND = {Lattice.HONEYCOMB: 1.732051, Lattice.GRID: 1.414214}


def block(lattice: Lattice, columns: int, rows: int) -> np.ndarray:
    """Sites of a block of rows, every second one half a pitch to the right on a honeycomb."""
    step = 2 if lattice is Lattice.HONEYCOMB else 1
    return np.array(
        [(step * c + (r % 2) * (step - 1), r) for r in range(rows) for c in range(columns)]
    )


@pytest.mark.parametrize("lattice", Lattice)
def test_a_big_arranged_field_comes_near_the_density(lattice: Lattice) -> None:
    """10,000 cells in one piece of lattice: discs of the pitch over the field's box.

    What is lost lies at the box's edge only, about half a site a row and a column: with 100
    rows of 100 that is below 1 %. The density never exceeds the lattice's own.
    """
    pack = sample_pack(100, 100, lattice=lattice)
    made = arrange(pack)
    xy = lattices.centres_mm(made.sites, lattice, pitch_mm=pack.pitch_mm)
    box = np.ptp(xy, axis=0) + pack.pitch_mm
    density = len(xy) * math.pi * pack.pitch_mm**2 / 4 / box.prod()
    assert DENSITY[lattice] * 0.99 < density <= DENSITY[lattice] + 1e-9


def test_a_honeycomb_saves_13_4_percent_of_the_area() -> None:
    """Area of a site, honeycomb against grid: 13.3975 % less (plane geometry, 1 - sqrt(3)/2)."""
    area = {
        lattice: lattices.row_mm(lattice, 1.0)
        * lattices.column_mm(lattice, 1.0)
        * (2 if lattice is Lattice.HONEYCOMB else 1)
        for lattice in Lattice
    }
    saving = 100 * (1 - area[Lattice.HONEYCOMB] / area[Lattice.GRID])
    assert saving == pytest.approx(13.3975, abs=5e-5)
    # rows of a honeycomb stand sqrt(3)/2 of a pitch apart
    assert lattices.row_mm(Lattice.HONEYCOMB, 1.0) == pytest.approx(0.8660254038, abs=1e-10)


@pytest.mark.parametrize("lattice", Lattice)
def test_inner_cells_have_the_known_neighbours(lattice: Lattice) -> None:
    """Six or four touching neighbours, the next ones sqrt(3) or sqrt(2) pitches away."""
    sites = block(lattice, 7, 7)
    xy = lattices.centres_mm(sites, lattice, pitch_mm=1.0)
    centre = int(np.hypot(*xy.T).argmin())
    pairs = lattices.neighbour_pairs(sites, lattice)
    assert int((pairs == centre).sum()) == NEIGHBOURS[lattice]
    distance = np.sort(np.hypot(*(xy - xy[centre]).T))
    assert distance[1 : NEIGHBOURS[lattice] + 1] == pytest.approx(1.0)
    assert distance[NEIGHBOURS[lattice] + 1] == pytest.approx(SECOND[lattice], abs=1e-6)


@pytest.mark.parametrize(
    ("rings", "cells", "ratio"),
    # 3k(k+1)+1 discs in a hexagon lie in a circle of 1+2k disc radii (plane geometry)
    [(1, 7, 3), (2, 19, 5), (3, 37, 7), (4, 61, 9), (5, 91, 11)],
)
def test_hexagonal_numbers(rings: int, cells: int, ratio: int) -> None:
    """Sites within ``rings`` steps of one site: their number and the circle round them."""
    found = {(0, 0)}
    for _ in range(rings):
        found |= {
            (c + sign * dc, r + sign * dr)
            for c, r in found
            for dc, dr in ((2, 0), (1, 1), (-1, 1))
            for sign in (1, -1)
        }
    sites = np.array(sorted(found))
    assert len(sites) == cells
    xy = lattices.centres_mm(sites, Lattice.HONEYCOMB, pitch_mm=2.0)
    assert np.hypot(*xy.T).max() + 1 == pytest.approx(ratio)


def test_seven_cells_in_one_group_are_six_round_one() -> None:
    """The best packing of seven discs in a circle."""
    # encyclopaedia table "Circle packing in a circle": 7 discs, radius ratio 3, proven optimal
    pack = sample_pack(1, 7)
    xy = arrange(pack).xy_mm
    radius = np.hypot(*xy.T).max() + pack.pitch_mm / 2
    assert radius / (pack.pitch_mm / 2) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("lattice", "box_mm"),
    # 4 rows of 5, pitch 19, discs of 18.6: (5-1)p + D by (4-1)p + D on a grid; half a pitch more
    # and rows sqrt(3)/2 p apart on a honeycomb (plane geometry)
    [(Lattice.GRID, (94.6, 75.6)), (Lattice.HONEYCOMB, (104.1, 67.9634))],
)
def test_box_of_four_rows_of_five(lattice: Lattice, box_mm: tuple[float, float]) -> None:
    """Bounding box of a small field of discs."""
    xy = lattices.centres_mm(block(lattice, 5, 4), lattice, pitch_mm=19.0)
    assert np.ptp(xy, axis=0) + 18.6 == pytest.approx(box_mm, abs=1e-4)


@pytest.mark.parametrize("lattice", Lattice)
def test_front_of_whole_rows_reaches_the_bound(lattice: Lattice) -> None:
    """Two groups as whole rows that lie on each other touch in 2P - 1 pairs, on a grid in P.

    A row of P discs on another, half a pitch aside, touches it 2P - 1 times (plane geometry).
    """
    bed = Printer(bed_mm=(900.0, 900.0, 250.0), nozzle_mm=0.4, layer_mm=0.2, material="petg")
    for parallel in (2, 4, 6):
        made = arrange(sample_pack(parallel + 1, parallel, lattice=lattice, printer=bed))
        assert made.rows_per_group == 1
        widest = 2 * parallel - 1 if lattice is Lattice.HONEYCOMB else parallel
        assert made.fewest_contacts == widest
