"""Lists of measured cells: headings, units and every fault at its line. All cells are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators.packfile.cell_lot import read_cell_list
from generators.packfile.faults import PackFileError
from tests.generators.packfile.files import PLAIN, read

CELL = read(PLAIN).pack.cell
HEAD = "label,capacity_mah,internal_resistance_mohm,rested_v\n"
ROWS = "a1,4750,14.2,3.601\na2,4801,13.9,3.602\na3,4699,14.6,3.600\n"


def faults_of(text: str | bytes, folder: Path) -> list[str]:
    """The faults of a list, without the folder's name."""
    file = folder / "cells.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(PackFileError) as caught:
        read_cell_list(file, CELL)
    return [line.removeprefix(f"{folder}/cells.csv:") for line in caught.value.lines()]


@pytest.mark.parametrize(
    ("heading", "rows"),
    [
        (HEAD, ROWS),
        ("Label,Capacity (mAh),Internal resistance [m\N{GREEK CAPITAL LETTER OMEGA}],Rested "
         "V\n", ROWS),
        ("label,capacity_Ah,internal resistance mohm,RESTED_V\n",
         "a1,4.750,14.2,3.601\na2,4.801,13.9,3.602\na3,4.699,14.6,3.600\n"),
        ("# of the second lot\n\nslot,label,capacity_mah,internal_resistance_mohm,rested_v\n",
         "1,a1,4750,14.2,3.601\n2,a2,4801,13.9,3.602\n3,a3,4699,14.6,3.600\n"),
    ],
)  # fmt: skip
def test_a_list_is_read_in_either_unit(heading: str, rows: str, tmp_path: Path) -> None:
    """Whatever case and brackets; lines of remarks and further columns are passed over."""
    file = tmp_path / "cells.csv"
    file.write_text("\ufeff" + heading + rows, encoding="utf-8")
    found = read_cell_list(file, CELL)
    assert found.lot.labels == ("a1", "a2", "a3")
    assert found.lot.capacity_ah == pytest.approx([4.75, 4.801, 4.699])
    assert found.lot.resistance_mohm == pytest.approx([14.2, 13.9, 14.6])
    assert found.lot.rested_v == pytest.approx([3.601, 3.602, 3.6])
    assert found.lot.direct_current
    assert found.unread == (("slot",) if "slot" in heading else ())
    first = (heading + rows).splitlines().index(rows.splitlines()[0]) + 1
    assert found.lines == (first, first + 1, first + 2)


def test_resistance_at_1_khz_is_known_by_its_heading(tmp_path: Path) -> None:
    """As the pack file calls it."""
    file = tmp_path / "cells.csv"
    file.write_text((HEAD + ROWS).replace("internal_", "ac_"), encoding="utf-8")
    assert not read_cell_list(file, CELL).lot.direct_current


@pytest.mark.parametrize(
    ("row", "told"),
    [
        (",4750,14.2,3.6", "5: label: is empty, write what stands on the cell"),
        ("a1,4750,14.2,3.6", "5: label: stands in line 2 too (a1), give every cell a label "
         "of its own"),
        ("a-label-of-17-abc,4750,14.2,3.6",
         "5: label: is longer than 16 characters, or has signs that can't be printed "
         "(a-label-of-17-abc), write a short label of letters and digits, on the cell too"),
        ("\N{GREEK SMALL LETTER ALPHA}4,4750,14.2,3.6",
         "5: label: is longer than 16 characters, or has signs that can't be printed "
         "(\N{GREEK SMALL LETTER ALPHA}4), write a short label of letters and digits, on "
         "the cell too"),
        ("a4,4750mAh,14.2,3.6",
         "5: capacity_mah: is not a number (4750mAh), write a number with a point, no unit, "
         "or delete "
         "the cell's line"),
        ("a4,4750,,3.6",
         "5: internal_resistance_mohm: is empty, write a number with a point, no unit, or delete "
         "the cell's line"),
        ("a4,nan,14.2,3.6",
         "5: capacity_mah: is not a number (nan), write a number with a point, no unit, or delete "
         "the cell's line"),
        ("a4,4750,0,3.6", "5: internal_resistance_mohm: is 0 (0), measure the cell again"),
        ("a4,-4750,14.2,3.6", "5: capacity_mah: is below 0 (-4750), measure the cell again"),
        ("a4,4.75,14.2,3.6",
         "5: capacity_mah: is out by more than 100 times from the median of 4724 (4.75), "
         "write it in the "
         "column's unit, or measure the cell again"),
        ("a4,4750,0.0142,3.6",
         "5: internal_resistance_mohm: is out by more than 100 times from the median of "
         "14.05 (0.0142), "
         "write it in the column's unit, or measure the cell again"),
        ("a4,4750,14.2,3601",
         "5: rested_v: is more than 4.41 V, above a full cell's 4.2 (3601), write volts, or "
         "recycle the cell"),
        ("a4,4,750,14.2,3.6",
         "5: row: has 5 entries for 4 columns (a4,4,750,14.2,3.6), put commas between "
         "entries, quotes "
         "round commas, points in numbers"),
    ],
)  # fmt: skip
def test_a_fault_of_a_row_has_its_line_value_and_remedy(
    row: str, told: str, tmp_path: Path
) -> None:
    """Each kind of fault, as it is told."""
    assert faults_of(HEAD + ROWS + row + "\n", tmp_path) == [told]


@pytest.mark.parametrize(
    ("heading", "told"),
    [
        ("label,capacity,internal_resistance_mohm,rested_v",
         "1: capacity: is not a known column, write capacity_mah or capacity_ah: the unit "
         "belongs to it"),
        ("label,capacity_wh,internal_resistance_mohm,rested_v",
         "1: capacity_wh: is not a known column, write capacity_mah or capacity_ah: the unit "
         "belongs to it"),
        ("label,capacity_mah,IR,rested_v",
         "1: ir: is not a known column (IR), write ac_resistance_mohm for a 1 kHz meter, "
         "internal_resistance_mohm for a measurement with direct current, in mohm"),
        ("label,capacity_mah,internal_resistance_ohm,rested_v",
         "1: internal_resistance_ohm: is not a known column, write "
         "ac_resistance_mohm for a 1 kHz meter, internal_resistance_mohm for a measurement "
         "with direct "
         "current, in mohm"),
        ("label,capacity_mah,internal_resistance_mohm,rested_mv",
         "1: rested_mv: is not a known column, write rested_v: volts after the rest"),
        ("date,capacity_mah,internal_resistance_mohm,rested_v",
         "1: label: is missing from the first line, write label: what stands on each cell"),
        ("label,capacity_mah,capacity_ah,rested_v",
         "1: capacity_mah: stands beside capacity_ah, keep one of the two"),
        ("label,label,internal_resistance_mohm,rested_v",
         "1: header: has a column twice (label), keep one of them"),
        ("label;capacity_mah;internal_resistance_mohm;rested_v",
         "1: file: uses ; as separator, use commas as separators and points in numbers"),
        ("label,capacity_ah,internal_resistance_mohm,rested_v",
         "1: capacity_ah: has a median of 4750, where cells of 21700 and nmc have 1.26 to "
         "6.55 (common "
         "practice, no source), check the column's unit, and format and chemistry of the "
         "pack file's cell"),
    ],
)  # fmt: skip
def test_a_fault_of_the_first_line_is_told(heading: str, told: str, tmp_path: Path) -> None:
    """Units that are missing or others, columns that lack or stand twice."""
    lines = faults_of(f"{heading}\n{ROWS}", tmp_path)
    assert told in lines


def test_columns_in_another_unit_are_found_by_their_medians(tmp_path: Path) -> None:
    """Ohms under mohm and millivolts under V: one fault a column, not one a cell."""
    rows = "a1,4750,0.0142,3601\na2,4801,0.0139,3602\na3,4699,0.0146,3600\n"
    ohms, volts = faults_of(HEAD + rows, tmp_path)
    assert ohms.startswith(
        "1: internal_resistance_mohm: has a median of 0.0142, where cells of 21700"
    )
    assert volts == (
        "1: rested_v: has a median of 3601, where a full cell has 4.2 V, write volts, and check "
        "the chemistry of the pack file's cell"
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "1: file: is empty, begin with a line label,capacity_mah,ac_resistance_mohm,rested_v"),
        (HEAD, "1: file: lists no cell, add a line for each cell"),
        (HEAD.encode() + b"a1,\xff\n", "2: file: is not UTF-8 text, save it as UTF-8 CSV"),
        (HEAD + 'a1,"4750\n', "2: file: is not a CSV table (unexpected end of data), write one "
         "line a cell, commas between"),
        (HEAD + "".join(f"c{k},4750,14,3.6\n" for k in range(10_001)),
         "10002: file: lists too many cells (10,001), keep 10,000"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_list_is_told(text: str | bytes, told: str, tmp_path: Path) -> None:
    """Empty, no text, no table, too long."""
    assert faults_of(text, tmp_path) == [told]


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    """By its name, with the way out."""
    with pytest.raises(PackFileError) as caught:
        read_cell_list(tmp_path / "none.csv", CELL)
    (line,) = caught.value.lines()
    assert line.endswith("none.csv:1: file: can't be read (No such file or directory), "
                         "give the path of a CSV file")  # fmt: skip


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    """In order of their lines."""
    lines = faults_of(HEAD + "a1,x,14,3.6\n,4750,14,3.6\na1,4750,y,3.6\n", tmp_path)
    assert [line.split(":")[0] for line in lines] == ["2", "3", "4", "4"]
