"""Strips of both faces: who is joined, where strips lie, what is given up for the lip."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Lattice, Pack
from layouts.strips.checks import strip_checks
from layouts.strips.joining import Interconnect, StripKind
from layouts.strips.joints import face_joints, net_of_group
from layouts.strips.laying import join, past_centre_mm
from layouts.strips.lip import seat_checks
from layouts.strips.lip_checks import lip_checks
from tests.layouts.hand_made import cell_layout_of, in_a_snake, in_rows
from tests.layouts.strips.joinings import of
from tests.samples import sample_pack

FACES = (Face.LOWER, Face.UPPER)


def assert_sound(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> None:
    """Judged from the rectangles alone: one piece a net, nothing foreign, stacks as counted."""
    for row, face in enumerate(FACES):
        strips = of(interconnect, face)
        boxes = [shapely.Polygon(s.outline_mm) for s in strips]
        net = net_of_group(cell_layout.group, face)
        # over a centre exactly when listed; stubs end within the own cell's window
        for strip, box in zip(strips, boxes, strict=True):
            away = shapely.distance(box, shapely.points(cell_layout.xy_mm))
            assert set(np.flatnonzero(away < 1e-9)) == set(strip.cells)
            foreign = net != net[strip.cells[0]]
            assert (away[foreign] > pack.holder.window_mm / 2 + 1.5).all()
            assert len({int(net[c]) for c in strip.cells}) == 1
            assert strip.groups == tuple(sorted({int(cell_layout.group[c]) for c in strip.cells}))
        for n in np.unique(net):
            mine = [b for s, b in zip(strips, boxes, strict=True) if net[s.cells[0]] == n]
            cells = np.flatnonzero(net == n)
            touched = {c for s in strips if net[s.cells[0]] == n for c in s.cells}
            assert touched == set(cells.tolist())
            assert shapely.union_all(mine).geom_type == "Polygon"
        thick = np.zeros(len(net))
        for strip in strips:
            thick[list(strip.cells)] += strip.thickness_mm * strip.layers
        assert interconnect.stack_mm[row] == pytest.approx(thick)
    for k in range(1, pack.series):
        face = Face.UPPER if k % 2 else Face.LOWER
        pairs = {
            tuple(cell_layout.group[list(link)]) for s in of(interconnect, face) for link in s.links
        }
        assert (k, k + 1) in pairs or (k + 1, k) in pairs
    held = {
        c.id: c.holds
        for c in (
            *lip_checks(pack, cell_layout, interconnect),
            *seat_checks(pack, cell_layout, interconnect),
            *strip_checks(pack, cell_layout, interconnect),
        )
    }
    held.pop("lead_out_mm")  # depends on the field alone
    assert all(held.values()), held


@pytest.mark.slow
@settings(max_examples=30, deadline=None)
@given(
    st.integers(1, 12),
    st.integers(1, 20),
    st.integers(1, 4),
    st.sampled_from(list(Lattice)),
    st.sampled_from(["18650", "21700", "26650", "32700"]),
)
def test_blocks_of_rows_are_joined_soundly(
    series: int, parallel: int, rows: int, lattice: Lattice, size: str
) -> None:
    """Any S x P up to 60 cells in blocks of rows: all nets hold together, the lip holds."""
    parallel = max(1, min(parallel, 60 // series))
    pack = sample_pack(series, parallel, format=size, lattice=lattice)
    cell_layout = in_rows(pack, min(rows, parallel))
    interconnect = join(pack, cell_layout)
    assert_sound(pack, cell_layout, interconnect)
    assert {c.id: c.holds for c in strip_checks(pack, cell_layout, interconnect)}["lead_out_mm"]


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(
    st.integers(1, 12),
    st.integers(1, 20),
    st.integers(1, 9),
    st.sampled_from(list(Lattice)),
    st.sampled_from([1, 2]),
)
def test_groups_that_share_rows_are_joined_soundly(
    series: int, parallel: int, columns: int, lattice: Lattice, layers: int
) -> None:
    """Groups that end in the middle of a row, one or two layers: the same holds."""
    parallel = max(1, min(parallel, 60 // series))
    pack = sample_pack(series, parallel, lattice=lattice)
    pack = dataclasses.replace(pack, strip=dataclasses.replace(pack.strip, layers=layers))
    cell_layout = in_a_snake(pack, columns)
    assert_sound(pack, cell_layout, join(pack, cell_layout))


@pytest.mark.parametrize(("series", "plus"), [(1, Face.UPPER), (2, Face.LOWER), (3, Face.UPPER)])
def test_leads_leave_the_faces_that_series_decides(series: int, plus: Face) -> None:
    """Minus leaves the lower face; plus the lower one for S even, the upper for S odd."""
    pack = sample_pack(series, 3)
    interconnect = join(pack, in_rows(pack))
    assert (interconnect.minus_face, interconnect.plus_face) == (Face.LOWER, plus)
    out = {(s.face, s.groups) for s in interconnect.strips if s.runs_out}
    assert out == {(Face.LOWER, (1,)), (plus, (series,))}


def test_ten_by_four_has_the_strips_one_would_draw() -> None:
    """10S4P in rows: per junction two rows and seven links; two leads, nothing given up."""
    pack = sample_pack(10, 4)
    interconnect = join(pack, in_rows(pack))
    counted = {
        (face, kind): len(of(interconnect, face, kind)) for face in FACES for kind in StripKind
    }
    assert counted == {
        (Face.UPPER, StripKind.ROW): 10,
        (Face.UPPER, StripKind.LINK): 35,
        (Face.UPPER, StripKind.LEAD): 0,
        (Face.LOWER, StripKind.ROW): 8,
        (Face.LOWER, StripKind.LINK): 28,
        (Face.LOWER, StripKind.LEAD): 2,
    }
    assert interconnect.notes == ()
    assert {s.width_mm for s in of(interconnect, Face.UPPER)} == {6.0, 8.0}
    assert {s.width_mm for s in of(interconnect, Face.LOWER, StripKind.LEAD)} == {10.0}
    assert len({s.name for s in interconnect.strips}) == len(interconnect.strips)


def test_every_row_of_an_end_group_runs_out_and_one_cross_strip_joins_them() -> None:
    """3S11P in blocks of three rows: three leads a main end, 12 past the outline of the row."""
    pack = sample_pack(3, 11)
    cell_layout = in_rows(pack, 3)
    interconnect = join(pack, cell_layout)
    for face in FACES:
        leads = of(interconnect, face, StripKind.LEAD)
        assert [s.runs_out for s in leads] == [True] * 3
        for strip in leads:
            last = cell_layout.xy_mm[strip.cells[-1]]
            assert strip.end_mm[1] == pytest.approx(last[1])
            past = strip.end_mm[0] - last[0] - pack.pocket_mm / 2 - pack.holder.wall_mm
            # rows shifted by half a pitch lie in the outline's hollow
            assert past == pytest.approx(12) or past == pytest.approx(12 + pack.pitch_mm / 2)
        group = 1 if face is Face.LOWER else 3
        across = [s for s in of(interconnect, face, StripKind.LINK) if s.groups == (group,)]
        assert [len(s.cells) for s in across] == [3]


def test_through_going_links_serve_the_inner_rows() -> None:
    """Groups of three rows: every inner cell lies on a diagonal that reaches the other group."""
    pack = sample_pack(2, 12)
    cell_layout = in_rows(pack, 3)
    links = of(join(pack, cell_layout), Face.UPPER, StripKind.LINK)
    assert set(range(24)) == {c for s in links for c in s.cells}
    assert all(s.groups == (1, 2) for s in links)


def test_rows_that_cannot_run_out_cross_to_rows_that_can() -> None:
    """A row of an end group behind another group's cells: each of its cells gets a cross strip."""
    pack = sample_pack(2, 8)
    # group 1: a full row of 5 below, 3 cells left of group 2 in the next row
    sites = np.array(
        [(c, 0) for c in range(5)]
        + [(c, 1) for c in range(5)]
        + [(c, 2) for c in range(5)]
        + [(4, 3)]
    )
    group = np.array([1] * 8 + [2] * 8)
    cell_layout = cell_layout_of(pack, sites, group)
    interconnect = join(pack, cell_layout)
    blocked = [
        s
        for s in of(interconnect, Face.LOWER, StripKind.LEAD)
        if not s.runs_out and s.groups == (1,)
    ]
    assert [len(s.cells) for s in blocked] == [3]
    across = [s for s in of(interconnect, Face.LOWER, StripKind.LINK) if s.groups == (1,)]
    assert {c for s in across for c in s.cells} >= set(blocked[0].cells)
    assert_sound(pack, cell_layout, interconnect)


def test_groups_side_by_side_are_linked_along_the_row() -> None:
    """Two groups on one lattice line: one strip runs through both, as wide as a link."""
    pack = sample_pack(2, 3)
    cell_layout = cell_layout_of(
        pack, np.array([(c, 0) for c in range(6)]), np.array([1] * 3 + [2] * 3)
    )
    interconnect = join(pack, cell_layout)
    (strip,) = of(interconnect, Face.UPPER)
    assert (strip.kind, strip.groups, len(strip.cells)) == (StripKind.LINK, (1, 2), 6)
    assert strip.width_mm == pack.strip.link_width_mm


def test_a_lead_that_cannot_leave_at_plus_x_is_told_and_fails() -> None:
    """Group 1 with group 2 at its right: its strip stays inside, note and check say so."""
    pack = sample_pack(2, 3)
    cell_layout = cell_layout_of(
        pack, np.array([(c, 0) for c in range(6)]), np.array([1] * 3 + [2] * 3)
    )
    interconnect = join(pack, cell_layout)
    assert [s.groups for s in interconnect.strips if s.runs_out] == [(2,)]
    assert any("group 1" in note and "no strip extends" in note for note in interconnect.notes)
    check = {c.id: c for c in strip_checks(pack, cell_layout, interconnect)}["lead_out_mm"]
    assert not check.holds
    assert check.where == "pack minus"
    assert check.value is None
    assert_sound(pack, cell_layout, interconnect)


def test_a_lone_cell_that_is_shut_in_gets_a_tab() -> None:
    """One cell of group 1 in a ring of group 2: a short strip over it to solder a wire to."""
    pack = sample_pack(2, 6)
    sites = np.array([(1, 1), (0, 1), (2, 1), (1, 0), (2, 0), (1, 2), (2, 2)])
    cell_layout = cell_layout_of(pack, sites, np.array([1] + [2] * 6))
    interconnect = join(pack, cell_layout)
    (tab,) = [s for s in of(interconnect, Face.LOWER) if s.groups == (1,)]
    assert (tab.kind, tab.cells, tab.runs_out) == (StripKind.LEAD, (0,), False)
    assert tab.end_mm[0] - tab.start_mm[0] == pytest.approx(10.0)
    assert not {c.id: c for c in strip_checks(pack, cell_layout, interconnect)}["lead_out_mm"].holds


def with_strip(pack: Pack, **changes: float) -> Pack:
    """The pack with other strips."""
    return dataclasses.replace(pack, strip=dataclasses.replace(pack.strip, **changes))


def test_rows_narrow_first_then_links() -> None:
    """21700 asked 10/10: rows go to 5 and links stay at 10, for the lip; reported in the notes."""
    pack = with_strip(sample_pack(4, 5), row_width_mm=10.0, link_width_mm=10.0)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    assert {s.width_mm for s in of(interconnect, Face.UPPER, StripKind.LINK)} == {10.0}
    assert max(s.width_mm for s in of(interconnect, Face.UPPER, StripKind.ROW)) < 10.0
    assert any("rows" in note and "instead of 10 mm" in note for note in interconnect.notes)
    assert all(c.holds for c in lip_checks(pack, cell_layout, interconnect))


def test_links_narrow_when_narrow_rows_are_not_enough() -> None:
    """Links of 15 leave no lip between diagonals whatever the row: they narrow too."""
    pack = with_strip(sample_pack(4, 5), row_width_mm=6.0, link_width_mm=15.0)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    widths = {s.width_mm for s in of(interconnect, Face.UPPER, StripKind.LINK)}
    assert max(widths) < 15.0
    assert min(widths) >= 5.0
    assert any("links" in note for note in interconnect.notes)
    assert all(c.holds for c in lip_checks(pack, cell_layout, interconnect))


def test_one_slant_is_given_up_when_the_stack_is_too_high() -> None:
    """Three layers in both diagonals stand too high: one diagonal is left, and every cell keeps
    one.
    """
    pack = with_strip(sample_pack(4, 5), layers=3)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    assert any("one diagonal" in note for note in interconnect.notes)
    linked = {c for s in of(interconnect, Face.UPPER, StripKind.LINK) for c in s.cells}
    assert linked == set(range(20))
    assert all(c.holds for c in seat_checks(pack, cell_layout, interconnect))
    assert_sound(pack, cell_layout, interconnect)


def test_what_cannot_hold_is_laid_all_the_same_and_fails_its_check() -> None:
    """Eight layers fit in no set: the fewest strips are laid, note and check say it fails."""
    pack = with_strip(sample_pack(2, 4), layers=8)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    assert any("still fails" in note for note in interconnect.notes)
    assert not {c.id: c for c in seat_checks(pack, cell_layout, interconnect)}[
        "strip_stack_mm"
    ].holds


def test_a_wide_grid_strip_is_left_as_asked() -> None:
    """Grid, 10/10: links at right angles leave lip enough, nothing is given up."""
    pack = sample_pack(4, 6, lattice=Lattice.GRID)
    interconnect = join(pack, in_rows(pack))
    assert interconnect.notes == ()
    assert {s.width_mm for s in interconnect.strips} == {10.0}


def test_strip_ends_stay_in_the_window() -> None:
    """5 past the last centre, less where the channel's corner would leave the window."""
    for size, width in itertools.product(("18650", "21700", "26650"), (5.0, 8.0, 10.0, 13.0)):
        pack = sample_pack(2, 2, format=size)
        past = past_centre_mm(pack, width)
        half = (width + pack.holder.channel_play_mm) / 2
        assert past <= 5.0
        assert np.hypot(past, half) <= pack.holder.window_mm / 2 + 1e-9
    assert past_centre_mm(sample_pack(2, 2), 8.0) == 5.0


def moved_from_row(cell_layout: CellLayout, row: int, growth_mm: float) -> CellLayout:
    """The field widened along y from a row on, same neighbours."""
    xy = cell_layout.xy_mm.copy()
    xy[cell_layout.sites[:, 1] >= row, 1] += growth_mm
    return dataclasses.replace(cell_layout, xy_mm=xy - (xy.max(axis=0) + xy.min(axis=0)) / 2)


def test_a_slant_that_bends_at_a_widened_seam_is_laid_in_straight_pieces() -> None:
    """Across a seam the diagonal leaves the lattice's angle: two straight strips meet at a cell."""
    pack = sample_pack(2, 12)
    cell_layout = in_rows(pack, 3)
    plain, bent = join(pack, cell_layout), join(pack, moved_from_row(cell_layout, 2, 2.6))
    wide = moved_from_row(cell_layout, 2, 2.6)
    for strip in of(bent, Face.UPPER):
        a, b = np.asarray(strip.start_mm), np.asarray(strip.end_mm)
        along = (b - a) / np.hypot(*(b - a))
        off = (wide.xy_mm[list(strip.cells)] - a) @ np.array([-along[1], along[0]])
        assert np.abs(off).max() < 1e-4
    assert len(of(bent, Face.UPPER, StripKind.LINK)) > len(of(plain, Face.UPPER, StripKind.LINK))
    assert_sound(pack, wide, bent)


def test_a_row_runs_straight_over_a_seam_across_it() -> None:
    """A seam that widens along x leaves the row one strip."""
    pack = sample_pack(2, 6)
    cell_layout = in_rows(pack)
    xy = cell_layout.xy_mm.copy()
    xy[cell_layout.sites[:, 0] >= 3, 0] += 2.0
    wide = dataclasses.replace(cell_layout, xy_mm=xy)
    rows = of(join(pack, wide), Face.UPPER, StripKind.ROW)
    assert [len(s.cells) for s in rows] == [6, 6]


def test_order_of_the_neighbour_list_does_not_matter() -> None:
    """Same field, neighbours shuffled and turned: the same strips, to the last digit."""
    pack = sample_pack(3, 11)
    cell_layout = in_rows(pack, 3)
    mixed = np.random.default_rng(7).permutation(cell_layout.neighbours)[:, ::-1]
    again = join(pack, dataclasses.replace(cell_layout, neighbours=mixed))
    assert again.strips == join(pack, cell_layout).strips


def test_bonds_follow_the_lattice() -> None:
    """Six directions on a honeycomb, four on a grid; every joint points along its axis."""
    for lattice, step in ((Lattice.HONEYCOMB, 60.0), (Lattice.GRID, 90.0)):
        pack = sample_pack(4, 7, lattice=lattice)
        joints = face_joints(in_rows(pack), lattice, Face.UPPER)
        assert joints.angle_deg % 180.0 == pytest.approx(joints.axis * step)
        assert (joints.net == joints.net_of[joints.head]).all()
