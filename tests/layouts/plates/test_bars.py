"""Copper on the plates of end groups: where posts part it, and where its lead leaves."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from generators.packfile.resolve import parse_pack
from layouts.cells.arrangement import CellLayout
from layouts.formats import screws
from layouts.holders.fastening import fastening_checks
from layouts.holders.posts import POSTS_APART_MM, channel_clear_mm
from layouts.holders.shape import cell_block_shape
from layouts.planning.steps import BlockPlan, interconnected, laid_out
from layouts.plates.bars import end_bars, lug_end
from layouts.plates.bars_cut import cut_at_posts, on_sheet
from layouts.strips.checks import LEAD_OUT_LEAST_MM, leads_out_mm, strip_checks
from layouts.strips.lip_checks import lip_checks
from layouts.strips.plate import BusPlate, PlateBar
from tests.layouts.plates.joined import block_of, failing


@cache
def long_row() -> BlockPlan:
    """Rows of seven 18650."""
    return block_of(4, 7, "honeycomb", "18650")


def bars_of(block: BlockPlan) -> list[PlateBar]:
    """The bars of a pack's plates."""
    return [plate.bar for plate in block.interconnect.plates if plate.bar is not None]


def row_plate() -> tuple[CellLayout, BusPlate, PlateBar]:
    """Pack minus of the row of seven, its bar as if no post stood there."""
    block = long_row()
    plate = next(one for one in block.interconnect.plates if one.is_minus)
    bar = end_bars(block.pack, block.cell_layout, 20.0)[plate.face, 1]
    return block.cell_layout, plate, replace(bar, lugs=())


def cut(*posts_mm: tuple[float, float, float], body: BaseGeometry | None = None) -> PlateBar:
    """That bar at posts, over a sheet that is nowhere else than ``body``."""
    layout, plate, bar = row_plate()
    bare = replace(plate, body=shapely.Polygon() if body is None else body)
    return cut_at_posts(layout, bare, bar, np.array(posts_mm).reshape(-1, 3))


def piece_deep_mm(bar: PlateBar) -> float:
    """Across the first piece."""
    return float(bar.pieces[0].bounds[3] - bar.pieces[0].bounds[1])


def reach(bar: PlateBar) -> list[tuple[float, float]]:
    """From where to where each piece runs."""
    return [(piece.bounds[0], piece.bounds[2]) for piece in bar.pieces]


def test_a_bar_is_cut_where_a_post_stands() -> None:
    """5 and half a millimetre to both sides of it; the piece of the main lead comes first."""
    x0, low, x1, _ = row_plate()[2].whole.bounds
    assert reach(cut()) == [(x0, x1)]
    x = x0 + 50.0
    pieces = reach(cut((x, low + 4.0, 5.0)))
    assert pieces == [pytest.approx((x + 5.5, x1)), pytest.approx((x0, x - 5.5))]
    assert cut((x, low + 4.0, 5.0)).stock_mm == (9.0, 9.0)


def test_a_post_beside_a_bar_takes_less_of_it() -> None:
    """3 mm off the edge: half a chord of 4.6; out of reach, nothing."""
    x0, low, x1, _ = row_plate()[2].whole.bounds
    half, x = (5.5**2 - 3.0**2) ** 0.5, x0 + 50.0
    pieces = reach(cut((x, low - 3.0, 5.0)))
    assert pieces == [pytest.approx((x + half, x1)), pytest.approx((x0, x - half))]
    assert reach(cut((x, low - 5.6, 5.0))) == [(x0, x1)]


def test_a_piece_along_one_cell_is_left_out() -> None:
    """It would gather nothing; the main lead's piece stays."""
    layout, plate, bar = row_plate()
    x = np.sort(layout.xy_mm[list(plate.cells), 0])
    y, between = bar.whole.bounds[1], (x[1:] + x[:-1]) / 2.0
    assert len(cut((between[0], y, 5.0)).pieces) == 1
    assert len(cut((between[2], y, 5.0), (between[3], y, 5.0)).pieces) == 2
    assert len(cut((between[1], y, 5.0), (between[3], y, 5.0)).pieces) == 3


def test_over_a_sheet_the_copper_goes_round_a_post() -> None:
    """One piece, off both cells' spots and on the sheet, or on where the bar lay before."""
    layout, plate, bar = row_plate()
    row = layout.xy_mm[list(plate.cells)]
    row = row[np.argsort(row[:, 0])]
    x, low = float(row[1:3, 0].mean()), bar.whole.bounds[1]
    post = shapely.Point(x, low).buffer(5.0)
    body = shapely.union(bar.whole, shapely.box(*row[1], *(row[2] + (0.0, 4.0)))).difference(post)
    round_it = cut((x, low, 5.0), body=body)
    assert len(round_it.pieces) == 1
    assert round_it.stock_mm[0] >= piece_deep_mm(round_it) > round_it.stock_mm[0] - 1.0
    piece = round_it.pieces[0]
    assert piece.difference(shapely.union(bar.whole, body)).area == pytest.approx(0.0, abs=1e-9)
    assert piece.intersection(post).area == pytest.approx(0.0, abs=1e-9)
    spots = shapely.buffer(shapely.points(row), 3.0)
    assert shapely.area(shapely.intersection(spots, piece.difference(bar.whole))).max() == 0.0


def test_a_short_row_keeps_its_bar_whole() -> None:
    """Where posts beside a bar are near enough to each other none parts it."""
    bars = bars_of(block_of(2, 4, "honeycomb", "21700"))
    assert len(bars) == 2
    assert all(len(bar.pieces) == 1 for bar in bars)


def test_a_post_stands_in_the_bar_of_a_long_row() -> None:
    """Else those of the side would stand farther apart than holders may be tied."""
    block = long_row()
    joined = (block.pack, block.cell_layout, block.interconnect)
    checks = {one.id: one for one in fastening_checks(*joined, block.cell_block)}
    assert checks["post_spacing"].value <= POSTS_APART_MM
    bars = bars_of(block)
    assert len(bars) == 2
    posts = shapely.points([(post.x_mm, post.y_mm) for post in block.cell_block.posts])
    clear = block.pack.holder.post_mm / 2 + channel_clear_mm(block.pack)
    for bar in bars:
        assert shapely.distance(posts, bar.whole).min() < clear
        assert bar.pieces[0].covers(bar.landing)
        assert shapely.distance(posts[:, None], np.array(bar.pieces)[None]).min() >= clear
        assert shapely.distance(posts, bar.kept).min() >= clear
        (lug,) = bar.lugs
        assert bar.shape.area < bar.whole.union(lug.shape).area - lug.hole.area


def test_a_neck_of_sheet_goes_past_each_post() -> None:
    """All can ends stay joined to the main lead."""
    block = long_row()
    plate = next(one for one in block.interconnect.plates if one.bar is not None)
    assert plate.body.buffer(-2.0).geom_type == "Polygon"
    assert plate.shape.geom_type == "Polygon"


def test_a_lead_of_a_row_beside_longer_ones_reaches_the_compartment() -> None:
    """An end group in a lane's middle has no bar: its tail goes on past the field's farthest cell.

    Without that the main lead would begin beside a cell."""
    block = block_of(14, 2, "honeycomb", "32700")
    end = next(one for one in block.interconnect.plates if one.groups == (14,))
    assert end.bar is None
    out = leads_out_mm(block.pack, block.cell_layout, block.interconnect)
    assert out["plus"] >= LEAD_OUT_LEAST_MM


@pytest.mark.one_in(2)
@pytest.mark.parametrize(
    ("series", "parallel", "lattice", "cell_format"),
    [
        (2, 6, "honeycomb", "18650"),
        (1, 7, "grid", "18650"),
        (3, 5, "grid", "18650"),
        (1, 3, "honeycomb", "21700"),
    ],
)
def test_small_packs_hold(series: int, parallel: int, lattice: str, cell_format: str) -> None:
    """End groups of two rows under one bar, and three cells round one that carries a tail."""
    block = block_of(series, parallel, lattice, cell_format)
    assert len(block.interconnect.plates) == series + 1
    assert failing(block) == []


def test_a_plate_without_holes_fails_and_the_way_out_names_keys() -> None:
    """The hull of all can ends of a joint: nothing of the lip is left between its cells."""
    block = long_row()
    plates = list(block.interconnect.plates)
    plates[1] = replace(plates[1], body=plates[1].body.convex_hull.buffer(6.0))
    filled = replace(block.interconnect, plates=tuple(plates))
    checks = [
        *lip_checks(block.pack, block.cell_layout, filled),
        *strip_checks(block.pack, block.cell_layout, filled),
    ]
    failed = [check for check in checks if not check.holds]
    assert {"lip_force_n", "lip_gap_deg", "strip_window_mm"} <= {check.id for check in failed}
    assert all("holder.web_mm" in check.remedy for check in failed)
    assert all("strip.joints: links" in check.remedy for check in failed)


def test_a_lead_that_posts_cut_off_from_the_sheet_has_no_bar() -> None:
    """Thick posts of a small pack: the lead's piece would hang in the air; the sheet takes it."""
    text = (
        "name: x\ncell: {format: '18650', capacity_ah: 2.5}\nseries: 3\nparallel: 2\n"
        "holder: {post_mm: 8.4}\nstrip: {joints: plates}\n"
    )
    found = interconnected(laid_out(parse_pack(text.encode(), "p.yaml").pack)).interconnect
    assert len(found.plates) == 4 and all(plate.bar is None for plate in found.plates)
    _, plate, bar = row_plate()
    bar = replace(bar, lugs=())
    whole = on_sheet(plate, bar)
    assert whole is not None and whole.pieces == bar.pieces
    elsewhere = shapely.box(500, 0, 600, 50)
    assert on_sheet(replace(plate, body=elsewhere), bar) is None
    loose = on_sheet(plate, replace(bar, pieces=(*bar.pieces, elsewhere)))
    assert loose is not None and loose.pieces == bar.pieces


@pytest.mark.parametrize(
    ("wire_mm2", "screw", "wide_mm"),
    [(4.0, "M4", 12.0), (6.0, "M4", 12.0), (10.0, "M5", 12.0), (25.0, "M6", 16.0)],
)
def test_a_lug_has_copper_all_round_its_screw(wire_mm2: float, screw: str, wide_mm: float) -> None:
    """By the wire: the hole in the middle of an end as wide, the washer on it."""
    pack = long_row().pack
    pack = replace(pack, leads=replace(pack.leads, wire_mm2=wire_mm2))
    lug = lug_end(pack, (50.0, -20.0), (1, 1))
    assert lug.screw == screw
    x0, y0, x1, y1 = lug.shape.bounds
    assert (x0, y0, y1 - y0, x1 - lug.bend_mm) == (50.0, -20.0, wide_mm, wide_mm)
    assert lug.shape.covers(lug.pressed)
    assert lug.pressed.area > 0.6 * lug.hole.area
    turned = lug_end(pack, (50.0, -20.0), (1, -1))
    assert turned.shape.bounds == (x0, -20.0 - wide_mm, x1, -20.0)


def test_a_lugs_end_is_bent_until_its_screw_stays_off_floor_and_lid() -> None:
    """Head, washer and lug need more than lip and gap leave; with more gap nothing is bent."""
    pack = long_row().pack
    for gap_mm in (3.5, 5.0, 9.0):
        wide = replace(pack, enclosure=replace(pack.enclosure, gas_gap_mm=gap_mm))
        lug = lug_end(wide, (50.0, -20.0), (1, 1))
        size = screws()[lug.screw]
        assert lug.outward_mm + lug.drop_mm > size.head_high_mm + size.washer_high_mm + 1.5
        assert lug.outward_mm + 1.0 <= pack.holder.lip_mm + gap_mm
        assert len(lug.bends) == (2 if lug.drop_mm else 0)
        piece = shapely.union(shapely.box(0.0, -20.0, 50.0, -11.0), lug.shape)
        flat = lug.flat(piece.difference(lug.hole))
        grown = flat.area - piece.difference(lug.hole).area
        assert grown == pytest.approx(lug.drop_mm * 12.0)
        assert flat.bounds[2] == pytest.approx(lug.shape.bounds[2] + lug.drop_mm)
    assert lug_end(pack, (0.0, 0.0), (1, 1)).drop_mm > 0.0 == lug.drop_mm


def test_end_bars_are_drilled_for_the_lug_outside_the_holder() -> None:
    """Sheet and cells end before it; the current lands where the washer presses."""
    block = block_of(2, 4, "honeycomb", "21700")
    outline = cell_block_shape(block.cell_block.outline)
    for plate in block.interconnect.plates:
        if plate.bar is None:
            continue
        (lug,) = plate.bar.lugs
        assert plate.bar.tap_mm == lug.at_mm
        assert plate.bar.long_mm[0] == pytest.approx(
            plate.bar.pieces[0].bounds[2] - plate.bar.pieces[0].bounds[0] + lug.drop_mm
        )
        assert lug.shape.intersection(outline).area < 1e-6
        (piece,) = plate.bar.pieces
        assert shapely.Polygon(piece.interiors[0]).area == pytest.approx(lug.hole.area)
        assert plate.bar.landing.equals(lug.pressed) and piece.covers(plate.bar.landing)
        assert plate.bar.stock_mm == (12.0,)
