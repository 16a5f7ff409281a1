"""What the joints take, in bill and report: stock to buy, work. Packs invented."""

from __future__ import annotations

import pytest

from generators.exports.bill import BillRow, bill_rows
from generators.report.overview import _labour_fact
from layouts.plates.labour import joint_labour, plate_labour, strip_labour
from layouts.plates.nesting import plate_stocks
from tests.layouts.plates.test_plates import TEN, planned


def rows_of(joints: str) -> dict[str, BillRow]:
    """The bill's rows by their items."""
    plan = planned(TEN, joints)
    return {row.item: row for row in bill_rows(plan.pack, plan.cell_layout, plan.interconnect)}


@pytest.mark.one_in(2)
@pytest.mark.parametrize("joints", ["plates", "links"])
def test_the_work_is_told_and_said_to_be_judged(joints: str) -> None:
    """Pieces, spots, shots and minutes of plates and of strips, in the bill and in the figures."""
    plan = planned(TEN, joints)
    labour = (
        plate_labour(plan.interconnect.plates)
        if joints == "plates"
        else strip_labour(plan.pack, plan.interconnect)
    )
    assert joint_labour(plan.pack, plan.interconnect) == labour
    row = rows_of(joints)["work on the joints"]
    assert (row.count, row.unit) == (round(labour.minutes), "min")
    words = f"{labour.pieces} pieces, {labour.spots} weld spots ({labour.shots} shots)"
    assert row.note == f"{words}; minutes are judged, no source"
    name, value = _labour_fact(plan)
    assert "judged" in name
    assert value == f"{words}, about {labour.minutes:.0f} min"


def test_stock_of_plates_stands_in_the_bill() -> None:
    """Width, length to buy and waste of the sheet; lengths of the copper; none where strips are."""
    plan = planned(TEN)
    (stock,) = plate_stocks(plan.pack, plan.interconnect.plates)
    row = rows_of("plates")["nickel sheet, one cut piece for each joint"]
    assert row.count == 11
    waste = 100.0 * stock.waste_ratio
    assert (
        f"{stock.buy_mm:.0f} mm of stock {stock.width_mm:g} mm wide, {waste:.0f} % waste"
        in row.note
    )
    copper = rows_of("plates")["flat copper on plates"]
    assert "1 length of 1 m, " in copper.note
    assert not any("sheet" in item for item in rows_of("links"))
