"""Webs over channels as they are printed: how far they hang, and the pins under them."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from generators.packfile.resolve import parse_pack
from layouts.holders.channels import web_line, web_to_wall
from layouts.holders.drawing import holder_part
from layouts.holders.holder import HolderTile, SupportPin
from layouts.holders.outline import outline_points_mm
from layouts.holders.rim_pins import rim_pieces
from layouts.holders.spines import (
    FREE_LIMIT_MM,
    SPAN_LIMIT_MM,
    Spines,
    hanging,
    needs_pin,
    spines_of,
)
from layouts.holders.support_pins import (
    PIN_CLEAR_MM,
    PIN_SPAN_MM,
    pin_gap_mm,
    with_support_pins,
)
from layouts.holders.tile_plan import ISLAND_MM2, plan_polygon
from layouts.holders.web_checks import web_checks
from layouts.placing.values import Effort
from layouts.planning.candidates import candidates_of, pack_with
from layouts.planning.steps import HolderPlan, outside_plan, with_holders
from tests.sampled import sampled

# invented packs: rows of a honeycomb, a grid cut in two tiles, one with far larger gaps, one in two
# tiles whose seam crosses plates
HONEYCOMB = "name: pins\ncell: {format: '21700'}\nseries: 3\nparallel: 3\n"
TILED = (
    "name: pins\ncell: {format: '18650'}\nseries: 5\nparallel: 3\nlattice: grid\n"
    "printer: {bed_mm: [100, 100, 200]}\n"
)
LARGE = "name: pins\ncell: {format: '26650'}\nseries: 3\nparallel: 4\nlattice: grid\n"
PLATE_TILES = (
    "name: pins\ncell: {format: '21700'}\nseries: 13\nparallel: 5\nlattice: grid\n"
    "printer: {bed_mm: [220, 220, 250]}\nholder: {ring_mm: 0.2}\nload: {continuous_a: 20}\n"
)
BARE = "enclosure: {style: none}\n"
PACKS = pytest.mark.parametrize(
    "text", sampled([HONEYCOMB, TILED, LARGE], lambda text: text != LARGE)
)


@cache
def held(text: str) -> HolderPlan:
    """The holders of a pack file's text."""
    pack = parse_pack((text + BARE).encode(), "pins.yaml").pack
    one = next(candidates_of(pack))
    return with_holders(outside_plan(pack_with(pack, one), effort=Effort.QUICK, shape=one.layout))


def failed(text: str) -> dict[str, str]:
    """Remedies of the checks that don't hold."""
    plan = held(text)
    found = web_checks(plan.pack, plan.cell_layout, plan.tiles)
    assert {check.id for check in found} == {"web_spans", "web_ends"}
    return {check.id: check.remedy for check in found if not check.holds}


def shape(pin: SupportPin) -> shapely.Polygon:
    """A pin in the plan."""
    return shapely.Point(pin.x_mm, pin.y_mm).buffer(pin.diameter_mm / 2, quad_segs=64)


@PACKS
def test_with_pins_nothing_hangs_too_far(text: str) -> None:
    """Both checks hold; a holder has pins where something needs one, and none else."""
    assert not failed(text)
    plan = held(text)
    assert any(tile.support_pins for tile in plan.tiles)
    for tile in plan.tiles:
        spines = spines_of(plan.pack, plan.cell_layout, tile)
        lacking = any(
            one.line.length > (FREE_LIMIT_MM if one.is_free else PIN_SPAN_MM) + 1e-6
            for one in hanging(spines, ())
        )
        assert lacking == bool(tile.support_pins)
        assert not any(needs_pin(one) for one in hanging(spines, tile.support_pins))


@pytest.mark.parametrize("text", [LARGE, HONEYCOMB])
def test_rims_of_pockets_are_carried_too(text: str) -> None:
    """One bar above the webs' floors no line crosses more than ten and a layer; with pins under
    the webs only, some would."""
    plan = held(text)
    printer, tile = plan.pack.printer, plan.tiles[0]
    spines = spines_of(plan.pack, plan.cell_layout, tile)
    under_webs = [pin for pin in tile.support_pins if pin.high_mm < spines.web_mm]
    assert 0 < len(under_webs) < len(tile.support_pins)
    limit_mm = PIN_SPAN_MM + printer.layer_mm
    spans = [span for _, span in rim_pieces(tile, spines, tile.support_pins, printer)]
    assert spans and max(spans) <= limit_mm
    assert max(span for _, span in rim_pieces(tile, spines, under_webs, printer)) > limit_mm


@PACKS
def test_pins_stand_clear_on_enough_of_the_bed(text: str) -> None:
    """15 mm2 each, clear of lip and of each other, within the tile's box, below what is there."""
    plan = held(text)
    gap = pin_gap_mm(plan.pack.printer.layer_mm)
    for tile in plan.tiles:
        spines = spines_of(plan.pack, plan.cell_layout, tile)
        pins = [shape(pin) for pin in tile.support_pins]
        box = shapely.box(*plan_polygon(tile).bounds)
        for k, (pin, disc) in enumerate(zip(tile.support_pins, pins, strict=True)):
            assert math.pi / 4 * pin.diameter_mm**2 >= ISLAND_MM2
            assert disc.distance(spines.stand) >= PIN_CLEAR_MM - 1e-6
            assert all(disc.distance(other) >= PIN_CLEAR_MM - 1e-6 for other in pins[:k])
            assert box.buffer(1e-6).contains(disc)
            under_web = disc.distance(spines.bars) <= 0.0
            begins = spines.web_mm + (0.0 if under_web else tile.bar_mm)
            assert pin.high_mm <= begins - gap + 1e-9


def test_without_pins_the_checks_fail_and_name_the_key() -> None:
    """Set in the pack file; webs hang, and no pin is printed."""
    text = HONEYCOMB + "holder: {support_pins: false}\n"
    assert all(not tile.support_pins for tile in held(text).tiles)
    assert failed(text) == {
        "web_spans": "holder.support_pins: true", "web_ends": "holder.support_pins: true",
    }  # fmt: skip


def test_straight_strips_need_none() -> None:
    """Their channels are narrow: no pin, and the webs' bars reach from lip to lip. Too wide ones
    are found."""
    text = HONEYCOMB + "strip: {joints: links}\n"
    assert not failed(text)
    assert all(not tile.support_pins and not tile.hanging_mm for tile in held(text).tiles)
    plan = held(text)
    wide = [
        replace(tile, channels=tile.channels * np.array([3.0, 1.0])[None, None])
        for tile in plan.tiles
    ]
    (check,) = [
        one for one in web_checks(plan.pack, plan.cell_layout, wide) if one.id == "web_spans"
    ]
    assert not check.holds and "narrower strip" in check.remedy


def test_webs_that_end_on_nothing_at_a_seam_stand_on_a_pin() -> None:
    """Straight strips, tiles: where the lip at a seam is too small to stay, two webs meet over
    nothing. Each such corner has a pin; without pins the check fails."""
    text = (
        "name: pins\ncell: {format: '21700'}\nseries: 16\nparallel: 5\nstrip: {joints: links}\n"
        "printer: {bed_mm: [180, 180, 200]}\n"
    )
    tiles = held(text).tiles
    assert not failed(text) and all(not tile.hanging_mm for tile in tiles)
    assert 4 <= sum(len(tile.support_pins) for tile in tiles) <= 8
    bare = text + "holder: {support_pins: false}\n"
    assert failed(bare) == {"web_ends": "holder.support_pins: true"}


def test_a_tab_over_a_channel_stands_on_a_pin_and_its_socket_keeps_two_lines() -> None:
    """A plate's tiles: where a tab's bulb would begin over nothing but its neck, most of it has a
    pin below; without that pin it is a free end. Round each socket 0.8 mm of lip are left."""
    plan = held(PLATE_TILES)
    tab_pins = 0
    for tile in plan.tiles:
        spines = spines_of(plan.pack, plan.cell_layout, tile)
        assert not any(needs_pin(one) for one in hanging(spines, tile.support_pins))
        for tab in tile.tabs:
            middle = shapely.Point(tab.x_mm, tab.y_mm)
            if not tab.is_tab:
                assert middle.distance(tile.channel_shape) - tab.radius_mm >= 0.8 - 1e-9
                continue
            bulb = middle.buffer(tab.radius_mm)
            if spines.stand.intersection(bulb).area > 0.5 * bulb.area:
                continue
            below = [pin for pin in tile.support_pins if shape(pin).distance(middle) < 1e-9]
            assert len(below) == 1
            assert shape(below[0]).intersection(bulb).area > 0.8 * bulb.area
            rest = [pin for pin in tile.support_pins if pin not in below]
            free = [one for one in hanging(spines, rest) if needs_pin(one) and one.is_free]
            assert any(one.line.intersects(bulb) for one in free)
            tab_pins += 1
    assert tab_pins >= 1


def test_thick_layers_leave_a_layer_below_the_web() -> None:
    """A gap is a layer, 0.2 mm at least."""
    plan = held(HONEYCOMB)
    pack = replace(plan.pack, printer=replace(plan.pack.printer, layer_mm=0.3))
    tiles = [with_support_pins(pack, plan.cell_layout, tile) for tile in plan.tiles]
    web_mm = plan.pack.holder.lip_mm + plan.pack.holder.web_recess_mm
    assert {round(pin.high_mm, 6) for tile in tiles for pin in tile.support_pins} == {
        round(web_mm - 0.3, 6), round(web_mm + plan.pack.holder.bar_mm - 0.3, 6),
    }  # fmt: skip
    assert pin_gap_mm(0.12) == 0.2


def test_pins_are_drawn_but_not_counted() -> None:
    """Each is a column of its own; the holder's volume is the same without them."""
    with_pins = held(HONEYCOMB)
    without = held(HONEYCOMB + "holder: {support_pins: false}\n")
    high = with_pins.pack.lip_to_lip_mm
    for tile, bare in zip(with_pins.tiles, without.tiles, strict=True):
        part, plain = (holder_part(one, lip_to_lip_mm=high) for one in (tile, bare))
        columns = [math.pi / 4 * p.diameter_mm**2 * p.high_mm for p in tile.support_pins]
        assert [one.volume_mm3() for one in part.supports] == pytest.approx(columns)
        assert part.supports_mm3 == pytest.approx(sum(columns))
        assert part.drawing.volume_mm3() == plain.drawing.volume_mm3()
        assert f"{len(columns)} loose pins" in part.print_note
        assert not plain.supports and "loose pins" not in plain.print_note
        assert "slicer's support" in plain.print_note and "slicer's support" not in part.print_note


def lines_over(
    *ends: tuple[tuple[float, float], tuple[float, float]],
) -> Spines:
    """Webs along lines, over lip left of x = 0 and right of x = 20."""
    under = shapely.union(shapely.box(-5, -30, 0, 30), shapely.box(20, -30, 25, 30))
    lines = [shapely.LineString(line).difference(under) for line in ends]
    nothing = shapely.Polygon()
    return Spines(
        webs=tuple(lines), wall=(), web_under=under, wall_under=nothing, web_mm=2.0, stand=under,
        bars=nothing, plan=shapely.box(-5, -30, 25, 30),
    )  # fmt: skip


def pin(x: float, y: float = 0.0, high: float = 1.8) -> SupportPin:
    """Five wide."""
    return SupportPin(x_mm=x, y_mm=y, diameter_mm=5.0, high_mm=high)


def test_a_bridge_is_as_long_as_what_is_open_below() -> None:
    """20 mm from lip to lip; a pin in the middle leaves two of 7.5, and none hangs."""
    spines = lines_over(((-3.0, 0.0), (23.0, 0.0)))
    (whole,) = hanging(spines, ())
    assert whole.line.length == pytest.approx(20.0)
    assert not whole.is_free and needs_pin(whole) and SPAN_LIMIT_MM < 20.0
    halves = hanging(spines, [pin(10.0)])
    assert [one.line.length for one in halves] == pytest.approx([7.5, 7.5])
    assert not any(one.is_free or needs_pin(one) for one in halves)


def test_an_end_over_nothing_hangs_however_short() -> None:
    """Eight from lip into the air; a second web that meets it there hangs too, a pin carries both.

    A short stub from lip carries what meets it."""
    out, back = ((-3.0, 0.0), (8.0, 0.0)), ((8.0, 0.0), (23.0, 9.0))
    found = hanging(lines_over(out, back), ())
    assert len(found) == 2 and all(one.is_free and needs_pin(one) for one in found)
    assert not any(one.is_free for one in hanging(lines_over(out, back), [pin(8.0)]))
    stub, far = ((-3.0, 0.0), (FREE_LIMIT_MM - 0.5, 0.0)), ((FREE_LIMIT_MM - 0.5, 0.0), (9.0, 5.0))
    carried = hanging(lines_over(stub, far), [pin(9.0, 5.0)])
    assert not any(needs_pin(one) for one in carried)


def test_a_pin_under_a_web_carries_no_wall() -> None:
    """The wall begins higher: only a pin that reaches above the webs' floors is near enough."""
    webs = lines_over(((-3.0, 0.0), (23.0, 0.0)))
    wall = Spines(
        webs=(), wall=webs.webs, web_under=webs.web_under, wall_under=webs.web_under, web_mm=2.0,
        stand=webs.stand, bars=webs.bars, plan=webs.plan,
    )  # fmt: skip
    assert [one.is_wall for one in hanging(wall, [pin(10.0, high=1.8)])] == [True]
    assert len(hanging(wall, [pin(10.0, high=2.4)])) == 2


def test_the_upper_tile_is_looked_at_in_its_own_plan() -> None:
    """Mirrored: its webs lie between its own pockets."""
    plan = held(HONEYCOMB)
    upper: HolderTile = plan.tiles[-1]
    spines = spines_of(plan.pack, plan.cell_layout, upper)
    pockets = shapely.union_all(
        shapely.buffer(shapely.points(upper.xy_mm), upper.pocket_mm / 2 - 0.1)
    )
    assert spines.webs and not any(line.intersects(pockets) for line in spines.webs)


def test_a_web_goes_on_through_the_wall_only_where_no_gap_ends_it() -> None:
    """Two cells by themselves, then with a third at their gap, beside a wider seam too."""
    plan = held(HONEYCOMB)
    pack, outline = plan.pack, plan.cell_block.outline
    cells, x = plan.cell_layout.xy_mm, pack.pitch_mm / 2
    at = cells[int(np.argmax(cells[:, 1]))]  # a cell of the last row, beside the outline
    pair = np.array([at - (x, 0.0), at + (x, 0.0)])
    ends = shapely.get_coordinates(web_line(pack, pair))
    upper = int(np.argmax(ends[:, 1]))
    rim = shapely.Polygon(outline_points_mm(outline))
    alone = shapely.get_coordinates(web_to_wall(pack, pair, (0, 1), outline))
    assert not rim.contains(shapely.Point(alone[upper]))
    # into the block, beside places where cells are missing, it ends at its gap
    assert alone[1 - upper] == pytest.approx(ends[1 - upper])
    for wider_mm in (0.0, 1.5):
        third = at + (0.0, math.sqrt(3) * x + wider_mm)
        joined = web_to_wall(pack, np.vstack([pair, third]), (0, 1), outline)
        assert shapely.get_coordinates(joined) == pytest.approx(ends)
