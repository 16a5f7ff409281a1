"""Drawn parts with one narrow place each: what each check says of it, and that it is silent a
little inside of its limit."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from generators.packfile.resolve import parse_pack
from layouts.planning.bed_items import bed_items
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of
from layouts.printable.bed_item import BedItem
from layouts.printable.finding import Look, Severity
from layouts.printable.first_layer import FIRST_LAYER, STANDING
from layouts.printable.foot import FOOT
from layouts.printable.judging import printability
from layouts.printable.layers import PartLayers
from layouts.printable.strokes import STROKES
from layouts.printable.walls import GAPS, WALLS, wall_map
from layouts.slabs.profile import polygon
from tests.layouts.printable.solids import PRINTER, cut, look_at, slab, stand
from tests.layouts.printing.shapes import block, rectangle

PLATE = slab(rectangle(0, 0, 40, 20), 0, 4)


def failing(look: Look) -> list[float]:
    """Figures of what fails."""
    return [one.value for one in look.findings if one.severity is Severity.FAILS]


@pytest.mark.parametrize(("wide", "fails"), [(0.7, True), (0.9, False)])
def test_a_wall_is_two_lines(wide: float, fails: bool) -> None:
    """A rib on a plate, 6 mm high; twice a nozzle of 0.4."""
    rib = stand(PLATE, slab(rectangle(5, 8, 35, 8 + wide), 4, 10))
    look = look_at(WALLS, rib)
    assert (look.worst, look.limit) == (pytest.approx(wide), pytest.approx(0.8))
    assert failing(look) == ([pytest.approx(wide)] if fails else [])
    coarse = WALLS.look(PartLayers(rib, replace(PRINTER, nozzle_mm=0.6, line_mm=None)))
    assert coarse.limit == pytest.approx(1.2) and len(failing(coarse)) == 1
    mapped = wall_map(PartLayers(rib, PRINTER))
    assert mapped.thickness_mm.min() == pytest.approx(wide)
    assert mapped.z_mm[mapped.thickness_mm.argmin()] > 4.0
    assert mapped.outline.area == pytest.approx(800.0)


@pytest.mark.parametrize(("wide", "fails"), [(0.3, True), (0.5, False)])
def test_a_gap_closes_below_a_line(wide: float, fails: bool) -> None:
    """A slot through a plate."""
    look = look_at(GAPS, stand(PLATE, cut(rectangle(5, 8, 35, 8 + wide), -1, 5)))
    assert look.worst == pytest.approx(wide)
    assert failing(look) == ([pytest.approx(wide)] if fails else [])


@pytest.mark.parametrize(("above_mm", "fails"), [(0.3, True), (0.7, True), (3.0, False)])
def test_the_lowest_layer_of_a_bore_is_no_gap(above_mm: float, fails: bool) -> None:
    """A slot of 0.3, one layer high and layer 16 of the plate, and what is open above it; layers
    with one section each, as a bore sideways has."""
    sides = [
        cut(rectangle(5, 10 - wide / 2, 35, 10 + wide / 2), 3.2 + 0.2 * k, 3.4 + 0.2 * k)
        for k, wide in enumerate([0.3, above_mm, 1.5 * above_mm, 1.6 * above_mm])
    ]
    look = look_at(GAPS, stand(PLATE, *sides))
    assert failing(look) == ([pytest.approx(0.3)] if fails else [])


def test_a_wall_at_its_limit_holds() -> None:
    """Two lines of a 0.6 nozzle, far from the origin: a difference of floats is a little less."""
    wall = slab(rectangle(-55.71756672229853, 0, -54.51756672229853, 30), 0, 10)
    look = WALLS.look(PartLayers(stand(wall), replace(PRINTER, nozzle_mm=0.6, line_mm=None)))
    assert (look.worst, look.findings) == (1.2, ())


@pytest.mark.parametrize(("high", "fails"), [(1.2, False), (6.0, True)])
def test_a_sliver_in_a_lip_is_told_and_a_thin_wall_fails(high: float, fails: bool) -> None:
    """0.3 wide and 19 long, beside a plate: nothing stands on what is low; a higher one is lost."""
    foot = slab(rectangle(3, -3, 6, 1), 0, high)
    look = look_at(WALLS, stand(PLATE, foot, slab(rectangle(5, -2, 25, -1.7), 0, high)))
    assert failing(look) == ([pytest.approx(0.3)] if fails else [])
    assert [one.value for one in look.findings] == [pytest.approx(0.3)]


def test_a_notch_fills_and_a_tip_is_lost() -> None:
    """Notch of 12 degrees, 10 deep: no gap. A tip of 30 degrees: no wall; one of 8 degrees is."""
    notch = [(20.0, 20.0), (21.0, 10.0), (22.0, 20.0)]
    assert look_at(GAPS, stand(PLATE, cut(polygon(notch), -1, 5))).findings == ()
    for half, fails in ((4.0, False), (1.0, True)):
        tip = slab(polygon([(39.0, 10 - half), (54.0, 10.0), (39.0, 10 + half)]), 0, 4)
        assert bool(failing(look_at(WALLS, stand(PLATE, tip)))) is fails


@pytest.mark.parametrize(("wide", "fails"), [(0.5, True), (0.8, False)])
def test_a_stroke_is_one_and_a_half_lines(wide: float, fails: bool) -> None:
    """0.675 with lines of 0.45: sunk into the bed's face, sunk from above, raised."""
    line = rectangle(10, 8, 14, 8 + wide)
    for drawn in (cut(line, 0, 0.6), cut(line, 3.4, 4), slab(line, 4, 4.6)):
        look = look_at(STROKES, stand(PLATE, drawn))
        assert (look.worst, look.limit) == (pytest.approx(wide), pytest.approx(0.675))
        assert failing(look) == ([pytest.approx(wide)] if fails else [])
    deep = stand(PLATE, cut(line, 0, 3), cut(rectangle(20, 0, 40, 8), 0, 0.6))
    assert look_at(STROKES, deep).worst is None  # a groove of 3 mm is no figure, a step has one rim


@pytest.mark.parametrize(("side", "fails"), [(2.0, True), (2.4, False)])
def test_a_small_piece_of_the_first_layer_tears_off(side: float, fails: bool) -> None:
    """4 and 5.76 mm2, in a recess that a roof closes over."""
    recess = cut(rectangle(10, 5, 20, 15), 0, 1)
    foot = slab(rectangle(14, 9, 14 + side, 9 + side), 0, 1)
    look = look_at(FIRST_LAYER, stand(PLATE, recess, foot))
    assert look.worst == pytest.approx(side**2)
    assert failing(look) == ([pytest.approx(side**2)] if fails else [])
    assert look_at(FIRST_LAYER, stand(PLATE)).worst == pytest.approx(800.0)


def test_what_is_slender_wants_a_brim() -> None:
    """A post of 4 x 6 and 30 mm; a leg of 3 mm that is joined at 18; neither is refused."""
    look = look_at(STANDING, block(4.0, 6.0, 30.0))
    assert [one.severity for one in look.findings] == [Severity.WARNS]
    assert look.worst == pytest.approx(7.5)
    assert look_at(STANDING, block(7.0, 7.0, 30.0)).findings == ()
    table = stand(
        slab(rectangle(0, 0, 20, 20), 0, 20),
        slab(rectangle(30, 0, 33, 20), 0, 20),
        slab(rectangle(0, 0, 33, 20), 18, 20),
    )
    assert [one.value for one in look_at(STANDING, table).findings] == [pytest.approx(6.0)]


def test_the_foot_takes_the_room_beside_a_screw() -> None:
    """3.0 in a hole, 0.15 of bulge round it; between two pieces both bulge."""
    shank = BedItem(what="screw M3", region=shapely.Point(10, 10).buffer(1.5, quad_segs=64))
    for hole_mm, told in ((3.4, 0), (3.2, 1)):
        hole = block(20.0, 20.0, 4.0, hole_mm=hole_mm)
        look = FOOT.look(PartLayers(hole, PRINTER, [shank]))
        assert look.worst == pytest.approx((hole_mm - 3.0) / 2 - 0.15, abs=0.02)
        assert [one.severity for one in look.findings] == told * [Severity.WARNS]
        known = replace(PRINTER, foot_mm=0.2)  # the files are drawn for it
        assert FOOT.look(PartLayers(hole, known, [shank])).findings == ()
    for gap, told in ((0.4, 0), (0.2, 1)):
        beside = shapely.box(20 + gap, 0, 40, 20)
        item = BedItem(what="the next piece", region=beside, is_printed=True)
        look = FOOT.look(PartLayers(block(20.0, 20.0, 4.0), PRINTER, [item]))
        assert len(look.findings) == told
    assert look.findings[0].what == (
        "the next piece: 0.10 mm too little room at the first layer where that bulges by 0.15 on "
        "each side"
    )
    assert FOOT.look(PartLayers(block(20.0, 20.0, 4.0), PRINTER)).worst is None


PACK = """name: foot
cell: {format: "21700", capacity_ah: 4.8, continuous_a: 15, internal_resistance_mohm: 14,
       mass_g: 69}
series: 2
parallel: 2
enclosure: {style: none}
holder: {channel_play_mm: 0.2}
"""


def test_strips_with_little_play_meet_a_foot() -> None:
    """From the pack file: channels 0.2 wider than their strips, and nuts with 0.1 beside their
    flats, are told and fail no check; with the bulge in the file nothing is."""
    plan = plan_pack(parse_pack(PACK.encode(), "foot.yaml").pack)
    holders = [one for one in parts_of(plan) if one.role.startswith("holder")]
    items = bed_items(plan, holders)
    told = printability(holders[:1], plan.pack.printer, items)
    assert all(check.holds for check in told.checks)
    assert {"print_foot", "print_standing"}.isdisjoint(check.id for check in told.checks)
    foot = [one for one in told.findings if one.kind == "print_foot"]
    assert {one.severity for one in foot} == {Severity.WARNS}
    for thing in ("nut M3: 0.05 mm too little", "metal lower-"):
        assert any(one.what.startswith(thing) for one in foot)
    assert [one.part for one in told.walls] == [holders[0].name] == list(told.bed_mm2)
    text = PACK + "printer: {foot_mm: 0.2}\n"
    printer = parse_pack(text.encode(), "foot.yaml").pack.printer
    assert FOOT.look(PartLayers(holders[0], printer, items[holders[0].name])).findings == ()
