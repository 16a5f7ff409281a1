"""A joint of two sheets under a screwed bridge: open without it, joined with it, as drawn."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from generators.packfile.resolve import parse_pack
from layouts.currents.plates import conducting
from layouts.holders.fastening import fastening_checks
from layouts.pack import Surroundings
from layouts.planning.steps import BlockPlan, interconnected, laid_out
from layouts.plates.bridge import bridged_joint
from layouts.plates.labour import plate_labour
from layouts.plates.nesting import plate_stocks
from layouts.strips.field import sheet_field
from layouts.strips.plate import BusPlate, PlateBar
from tests.layouts.plates.joined import block_of, failing
from tests.sampled import sampled


@cache
def high_pack() -> BlockPlan:
    """Sixteen groups: 67 V full."""
    return block_of(16, 3, "honeycomb", "18650")


def bridged(block: BlockPlan) -> tuple[BusPlate, PlateBar]:
    """The one plate of two sheets, with its copper."""
    (plate,) = (one for one in block.interconnect.plates if one.is_bridged)
    assert plate.bar is not None
    return plate, plate.bar


def test_only_the_joint_that_is_welded_last_has_two_sheets() -> None:
    """Above 60 V, as the order of welding says; below it none."""
    block = high_pack()
    place = bridged_joint(block.pack, block.interconnect.plates)
    assert place is not None
    assert bridged(block)[0] is block.interconnect.plates[place.plate]
    assert not any(one.is_bridged for one in block_of(4, 3, "grid", "21700").interconnect.plates)


@pytest.mark.parametrize(
    ("series", "parallel", "lattice", "format"),
    sampled(
        [(16, 3, "honeycomb", "18650"), (16, 5, "honeycomb", "18650"), (20, 6, "grid", "18650"),
         (15, 2, "honeycomb", "21700"), (17, 8, "grid", "26650"), (24, 4, "honeycomb", "32700")],
        lambda case: case[0] == 16 and case[1] == 3,
    ),
)  # fmt: skip
def test_all_of_its_joints_hold(series: int, parallel: int, lattice: str, format: str) -> None:
    """Lip, rings' openings, posts and gaps, with the bars between the two rows."""
    block = block_of(series, parallel, lattice, format)
    assert failing(block) == []
    plate, bar = bridged(block)
    low, high = plate.parts
    assert low.distance(high) == pytest.approx(1.5)
    spots = shapely.buffer(shapely.points(block.cell_layout.xy_mm[list(plate.cells)]), 2.8)
    assert not shapely.intersects(spots, bar.shape).any()
    assert isinstance(plate.shape, shapely.Polygon)


def test_no_current_passes_while_the_bridge_is_out() -> None:
    """Without its copper across the ends the two sheets share no metal; with it all are joined."""
    block = high_pack()
    plate, bar = bridged(block)
    assert shapely.union_all([plate.body, *bar.pieces]).geom_type == "Polygon"
    out = shapely.union_all([plate.body, *bar.pieces[:-1]])
    assert len(shapely.get_parts(out)) == 2
    low, high = shapely.get_parts(out)
    assert low.distance(high) == pytest.approx(1.5)
    contacts = list(shapely.buffer(shapely.points(block.cell_layout.xy_mm[list(plate.cells)]), 2.5))
    group = block.cell_layout.group[list(plate.cells)]
    apart = group[:, None] != group[None]
    between = np.abs(sheet_field(out, contacts, 1500.0).conductance[apart]).max()
    assert between < 1e-6
    assert np.abs(plate.conducts.field.conductance[apart]).max() > 1.0


def test_bars_and_bridge_carry_what_a_plate_of_one_sheet_would() -> None:
    """The current crosses from row to row by way of the bars: more ohms than straight across, and
    no more than the bars' own length gives."""
    block = high_pack()
    plate, bar = bridged(block)
    rho, long_m = 1.72e-8, 1e-3 * sum(bar.long_mm[:2])
    bars_ohm = rho * long_m / (1e-6 * bar.width_mm * bar.thickness_mm)
    whole = conducting(block.cell_layout, [replace(plate, body=plate.body.convex_hull, bar=None)])[
        0
    ].conducts.field.conductance
    group = block.cell_layout.group[list(plate.cells)] == min(plate.groups)
    across, straight = (
        1.0 / -conductance[np.ix_(group, ~group)].sum()
        for conductance in (plate.conducts.field.conductance, whole)
    )
    assert straight < across < straight + bars_ohm


def test_two_sheets_two_bars_and_a_bridge_are_counted() -> None:
    """Pieces to cut, names on the nest, holes for the screws in bars and bridge alike."""
    block = high_pack()
    plates = block.interconnect.plates
    _, bar = bridged(block)
    assert plate_labour(plates).pieces == len(plates) + 1 + 2 + 3
    (stock,) = plate_stocks(block.pack, plates)
    names = [piece.name for piece in stock.pieces]
    assert len(names) == len(plates) + 1
    assert sorted(name[-1] for name in names if not name.isdigit()) == ["a", "b"]
    assert len(bar.lugs) == 2 and len(bar.pieces) == 3
    for piece, lug in zip(bar.pieces, bar.lugs, strict=False):
        assert shapely.Polygon(piece.interiors[0]).area == pytest.approx(lug.hole.area)
    assert len(bar.pieces[2].interiors) == 2


def test_posts_keep_out_of_the_copper() -> None:
    """None between the two rows' bars, and near enough to each other all the same."""
    block = high_pack()
    _, bar = bridged(block)
    posts = shapely.points([(post.x_mm, post.y_mm) for post in block.cell_block.posts])
    assert shapely.distance(posts, bar.shape).min() >= block.pack.holder.post_mm / 2.0
    checks = fastening_checks(block.pack, block.cell_layout, block.interconnect, block.cell_block)
    assert all(check.holds for check in checks)


def test_where_it_is_splashed_thirty_volts_are_enough() -> None:
    """Ten groups, 42 V: one sheet a joint where it is dry, a bridge where it is wet."""
    text = b"name: wet\ncell: {format: '18650'}\nseries: 10\nparallel: 2\n"
    dry = parse_pack(text, "p.yaml").pack
    wet = replace(dry, enclosure=replace(dry.enclosure, surroundings=Surroundings.SPLASHED))
    counts = [
        sum(one.is_bridged for one in interconnected(laid_out(pack)).interconnect.plates)
        for pack in (dry, wet)
    ]
    assert counts == [0, 1]


@pytest.mark.slow
def test_no_bridge_across_a_seam_between_tiles() -> None:
    """Its sheets would take the place of the tabs that lock two tiles: the plate stays whole."""
    text = (
        b"name: tiled\ncell: {format: '21700'}\nseries: 16\nparallel: 8\n"
        b"printer: {bed_mm: [130, 130, 200]}\n"
    )
    block = interconnected(laid_out(parse_pack(text, "p.yaml").pack))
    assert bridged_joint(block.pack, block.interconnect.plates) is not None
    assert not any(one.is_bridged for one in block.interconnect.plates)
