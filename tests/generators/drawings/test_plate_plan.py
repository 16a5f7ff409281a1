"""Weld plans, templates and pieces of plates say what the plates are. Packs invented."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely

from generators.drawings.linework import Circles, Layer, Lines, LineSheet, Words
from generators.drawings.nest import nest_sheet
from generators.drawings.plate_pieces import plate_piece_sheet, plate_templates
from generators.exports.sheet_dxf import write_sheet_dxf
from generators.report.cutting import cutting_figures, cutting_tables
from generators.report.plate_work import (
    plate_rework,
    plates_and_test_welds,
    welding_of_plates,
)
from generators.welding import weld_sheets
from layouts.pack import Face, Surroundings
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.plates.cut_features import fold_line, hole_words, sheet_holes
from layouts.plates.nesting import plate_stocks
from layouts.plates.rework import spare_shots
from tests.layouts.plates.test_plates import GRID, TEN, planned

DOUBLED = "plates, layers: 2"
HOLE = shapely.Point(0.0, 0.0).buffer(4.0, quad_segs=32)


@cache
def wet() -> PackPlan:
    """The ten groups where they are splashed: above the 30 V that wet hands may touch."""
    plan = planned(TEN)
    splashed = replace(plan.pack.enclosure, surroundings=Surroundings.SPLASHED)
    return plan_pack(replace(plan.pack, enclosure=splashed))


@cache
def punched() -> PackPlan:
    """The same with a hole punched into the first plate of two groups, and a square one."""
    plan = planned(TEN)
    plates = list(plan.interconnect.plates)
    k = next(k for k, plate in enumerate(plates) if not plate.is_end)
    at = plates[k].body.representative_point()
    square = shapely.box(at.x + 8.0, at.y - 2.0, at.x + 12.0, at.y + 2.0)
    body = plates[k].body.difference(shapely.transform(HOLE, lambda xy: xy + (at.x, at.y)))
    plates[k] = replace(plates[k], body=body.difference(square))
    return replace(plan, interconnect=replace(plan.interconnect, plates=tuple(plates)))


def words(sheet: LineSheet) -> list[str]:
    """All words of a drawing."""
    return [mark.text for mark in sheet.marks if isinstance(mark, Words)]


def lines(sheet: LineSheet, layer: Layer) -> list[Lines]:
    """All lines of a layer."""
    return [m for m in sheet.marks if isinstance(m, Lines) and m.layer is layer]


@pytest.mark.parametrize("face", list(Face))
def test_spare_places_and_cuts_are_drawn_and_told(face: Face) -> None:
    """Every spare spot once, and one in the legend; dotted lines; none of it on the machine's."""
    plan = planned(TEN)
    sheets = weld_sheets(plan)
    sheet = sheets.plans[face]
    plates = [plate for plate in plan.interconnect.plates if plate.face is face]
    spares = sum(
        len(shots) * 2
        for plate in plates
        for shots in spare_shots(plan.pack, plan.cell_layout, plate)
    )
    drawn = [m for m in sheet.marks if isinstance(m, Circles) and m.layer is Layer.SPARE]
    assert len(drawn) == spares + 1
    assert len(lines(sheet, Layer.REWORK)) > len(plates) // 2
    assert "rework: cut the plate here only" in words(sheet)
    assert "spare place for a second weld, used once" in words(sheet)
    for flat in sheets.flat:
        assert not any(mark.layer in (Layer.SPARE, Layer.REWORK) for mark in flat.marks)


@pytest.mark.slow
def test_each_layer_has_a_sign_of_its_own() -> None:
    """One layer: one line of the legend; two: crosses onto the can, squares onto the first."""
    single, double = (
        weld_sheets(planned(TEN, joints)).plans[Face.UPPER] for joints in ("plates", DOUBLED)
    )
    assert "one shot: two spots, onto the can" in words(single)
    assert "one shot of layer 1, nickel 0.15 mm, onto the can" in words(double)
    assert "one shot of layer 2, nickel 0.15 mm, onto layer 1" in words(double)
    cells = len(planned(TEN).cell_layout.xy_mm)
    strokes = [sum(len(m.lines) for m in lines(s, Layer.WELD)) for s in (single, double)]
    # a shot's line and four strokes for each of its two signs, once in the legend
    assert strokes[1] - strokes[0] == (cells + 1) * (1 + 2 * 4)


@pytest.mark.slow
def test_the_bridged_plate_is_marked() -> None:
    """On its face alone, as two sheets or by a line with its legend; nothing where it is dry."""
    dry, splashed = weld_sheets(planned(TEN)), weld_sheets(wet())
    for plan in (*dry.plans.values(), *splashed.plans.values()):
        assert not lines(plan, Layer.SEAM)  # two sheets: their edges are seen
    whole = replace(wet(), interconnect=planned(TEN).interconnect)
    assert len(lines(weld_sheets(whole).plans[Face.UPPER], Layer.SEAM)) == 2
    assert not lines(weld_sheets(whole).plans[Face.LOWER], Layer.SEAM)
    (bridged,) = (one for one in wet().interconnect.plates if one.is_bridged)
    assert bridged.face is Face.UPPER
    assert "has to be made as two sheets" in " ".join(plates_and_test_welds(whole).steps)
    assert "11 bridge" in words(splashed.plans[Face.UPPER])
    told = " ".join((*plates_and_test_welds(wet()).steps, *welding_of_plates(wet()).steps))
    assert "Full charge is 42.0 V, above 30 V: plate 11 is two sheets" in told
    assert "Screw in the bridge of plate 11 last of all" in told
    assert "plate 11 (two sheets, still 21.0 V while the bridge is out)" in told
    plain = " ".join((*plates_and_test_welds(planned(TEN)).steps,
                      *welding_of_plates(planned(TEN)).steps))  # fmt: skip
    assert "two sheets" not in plain and "the bridge" not in plain
    assert "plate 11 (then 42.0 V)" in plain


def test_rework_says_how_many_places_are_left() -> None:
    """A whole second set on negative ends, one shot on the smaller positive pads."""
    text = plate_rework(planned(TEN))
    assert "2 shots on negative ends, 1 shot on positive ends, where the first weld has 2" in text


def test_pieces_are_cut_bent_and_marked_on_layers_of_their_own(tmp_path: Path) -> None:
    """Re-read: outlines closed on CUT, the round hole a true circle of its size, a fold for every
    tail that is folded, numbers and spots on MARK, nothing else."""
    plan = punched()
    plates = plan.interconnect.plates
    sheet = plate_piece_sheet(plan.pack, plan.cell_layout, plan.interconnect)
    write_sheet_dxf(tmp_path / "pieces.dxf", sheet)
    space = ezdxf.readfile(tmp_path / "pieces.dxf").modelspace()
    assert {entity.dxf.layer for entity in space} == {"CUT", "BEND", "MARK"}
    outlines = space.query('LWPOLYLINE[layer=="CUT"]')
    bars = sum(plate.bar is not None for plate in plates)
    assert len(outlines) == len(plates) + bars + 1  # and the square hole
    assert all(line.closed for line in outlines)
    radii = sorted(circle.dxf.radius for circle in space.query('CIRCLE[layer=="CUT"]'))
    lugs = [lug.hole_mm / 2 for plate in plates if plate.bar for lug in plate.bar.lugs]
    assert radii == pytest.approx(sorted([4.0, *lugs])) and len(lugs) == bars == 2
    folded = [fold_line(plate) for plate in plates if fold_line(plate) is not None]
    assert len(folded) == len(plates) - 2
    assert len(space.query('LINE[layer=="BEND"]')) == len(folded) + 2 * bars  # lugs' ends
    assert len(space.query('TEXT[layer=="MARK"]')) == len(plates) + bars
    spots = sum(plate.spots * len(plate.cells) for plate in plates)
    assert len(space.query('LINE[layer=="MARK"]')) == 2 * spots


def test_templates_name_their_holes_by_size() -> None:
    """How many of which, on the plate that has them; the fold is drawn and told."""
    plan = punched()
    sheets = plate_templates(plan.pack, plan.cell_layout, plan.interconnect)
    told = [text for sheet in sheets for text in words(sheet) if "hole" in text]
    lug = "hole 5.5 in its end: M5 for the ring lug"
    assert sorted(told) == ["1 x hole 8, 1 x hole as drawn", lug, lug]
    folded = [sheet for sheet in sheets if lines(sheet, Layer.BEND)]
    assert 0 < len(folded) < len(sheets)
    for sheet in folded:
        assert "fold the tail down at the dashed line, over an edge" in words(sheet)


def test_holes_are_sorted_by_size_and_shape() -> None:
    """Round ones are counted, a square one is not round."""
    sheet = shapely.box(-20, -20, 40, 20).difference(HOLE)
    small = shapely.Point(20.0, 0.0).buffer(3.0, quad_segs=32)
    sheet = sheet.difference(small).difference(shapely.Point(30.0, 0.0).buffer(3.0, quad_segs=32))
    assert hole_words(sheet_holes(sheet)) == "2 x hole 6, 1 x hole 8"
    assert hole_words(sheet_holes(shapely.box(0, 0, 9, 9))) == ""
    square = sheet_holes(shapely.box(0, 0, 9, 9).difference(shapely.box(2, 2, 4, 4)))
    assert (len(square.round), len(square.others)) == (0, 1)


def test_a_tail_is_folded_past_the_holder() -> None:
    """Across the tail, as wide, between the plate and the tail's end."""
    for plate in planned(TEN).interconnect.plates:
        line = fold_line(plate)
        if line is None:
            assert plate.is_end
            continue
        assert plate.tail is not None and plate.tail_end_mm is not None
        assert np.hypot(*(line[1] - line[0])) == pytest.approx(6.0)
        assert plate.tail.buffer(1e-6).covers(shapely.LineString(line))
        middle = line.mean(axis=0)
        assert np.hypot(*(middle - plate.tail_end_mm)) == pytest.approx(11.5)


def test_the_nest_is_drawn_and_listed() -> None:
    """Every piece's number on the stock, a row for each in the list, the copper by length."""
    plan = planned(TEN)
    (stock,) = plate_stocks(plan.pack, plan.interconnect.plates)
    numbers = [text for text in words(nest_sheet(stock)) if text.isdigit()]
    assert sorted(map(int, numbers)) == list(range(1, 12))
    sheet, copper = cutting_tables(plan.pack, plan.interconnect)
    assert len(sheet.rows) == 11
    assert f"{stock.buy_mm:.0f} mm of stock 30 mm wide" in sheet.title
    assert copper.title.startswith("flat copper 12 x 0.5 mm: 1 length of 1 m")
    assert len(cutting_figures(plan.pack, plan.interconnect)) == 1
    strips = planned(GRID, "links")
    assert cutting_figures(strips.pack, strips.interconnect) == ()
