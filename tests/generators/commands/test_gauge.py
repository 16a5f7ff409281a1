"""``cellstead gauge`` as a command: what it writes, says and refuses. All values are invented."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pdfplumber
import pytest

from generators.cli import main
from tests.generators.gauges.test_form import BLANK, FILLED, filled
from tests.generators.gauges.test_round_trip import PACK

FILES = {
    "fit-gauge.stl", "fit-gauge.3mf", "fit-gauge.step", "sheet.pdf", "readings.yaml", "gauge.json",
}  # fmt: skip
HAND = FILLED | {"took_can": "[10, 20, 30, 40]"}


def saved(folder: Path, text: str, name: str = "readings.yaml") -> str:
    """A file's path."""
    (folder / name).write_text(text, encoding="utf-8")
    return str(folder / name)


def test_part_sheet_and_form_are_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With hours and grams; every blank of the form stands on the sheet."""
    pack = saved(tmp_path, PACK, "cart.yaml")
    out = tmp_path / "out"
    steps = ["--steps", "-0.1", "0", "0.1", "0.2", "0.3"]
    assert main(["gauge", pack, *steps, "--paper", "letter", "--out", str(out)]) == 0
    said = capsys.readouterr().out
    folder = out / "cart-gauge"
    assert {one.name for one in folder.iterdir()} == FILES
    row = json.loads((folder / "gauge.json").read_text(encoding="utf-8"))
    assert row["steps_mm"] == [-0.1, 0.0, 0.1, 0.2, 0.3]
    assert {one["path"] for one in row["files"]} == FILES - {"gauge.json"}
    assert "note: pockets begin at cell.diameter_mm, 21.3 mm: measure your can" in said
    assert f"About {60 * row['hours']:.0f} min and {row['filament_g']:.0f} g with 3 walls" in said
    form = (folder / "readings.yaml").read_text(encoding="utf-8")
    assert (
        "# some of [-10, 0, 10, 20, 30], drawn 21.2, 21.3, 21.4, 21.5, 21.6 mm\ntook_can:" in form
    )
    with pdfplumber.open(folder / "sheet.pdf") as pdf:
        pages = [page.extract_text() for page in pdf.pages]
    assert len(pages) == 2
    assert "long_x_mm (100)" in pages[0] and "print two, measure both" in pages[0].replace(
        "\n", " "
    )
    for line in form.split("drawn:")[0].splitlines():
        if line and not line.startswith("#"):
            assert line.rstrip(":") in pages[1]


def test_a_profile_that_is_there_is_kept_beside_the_new_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And told; the same text again changes nothing. Two prints are read together."""
    one = saved(tmp_path, filled(HAND))
    two = saved(tmp_path, filled(HAND | {"long_x_mm": "99.80"}), "second.yaml")
    profile = tmp_path / "printer-profile.yaml"
    assert main(["gauge", "--read", one, "--out", str(tmp_path)]) == 0
    first = profile.read_text(encoding="utf-8")
    # (21.15 + 21.25) / 2 x 0.996 - 21.16, and (99.72 - 99.6) / 2
    assert "hole_mm: -0.045  # +-0.07: " in first and "outside_mm: 0.06  # +-0.01: " in first
    assert "shrink_percent: [0.4, 0.2, 0]  # x +-0.04, y +-0.04, z not measured" in first
    assert "foot_mm: 0.15  # +-0.01: " in first and "measured: 2026-03-31\n" in first
    assert "filament: PETG, grey\n" in first
    assert main(["gauge", "--read", one, "--out", str(tmp_path)]) == 0
    assert "kept" not in capsys.readouterr().out
    profile.write_text("hole_mm: 0.2  # by hand\n", encoding="utf-8")
    assert main(["gauge", "--read", one, two, "--out", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert f"note: {profile}: was there already, kept as printer-profile-kept.yaml" in said
    kept = tmp_path / "printer-profile-kept.yaml"
    assert kept.read_text(encoding="utf-8") == "hole_mm: 0.2  # by hand\n"
    text = profile.read_text(encoding="utf-8")
    assert "by 2 prints of the fit gauge" in text and "one print" not in text
    assert "# the scale of 2 prints differs by 0.10 % along x or y" in text
    assert sorted(os.listdir(tmp_path)) == [
        "printer-profile-kept.yaml", "printer-profile.yaml", "readings.yaml", "second.yaml",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        (
            {"took_can": "[0, 10, 20, 30, 40]"},
            "took_can: tells no threshold: the can went into all pockets (0, 10, 20, 30, 40), move "
            "the steps: print again with --can 21.15 --steps -0.4 -0.3 -0.2 -0.1 0",
        ),
        (
            {"took_can": "[]"},
            "took_can: tells no threshold: the can went into no pocket (none), move the steps: "
            "print again with --can 21.15 --steps 0.4 0.5 0.6 0.7 0.8",
        ),
        (
            {"took_can": "[10, 30, 40]"},
            "took_can: can't be: pocket 10 took the can, the wider pocket 20 refused it, clean ",
        ),
        (
            {"long_y_mm": "9.992"},
            "long_y_mm: is off the 100 mm drawn by more than 5 (9.992), measure it again in mm",
        ),
    ],
)
def test_readings_that_tell_nothing_are_refused_at_their_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], changes: dict[str, str], told: str
) -> None:
    """Status 2 and no profile."""
    text = filled(HAND | changes)
    form = saved(tmp_path, text)
    assert main(["gauge", "--read", form, "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr()
    key = told.partition(":")[0]
    line = text.splitlines().index(f"{key}: {changes[key]}") + 1
    assert said.err.startswith(f"{form}:{line}: {told}")
    assert said.out == "" and not (tmp_path / "out").exists()


def test_faults_of_all_forms_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of the second too where the first is refused."""
    first = saved(tmp_path, BLANK)
    second = saved(tmp_path, filled(HAND | {"took_can": "[]"}), "second.yaml")
    assert main(["gauge", "--read", first, second, "--out", str(tmp_path / "out")]) == 2
    said = capsys.readouterr().err
    assert "readings.yaml:5: date: is blank" in said and "second.yaml:" in said


def test_no_text_of_a_form_gets_out_of_its_comment(tmp_path: Path) -> None:
    """A filament's name over two lines stays one comment."""
    form = saved(tmp_path, filled(HAND | {"filament": r'"PETG\nhole_mm: 3"'}))
    assert main(["gauge", "--read", form, "--out", str(tmp_path)]) == 0
    lines = (tmp_path / "printer-profile.yaml").read_text(encoding="utf-8").splitlines()
    assert lines[0].endswith(r"filament: PETG\nhole_mm: 3")
    assert [line for line in lines if line.startswith("hole_mm")] == [
        "hole_mm: -0.045  # +-0.07: holes come out less by it, in diameter"
    ]


def test_a_folder_in_the_profiles_place_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Refused, and nothing else is left behind."""
    form = saved(tmp_path, filled(HAND))
    (tmp_path / "out" / "printer-profile.yaml").mkdir(parents=True)
    assert main(["gauge", "--read", form, "--out", str(tmp_path / "out")]) == 2
    assert "--out: is a folder, where the profile goes" in capsys.readouterr().err
    assert os.listdir(tmp_path / "out") == ["printer-profile.yaml"]


def test_gauges_of_two_filaments_make_no_profile(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nor does one form given twice."""
    first = saved(tmp_path, filled(HAND))
    second = saved(tmp_path, filled(HAND | {"filament": "ASA"}), "second.yaml")
    out = tmp_path / "out"
    assert main(["gauge", "--read", first, second, "--out", str(out)]) == 2
    told = f"{second}:8: filament: is another one than {first} has (ASA), read each filament's"
    assert capsys.readouterr().err.startswith(told)
    again = str(tmp_path / "." / "readings.yaml")
    assert main(["gauge", "--read", first, again, "--out", str(out)]) == 2
    assert "--read: the same file twice is still one print" in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], "cellstead gauge: give either a pack file, or --read with filled forms, see "),
        (["cart.yaml", "--read", "r.yaml"], "cellstead gauge: give either a pack file, or --read"),
        (["--read", "r.yaml", "--can", "21"], "cellstead gauge: --can and --steps are for a new "),
        (
            ["cart.yaml", "--steps", "0", "0.1", "0.1", "0.2", "0.3"],
            "cellstead gauge: --steps must rise by 0.02 or more each (0 0.1 0.1 0.2 0.3), see ",
        ),
        (
            ["cart.yaml", "--steps", "0", "0.1", "0.2", "0.3", "0.355"],
            "cellstead gauge: argument --steps: must be whole hundredths of a mm (0.355), see ",
        ),
        (["cart.yaml", "--can", "wide"], "cellstead gauge: argument --can: must be a diameter of "),
    ],
)
def test_arguments_that_make_no_sense_are_refused(
    capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    """In one line, before any file is read."""
    assert main(["gauge", *arguments]) == 2
    assert capsys.readouterr().err.startswith(told)


def test_a_bed_that_is_too_small_is_refused_at_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written."""
    pack = saved(tmp_path, PACK + "printer: {bed_mm: [100, 120, 120]}\n", "cart.yaml")
    assert main(["gauge", pack, "--out", str(tmp_path / "out")]) == 2
    told = f"{pack}:5: printer.bed_mm: is too small for the fit gauge of 100 x 100 x 24 mm"
    assert capsys.readouterr().err.startswith(told)
    assert not (tmp_path / "out").exists()
