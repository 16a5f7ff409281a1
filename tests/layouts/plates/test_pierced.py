"""Copper beneath nickel: its own outline with a hole at each can end, the same everywhere."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from generators.drawings.plate_pieces import plate_piece_sheet, plate_templates
from generators.exports.bill import plate_rows
from generators.packfile.resolve import parse_pack
from generators.report.cutting import cutting_tables
from generators.report.plate_work import plates_and_test_welds
from generators.result import plate_rows as result_rows
from layouts.currents.plates import FINE_STEP_MM, conducting
from layouts.currents.strips import plate_network
from layouts.planning.mass import STRIP_DENSITY_G_CM3, mass_of
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.plates.labour import even_spots, plate_labour
from layouts.plates.nesting import plate_stocks
from layouts.plates.pierced import COPPER_HOLE_MM, COPPER_LEAST_MM, with_pierced_layers
from layouts.plates.rework import spare_shots
from layouts.plates.sizes import SPOTS_REACH_MM
from layouts.plates.spots import layer_spots
from layouts.strips.field import Covering, sheet_field
from layouts.strips.plate import SheetLayer

# so much current that no nickel keeps the limits; an invented pack
FILE = """
name: seed-drill
cell: {format: "21700", capacity_ah: 4.0, continuous_a: 35.0}
series: 3
parallel: 2
strip: {joints: plates}
load: {continuous_a: 160}
printer: {bed_mm: [400, 400, 300]}
enclosure: {style: none}
"""


@cache
def planned() -> PackPlan:
    """A pack with copper beneath nickel on some plates at least."""
    return plan_pack(parse_pack(FILE.encode(), "x.yaml").pack)


def test_a_hole_is_eight_and_has_room_for_all_spots() -> None:
    """The usual punch."""
    assert pytest.approx(8.0) == COPPER_HOLE_MM
    assert COPPER_HOLE_MM / 2.0 > SPOTS_REACH_MM


def test_copper_keeps_off_every_can_end_and_in_one_piece() -> None:
    """By the hole's radius; nowhere narrower than meant; nickel is whole; one shot beside each hole
    on the copper, those onto the can within the hole."""
    plan = planned()
    found = 0
    for plate in plan.interconnect.plates:
        metals = [layer.material for layer in plate.layers]
        assert (plate.pierced is not None) == (metals == ["copper", "nickel"])
        if plate.pierced is None:
            continue
        found += 1
        copper, nickel = plate.sheets
        assert copper is plate.pierced and nickel.equals(plate.sheet)
        centres = shapely.points(plan.cell_layout.xy_mm[list(plate.cells)])
        off = shapely.distance(centres, copper)
        assert off == pytest.approx(COPPER_HOLE_MM / 2.0, abs=0.02)
        assert copper.within(plate.sheet.buffer(1e-6))
        core = shapely.get_parts(copper.buffer(-0.9 * COPPER_LEAST_MM / 2.0))
        assert sum(part.area > 1.0 for part in core) == 1
        bench, cans = (layer_spots(plan.cell_layout, plate, layer) for layer in (0, 1))
        assert bench.shape == (len(plate.cells), 1, 2, 2)
        assert shapely.contains_xy(copper, bench[..., 0], bench[..., 1]).all()
        from_can = np.hypot(
            *np.moveaxis(
                cans.reshape(len(centres), -1, 2).swapaxes(0, 1)
                - plan.cell_layout.xy_mm[list(plate.cells)],
                -1,
                0,
            )
        )
        assert from_can.max() < COPPER_HOLE_MM / 2.0
        for shots in spare_shots(plan.pack, plan.cell_layout, plate):
            assert not shapely.contains_xy(copper, shots[..., 0], shots[..., 1]).any()
    assert found > 0


def test_pieces_spots_and_mass_are_the_same_everywhere() -> None:
    """Labour, stock, bill, drawing, result and mass, each counted for itself."""
    plan = planned()
    pack, layout, joined = plan.pack, plan.cell_layout, plan.interconnect
    plates = joined.plates
    bars = sum(0 if plate.bar is None else len(plate.bar.pieces) for plate in plates)
    labour = plate_labour(plates)
    stocks = plate_stocks(pack, plates)
    assert labour.pieces - bars == sum(len(stock.pieces) for stock in stocks)
    drawn = sum(
        layer_spots(layout, plate, layer).size // 2
        for plate in plates
        for layer in range(len(plate.layers))
    )
    assert labour.spots == drawn
    copper = next(stock for stock in stocks if stock.material == "copper")
    mine = [plate for plate in plates if plate.pierced is not None]
    assert copper.area_mm2 == pytest.approx(sum(one.sheets[0].area for one in mine), rel=1e-6)
    assert next(row for row in plate_rows(pack, joined) if row.item.startswith("copper sheet"))
    grams = sum(
        sheet.area * layer.thickness_mm / 1000.0 * STRIP_DENSITY_G_CM3[layer.material]
        for plate in plates
        for layer, sheet in zip(plate.layers, plate.sheets, strict=True)
    ) + sum(
        piece.area * plate.bar.thickness_mm * 8.89e-3
        for plate in plates
        if plate.bar is not None
        for piece in plate.bar.flat
    )
    assert mass_of(pack, joined, []).strips_g == pytest.approx(grams)
    rows = result_rows(layout, joined, plan.electrical, upper_z_mm=70.0)
    told = [row["pierced"]["outline_mm"] for row in rows if "pierced" in row]
    assert len(told) == len(mine)
    assert shapely.Polygon(told[0]).area == pytest.approx(
        shapely.Polygon(mine[0].sheets[0].exterior).area, rel=1e-5
    )


def test_templates_cutting_list_and_build_sheet_tell_the_holes() -> None:
    """A template of the copper's own; how many holes of which diameter; where nickel is welded."""
    plan = planned()
    pack, joined = plan.pack, plan.interconnect
    mine = [plate for plate in joined.plates if plate.pierced is not None]
    ends = sum(len(plate.cells) for plate in mine)
    sheets = plate_templates(pack, plan.cell_layout, joined)
    beneath = [sheet for sheet in sheets if "a hole of 8 at each can end" in str(sheet)]
    assert beneath and all(sheet.name.endswith("-beneath") for sheet in beneath)
    pieces = str(plate_piece_sheet(pack, plan.cell_layout, joined))
    assert ".1'" in pieces and ".2'" in pieces
    notes = " ".join(table.note or "" for table in cutting_tables(pack, joined))
    assert f"{ends} x hole 8 at the can ends" in notes
    steps = " ".join(plates_and_test_welds(plan).steps)
    assert "a hole of 8 mm at each can end" in steps
    nickel = replace(plan, interconnect=replace(joined, plates=tuple(
        with_pierced_layers(plan.cell_layout, replace(plate, layers=(plate.layers[-1],)))
        for plate in joined.plates
    )))  # fmt: skip
    assert all(plate.pierced is None for plate in nickel.interconnect.plates)
    assert "at each can end" not in " ".join(plates_and_test_welds(nickel).steps)


def test_current_gets_into_the_copper_beside_the_hole_alone() -> None:
    """The sheet, with nickel alone round the can, has more ohms than both metals throughout, and
    the spots that join them are in every weld."""
    plan = planned()
    plate = next(one for one in plan.interconnect.plates if one.pierced is not None)
    (whole,) = conducting(plan.cell_layout, [replace(plate, pierced=plate.sheet)])
    one = [p.conducts.field.conductance[0, 0] for p in (plate, whole)]
    print("siemens from a can end, with the hole and without", one)
    assert one[0] < 0.97 * one[1]
    network = plate_network(plan.pack, plan.cell_layout, plan.interconnect.plates)
    weld_ohm = network.welds_of(network.network.link_ohm)
    spot_ohm = plan.pack.strip.weld_spot_mohm / 1000.0
    column = int(plate.face.value == "upper")
    assert weld_ohm[list(plate.cells), column] == pytest.approx(
        spot_ohm / plate.spots + spot_ohm / 2.0
    )
    assert even_spots(plan.pack, plan.interconnect) == 2.0


def test_a_ring_of_one_metal_in_two_has_the_ohms_of_its_formula() -> None:
    """Current from a contact in the middle of a disc to one round its edge: two rings in series,
    ln(b/a) / (2 pi thickness / resistivity) each."""
    nickel, copper = 0.15e-3 / 9.6e-8, 0.2e-3 / 1.7241e-8
    contact, hole, edge, outer = 2.5, COPPER_HOLE_MM / 2.0, 12.0, 16.0
    disc, middle = shapely.Point(0, 0).buffer(outer, 64), shapely.Point(0, 0).buffer(contact, 64)
    rim = disc.difference(shapely.Point(0, 0).buffer(edge, 64))
    beneath = disc.difference(shapely.Point(0, 0).buffer(hole, 64))
    exact = (np.log(hole / contact) / nickel + np.log(edge / hole) / (nickel + copper)) / (
        2.0 * np.pi
    )
    for step_mm, off in ((FINE_STEP_MM, 0.03), (0.2, 0.02)):
        found = sheet_field(
            disc, [middle, rim], nickel, step_mm=step_mm,
            coverings=[Covering(shape=beneath, siemens=copper)],
        )  # fmt: skip
        assert 1.0 / found.conductance[0, 0] == pytest.approx(exact, rel=off)


def test_metals_alike_are_not_pierced() -> None:
    """Two layers of nickel, and one of copper."""
    plan = planned()
    plate = plan.interconnect.plates[0]
    for layers in ((SheetLayer(material="nickel", thickness_mm=0.15),) * 2,
                   (SheetLayer(material="copper", thickness_mm=0.2),)):  # fmt: skip
        one = with_pierced_layers(plan.cell_layout, replace(plate, layers=layers))
        assert one.pierced is None
        assert all(sheet.equals(plate.sheet) for sheet in one.sheets)
