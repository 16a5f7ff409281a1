"""The best lattice against a plain search on a fine net, and its proof."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from layouts.pack import Lattice
from layouts.placing.basis import basis_mm, order_deg, rotation, seated
from layouts.placing.branch import prove_lattice
from layouts.placing.lattice import best_offset, candidates, counter_at
from layouts.placing.region import region_of
from layouts.placing.search import lattice_seats
from layouts.placing.values import LATTICE_PLAY_MM, Effort
from tests.layouts.placing.shapes import PITCH_MM, REACH_MM, SET, ell

SAMPLE = ("L 1", "rounded 1")


def brute_force(cavity: Polygon, lattice: Lattice) -> int:
    """Most sites over offsets of a 20th of the cell and angles of 1 degree, by shapely alone."""
    room = cavity.buffer(-REACH_MM, quad_segs=64)
    if room.is_empty:
        return 0
    middle = np.array(room.envelope.centroid.coords[0])
    basis = basis_mm(lattice, pitch_mm=PITCH_MM)
    far = float(np.hypot(*(np.array(room.bounds[2:]) - room.bounds[:2]))) / 2
    reach = int(1.2 * far / PITCH_MM) + 2
    i, j = np.meshgrid(np.arange(-2 * reach, 2 * reach + 1), np.arange(-reach, reach + 1))
    sites = np.column_stack([i.ravel(), j.ravel()]).astype(float)
    sites = sites[np.hypot(*(basis @ sites.T)) <= far + 2 * PITCH_MM]
    steps = np.arange(20) / 20
    u, v = np.meshgrid(steps, steps)
    offsets = np.column_stack([u.ravel(), v.ravel()])
    points = (offsets[:, None, :] + sites[None, :, :]) @ basis.T
    shapely.prepare(room)
    most = 0
    for angle in np.arange(0.0, order_deg(lattice), 1.0):
        at = points @ rotation(angle).T + middle
        held = shapely.contains_xy(room, at[..., 0], at[..., 1]).sum(axis=1)
        most = max(most, int(held.max()))
    return most


def assert_no_worse_than_brute_force(name: str, lattice: Lattice) -> None:
    """The seats found against the plain search."""
    region = region_of(SET[name], reach_mm=REACH_MM)
    seats = lattice_seats(region, lattice, pitch_mm=PITCH_MM, effort=Effort.BEST)
    assert seats[0].count >= brute_force(SET[name], lattice)


def test_the_set_has_thirty_shapes() -> None:
    """The slow test below stands for at least thirty cavities, all valid."""
    assert len(SET) >= 30
    assert all(cavity.is_valid and isinstance(cavity, Polygon) for cavity in SET.values())


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("name", SAMPLE)
def test_best_lattice_beats_a_fine_search_on_a_sample(name: str, lattice: Lattice) -> None:
    """No offset of a 20th and no angle of 1 degree holds more."""
    assert_no_worse_than_brute_force(name, lattice)


@pytest.mark.slow
@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("name", [name for name in SET if name not in SAMPLE])
def test_best_lattice_beats_a_fine_search_on_every_shape(name: str, lattice: Lattice) -> None:
    """The same on all shapes of the set."""
    assert_no_worse_than_brute_force(name, lattice)


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("angle", [0.0, 17.3])
def test_counts_are_those_of_points_in_the_region(lattice: Lattice, angle: float) -> None:
    """The counter by rows agrees with asking every site, at random offsets."""
    region = region_of(SET["frame 1"], reach_mm=REACH_MM)
    counter = counter_at(region, lattice, pitch_mm=PITCH_MM, angle_deg=angle)
    offsets = np.random.default_rng(3).random((25, 2))
    for offset, count in zip(offsets, counter.counts(offsets), strict=True):
        xy, _ = seated(
            region, lattice, pitch_mm=PITCH_MM, offset=(offset[0], offset[1]), angle_deg=angle
        )
        assert len(xy) == count


def test_no_random_offset_beats_the_best_one() -> None:
    """The candidates hold the optimum: 20 000 random offsets find none better."""
    region = region_of(SET["L 0"], reach_mm=REACH_MM)
    count, _ = best_offset(region, Lattice.HONEYCOMB, pitch_mm=PITCH_MM, angle_deg=11.0)
    counter = counter_at(region, Lattice.HONEYCOMB, pitch_mm=PITCH_MM, angle_deg=11.0)
    offsets = np.random.default_rng(4).random((20_000, 2))
    assert counter.counts(offsets).max() <= count
    found = candidates(region, Lattice.HONEYCOMB, pitch_mm=PITCH_MM, angle_deg=11.0)
    assert ((found >= 0) & (found < 1)).all()


@pytest.mark.parametrize(
    ("long", "high", "count"), [(2 * REACH_MM, 2 * REACH_MM, 1), (2 * REACH_MM + 3 * PITCH_MM,
    2 * REACH_MM, 4), (2 * REACH_MM + 2 * PITCH_MM, 2 * REACH_MM + PITCH_MM, 6)],
)  # fmt: skip
def test_exact_touch_counts(long: float, high: float, count: int) -> None:
    """Boxes that just hold 1, 4 and 3 x 2 cells hold them, and a hair less holds fewer."""
    for spare, expected in ((0.0, True), (-1e-6, False)):
        region = region_of(box(0, 0, long + spare, high), reach_mm=REACH_MM)
        held, offset = best_offset(region, Lattice.GRID, pitch_mm=PITCH_MM, angle_deg=0.0)
        xy, _ = seated(region, Lattice.GRID, pitch_mm=PITCH_MM, offset=offset, angle_deg=0.0)
        assert len(xy) == held
        assert (held == count) is expected


def test_lattice_proof_closes_and_finds_what_was_held_back() -> None:
    """Started below the optimum the search finds it; started at it, it proves it."""
    region = region_of(ell(180, 150, 70), reach_mm=REACH_MM)
    known = lattice_seats(region, Lattice.HONEYCOMB, pitch_mm=PITCH_MM, effort=Effort.BEST)[0]
    proof = prove_lattice(region, Lattice.HONEYCOMB, pitch_mm=PITCH_MM, known=known.count)
    assert proof.closed and proof.most == known.count and proof.offset is None
    found = prove_lattice(region, Lattice.HONEYCOMB, pitch_mm=PITCH_MM, known=0)
    assert found.closed and found.offset is not None
    xy, _ = seated(
        region,
        Lattice.HONEYCOMB,
        pitch_mm=PITCH_MM,
        offset=found.offset,
        angle_deg=found.angle_deg,
    )
    assert len(xy) == found.most
    # the region with the play taken off can't hold more than was proven for it
    tight = region_of(ell(180, 150, 70), reach_mm=REACH_MM + LATTICE_PLAY_MM)
    seats = lattice_seats(tight, Lattice.HONEYCOMB, pitch_mm=PITCH_MM, effort=Effort.BEST)
    assert seats[0].count <= found.most <= known.count


def test_lattice_proof_stays_open_when_the_budget_is_spent() -> None:
    """Few boxes prove nothing, and the answer says so."""
    region = region_of(ell(180, 150, 70), reach_mm=REACH_MM)
    proof = prove_lattice(region, Lattice.GRID, pitch_mm=PITCH_MM, known=1, most_boxes=3)
    assert not proof.closed and proof.boxes == 3
