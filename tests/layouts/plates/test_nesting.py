"""Plates on their stock: never over each other, never past it. Shapes and packs invented."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
import shapely

from generators import cli
from generators.packfile.resolve import parse_pack
from layouts.errors import PlanError
from layouts.placing.values import Effort
from layouts.planning.pack_plan import plan_pack
from layouts.plates.nesting import (
    APART_MM,
    NestedStock,
    SheetPiece,
    bar_cut_lists,
    check_stock_width,
    nested,
    plate_stocks,
    stock_width_mm,
)
from tests.layouts.plates.test_plates import GRID, TEN, planned

COMB = shapely.Polygon(
    [(0, 0), (40, 0), (40, 20), (34, 20), (34, 6), (20, 6), (20, 20), (14, 20), (14, 6), (0, 6)]
)  # teeth of 6, gaps of 14


def stock_of(shapes: list[shapely.Polygon], width_mm: float) -> NestedStock:
    """Shapes nested, numbered from 1."""
    pieces = [SheetPiece(name=f"{k}", shape=shape) for k, shape in enumerate(shapes, start=1)]
    return NestedStock(
        material="nickel", thickness_mm=0.15, width_mm=width_mm, pieces=nested(pieces, width_mm)
    )


def check_honest(stock: NestedStock) -> None:
    """All on the stock, apart, as large as they were, and no shorter than their area."""
    area = shapely.box(0.0, 0.0, stock.used_mm, stock.width_mm).buffer(1e-6)
    assert all(area.contains(piece.shape) for piece in stock.pieces)
    for a, b in combinations(stock.pieces, 2):
        assert a.shape.distance(b.shape) >= APART_MM - 1e-6
    assert stock.used_mm * stock.width_mm >= stock.area_mm2
    assert stock.used_mm <= stock.buy_mm < stock.used_mm + 10.0 + 1e-6
    assert 0.0 <= stock.waste_ratio < 1.0


@pytest.mark.parametrize("width_mm", [21.0, 47.0, 130.0])
def test_pieces_never_overlap_nor_leave_the_stock(width_mm: float) -> None:
    """Combs, triangles and a ring of other sizes, on narrow and on wide stock."""
    triangle = shapely.Polygon([(0, 0), (33, 0), (5, 17)])
    ring = shapely.Point(0, 0).buffer(9.0).difference(shapely.Point(0, 0).buffer(5.0))
    shapes = [COMB, triangle, ring, COMB, shapely.box(0, 0, 90, 8), triangle, COMB]
    stock = stock_of(shapes, width_mm)
    check_honest(stock)
    assert sorted(piece.name for piece in stock.pieces) == list("1234567")
    for piece in stock.pieces:
        before = shapes[int(piece.name) - 1]
        assert piece.shape.area == pytest.approx(before.area)
        assert piece.shape.length == pytest.approx(before.length)


def test_outlines_are_nested_not_their_boxes() -> None:
    """Two combs turned against each other, and two triangles, take less than their boxes do."""
    combs = stock_of([COMB, COMB], 30.0)
    check_honest(combs)
    assert combs.used_mm < 56.0
    assert len({piece.turn_deg for piece in combs.pieces}) == 2
    triangle = shapely.Polygon([(0, 0), (40, 0), (0, 20)])
    pair = stock_of([triangle, triangle], 21.0)
    check_honest(pair)
    assert pair.used_mm < 60.0 < 82.0


def test_a_piece_goes_across_where_only_that_fits() -> None:
    """50 x 8 on stock of 10: along; on stock of 60 several stand beside each other."""
    bar = shapely.box(0, 0, 8, 50)
    narrow = stock_of([bar], 10.0)
    assert narrow.pieces[0].turn_deg % 180 == 90
    assert narrow.used_mm == pytest.approx(50.0)
    with pytest.raises(ValueError, match="wider than stock of 7 mm"):
        stock_of([bar], 7.0)


def test_the_same_pieces_lie_the_same_way() -> None:
    """Greedy and deterministic."""
    first, again = (stock_of([COMB, shapely.box(0, 0, 9, 9), COMB], 47.0) for _ in range(2))
    assert [one.shape.wkb for one in first.pieces] == [one.shape.wkb for one in again.pieces]


@pytest.mark.parametrize("text", [TEN, GRID], ids=["honeycomb", "grid"])
def test_plates_of_a_pack_lie_on_stock_that_is_wide_enough(text: str) -> None:
    """Every layer of every plate, on whole 5 mm; less waste than box after box."""
    plan = planned(text)
    plates = plan.interconnect.plates
    (stock,) = plate_stocks(plan.pack, plates)
    check_honest(stock)
    assert stock.width_mm == stock_width_mm([plate.sheet for plate in plates])
    assert stock.width_mm % 5.0 == 0.0
    assert len(stock.pieces) == sum(len(plate.layers) for plate in plates)
    boxes = [plate.sheet.bounds for plate in plates]
    assert stock.used_mm < sum(x1 - x0 + APART_MM for x0, _, x1, _ in boxes)
    doubled = [replace(plate, layers=plate.layers * 2) for plate in plates]
    (twice,) = plate_stocks(plan.pack, doubled)
    assert len(twice.pieces) == 2 * len(stock.pieces)
    assert "1, layer 2" in {piece.name for piece in twice.pieces}


def test_bars_are_cut_by_length() -> None:
    """Both end plates' copper from one straight length."""
    plan = planned(TEN)
    (cut,) = bar_cut_lists(plan.pack, plan.interconnect.plates)
    bars = [plate.bar for plate in plan.interconnect.plates if plate.bar is not None]
    assert cut.used_mm == pytest.approx(sum(sum(bar.long_mm) for bar in bars))
    assert (cut.width_mm, len(cut.bars)) == (12.0, 1)  # as wide as the end for the lug
    assert {bar.width_mm for bar in bars} == {9.0}


def test_stock_too_narrow_for_a_plate_is_refused() -> None:
    """From the pack file: the field, the width that is needed; a millimetre more is enough."""
    plan = planned(GRID)
    needs = max(
        min(x1 - x0, y1 - y0)
        for x0, y0, x1, y1 in (plate.sheet.bounds for plate in plan.interconnect.plates)
    )
    text = f"{GRID}strip: {{joints: plates, stock_width_mm: {needs - 0.1:.3f}}}\n"
    pack = parse_pack(text.encode(), "x.yaml").pack
    with pytest.raises(PlanError, match=r"strip\.stock_width_mm: plate .* does not go") as caught:
        plan_pack(pack, effort=Effort.QUICK)
    assert f"{needs:.1f} mm across" in str(caught.value)
    assert "\n" not in str(caught.value)
    spec = replace(plan.pack.strip, stock_width_mm=needs + 0.1)
    check_stock_width(replace(plan.pack, strip=spec), plan.interconnect.plates)


def test_the_command_says_it_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Status 2, file and line first, nothing written."""
    file = tmp_path / "narrow.yaml"
    file.write_text(f"{GRID}strip: {{stock_width_mm: 12}}\n", encoding="utf-8")
    assert cli.main(["make", str(file), "--out", str(tmp_path / "out")]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    (line,) = printed.err.splitlines()
    assert line.startswith(f"{file}:8: strip.stock_width_mm: plate ")
    assert "does not go on this stock (12 mm), give at least 3" in line
    assert not list((tmp_path / "out").rglob("*"))


def test_straight_strips_ask_for_no_width() -> None:
    """A string of single cells has no plates to nest, whatever stock is given."""
    text = GRID.replace("parallel: 3", "parallel: 1") + "strip: {stock_width_mm: 12}\n"
    plan = plan_pack(parse_pack(text.encode(), "x.yaml").pack, effort=Effort.QUICK)
    assert plate_stocks(plan.pack, plan.interconnect.plates) == ()
