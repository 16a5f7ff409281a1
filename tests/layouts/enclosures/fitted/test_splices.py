"""Tub and lid in pieces: seams, laps, straps with their screws, and every check that can fail."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache
from typing import cast

import manifold3d
import pytest
import shapely
import trimesh

from layouts.checks import Check
from layouts.enclosures.bending import pressing_n
from layouts.enclosures.fitted.cut_sites import lid_site, pieces_of, tub_site
from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.gasket import Flange
from layouts.enclosures.fitted.lid import lid_drawing
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.parts import fitted_parts
from layouts.enclosures.fitted.seam_path import kept_loop, lap_walls
from layouts.enclosures.fitted.sizes import Duct, FittedSizes, FloorDrain, GasSlot
from layouts.enclosures.fitted.splice_checks import splice_checks
from layouts.enclosures.fitted.splice_load import (
    ROW_MM,
    SeamLoad,
    screw_n,
    seam_loads,
    strap_stress_mpa,
)
from layouts.enclosures.fitted.splice_work import nut_discs, splice_screws, splice_steps
from layouts.enclosures.fitted.splices import BedSeam, Strap, StrapScrew
from layouts.enclosures.fitted.straps import HALF_WIDE_MM, TIP_MOST_MM, strap_kit
from layouts.enclosures.fitted.tub import tub_drawing
from layouts.enclosures.laps import SEAM_GAP_MM, WALL_LAP_MM
from layouts.formats import low_heads, screws
from layouts.holders.fastening import CellBlock, fasten
from layouts.pack import Face, Side
from layouts.parts.bed import usable_bed_mm
from layouts.parts.fasteners import Into
from layouts.parts.shell import Rect, box
from layouts.slabs.profile import rectangle
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.layouts.enclosures.fitted.cut_shells import HELD, LONG_MM, WALL_MM, cut, small_bed, whole
from tests.layouts.enclosures.fitted.hand_made import hand_made
from tests.layouts.parts.sound_parts import assert_sound, manifold, placed
from tests.samples import sample_pack


@cache
def in_two() -> FittedSizes:
    """The plain tub and lid on a bed of 200."""
    return cut(small_bed())


@cache
def bodies() -> dict[str, tuple[trimesh.Trimesh, manifold3d.Manifold]]:
    """All parts in place: each one valid solid of its drawing's volume, its mesh closed."""
    found = {}
    for part in fitted_parts(in_two()):
        body = placed(part, assert_sound(part, part.drawing.volume_mm3()))
        found[part.name] = body, manifold(body)
    return found


@cache
def block() -> CellBlock:
    """Held cells of the pack in the checks."""
    pack = sample_pack(10, 4)
    layout = arrange(pack)
    return fasten(pack, layout, join(pack, layout))


def judged(sizes: FittedSizes, upright_g: float = 6.0) -> dict[str, Check]:
    """The checks of pieces by their ids."""
    checks = splice_checks(small_bed(upright_g=upright_g), block(), sizes)
    return {check.id: check for check in checks}


def test_two_pieces_each_lie_within_the_bed() -> None:
    """One seam each, the fewest; the nearest to the middle, which nothing stands at."""
    sizes = in_two()
    names = [part.name for part in fitted_parts(sizes)]
    assert names == ["tub-1", "tub-2", "lid-1", "lid-2", "floor-strap", "lid-strap"]
    bed = sorted(usable_bed_mm(small_bed().printer))
    for part in fitted_parts(sizes):
        (x0, y0, _), (x1, y1, _) = part.drawing.box_mm()
        assert all(a <= b for a, b in zip(sorted((x1 - x0, y1 - y0)), bed, strict=True))
    (tub,), (lid,) = sizes.splices.tub.seams, sizes.splices.lid.seams
    assert tub == BedSeam(axis=0, at_mm=0.0)
    assert lid.axis == 0 and 26.0 <= abs(lid.at_mm) < 40.0


def test_a_part_on_a_large_bed_stays_whole() -> None:
    """No seam, no strap, no check."""
    sizes = cut(small_bed(300.0))
    assert sizes.splices.straps == () and judged(sizes) == {}
    assert [part.name for part in fitted_parts(sizes)] == ["tub", "lid"]


def test_pieces_together_are_the_whole_but_for_gaps_and_holes() -> None:
    """Volumes: what is missing is the gap along the seam, screw holes and nuts' pockets."""
    sizes, plain = in_two(), whole()
    for part, drawn, cuts in (
        ("tub", tub_drawing(plain), sizes.splices.tub),
        ("lid", lid_drawing(plain), sizes.splices.lid),
    ):
        pieces = [bodies()[f"{part}-{k}"][0].volume for k in (1, 2)]
        lost = drawn.volume_mm3() - sum(pieces)
        screws_here = sum(len(strap.screws) for strap in cuts.straps)
        # hole 3.4 through 3.4, of which the pocket of 5.8 across flats takes 0.8
        hexagon = 3**0.5 / 2 * 5.8**2
        holes = screws_here * (9.079 * 2.6 + hexagon * 0.8)
        assert 0.0 < lost - holes < 800.0
        # a gap of 0.2 over the seam's whole section, along which three steps overlap
        site = {"tub": tub_site, "lid": lid_site}[part](sizes)
        line = site.outline.intersection(shapely.box(-0.5, -200, 0.5, 200)).area
        assert lost - holes > 0.9 * SEAM_GAP_MM * line * 3.4


def test_no_two_parts_meet_and_pieces_leave_their_gap() -> None:
    """In place, all pairs; straps lie on the pieces."""
    solids = {name: solid for name, (_, solid) in bodies().items()}
    for one, other in itertools.combinations(solids, 2):
        assert (solids[one] ^ solids[other]).volume() < 1e-3, (one, other)
    for one, other in (("tub-1", "tub-2"), ("lid-1", "lid-2")):
        assert solids[one].min_gap(solids[other], 2.0) == pytest.approx(SEAM_GAP_MM, abs=0.02)
    for strap, piece in (("floor-strap", "tub-1"), ("lid-strap", "lid-2")):
        assert solids[strap].min_gap(solids[piece], 2.0) == pytest.approx(0.0, abs=1e-6)


def test_screws_go_through_strap_and_floor_into_nuts_in_their_pockets() -> None:
    """Head in its recess, tip in the nut, both low in the gap; two rows, at most 40 apart."""
    sizes, size, head = in_two(), screws()["M3"], low_heads()["M3"]
    strap = sizes.splices.tub.straps[0]
    assert strap.thick_mm - strap.under_head_mm >= head.head_high_mm - 1e-9
    assert strap.thick_mm + 0.2 <= 3.0  # of the brackets' stand
    for one in splice_screws(sizes):
        assert one.into is Into.NUT and one.length_mm is not None
        nut_top = one.grip_mm + size.nut_high_mm
        assert one.length_mm == pytest.approx(nut_top, abs=TIP_MOST_MM - size.nut_high_mm + 1e-9)
        plate = 3.4
        assert nut_top - strap.under_head_mm - plate <= TIP_MOST_MM
    for behind in (False, True):
        row = strap.row_mm(behind=behind)
        assert len(row) >= 4 and max(b - a for a, b in itertools.pairwise(row)) <= 40.5
    assert {abs(one.x_mm) for one in strap.screws} == {ROW_MM}
    assert len(nut_discs(sizes, Face.LOWER)) == len(strap.screws)
    steps = splice_steps(sizes)
    assert f"{len(strap.screws)} screws M3 x {strap.screw_long_mm:g}" in steps[0]
    assert len(steps) == 2 and splice_steps(whole()) == ()


def test_walls_lap_along_their_middle_line() -> None:
    """On a straight wall: both halves keep their areas, the outer reaches 4 mm past the seam."""
    inner = rectangle(0.0, 0.0, 100.0, 60.0, 5.0)
    outline = (-WALL_MM, -WALL_MM, 100.0 + WALL_MM, 60.0 + WALL_MM)
    for axis, at in ((0, 45.0), (1, 30.0)):
        walls = lap_walls(inner, WALL_MM, outline, axis)
        seam = BedSeam(axis=axis, at_mm=at)
        before, behind = (
            loop_polygon(kept_loop(seam, walls, behind=side, off_mm=0.0)) for side in (False, True)
        )
        assert before.distance(behind) == pytest.approx(SEAM_GAP_MM)
        ring = box(Rect(x0=outline[0], y0=outline[1], x1=outline[2], y1=outline[3])).difference(
            loop_polygon(inner)
        )
        reach = [part.intersection(ring).bounds[axis + 2 * end] - at
                 for part, end in ((before, 1), (behind, 0))]  # fmt: skip
        assert reach == pytest.approx([WALL_LAP_MM - 0.1, -WALL_LAP_MM + 0.1], abs=0.02)


@pytest.mark.slow
def test_a_lap_follows_arcs_of_hollows_and_crests() -> None:
    """Where a scalloped wall is crossed, both pieces' masks part it along a line half-way between
    its faces; a wall along the seam is refused."""
    sizes = hand_made("4S3P")
    shell = sizes.shell
    outer, inner = loop_polygon(shell.outer), loop_polygon(shell.inner.loop)
    walls = {
        axis: lap_walls(shell.inner.loop, shell.wall_mm, outer.bounds, axis) for axis in (0, 1)
    }
    band, good, refused = outer.difference(inner), 0, 0
    for axis in (0, 1):
        for at in range(int(outer.bounds[axis]) + 8, int(outer.bounds[axis + 2]) - 8, 2):
            seam = BedSeam(axis=axis, at_mm=float(at))
            try:
                masks = [
                    loop_polygon(kept_loop(seam, walls[axis], behind=side, off_mm=0.0))
                    for side in (False, True)
                ]
            except OutlineError:
                refused += 1
                continue
            good += 1
            assert masks[0].is_valid and masks[1].is_valid
            assert masks[0].distance(masks[1]) > SEAM_GAP_MM - 0.03
            left = band.difference(masks[0]).difference(masks[1]).area
            crossings = len(shapely.get_parts(band.intersection(
                shapely.box(at, -500, at + 0.1, 500) if axis == 0
                else shapely.box(-500, at, 500, at + 0.1))))  # fmt: skip
            # along the lap and across both halves, nothing else is lost
            assert left < crossings * SEAM_GAP_MM * (2 * WALL_LAP_MM * 2.4 + 3 * shell.wall_mm)
            for mask in masks:
                thin = mask.intersection(band).buffer(-0.3)
                assert thin.area > 0.2 * mask.intersection(band).area
    assert good > 10 and refused > 10


def test_a_drain_at_the_seam_lies_beside_it() -> None:
    """In the same compartment, clear of the steps; the strap beneath has a hole for it."""
    (drain,) = in_two().drains
    assert (drain.y_mm, abs(drain.x_mm)) == (20.0, pytest.approx(4.1, abs=0.1))
    _, strap = bodies()["floor-strap"]
    way = manifold3d.Manifold.cylinder(30.0, 2.0, 2.0, 32).translate([drain.x_mm, 20.0, -20.0])
    assert (strap ^ way).volume() == 0.0


def test_a_slot_at_the_laps_is_left_out_before_there_are_no_seams() -> None:
    """Slots along all of a wall: a seam is found, and misses those that are left."""
    slots = tuple(
        GasSlot(at_mm=(float(x), -60.8), out=(0.0, -1.0), wide_mm=8.0, long_mm=12.0)
        for x in range(-120, 124, 12)
    )
    plain = whole()
    duct = Duct(side=Side.MINUS_Y, section_mm2=50.0, slots=slots)
    sizes = cut(small_bed(), replace(plain, ducts=(duct,)))
    assert sizes.splices.tub.seams and len(sizes.slots) in (len(slots) - 1, len(slots) - 2)
    assert judged(sizes)["seams_clear"].holds


def test_pieces_are_counted_as_they_are_left() -> None:
    """An L cut once near its inner corner may fall into three: by polygons, not by lines."""
    site = replace(
        tub_site(whole()),
        whole=shapely.union_all([
            shapely.box(0, 0, 300, 40), shapely.box(0, 40, 60, 200), shapely.box(240, 40, 300, 200)
        ]),
    )  # fmt: skip
    assert len(pieces_of(site, [BedSeam(axis=1, at_mm=80.0)])) == 3
    assert len(pieces_of(site, [BedSeam(axis=0, at_mm=150.0)])) == 2


def test_all_checks_hold_for_pieces_as_found() -> None:
    """Five, and each fails below."""
    checks = judged(in_two())
    assert set(checks) == {
        "seams_found", "seams_clear", "pieces_held", "splice_stress", "splice_screw_n",
    }  # fmt: skip
    assert [one.id for one in checks.values() if not one.holds] == []


def test_each_check_fails() -> None:
    """No place for a seam; something in its way; a strap's screws left out; more load."""
    sizes = in_two()
    tub = sizes.splices.tub
    stop = Rect(x0=-128.0, x1=128.0, y0=-2.0, y1=2.0)
    walled = judged(cut(small_bed(), replace(whole(), stops=(stop,))))
    assert not walled["seams_found"].holds
    assert walled["seams_found"].value == pytest.approx(LONG_MM + 24.0 - 200.0)
    closed = replace(whole(), shell=replace(whole().shell, flange=cast(Flange, object())))
    assert "gasket" in judged(cut(small_bed(), closed))["seams_found"].where
    pad = FloorDrain(x_mm=0.5, y_mm=-20.0, radius_mm=2.0)
    assert not judged(replace(sizes, drains=(pad,)))["seams_clear"].holds
    (strap,) = tub.straps
    bare = replace(strap, screws=tuple(one for one in strap.screws if one.behind)[:1])
    loose = replace(sizes, splices=replace(sizes.splices, tub=replace(tub, straps=(bare,))))
    assert not judged(loose)["pieces_held"].holds
    heavy = judged(sizes, upright_g=30.0)
    assert not heavy["splice_stress"].holds and not heavy["splice_screw_n"].holds


def test_a_floor_that_no_screw_suits_leaves_pieces_loose_and_says_so() -> None:
    """2.0: a screw of 6 would stand 3 mm into the gap; the remedy is a floor that suits."""
    plain = whole()
    levels = replace(plain.shell.levels, under_mm=plain.shell.levels.floor_mm - 2.0)
    sizes = cut(small_bed(upright_g=0.1), replace(plain, shell=replace(plain.shell, levels=levels)))
    assert sizes.splices.tub.seams and not sizes.splices.tub.straps
    held = judged(sizes)["pieces_held"]
    assert not held.holds and held.value == 0.0 and "of 2.0 mm" in held.where
    assert held.remedy == "enclosure.floor_mm: 2.4"


@pytest.mark.parametrize("plate_mm", [2.4, 3.0, 3.4, 3.8, 5.0, 6.0])
def test_a_kit_fits_together(plate_mm: float) -> None:
    """Head within the strap, thread through all of the nut, plastic under head and nut."""
    kit = strap_kit(plate_mm, 0.0, 4.0, 0.2)
    assert kit is not None
    nut, head = screws()["M3"].nut_high_mm, low_heads()["M3"].head_high_mm
    assert kit.thick_mm - kit.under_head_mm >= head - 1e-9
    out = kit.screw_long_mm - kit.under_head_mm - plate_mm
    assert nut - kit.nut_deep_mm <= out + 1e-9 and out <= TIP_MOST_MM
    assert plate_mm - kit.nut_deep_mm >= 1.8
    assert strap_kit(plate_mm, 3.1, 3.0, 0.2) is None


def one_strap(thick_mm: float = 3.0) -> Strap:
    """100 long, three screws a row 45 apart."""
    places = [(side * ROW_MM, y) for side in (-1.0, 1.0) for y in (5.0, 50.0, 95.0)]
    return Strap(
        seam=BedSeam(axis=0, at_mm=0.0),
        plan=Rect(x0=-HALF_WIDE_MM, x1=HALF_WIDE_MM, y0=0.0, y1=100.0),
        thick_mm=thick_mm, under_head_mm=1.2, screw_long_mm=6.0, nut_deep_mm=0.8,
        screws=tuple(StrapScrew(x_mm=x, y_mm=y, behind=x > 0) for x, y in places),
    )  # fmt: skip


def test_stress_and_screw_load_by_hand() -> None:
    """6 M / t^2 with the pull over the section; moment and shear on half the way to both
    neighbours, the pull shared by a row. What straps leave of the seam they carry too."""
    load = SeamLoad(moment_n=6.4, shear_n_mm=0.5, pull_n=90.0)
    strap = one_strap()
    assert strap.widest_mm == pytest.approx(45.0)
    assert strap_stress_mpa(load, [strap], 20.0, 100.0) == pytest.approx(6 * 6.4 / 9 + 90 / 300)
    assert screw_n(load, [strap], 100.0) == pytest.approx(
        ((45 * (0.64 + 0.5)) ** 2 + 30.0**2) ** 0.5
    )
    assert strap_stress_mpa(load, [strap], 20.0, 125.0) == pytest.approx(
        1.25 * 6 * 6.4 / 9 + 90 / 300
    )
    # a half lap 1.5 thick would see four times as much as a plate of 3.0
    thin = strap_stress_mpa(replace(load, pull_n=0.0), [one_strap(1.5)], 20.0, 100.0)
    assert thin == pytest.approx(4 * 6 * 6.4 / 9)
    assert strap_stress_mpa(load, [], 3.0, 100.0) == screw_n(load, [], 100.0) == float("inf")


def test_the_whole_enclosure_bends_between_its_brackets() -> None:
    """A beam on two supports under an even load: w (l^2 / 8 - e^2 / 2) at the middle (statics),
    over the distance of floor and lid; nothing at a free end."""
    sizes, pack = whole(), small_bed()
    plate = Rect(x0=-130.0, x1=130.0, y0=-60.0, y1=60.0)
    low, high = HELD.bounds[0], HELD.bounds[2]
    loads = seam_loads(
        pack, plate, sizes.support_pads_floor, HELD, sizes.pads, 80.0, 0, [low, (low + high) / 2]
    )
    force, span = pressing_n(pack), 2 * (LONG_MM / 2 + 12.0)
    right = force * ((low + high) / 2 + span / 2) / span
    left, middle = force - right, (low + high) / 2
    by_hand = left * (middle + span / 2) - force / 2 * (high - low) / 4
    assert loads[1].pull_n * 80.0 == pytest.approx(by_hand)
    assert loads[0].pull_n * 80.0 == pytest.approx(left * (low + span / 2))
