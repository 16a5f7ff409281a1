"""Arrangements: any S x P, both lattices, and what is chosen for known packs."""

from dataclasses import replace
from itertools import combinations
from random import Random

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.distance import pdist

from layouts.cells.arrangement import CellLayout
from layouts.cells.cuts import tile_apart_mm, tile_sizes_mm, tiles_fit
from layouts.cells.envelope import cell_block_mm
from layouts.cells.fields import block_shapes
from layouts.cells.lattice import neighbour_pairs
from layouts.cells.spacing import BARRIER_WEB_MM, can_spacing
from layouts.cells.tiles import tile_polygons
from layouts.holders.barriers import barrier_designs
from layouts.holders.fastening import fasten
from layouts.holders.tile_plan import GROOVE_DEEP_MM
from layouts.pack import Lattice, Pack, Printer, Side
from layouts.planning.estimate import envelope
from layouts.spaces.space import box_space
from layouts.strips.checks import strip_checks
from layouts.strips.laying import join
from layouts.strips.lip import seat_checks
from layouts.strips.lip_checks import lip_checks
from tests.layouts.boxed import arrange
from tests.layouts.cells.test_fields import connected
from tests.sampled import sampled
from tests.samples import sample_pack


def printer(x: float, y: float) -> Printer:
    """The default printer with another bed."""
    return Printer(bed_mm=(x, y, 250.0), nozzle_mm=0.4, layer_mm=0.2, material="petg")


def assert_sound(pack: Pack, made: CellLayout) -> None:
    """What must be true of every arrangement."""
    count, series = pack.series * pack.parallel, pack.series
    assert made.xy_mm.shape == made.sites.shape == (count, 2)
    assert len(np.unique(made.sites, axis=0)) == count
    if count > 1:
        assert pdist(made.xy_mm).min() >= pack.pitch_mm - 1e-9
    assert made.xy_mm.min(axis=0) + made.xy_mm.max(axis=0) == pytest.approx([0, 0], abs=1e-9)
    assert np.array_equal(np.sort(made.group), made.group)
    assert (np.bincount(made.group)[1:] == pack.parallel).all()
    assert np.array_equal(made.positive_up, made.group % 2 == 1)
    assert np.array_equal(made.neighbours, neighbour_pairs(made.sites, pack.lattice))
    a, b = made.group[made.neighbours].T if count > 1 else np.empty((2, 0), dtype=np.int64)
    group_contacts = [
        int(((np.minimum(a, b) == k) & (np.abs(a - b) == 1)).sum()) for k in range(1, series)
    ]
    assert made.fewest_contacts == min(group_contacts, default=0)
    assert series == 1 or made.fewest_contacts >= 1
    for k in range(1, series + 1):
        own = np.flatnonzero(made.group == k)
        inside = made.neighbours[(made.group[made.neighbours] == k).all(axis=1)]
        assert connected(len(own), np.searchsorted(own, inside))
    assert made.empty_sites >= 0
    assert can_spacing(pack, made).holds
    assert tiles_fit(tile_sizes_mm(made.xy_mm, made.tile, pack), pack)
    for seam in made.seams:
        across = np.hypot(*(made.xy_mm[seam.pairs[:, 0]] - made.xy_mm[seam.pairs[:, 1]]).T)
        assert across.min() == pytest.approx(pack.pitch_mm + seam.growth_mm)
    cut = made.neighbours[made.tile[made.neighbours[:, 0]] != made.tile[made.neighbours[:, 1]]]
    if len(cut):
        across = np.hypot(*(made.xy_mm[cut[:, 0]] - made.xy_mm[cut[:, 1]]).T)
        assert across.min() >= tile_apart_mm(pack) - 1e-9


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    series=st.integers(1, 40),
    parallel=st.integers(1, 40),
    lattice=st.sampled_from(Lattice),
    format=st.sampled_from(["18650", "21700", "26650", "32700"]),
    bed=st.sampled_from([(220.0, 220.0), (180.0, 180.0), (120.0, 250.0), (350.0, 350.0)]),
)
def test_any_pack_of_200_cells_or_fewer_is_sound(
    series: int, parallel: int, lattice: Lattice, format: str, bed: tuple[float, float]
) -> None:
    """Every property at once, and the same again when asked again."""
    parallel = max(1, min(parallel, 200 // series))
    pack = sample_pack(series, parallel, lattice=lattice, format=format, printer=printer(*bed))
    made = arrange(pack)
    assert_sound(pack, made)
    again = arrange(pack)
    assert np.array_equal(made.xy_mm, again.xy_mm) and made.notes == again.notes


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize(
    ("series", "parallel"),
    [(1, 1), (1, 7), (5, 1), (3, 11), (7, 3), (16, 5), (20, 10), (4, 6), (13, 7), (14, 1), (20, 2)],
)
def test_odd_packs_are_sound(series: int, parallel: int, lattice: Lattice) -> None:
    """Primes, single rows, single groups, folded ones."""
    pack = sample_pack(series, parallel, lattice=lattice)
    assert_sound(pack, arrange(pack))


@pytest.mark.parametrize(
    ("series", "parallel", "rows", "lanes", "fewest_contacts", "empty"),
    [
        (10, 4, 1, 1, 7, 0),
        (1, 7, 3, 1, 0, 0),  # six round one
        (5, 1, 1, 1, 1, 0),
        (3, 11, 2, 1, 10, 0),  # 6 + 5, nested
        (16, 5, 1, 1, 9, 0),
        (20, 10, 1, 1, 19, 0),
        (13, 7, 1, 1, 13, 0),
        (14, 1, 1, 2, 1, 2),  # 14 in a line is longer than the bed; two free beside group 1 and 2
    ],
)
def test_known_packs_get_the_field_a_builder_would_choose(
    series: int, parallel: int, rows: int, lanes: int, fewest_contacts: int, empty: int
) -> None:
    """21700 on a honeycomb, bed 220; the choice is judgement."""
    made = arrange(sample_pack(series, parallel))
    assert (made.rows_per_group, made.lanes) == (rows, lanes)
    assert (made.fewest_contacts, made.empty_sites) == (fewest_contacts, empty)


def test_empty_sites_are_told() -> None:
    """11 cells in two rows of a grid leave one site of each group empty."""
    made = arrange(sample_pack(3, 11, lattice=Lattice.GRID))
    assert made.empty_sites == 3
    assert "3 of the block's 36 sites stay empty." in made.notes


def test_a_folded_path_carries_a_barrier_and_says_so() -> None:
    """Lanes of distant groups: a volts seam wide enough for a barrier, 12 steps from 2 to 14."""
    pack = sample_pack(14, 1)
    made = arrange(pack)
    (seam,) = made.seams
    assert seam.reason == "volts" and seam.barrier
    assert seam.volts == pytest.approx(12 * 4.2)
    assert pack.pitch_mm + seam.growth_mm - pack.pocket_mm == pytest.approx(BARRIER_WEB_MM)
    assert any("barrier" in note for note in made.notes)


def folded(pack: Pack, *, lanes: int | None = None, rows: int | None = None) -> list[CellLayout]:
    """Arrangements of every field in several lanes."""
    return [
        arrange(pack, shape=shape)
        for shape in block_shapes(pack.series, pack.parallel, pack.lattice)
        if shape.lanes > 1 and lanes in (None, shape.lanes) and rows in (None, shape.rows)
    ]


def test_first_and_last_group_side_by_side_stand_as_far_apart_as_the_pack_voltage_asks() -> None:
    """9S4P in two lanes of two rows a group: group 1 meets group 9 across the seam."""
    pack = sample_pack(9, 4)
    (made,) = folded(pack, lanes=2, rows=2)
    (seam,) = made.seams
    assert seam.volts == pytest.approx(8 * 4.2)
    assert pack.pitch_mm + seam.growth_mm - pack.pocket_mm == pytest.approx(3.0)
    assert can_spacing(pack, made).holds


@pytest.mark.slow
@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    series=st.integers(4, 40),
    parallel=st.integers(1, 12),
    lattice=st.sampled_from(Lattice),
    format=st.sampled_from(["18650", "21700", "26650", "32700"]),
    bed=st.sampled_from([(220.0, 220.0), (120.0, 250.0), (400.0, 400.0)]),
    pick=st.randoms(),
)
def test_any_folded_field_is_sound_and_joined(
    series: int,
    parallel: int,
    lattice: Lattice,
    format: str,
    bed: tuple[float, float],
    pick: Random,
) -> None:
    """Whatever the lanes: spacing, strips, lip and both main leads out at +x hold."""
    parallel = max(1, min(parallel, 120 // series))
    pack = sample_pack(series, parallel, lattice=lattice, format=format, printer=printer(*bed))
    shape = pick.choice([f for f in block_shapes(series, parallel, lattice) if f.lanes > 1])
    made = arrange(pack, shape=shape)
    assert_sound(pack, made)
    interconnect = join(pack, made)
    held = {
        check.id: check.holds
        for check in (
            *strip_checks(pack, made, interconnect),
            *lip_checks(pack, made, interconnect),
            *seat_checks(pack, made, interconnect),
        )
    }
    assert held["lead_out_mm"]
    assert all(held.values()), (shape, held)


def test_a_single_pair_between_groups_of_several_is_the_last_choice() -> None:
    """On a grid a fold of pairs meets at one pair: the pack is cut in tiles rather than folded."""
    pack = sample_pack(20, 2, lattice=Lattice.GRID)
    made = arrange(pack)
    assert (made.lanes, made.fewest_contacts) == (1, 2) and int(made.tile.max()) > 0
    tight = arrange(replace(pack, space=box_space((400.0, 330.0, 120.0))))
    assert tight.lanes > 1 and tight.fewest_contacts == 1
    assert "At the fold groups meet at 1 touching pair." in tight.notes


def test_a_fold_of_single_rows_tells_its_elbow() -> None:
    """20S2P on a honeycomb folds at two pairs, and the notes say which groups share rows."""
    (made,) = folded(sample_pack(20, 2), lanes=2, rows=1)
    assert made.fewest_contacts == 2
    assert "At the fold groups meet at 2 touching pairs." in made.notes
    assert any(note.startswith("Groups 10 and 11 share") for note in made.notes)


@pytest.mark.parametrize("lattice", Lattice)
def test_strips_of_group_1_pass_clear_beneath_the_other_lanes(lattice: Lattice) -> None:
    """12S3P: farther from other groups' pockets than the strip gap, and reported as unsupported."""
    pack = sample_pack(12, 3, lattice=lattice)
    for made in folded(pack):
        interconnect = join(pack, made)
        pockets = shapely.buffer(shapely.points(made.xy_mm[made.group != 1]), pack.pocket_mm / 2)
        out = [s for s in interconnect.strips if s.runs_out and 1 in s.groups]
        assert out
        edge = made.xy_mm[:, 0].max() + pack.pocket_mm / 2 + pack.holder.wall_mm
        for strip in out:
            assert shapely.distance(shapely.Polygon(strip.outline_mm), pockets).min() > 1.5
            assert strip.end_mm[0] == pytest.approx(edge + 12)
        assert any("outside the holder, beside other lanes" in note for note in interconnect.notes)


@pytest.mark.parametrize("lattice", Lattice)
def test_a_tile_cut_across_a_fold_gets_no_barrier_of_its_own(lattice: Lattice) -> None:
    """20S2P folded and cut: where four distant cells meet, one wall parts them; none cross."""
    pack = sample_pack(20, 2, lattice=lattice, printer=printer(150, 150))
    (made,) = folded(pack, lanes=2, rows=1)
    assert [seam.barrier for seam in made.seams].count(True) == 1
    assert len(made.seams) > 1
    assert can_spacing(pack, made).holds
    cell_block = fasten(pack, made, join(pack, made))
    walls = [shapely.Polygon(b.points_mm) for b in barrier_designs(pack, made, cell_block.outline)]
    assert all(not a.intersects(b) for a, b in combinations(walls, 2))


def test_barriers_of_a_fold_stand_between_the_holders_below_the_strips() -> None:
    """Strips that cross at the turn lie outside the can ends; the barrier ends inside of them."""
    pack = sample_pack(20, 2)
    (made,) = folded(pack, lanes=2, rows=1)
    interconnect = join(pack, made)
    cell_block = fasten(pack, made, interconnect)
    barriers = barrier_designs(pack, made, cell_block.outline)
    lines = [shapely.Polygon(b.points_mm) for b in barriers]
    crossing = [
        s
        for s in interconnect.strips
        if any(shapely.Polygon(s.outline_mm).intersects(line) for line in lines)
    ]
    assert any({10, 11} & set(s.groups) for s in crossing)
    for barrier in barriers:
        assert barrier.z_mm > 0
        assert barrier.z_mm + barrier.height_mm < pack.cell.length_mm
        lip_side = pack.holder.depth_mm - GROOVE_DEEP_MM
        assert barrier.z_mm >= lip_side  # in the inner face's groove, never through to the lip


def outside(pack: Pack) -> tuple[int, tuple[float, float, float]]:
    """Lanes of the field chosen, and its estimated outer sizes."""
    made = arrange(pack)
    span = np.ptp(made.xy_mm, axis=0)
    return made.lanes, envelope(
        pack, cell_block_mm(pack, (float(span[0]), float(span[1])))
    ).outside_mm


def test_the_space_decides_the_field() -> None:
    """The same pack is laid long or flat, as its space asks."""
    free = sample_pack(20, 3, printer=printer(250, 250))
    long = replace(free, space=box_space((190.0, 520.0, 120.0)))
    flat = replace(free, space=box_space((520.0, 190.0, 120.0)))
    lanes, size = outside(long)
    assert size[0] <= 190 and size[1] <= 520 and lanes == 1
    lanes, size = outside(flat)
    assert size[0] <= 520 and size[1] <= 190 and lanes > 1
    assert outside(free)[0] == 1


def test_leads_on_another_side_turn_the_field_with_them() -> None:
    """Leads towards +y stand the pack a quarter turn round: the long space lies flat for it."""
    free = sample_pack(20, 3, printer=printer(250, 250))
    leads = replace(free.leads, side=Side.PLUS_Y)
    pack = replace(free, leads=leads, space=box_space((520.0, 190.0, 120.0)))
    lanes, size = outside(pack)
    assert size[0] <= 190 and size[1] <= 520 and lanes == 1


def test_a_field_that_fits_the_bed_uncut_is_preferred() -> None:
    """4S10P of 18650: rows of ten are too long for the bed, two rows of five are not."""
    small = arrange(sample_pack(4, 10, format="18650", printer=printer(220, 220)))
    large = arrange(sample_pack(4, 10, format="18650", printer=printer(300, 300)))
    assert int(small.tile.max()) == 0 and small.rows_per_group == 2
    assert large.rows_per_group == 1


def test_parts_that_do_not_fit_are_named() -> None:
    """When no field fits uncut, the notes say what is cut."""
    notes = " ".join(arrange(sample_pack(20, 10)).notes)
    assert (
        "Does not fit the bed in one piece (printer.bed_mm 220 x 220): holder, tub, lid." in notes
    )
    assert "split into 4 tiles" in notes


def test_a_bed_smaller_than_a_cell_is_told() -> None:
    """Single cells are the smallest tiles; if they do not fit either, the notes say so."""
    made = arrange(sample_pack(2, 2, printer=printer(30, 30)))
    assert any("Not even" in note for note in made.notes)


def test_a_large_bed_does_not_cut() -> None:
    """100 cells on a bed of half a metre stay one piece."""
    pack = sample_pack(10, 10, printer=printer(500, 500))
    made = arrange(pack)
    assert int(made.tile.max()) == 0 and made.seams == ()
    assert tile_polygons(made) == [None]


def test_many_cells_are_cut_even_on_a_large_bed() -> None:
    """Tiles hold at most 180 cells, so that making them stays linear."""
    made = arrange(sample_pack(20, 20, printer=printer(1000, 1000)))
    assert int(np.bincount(made.tile).max()) <= 180


@pytest.mark.parametrize(
    ("series", "parallel"),
    sampled([(100, 100), (1, 10_000), (10_000, 1), (2, 5000)], lambda size: size == (100, 100)),
)
def test_ten_thousand_cells_are_arranged(series: int, parallel: int) -> None:
    """The largest packs: every cell has its place, spaced and cut as small ones are."""
    pack = sample_pack(series, parallel)
    made = arrange(pack)
    assert len(made.xy_mm) == 10_000
    assert can_spacing(pack, made).holds
    assert tiles_fit(tile_sizes_mm(made.xy_mm, made.tile, pack), pack)
