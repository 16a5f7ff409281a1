"""Hours, filament and cost as they are told."""

from __future__ import annotations

from dataclasses import replace

import pytest

from generators.exports.bill_of_printing import each_words, printing_rows
from generators.printing_row import printing_row
from generators.report.printing import printing_fact, printing_line, printing_tables
from generators.result import plain
from layouts.printing.beds import OnBed
from layouts.printing.totals import PackPrint, pack_print
from tests.layouts.printing.shapes import block
from tests.samples import sample_pack

PACK = sample_pack(3, 2)


@pytest.fixture(scope="module")
def printing() -> PackPrint:
    """Three copies on two beds."""
    laid = [OnBed(name="piece", bed=bed, turn_deg=90, shift_mm=(55.0, 5.0)) for bed in (0, 0, 1)]
    plan_mm2 = {"piece": 60.0 * 50.0}
    part = block(60.0, 50.0, 8.0, copies=3)
    return pack_print([part], PACK.printer, laid, plan_mm2=plan_mm2)


def test_the_line_for_the_terminal(printing: PackPrint) -> None:
    """Hours, grams, cost, how sure, and plates."""
    total = printing.total
    assert printing_line(printing) == (
        f"to print: about {total.hours:.1f} h, {total.filament_g:.0f} g of filament, cost "
        f"{total.cost:.2f} (within 10 %), on 2 plates"
    )
    one = replace(printing, beds=printing.beds[:1])
    assert printing_line(one).endswith("on 1 plate")
    assert printing_fact(printing) == (
        "printing, within 10 %",
        f"about {total.hours:.1f} h, {total.filament_g:.0f} g, cost {total.cost:.2f}",
    )


def test_the_tables_of_the_report(printing: PackPrint) -> None:
    """By part with its settings and the sum, by plate, other settings with their sign."""
    parts, plates, others = printing_tables(PACK, printing)
    assert parts.rows[0][:3] == (
        "piece", "3", "2 walls, 15 % infill, 4 top and 3 bottom layers of 0.2",
    )  # fmt: skip
    assert parts.rows[-1][:2] == ("in all", "3")
    assert parts.rows[-1][3:] == parts.rows[0][3:]
    assert [row[:2] for row in plates.rows] == [
        ("plates/plate-1.3mf", "2 x piece"), ("plates/plate-2.3mf", "1 x piece"),
    ]  # fmt: skip
    assert {row[1][0] for row in others.rows} == {"+", "-"}
    # two pieces of 3000 mm2, then one, on 220 x 220
    assert [row[-1] for row in plates.rows] == ["12 %", "6 %"]
    assert "by area alone 1 plate would do" in plates.note
    assert "within 10 %" in parts.note
    refused = replace(printing, refused=("plank",))
    assert "No bed takes plank." in printing_tables(PACK, refused)[0].note


def test_the_rows_of_the_bill(printing: PackPrint) -> None:
    """Filament by its mass and price, time with its power; both sum to the cost."""
    filament, hours = printing_rows(PACK, printing)
    assert (filament.unit, hours.unit) == ("g", "h")
    assert filament.count == round(printing.total.filament_g)
    cost = float(filament.note.split("; ")[1].split()[0]) + float(
        hours.note.split("; ")[1].split()[0]
    )
    assert cost == pytest.approx(printing.total.cost, abs=0.011)
    row = printing.parts[0]
    assert each_words(row) == (
        f"about {row.effort.hours:.1f} h and {row.effort.filament_g:.0f} g each as set"
    )


def test_the_row_of_the_result(printing: PackPrint) -> None:
    """Sums, parts with their settings, plates with every copy's place, changes."""
    row = printing_row(printing, plain)
    assert row["hours"] == pytest.approx(printing.total.hours, abs=1e-6)
    assert row["within_percent"] == 10
    assert row["fewest_plates_by_area"] == 1
    assert row["plates"][0]["used_share"] == pytest.approx(6000.0 / 220.0**2, abs=1e-6)
    assert row["parts"][0]["settings"]["wall_lines"] == 2
    assert [plate["file"] for plate in row["plates"]] == [
        "plates/plate-1.3mf", "plates/plate-2.3mf",
    ]  # fmt: skip
    assert row["plates"][1]["laid"] == [{"name": "piece", "turn_deg": 90, "shift_mm": [55.0, 5.0]}]
    assert sum(plate["hours"] for plate in row["plates"]) == pytest.approx(row["hours"], abs=1e-5)
    assert len(row["changes"]) == len(printing.changes)
