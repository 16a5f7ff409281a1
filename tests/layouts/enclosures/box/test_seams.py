"""Seams of tub and lid: every piece fits, nothing is cut through, laps leave a gap."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely

from generators.packfile.resolve import parse_pack
from layouts.enclosures.box import design as designing
from layouts.enclosures.box.checks import enclosure_checks, seam_screw_access, seams_clear
from layouts.enclosures.box.design import design_enclosure
from layouts.enclosures.box.form import BoxEnclosure
from layouts.enclosures.box.seams import (
    LEAST_STAGGER_MM,
    LID_JOINT,
    STAGGER_MM,
    TUB_JOINT,
    Forbidden,
    choose_seams,
    forbidden,
    masks,
    seam_line,
)
from layouts.enclosures.box.sizes import Boss, Drain, EnclosureDesign, SeamDesign
from layouts.enclosures.gas_way import gas_way, gas_way_checks
from layouts.enclosures.laps import STRAIGHT, lap_levels
from layouts.pack import Lattice
from layouts.parts.bed import usable_bed_mm
from layouts.parts.fasteners import Into
from layouts.parts.screw import screw_uses
from layouts.parts.shell import Rect, box
from layouts.planning.steps import fastened, interconnected, laid_out
from tests.layouts.enclosed import Enclosed, enclosed, enclosed_pack
from tests.samples import sample_pack

BEDS = {"one way": (170.0, 200.0, 250.0), "both ways": (150.0, 150.0, 250.0)}


@cache
def cut_pack(bed: str) -> Enclosed:
    """The 10S4P pack on a small bed."""
    pack = sample_pack(10, 4)
    return enclosed_pack(replace(pack, printer=replace(pack.printer, bed_mm=BEDS[bed])))


@pytest.mark.parametrize("bed", BEDS)
def test_every_check_holds_for_a_cut_pack(bed: str) -> None:
    """Cutting spoils no other check, vent path included, and adds two."""
    e = cut_pack(bed)
    checks = enclosure_checks(e.pack, e.cell_layout, e.interconnect, e.cell_block, e.design)
    assert [c.id for c in checks if not c.holds] == []
    assert [c.id for c in checks[-2:]] == ["seam_screw_access", "seams_clear"]
    way = gas_way(e.pack, e.cell_layout, e.interconnect, e.enclosure)
    assert all(check.holds for check in gas_way_checks(way))


@pytest.mark.parametrize("bed", BEDS)
def test_every_piece_fits_the_bed(bed: str) -> None:
    """Each piece's plan, flanges and laps counted, lies within the usable bed either way."""
    e = cut_pack(bed)
    usable = sorted(usable_bed_mm(e.pack.printer))
    for part, seams, whole in (
        ("tub", e.design.tub_seams, e.design.tub_box), ("lid", e.design.lid_seams, e.design.lid_box)
    ):  # fmt: skip
        assert seams.pieces >= (2 if bed == "one way" else 4)
        for offsets in ((1.0, 1.0), (0.0, 0.0), (-1.0, -1.0)):
            for shape in masks(seams, e.design.cavity, part=part, wall_mm=2.6, offsets=offsets):
                x0, y0, x1, y1 = shape.intersection(box(whole)).bounds
                assert all(a <= b for a, b in zip(sorted((x1 - x0, y1 - y0)), usable, strict=True))


def test_uncut_pack_has_no_ears() -> None:
    """A part that fits the bed stays whole."""
    d = enclosed("5S1P").design
    assert d.tub_seams.pieces == d.lid_seams.pieces == 1
    assert d.tub_seams.flanges == d.lid_seams.flanges == ()


def test_lid_seams_stand_off_the_tubs() -> None:
    """Where one part is cut, the other bridges."""
    for bed in BEDS:
        d = cut_pack(bed).design
        for mine, other in (
            (d.lid_seams.x_mm, d.tub_seams.x_mm),
            (d.lid_seams.y_mm, d.tub_seams.y_mm),
        ):
            assert all(abs(a - b) >= STAGGER_MM for a in mine for b in other)


def test_nearer_seams_rather_than_none() -> None:
    """Where no seam of the lid stands 26 off the tub's, one 20 off parts it, screws in reach."""
    pack = sample_pack(14, 5, lattice=Lattice.GRID)
    d = enclosed_pack(
        replace(pack, printer=replace(pack.printer, bed_mm=(180.0, 180.0, 250.0)))
    ).design
    assert d.tub_seams.pieces > 1
    assert d.lid_seams.pieces > 1
    apart = min(abs(a - b) for a in d.lid_seams.y_mm for b in d.tub_seams.y_mm)
    assert LEAST_STAGGER_MM <= apart < STAGGER_MM
    assert seam_screw_access(d).holds
    assert seams_clear(d).holds


def test_pieces_never_overlap_and_fill_all_but_the_gap() -> None:
    """At every height of the laps the pieces part the plan with a gap of 0.2 between them."""
    d = cut_pack("both ways").design
    rect = d.tub_box
    whole = box(rect)
    for _, _, offsets in lap_levels(d.floor_mm, d.layer_mm):
        shapes = [
            s.intersection(whole)
            for s in masks(d.tub_seams, d.cavity, part="tub", wall_mm=2.6, offsets=offsets)
        ]
        for k, one in enumerate(shapes):
            for other in shapes[:k]:
                assert shapely.distance(one, other) >= 0.2 - 1e-9
        left = whole.area - sum(s.area for s in shapes)
        # gaps of 0.2 along two seams, wider where the piece before draws back first; laps add some
        wide = 0.2 + abs(offsets[0] - offsets[1])
        assert 0.19 * sum(rect.size_mm) < left < wide * (sum(rect.size_mm) + 4 * 20.0)


def test_overhanging_steps_leave_a_gap_below() -> None:
    """Where the piece behind a seam overhangs the one before it, it begins 0.2 higher."""
    d = cut_pack("one way").design
    levels = lap_levels(3.0, d.layer_mm)
    assert [z0 for z0, _, _ in levels[1:]] == [z1 for _, z1, _ in levels[:-1]]
    for (_, _, below), (_, _, above) in zip(levels, levels[1:], strict=False):
        low = masks(d.tub_seams, d.cavity, part="tub", wall_mm=2.6, offsets=below)[0]
        high = masks(d.tub_seams, d.cavity, part="tub", wall_mm=2.6, offsets=above)[1]
        assert not low.intersects(high)


def test_ears_meet_face_to_face_and_screws_run_through_both() -> None:
    """Each pair of joining flanges has the same screws' places, a hole before, an insert behind."""
    for seams in (cut_pack("one way").design.tub_seams, cut_pack("both ways").design.lid_seams):
        for before, behind in zip(seams.flanges[::2], seams.flanges[1::2], strict=True):
            assert (before.insert, behind.insert) == (False, True)
            axis = before.axis
            for a, b in zip(before.screws, behind.screws, strict=True):
                assert (a.x_mm, a.y_mm)[1 - axis] == (b.x_mm, b.y_mm)[1 - axis]
                assert a.z_mm == b.z_mm
                step = (b.x_mm, b.y_mm)[axis] - (a.x_mm, a.y_mm)[axis]
                assert step == pytest.approx(before.thick_mm + 0.2)
            heights = [s.z_mm for s in before.screws]
            assert all(b - a <= 70.0 for a, b in zip(heights, heights[1:], strict=False))


def test_screws_and_inserts_of_ears_are_billed() -> None:
    """The bill counts a screw and an insert for each place, on top of the lid's."""
    d = cut_pack("one way").design
    tub = sum(len(e.screws) for e in d.tub_seams.flanges if e.insert)
    lid = sum(len(e.screws) for e in d.lid_seams.flanges if e.insert)
    enclosure = BoxEnclosure(sizes=d)
    billed = screw_uses(enclosure.screws)
    uses = {u.where: u.count for u in billed}
    assert uses["pieces of the tub"] == tub > 0
    assert uses["pieces of the lid"] == lid > 0
    inserts = sum(u.count for u in billed if u.screw == "M3" and u.into is Into.INSERT)
    assert inserts == uses["lid to tub"] + tub + lid
    assert not any("insert" in item.item for item in enclosure.bill)  # listed once, with the screws


def test_seams_clear_fails_for_a_seam_through_a_column() -> None:
    """A seam moved onto a lid boss is found."""
    d = cut_pack("one way").design
    boss = next(b for b in d.bosses if b.seat)
    moved = replace(d, tub_seams=replace(d.tub_seams, y_mm=(boss.y_mm,)))
    check = seams_clear(moved)
    assert not check.holds
    assert "column" in check.where


def test_seams_clear_fails_for_a_seam_through_a_slot() -> None:
    """A tub seam through an opening is found."""
    d = cut_pack("one way").design
    slot = d.slots[0]
    at = (slot.y0_mm + slot.y1_mm) / 2
    moved = replace(d, bosses=(), tub_seams=replace(d.tub_seams, y_mm=(at,)))
    assert not seams_clear(moved).holds


@pytest.mark.parametrize("bed", BEDS)
def test_every_seam_screw_can_be_put_in(bed: str) -> None:
    """12 mm, an M3 x 8 with its head and 1 mm, are free before every passing joining flange."""
    check = seam_screw_access(cut_pack(bed).design)
    assert check.limit == pytest.approx(12.0)
    assert check.value is not None
    assert check.value >= 12.0 - 1e-6


def test_seam_screw_access_fails_for_a_skirt_before_an_ear() -> None:
    """A drip skirt to 3 mm before a lid flange's hole is found and reported."""
    d = cut_pack("one way").design
    flange = next(e for e in d.lid_seams.flanges if e.axis == 1 and not e.insert)
    side = 1 if flange.rect.x0 > 0 else -1
    before = max(
        (s for s in d.skirts if s.side == side and s.y1_mm < flange.rect.y0), key=lambda s: s.y1_mm
    )
    longer = replace(before, y1_mm=flange.rect.y0 - 3.0)
    check = seam_screw_access(
        replace(d, skirts=tuple(longer if s == before else s for s in d.skirts))
    )
    assert not check.holds
    assert check.value == pytest.approx(3.0)
    assert "lid's joining flange" in check.where
    assert "skirt" in check.where


def test_seam_screw_access_fails_for_a_column_before_an_ear() -> None:
    """A boss rib that stands out of the wall 4 mm before a tub joining flange's hole is found."""
    d = cut_pack("one way").design
    flange = next(e for e in d.tub_seams.flanges if e.axis == 1 and not e.insert and e.rect.x0 > 0)
    boss_rib = replace(
        d.bosses[0], x_mm=flange.screws[0].x_mm, y_mm=flange.rect.y0 - 4.0 - d.bosses[0].radius_mm
    )
    check = seam_screw_access(replace(d, bosses=(*d.bosses, replace(boss_rib, web=None))))
    assert not check.holds
    assert check.value == pytest.approx(4.0, abs=0.01)
    assert "column" in check.where


def test_no_seam_where_its_screws_can_not_be_put_in() -> None:
    """A place with free walls is left out where something stands 12 mm before its flanges."""
    stands = Forbidden(line=(), joint=(), before=((40.0, 45.0),), ahead_mm=12.0)
    # the tub's passing joining flange begins 1 mm before its seam, the lid's 5 mm
    assert not stands.allows(57.5, TUB_JOINT)
    assert stands.allows(58.5, TUB_JOINT)
    assert not stands.allows(61.5, LID_JOINT)
    assert stands.allows(62.5, LID_JOINT)
    assert stands.allows(40.5, TUB_JOINT)  # behind its joining flanges nothing is put in


@pytest.mark.parametrize("part", ["tub", "lid"])
def test_a_drain_moves_the_seams_of_the_tub_alone(
    part: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One more, right where a seam runs: the tub's moves clear of it, the lid has no drains."""
    pack = sample_pack(8, 2)
    pack = replace(pack, printer=replace(pack.printer, bed_mm=(150.0, 150.0, 250.0)))
    plain = enclosed_pack(pack).design
    (at,) = (plain.tub_seams if part == "tub" else plain.lid_seams).y_mm
    drain = Drain(x_mm=0.0, y_mm=at, radius_mm=plain.drains[0].radius_mm)
    monkeypatch.setattr(designing, "drains_of", lambda *_: (*plain.drains, drain))
    made = enclosed_pack(pack).design
    assert drain in made.drains and made.lid_seams == plain.lid_seams
    assert (made.tub_seams == plain.tub_seams) is (part == "lid")
    (moved,) = made.tub_seams.y_mm
    assert abs(moved - at) - drain.radius_mm > 2.0  # clear of the floor's steps
    assert seams_clear(made).holds


def test_no_place_for_a_seam_is_told() -> None:
    """Where every place is taken the choice says None instead of cutting through something."""
    all_taken = Forbidden(line=((-1e3, 1e3),), joint=())
    assert choose_seams(0.0, 300.0, 200.0, all_taken, TUB_JOINT) is None
    nothing = Forbidden(line=(), joint=())
    assert choose_seams(0.0, 300.0, 400.0, all_taken, LID_JOINT) == ()
    seams = choose_seams(0.0, 300.0, 200.0, nothing, LID_JOINT)
    assert seams is not None
    assert len(seams) == 1
    assert seams[0] == pytest.approx(150.0, abs=1.0)


def with_plates(series: int, parallel: int, lattice: str, cell: str) -> EnclosureDesign:
    """Tub and lid of a pack joined by plates, all else by default."""
    text = (
        f'name: hay-lift\ncell: {{format: "{cell}"}}\nseries: {series}\nparallel: {parallel}\n'
        f"lattice: {lattice}\n"
    )
    pack = parse_pack(text.encode(), "hay-lift.yaml").pack
    block = fastened(interconnected(laid_out(pack)))
    return design_enclosure(pack, block.cell_layout, block.interconnect, block.cell_block)


def test_another_layout_is_taken_where_the_first_finds_no_seam(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A tub 5 mm longer than the bed: board, glands and bosses give way to its seam."""
    found = with_plates(7, 3, "grid", "26650")
    assert len(found.tub_seams.y_mm) == 1
    assert seams_clear(found).holds and seam_screw_access(found).holds
    monkeypatch.setattr(designing, "LAYOUTS_MOST", 1)
    first = with_plates(7, 3, "grid", "26650")
    assert first.tub_seams.y_mm == ()
    assert any("no free position for a seam" in note for note in first.notes)


def test_a_column_off_the_walls_is_in_the_way_of_the_floors_seam_alone() -> None:
    """It takes the floor's line; laps and joining flanges are at the walls, where it is not."""
    cavity = Rect(x0=0.0, y0=0.0, x1=100.0, y1=200.0)
    columns = {
        "free": Boss(x_mm=50.0, y_mm=90.0, radius_mm=3.0, screw=False, seat=True),
        "beside": Boss(x_mm=97.0, y_mm=90.0, radius_mm=3.0, screw=False, seat=True),
    }
    free, beside = (
        forbidden(
            1, cavity=cavity, bosses=[column], support_pads=(), drains=(), rects=(), glands=(),
            pads=(), wall_mm=2.4, screw="M3",
        )
        for column in columns.values()
    )  # fmt: skip
    assert not free.allows(90.0, TUB_JOINT) and not beside.allows(90.0, TUB_JOINT)
    assert free.allows(80.0, TUB_JOINT) and not beside.allows(80.0, TUB_JOINT)


def test_more_seams_where_one_is_not_enough() -> None:
    """A length of three beds takes three seams or more, each piece within the bed."""
    seams = choose_seams(0.0, 600.0, 200.0, Forbidden(line=(), joint=()), TUB_JOINT)
    assert seams is not None
    ends = [0.0, *seams, 600.0]
    assert len(seams) == 3
    assert all(b - a + 8.0 <= 200.0 for a, b in zip(ends, ends[1:], strict=False))


@pytest.mark.parametrize(("joint", "short_mm"), [(TUB_JOINT, 8.0), (LID_JOINT, 6.0)])
def test_two_pieces_are_as_long_as_two_beds_less_their_laps(
    joint: tuple[float, float], short_mm: float
) -> None:
    """Counted for laps: 4 mm before a seam; behind it the wall's 4 mm in a tub, in a lid, which has
    a plate alone, two steps of 1 mm."""
    free, bed_mm = Forbidden(line=(), joint=()), 200.0
    longest = 2 * bed_mm - short_mm
    seams = choose_seams(0.0, longest, bed_mm, free, joint)
    assert seams is not None and len(seams) == 1
    seams = choose_seams(0.0, longest + 1.0, bed_mm, free, joint)
    assert seams is not None and len(seams) == 2


@pytest.mark.parametrize("part", ["tub", "lid"])
@pytest.mark.parametrize("axis", [0, 1])
def test_a_seam_runs_across_and_along_and_never_aslant(part: str, axis: int) -> None:
    """From far before the part to far behind it, at each offset of a lap."""
    cavity = Rect(x0=-60.0, y0=-90.0, x1=80.0, y1=70.0)
    for offset in (-1.0, 0.0, 1.0):
        line = seam_line(axis, 10.0, cavity, part=part, wall_mm=2.6, offset=offset)
        assert line[0][0] < -1e3 and line[-1][0] > 1e3
        for (across, along), (next_across, next_along) in pairwise(line):
            assert across == next_across or along == next_along


@pytest.mark.parametrize("axis", [0, 1])
def test_floor_beside_a_wall_goes_with_its_inner_half(axis: int) -> None:
    """Of a tub: 1.5 mm of floor, and with it the wall's inner half, belong to the piece behind up
    to 4 mm before the seam; the wall's outer half to the piece before up to 4 mm behind it."""
    cavity, at = Rect(x0=-60.0, y0=-90.0, x1=80.0, y1=70.0), 10.0
    seams = SeamDesign(x_mm=(at,) if axis == 0 else (), y_mm=(at,) if axis == 1 else ())
    pieces = masks(seams, cavity, part="tub", wall_mm=2.6, offsets=STRAIGHT)
    low, high = (cavity.y0, cavity.y1) if axis == 0 else (cavity.x0, cavity.x1)
    for face, inward in ((low, 1.0), (high, -1.0)):
        for inside_mm, along_mm, piece in (
            (1.3, -3.5, 1), (1.3, -4.5, 0), (1.7, -0.5, 0), (1.7, 0.5, 1),
            (-1.1, -3.5, 1), (-1.1, -4.5, 0), (-1.5, 3.5, 0), (-1.5, 4.5, 1),
        ):  # fmt: skip
            place = (at + along_mm, face + inward * inside_mm)
            point = shapely.Point(place if axis == 0 else place[::-1])
            assert [shape.contains(point) for shape in pieces] == [piece == 0, piece == 1]


@pytest.mark.parametrize("bed", BEDS)
def test_a_seam_screw_counts_the_gap_up_to_its_insert(bed: str) -> None:
    """Behind the passing flange the seam's gap lies open; then the insert's hole begins."""
    enclosure = cut_pack(bed).enclosure
    seams = (enclosure.sizes.tub_seams, enclosure.sizes.lid_seams)
    mouths = [
        np.array((at.x_mm, at.y_mm, at.z_mm))
        for one in seams
        for flange in one.flanges
        if flange.insert
        for at in flange.screws
    ]
    screws = [screw for screw in enclosure.screws if screw.where.startswith("pieces")]
    assert len(screws) == len(mouths) > 0
    for screw in screws:
        reached = screw.at_mm - (screw.through_mm + screw.gap_mm) * screw.out
        assert min(float(np.abs(reached - mouth).max()) for mouth in mouths) < 1e-9


def test_pieces_are_told_of_and_whole_parts_are_not() -> None:
    """How many pieces, and that a tub's need a rigid bed; nothing of a part in one piece."""
    whole = " ".join(enclosed("10S4P").design.notes)
    assert "printed in" not in whole and "larger than the bed" not in whole
    cut = [note for note in cut_pack("both ways").design.notes if "larger than the bed" not in note]
    assert cut == list(cut_pack("both ways").design.notes)
    for part in ("tub", "lid"):
        design = cut_pack("both ways").design
        pieces = (design.tub_seams if part == "tub" else design.lid_seams).pieces
        (note,) = [one for one in cut if one.startswith(f"the {part},")]
        assert pieces > 1 and note.endswith(f"is printed in {pieces} pieces")
    assert sum("rigid foam" in note for note in cut) == 1
