"""``cellstead sort`` as a command: what it writes, says and refuses. All cells are invented."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pdfplumber
import pytest

from generators.cli import main
from generators.packfile.examples import example_text
from generators.packfile.resolve import read_pack

PACK = (
    'name: small\ncell: {format: "21700", chemistry: nmc, capacity_ah: 4.8, continuous_a: 15,'
    " internal_resistance_mohm: 14}\nseries: 3\nparallel: 2\n"
)
HEAD = "label,capacity_mah,internal_resistance_mohm,rested_v\n"
AH = (4750, 4801, 4699, 4820, 4777, 4730, 4762, 4200, 4790)
FILES = {"sorted-cells.csv", "plan.svg", "plan.pdf", "labels.pdf", "sort.json"}


def saved(folder: Path, *, cells: int = 9) -> tuple[str, str]:
    """A list of some of nine cells, of which one is worn and one has lost volts, and a pack."""
    rows = [
        f"c{k},{mah},{14 + 0.1 * k:.1f},{3.55 if k == 2 else 3.6}\n" for k, mah in enumerate(AH)
    ]
    (folder / "cells.csv").write_text(HEAD + "".join(rows[:cells]), encoding="utf-8")
    (folder / "pack.yaml").write_text(PACK, encoding="utf-8")
    return str(folder / "cells.csv"), str(folder / "pack.yaml")


def result(folder: Path) -> dict[str, Any]:
    """What the command found."""
    text = (folder / "out" / "small-sort" / "sort.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def test_every_cell_has_its_place_in_table_plan_and_labels(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same labels in all files, rejected and spare cells named with their reasons."""
    cells, pack = saved(tmp_path)
    assert main(["sort", cells, pack, "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    folder = tmp_path / "out" / "small-sort"
    assert {one.name for one in folder.iterdir()} == FILES
    row = result(tmp_path)
    assert [one["label"] for one in row["rejected"]] == ["c2", "c7"]
    assert row["rejected"][0]["reasons"] == [
        "rested at 3.550 V, 50 mV below the median: self-discharge"
    ]
    assert "rejected: c7: capacity 4.200 Ah is 11.8 % below the median of 4.762: worn" in said
    assert row["rejected"][1]["line"] == 9
    assert (row["cells_listed"], len(row["spare"])) == (9, 1)
    with open(folder / "sorted-cells.csv", encoding="utf-8", newline="") as stream:
        table = list(csv.DictReader(stream))
    labels = [one["label"] for one in table]
    assert sorted([*labels, *row["spare"], "c2", "c7"]) == [f"c{k}" for k in range(9)]
    assert [label for group in row["groups"] for label in group["labels"]] == labels
    totals = [sum(AH[int(one[1:])] for one in labels[k : k + 2]) / 1000 for k in (0, 2, 4)]
    assert row["sorted"]["smallest_ah"] == pytest.approx(min(totals))
    assert row["sorted"]["capacity_ratio"] <= row["random_mean"]["capacity_ratio"]
    svg = (folder / "plan.svg").read_text(encoding="utf-8")
    assert all(f">{label}</text>" in svg for label in labels)
    with pdfplumber.open(folder / "labels.pdf") as pdf:
        text = pdf.pages[0].extract_text()
    assert len(pdf.pages) == 1
    assert all(label in text for label in labels)
    assert "group 2, site 3, \N{EN DASH} up" in text
    assert f"spare: {row['spare'][0]}" in said
    assert "write measured_cells: out/small-sort/sorted-cells.csv, then cellstead make" in said


def test_the_line_that_is_told_makes_the_pack_take_the_table(tmp_path: Path) -> None:
    """Added to the pack file as it is told; the values are those of the list."""
    cells, pack = saved(tmp_path)
    assert main(["sort", cells, pack, "--out", str(tmp_path / "out")]) == 0
    line = "measured_cells: out/small-sort/sorted-cells.csv\n"
    Path(pack).write_text(PACK + line, encoding="utf-8")
    measured = read_pack(pack).pack.measured_cells
    assert measured is not None
    for label, ah, mohm in zip(
        measured.labels, measured.capacity_ah, measured.resistance_mohm, strict=True
    ):
        assert ah == pytest.approx(AH[int(label[1:])] / 1000)
        assert mohm == pytest.approx(14 + 0.1 * int(label[1:]))
    assert main(["check", pack]) == 0


@pytest.mark.slow
def test_make_tells_labels_and_measured_capacity(tmp_path: Path) -> None:
    """The whole way: sorted, named, made; each cell of result.json has its label."""
    cells, pack = saved(tmp_path)
    words = ["--out", str(tmp_path / "out")]
    assert main(["sort", cells, pack, *words]) == 0
    line = "measured_cells: out/small-sort/sorted-cells.csv\nenclosure: {style: none}\n"
    Path(pack).write_text(PACK + line, encoding="utf-8")
    measured = read_pack(pack).pack.measured_cells
    assert measured is not None
    assert main(["make", pack, *words]) in (0, 1)
    made = json.loads((tmp_path / "out" / "small" / "result.json").read_text(encoding="utf-8"))
    assert [one["label"] for one in made["cells"]] == list(measured.labels)
    smallest = result(tmp_path)["sorted"]["smallest_ah"]
    assert made["electrical"]["capacity_ah"] == pytest.approx(smallest, rel=1e-4)
    (check,) = (one for one in made["checks"] if one["id"] == "sorted_places")
    assert check["holds"]
    report = (tmp_path / "out" / "small" / "report.html").read_text(encoding="utf-8")
    assert "each goes to the site that plan.pdf and labels.pdf tell" in report


def test_the_same_list_gives_the_same_bytes_and_keeps_what_is_the_users(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A note in the folder moves along, a changed table is kept beside the new one."""
    cells, pack = saved(tmp_path)
    words = ["sort", cells, pack, "--out", str(tmp_path / "out")]
    folder = tmp_path / "out" / "small-sort"
    assert main(words) == 0
    first = {one.name: one.read_bytes() for one in folder.iterdir()}
    (folder / "note.txt").write_text("mine", encoding="utf-8")
    with open(folder / "sorted-cells.csv", "a", encoding="utf-8") as stream:
        stream.write("# mine\n")
    capsys.readouterr()
    assert main(words) == 0
    assert {name: (folder / name).read_bytes() for name in FILES} == first
    assert (folder / "note.txt").read_text(encoding="utf-8") == "mine"
    assert (folder / "sorted-cells-kept.csv").read_text(encoding="utf-8").endswith("# mine\n")
    assert "kept what no run has written" in capsys.readouterr().out


def test_a_folder_that_is_no_result_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Refused before anything is written."""
    cells, pack = saved(tmp_path)
    theirs = tmp_path / "out" / "small-sort"
    theirs.mkdir(parents=True)
    (theirs / "sorted-cells.csv").write_text("mine", encoding="utf-8")
    assert main(["sort", cells, pack, "--out", str(tmp_path / "out")]) == 2
    assert "contains something other than an earlier result" in capsys.readouterr().err
    assert [one.name for one in theirs.iterdir()] == ["sorted-cells.csv"]


def test_too_few_cells_are_counted_and_the_rejected_ones_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Needed, listed, rejected, missing; nothing is written."""
    cells, pack = saved(tmp_path, cells=7)
    words = ["sort", cells, pack, "--out", str(tmp_path / "out"), "--capacity-below", "0.6"]
    assert main(words) == 2
    lines = capsys.readouterr().err.splitlines()
    assert lines == [
        f"{cells}:1: cells: are too few: 6 needed, 7 listed, 2 rejected, 1 missing, add 1 good "
        "cells to the list",
        f"{cells}:4: rejected: capacity 4.699 Ah is 1.3 % below the median of 4.762: worn; rested "
        "at 3.550 V, 50 mV below the median: self-discharge (c2), measure it again, or "
        "leave it out",
        f"{cells}:7: rejected: capacity 4.730 Ah is 0.7 % below the median of 4.762: worn (c5), "
        "measure it again, or leave it out",
    ]
    assert not (tmp_path / "out").exists()


def test_bands_are_set_by_their_flags(tmp_path: Path) -> None:
    """Wider ones take more cells, a narrower one fewer."""
    cells, pack = saved(tmp_path)
    words = ["sort", cells, pack, "--out", str(tmp_path / "out")]
    assert main([*words, "--volts-off", "60"]) == 0
    assert "c2" not in [one["label"] for one in result(tmp_path)["rejected"]]
    bands = ["--volts-off", "60", "--capacity-below", "15", "--resistance-off", "2.5"]
    assert main([*words, *bands]) == 0
    assert {one["label"]: one["reasons"] for one in result(tmp_path)["rejected"]} == {
        "c0": ["resistance 14.00 mohm is 2.8 % below the median of 14.40: another kind of cell"],
        "c8": ["resistance 14.80 mohm is 2.8 % above the median of 14.40: worn, or poor contact"],
    }


def test_a_capacity_unlike_the_pack_files_is_noted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Twentieths off, not less; columns that are not used are named too."""
    cells, pack = saved(tmp_path)
    words = ["sort", cells, pack, "--out", str(tmp_path / "out")]
    assert main(words) == 0
    assert "note:" not in capsys.readouterr().out
    Path(pack).write_text(PACK.replace("capacity_ah: 4.8", "capacity_ah: 5.2"), encoding="utf-8")
    rows = Path(cells).read_text(encoding="utf-8").splitlines()
    text = "\n".join([f"{rows[0]},slot", *(f"{row},1" for row in rows[1:])])
    Path(cells).write_text(text + "\n", encoding="utf-8")
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "note: the median capacity is 4.76 Ah, cell.capacity_ah is 5.2" in said
    assert "note: columns not read: slot" in said


@pytest.mark.parametrize(
    ("flag", "told"),
    [
        (["--volts-off", "0"], "--volts-off: must be 1 to 1000 mV (0)"),
        (["--capacity-below", "x"], "--capacity-below: must be 0.5 to 90 percent (x)"),
        (["--resistance-off", "nan"], "--resistance-off: must be 0.5 to 90 percent (nan)"),
    ],
)
def test_a_band_that_is_none_is_told(
    flag: list[str], told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A fault in the arguments, in one line."""
    assert main(["sort", *saved(tmp_path), *flag]) == 2
    assert told in capsys.readouterr().err


def test_the_example_list_goes_with_the_first_example(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Forty cells of 46, three of them rejected, each for another reason; letter paper too."""
    for name in ("orchard-trolley.yaml", "orchard-cells.csv"):
        (tmp_path / name).write_text(example_text(name.removesuffix(".yaml")), encoding="utf-8")
    words = [str(tmp_path / name) for name in ("orchard-cells.csv", "orchard-trolley.yaml")]
    assert main(["sort", *words, "--paper", "letter", "--out", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "40 cells of 46 in 10 groups of 4, 3 rejected, 3 spare" in said
    for reason in ("below the median of 4.723: worn", "poor contact", "self-discharge"):
        assert reason in said
