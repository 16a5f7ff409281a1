"""``cellstead suggest`` from its arguments to its files and status."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest

from generators.cli import main
from generators.packfile.resolve import read_pack

SMALL = (
    *("--box", "165x110x90", "--along", "z", "--volts", "14.4", "--wh", "65", "--jobs", "1"),
    *("--enclosure", "tub"),
)
CELLS = "format,chemistry,capacity_ah,continuous_a,mass_g,price_eur\n18650,nmc,3.0,9,47,2.5\n"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is the current one, with a list of cells."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "cells.csv").write_text(CELLS, encoding="utf-8")
    return tmp_path


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Status, stdout and stderr of a run."""
    status = main(["suggest", *words])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.mark.slow
def test_a_box_gets_its_rows_files_and_pack(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Table, CSV, plot, JSON; a written row is a sound pack file, and is never written over."""
    words = (*SMALL, "--cells", "cells.csv", "--write", "1")
    status, out, err = told(capsys, *words)
    assert (status, err) == (0, "")
    folder = here / "out" / "box-165x110x90-suggest"
    names = {file.name for file in folder.iterdir()}
    assert names == {"suggest.json", "suggestions.csv", "suggestions.svg"}
    rows = list(csv.DictReader((folder / "suggestions.csv").open(encoding="utf-8")))
    values = json.loads((folder / "suggest.json").read_text(encoding="utf-8"))
    assert [row["row"] for row in values["rows"]] == [int(row["row"]) for row in rows]
    first = rows[0]
    assert f"{first['series']}S{first['parallel']}P" in out
    assert float(first["cost_eur"]) == 2.5 * int(first["cells"])
    assert out.count("caution: spare mm") == 1
    (written,) = here.glob("*.yaml")
    pack = read_pack(written).pack
    assert (pack.series, pack.parallel) == (int(first["series"]), int(first["parallel"]))
    assert pack.space is not None
    assert pack.space.box_mm == (165.0, 110.0, 90.0)

    written.write_text("dear to me", encoding="utf-8")
    status, out, err = told(capsys, *words)
    assert status == 2
    assert "exists already and is not replaced" in err
    assert written.read_text(encoding="utf-8") == "dear to me"
    assert "written" in out  # the result itself is renewed


@pytest.mark.slow
def test_nothing_fits_is_status_1_and_says_what_comes_nearest(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By how much it misses, along which sides; no row can be written."""
    words = (*SMALL, "--box", "165x85x90")
    status, _, err = told(capsys, *words, "--cells", "cells.csv")
    assert status == 1
    assert re.match(r"nothing fits: closest is 4S[2-9]P of 18650 nmc on a (grid|honeycomb)", err)
    assert " mm along " in err
    (folder,) = (here / "out").iterdir()
    assert [file.name for file in folder.iterdir()] == ["suggest.json"]
    status, _, err = told(capsys, *words, "--cells", "cells.csv", "--write", "1")
    assert status == 2
    assert "no such row (1), no row can be written" in err


def test_volts_that_no_cell_gives_are_told(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The nearest number in series is named with its volts."""
    status, _, err = told(capsys, "--box", "300x300x200", "--volts", "1", "--jobs", "1")
    assert status == 1
    assert "no cell of the list meets 1 V nominal" in err
    assert ": 2.5 V cut-off, 3.2 nominal, 3.6 full" in err


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("--volts", "36"), "give the space: either a file or --box AxBxC"),
        (("--box", "1x2", "--volts", "36"), "needs three sides (1x2)"),
        (("--box", "10x200x200", "--volts", "36"), "has a side that is not 20 to 5000 mm"),
        (("--box", "axbxc", "--volts", "36"), "is not a number (a)"),
        (("--box", "200x200x200"), "give the voltage: --volts V, --window LOW:HIGH or --charger V"),
        (("--box", "200x200x200", "--volts", "-3"), "must be more than 0 (-3)"),
        (("--box", "200x200x200", "--window", "42:30"), "needs LOW:HIGH, the low end first"),
        (("--box", "200x200x200", "--window", "42"), "needs LOW:HIGH"),
        ((*SMALL, "--write", "0"), "needs a row's number"),
        ((*SMALL, "--as", "x.yaml"), "--as goes with --write ROW"),
        ((*SMALL, "--cluster", "tcp://a:1"), "--jobs is for this machine"),
        (("--box", "200x200x200", "--volts", "7", "--jobs", "0"), "needs a number from 1 to 256"),
    ],
)
def test_arguments_that_can_t_be_used_are_one_line(
    words: tuple[str, ...], line: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Status 2, what is wrong, and nothing written."""
    status, _, err = told(capsys, *words)
    assert status == 2
    assert line in err
    assert err.count("\n") == 1
    assert not (here / "out").exists()


def test_a_bad_list_is_told_by_its_lines(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Status 2 with file and line."""
    (here / "cells.csv").write_text(CELLS + "18650,nmc,x,9,47,1\n", encoding="utf-8")
    status, _, err = told(capsys, *SMALL, "--cells", "cells.csv")
    assert status == 2
    assert err.startswith("cells.csv:3: capacity_ah: is not a number (x)")


def test_an_unreachable_cluster_leaves_the_last_result(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line, status 2, the folder as it was."""
    pytest.importorskip("distributed")
    monkeypatch.setattr("generators.suggesting.running.CONNECT_S", 0.5)
    folder = here / "out" / "box-165x110x90-suggest"
    folder.mkdir(parents=True)
    (folder / "suggest.json").write_text("the last one", encoding="utf-8")
    words = [word for word in SMALL if word not in ("--jobs", "1")]
    status, out, err = told(capsys, *words, "--cluster", "tcp://127.0.0.1:9")
    assert (status, out) == (2, "")
    assert "no Dask scheduler can be reached (tcp://127.0.0.1:9)" in err
    assert err.count("\n") == 1
    assert (folder / "suggest.json").read_text(encoding="utf-8") == "the last one"


def test_a_folder_of_someone_else_s_is_not_replaced(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder in the result's place that holds something else is refused before the work."""
    folder = here / "out" / "box-165x110x90-suggest"
    folder.mkdir(parents=True)
    (folder / "letters.txt").touch()
    status, _, err = told(capsys, *SMALL)
    assert status == 2
    assert "contains something other than an earlier result" in err


@pytest.mark.slow
@pytest.mark.parametrize("row", [1, 2])
def test_a_written_pack_is_made_and_fits_as_told(
    row: int, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Made for real, all checks hold; gap and mass are those of the row."""
    words = (*SMALL, "--cells", "cells.csv", "--write", str(row), "--as", "one.yaml")
    assert told(capsys, *words)[0] == 0
    table = here / "out" / "box-165x110x90-suggest" / "suggestions.csv"
    told_row = list(csv.DictReader(table.open(encoding="utf-8")))[row - 1]
    assert main(["make", "one.yaml"]) == 0
    name = read_pack(here / "one.yaml").pack.name
    result = json.loads((here / "out" / name / "result.json").read_text(encoding="utf-8"))
    gap, mass_kg = result["space"]["smallest_gap_mm"], result["mass"]["total_g"] / 1000
    assert gap == pytest.approx(float(told_row["smallest_gap_mm"]), abs=0.05)
    assert mass_kg == pytest.approx(float(told_row["mass_kg"]), rel=0.03)
