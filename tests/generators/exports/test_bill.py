"""The bill: what is counted and how it is written."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from generators.exports.bill import (
    HEADING,
    BillRow,
    bill_rows,
    cell_rows,
    printed_row,
    screw_rows,
    sheet_row,
    strip_rows,
    write_bill,
)
from layouts.cells.arrangement import CellLayout
from layouts.pack import Face
from layouts.parts.fasteners import Into, ScrewUse
from layouts.strips.joining import Interconnect, Strip, StripKind
from tests.samples import sample_pack

PACK = sample_pack(2, 2)


def cell_layout() -> CellLayout:
    """Two groups of two, an invented square."""
    return CellLayout(
        pitch_mm=23.0, xy_mm=np.array([[0, 0], [23, 0], [0, 23], [23, 23.0]]),
        sites=np.zeros((4, 2), dtype=np.int64), group=np.array([1, 1, 2, 2]),
        positive_up=np.array([True, True, False, False]),
        neighbours=np.array([[0, 1], [2, 3], [0, 2], [1, 3]]), tile=np.zeros(4, dtype=np.int64),
        seams=(), empty_sites=0, lanes=1, rows_per_group=1, fewest_contacts=2,
    )  # fmt: skip


def strip(kind: StripKind, length_mm: float, *, width_mm: float, layers: int = 1) -> Strip:
    """A strip along a slant of 3 to 4, so that its length is not just a difference."""
    return Strip(
        name="s", face=Face.UPPER, kind=kind, groups=(1,), cells=(0, 1), start_mm=(1.0, 1.0),
        end_mm=(1.0 + 0.6 * length_mm, 1.0 + 0.8 * length_mm), width_mm=width_mm,
        thickness_mm=0.2, layers=layers,
    )  # fmt: skip


def interconnect(*strips: Strip) -> Interconnect:
    """Strips without the rest."""
    return Interconnect(
        strips=strips, minus_face=Face.LOWER, plus_face=Face.LOWER, stack_mm=np.zeros((2, 4))
    )


USES = (
    ScrewUse(where="holders", screw="M3", length_mm=70, count=6, into=Into.NUT, grip_mm=68),
    ScrewUse(where="lid", screw="M3", length_mm=8, count=10, into=Into.INSERT, grip_mm=3),
    ScrewUse(where="flange", screw="M3", length_mm=8, count=4, into=Into.NUT, grip_mm=5),
    ScrewUse(
        where="brackets to the frame", screw="M5", length_mm=None, count=8, into=Into.FRAME,
        grip_mm=7, washer=True,
    ),
)  # fmt: skip


def test_one_ring_for_each_cell() -> None:
    """As many rings as positive ends, and the mass of all cells together."""
    cells, rings = cell_rows(PACK, cell_layout())
    assert (cells.item, cells.size, cells.count) == ("cells", "21700", 4)
    assert "0.28 kg" in cells.note  # 4 x 69 g
    assert (rings.item, rings.count) == ("insulating rings", 4)


def test_strip_lengths_add_up_by_width_and_layer() -> None:
    """Two layers take twice the length; equal widths share one line of length, others don't."""
    rows = strip_rows(
        PACK,
        interconnect(
            strip(StripKind.LINK, 30.0, width_mm=8.0),
            strip(StripKind.ROW, 50.0, width_mm=6.0, layers=2),
            strip(StripKind.ROW, 25.0, width_mm=6.0),
            strip(StripKind.LEAD, 100.0, width_mm=8.0),
        ),
    )
    assert [(row.item, row.size, row.count, row.unit) for row in rows] == [
        ("row strips", "6 x 0.2 mm", 3, "pcs"),
        ("link strips", "8 x 0.2 mm", 1, "pcs"),
        ("lead strips", "8 x 0.2 mm", 1, "pcs"),
        ("nickel strip, all pieces together", "6 x 0.2 mm", 0.125, "m"),
        ("nickel strip, all pieces together", "8 x 0.2 mm", 0.13, "m"),
    ]
    assert "lengths 25.0 to 50.0 mm" in rows[0].note


def test_fasteners_are_counted_over_all_joints() -> None:
    """Equal screws of two joints are one line; nuts, inserts and washers follow the joints."""
    rows = {(row.item, row.size): row.count for row in screw_rows(USES)}
    assert rows == {
        ("socket head screws", "M3 x 8"): 14,
        ("socket head screws", "M3 x 70"): 6,
        ("socket head screws", "M5, 7 mm + frame"): 8,
        ("washers", "M5"): 8,
        ("hexagon nuts", "M3"): 10,
        ("heat-set inserts", "M3, hole 4 x 6.2"): 10,
    }


def test_inserts_of_another_length_are_another_line() -> None:
    """The hole's depth is that of the insert; without one, the table's."""
    lid = ScrewUse(where="lid", screw="M3", length_mm=6, count=8, into=Into.INSERT, grip_mm=3)
    short = replace(lid, insert_hole_deep_mm=3.5)
    sizes = [row.size for row in screw_rows([lid, short]) if row.item == "heat-set inserts"]
    assert sizes == ["M3, hole 4 x 6.2", "M3, hole 4 x 3.5"]


def test_mass_of_a_printed_part_is_volume_times_density() -> None:
    """10 cm3 of petg at 1.27 g/cm3, four of them."""
    row = printed_row("bracket", count=4, volume_mm3=10_000.0, material="petg", note="lying")
    assert "12.7 g each" in row.note
    assert "50.8 g in all" in row.note
    assert "lying" in row.note


def test_the_whole_bill_reads_back_as_written(tmp_path: Path) -> None:
    """CSV with one heading; commas in notes stay within their field; line feeds only."""
    sheet = sheet_row("insulating sheet", width_mm=80, length_mm=120.4, thick_mm=0.25, count=2)
    rows = bill_rows(
        PACK,
        cell_layout(),
        interconnect(strip(StripKind.ROW, 50.0, width_mm=6.0)),
        screw_uses=USES,
        printed=[printed_row("lid", count=1, volume_mm3=1000.0, material="petg")],
        others=[sheet, BillRow(item="glands", size="M16", count=2)],
    )
    write_bill(tmp_path / "bill.csv", rows)
    data = (tmp_path / "bill.csv").read_bytes()
    assert b"\r" not in data
    read = list(csv.reader(data.decode("utf-8").splitlines()))
    assert tuple(read[0]) == HEADING
    assert len(read) == len(rows) + 1
    for line, row in zip(read[1:], rows, strict=True):
        assert line[0] == row.item
        assert line[4] == row.note
        assert float(line[2]) == pytest.approx(row.count)
    assert ["insulating sheet", "120 x 80 x 0.25 mm", "2", "pcs", ""] in read
