"""The table of sorted cells as the pack file names it. All cells are invented."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import read_pack
from generators.packfile.sorted_table import sorted_table_text
from layouts.pack import MeasuredCells

FILE = (
    'name: small\ncell: {format: "21700", chemistry: nmc, capacity_ah: 4.8}\nseries: 2\n'
    "parallel: 2\nmeasured_cells: sorted/cells.csv\n"
)
AGAIN = "take measured_cells out of the pack file, run cellstead sort, then name its new table"
CELLS = MeasuredCells(
    labels=("a", "b, upper", "c", "d"),
    xy_mm=((-10.5, -0.25), (10.5, -0.0), (-10.5, 20.0), (10.5, 20.0)),
    capacity_ah=(4.7, 4.8, 4.75, 4.7512),
    resistance_mohm=(14.25, 13.9, 15.0, 14.0),
)


def table() -> str:
    """The four cells as they are written."""
    return sorted_table_text(
        CELLS, parallel=2, measured_mohm=(9.0, 8.9, 9.4, 9.0), rested_v=(3.6, 3.6, 3.6, 3.6)
    )


def read_with(text: str | None, folder: Path, pack: str = FILE) -> MeasuredCells | None:
    """The measured cells of a pack file beside a table; None: there is no table."""
    (folder / "sorted").mkdir(exist_ok=True)
    if text is not None:
        (folder / "sorted" / "cells.csv").write_text(text, encoding="utf-8")
    (folder / "pack.yaml").write_text(pack, encoding="utf-8")
    return read_pack(folder / "pack.yaml").pack.measured_cells


def faults_of(text: str | None, folder: Path, pack: str = FILE) -> list[str]:
    """The faults, without the folder's name."""
    with pytest.raises(PackFileError) as caught:
        read_with(text, folder, pack)
    return [line.removeprefix(f"{folder}/") for line in caught.value.lines()]


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    """Labels with commas too; a pack file without the key has none."""
    assert read_with(table(), tmp_path) == replace(
        CELLS, xy_mm=((-10.5, -0.25), (10.5, 0.0), (-10.5, 20.0), (10.5, 20.0))
    )
    assert read_with(None, tmp_path, FILE.replace("measured_cells", "# measured_cells")) is None


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("3,2,c", "4,2,c", "sorted/cells.csv:4: site: is not 3 (4)"),
        ("3,2,c", "3,1,c", "sorted/cells.csv:4: group: is not 2 (1)"),
        ("3,2,c", "3,2,a", "sorted/cells.csv:4: label: stands there twice (a)"),
        ("3,2,c", "3,2,", "sorted/cells.csv:4: label: is empty"),
        (",15,", ",0,", "sorted/cells.csv:4: direct_mohm: is not a number above 0 (0)"),
        ("4.75,", "much,", "sorted/cells.csv:4: capacity_ah: is not a number above 0 (much)"),
        ("20.000,plus", "up,plus", None),
        ("x_mm", "x", "sorted/cells.csv:1: header: lacks columns (x_mm)"),
    ],
)
def test_a_fault_of_the_table_has_its_own_file_and_line(
    old: str, new: str, told: str | None, tmp_path: Path
) -> None:
    """Whoever edits it is told, and that sorting again is the way out."""
    text = table().replace(old, new)
    if told is None:  # nothing was replaced: group 2 stands minus up
        assert text == table()
        text = table().replace("20.000,minus", "up,minus", 1)
        told = "sorted/cells.csv:4: y_mm: is not a number (up)"
    assert faults_of(text, tmp_path) == [f"{told}, {AGAIN}"]


def test_a_table_of_another_pack_is_refused(tmp_path: Path) -> None:
    """Another number of cells: the way out works with this very pack file."""
    (line,) = faults_of(table(), tmp_path, FILE.replace("parallel: 2", "parallel: 3"))
    assert line == (
        "sorted/cells.csv:1: site: has 4 cells for a pack of 2S3P, which has 6, " + AGAIN
    )


@pytest.mark.parametrize(
    ("pack", "told"),
    [
        (FILE, "pack.yaml:5: measured_cells: is not a file (sorted/cells.csv), run cellstead sort "
         "without this key, then name its table, as seen from here"),
        (FILE.replace("sorted/cells.csv", '" x"'), "pack.yaml:5: measured_cells: is not the "
         "path of a "
         "file ( x), write it relative to this file's folder, such as sorted-cells.csv"),
        (FILE.replace("series: 2", "series: 0"), "pack.yaml:3: series: must be at least 1 "
         "(0), use at "
         "least 1"),
    ],
)  # fmt: skip
def test_a_table_that_is_not_there_is_told(pack: str, told: str, tmp_path: Path) -> None:
    """At the key's line; a fault of series or parallel is told alone."""
    assert faults_of(None, tmp_path, pack) == [told]
