"""``cellstead dummy`` as a command: what it writes, and how it says no."""

from __future__ import annotations

import argparse
import json
from functools import partial
from pathlib import Path

import pytest

from generators.commands.dummy import declare
from generators.dummy import making
from generators.outfolder import OutputFolderError
from generators.packfile.faults import PackFileError
from tests.generators.dummy.small import SMALL

WIDE_NOZZLE = "printer: {nozzle_mm: 0.8, layer_mm: 0.4}\nholder: {web_mm: 1.6}\n"


def run(tmp_path: Path, text: str, *arguments: str) -> int:
    """The command on a pack file's text; its exit status."""
    file = tmp_path / "pack.yaml"
    file.write_text(text, encoding="utf-8")
    parser = argparse.ArgumentParser()
    declare(parser.add_subparsers())
    parsed = parser.parse_args(["dummy", str(file), "--out", str(tmp_path / "out"), *arguments])
    status: int = parsed.run(parsed, [])
    return status


def written(tmp_path: Path) -> set[str]:
    """Files of the result."""
    folder = tmp_path / "out" / "odd-pack-dummy"
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.slow
def test_print_and_sheets_of_a_small_pack(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Everything is written, reported with its figures, and holds."""
    monkeypatch.setattr(making, "compare", partial(making.compare, samples=800))
    assert run(tmp_path, SMALL) == 0
    files = written(tmp_path)
    assert {"dummy.json", "sheets.pdf", "sheets.dxf", "print/base.stl", "print/cap.3mf",
            "print/plates/plate-1.3mf", "print/guide.txt"} <= files  # fmt: skip
    row = json.loads((tmp_path / "out" / "odd-pack-dummy" / "dummy.json").read_text("utf-8"))
    assert row["print"]["share_of_pack"] <= 0.15
    assert all(check["holds"] for check in row["checks"]) and len(row["checks"]) == 4
    assert {p["name"] for p in row["print"]["pieces"]} == {
        f.removeprefix("print/").removesuffix(".stl") for f in files if f.endswith(".stl")
    }
    told = capsys.readouterr().out
    assert "% of the pack's filament" in told and "pieces of card 3 mm" in told
    assert told.splitlines()[-1].endswith("odd-pack-dummy: everything holds")


@pytest.mark.slow
def test_sheets_alone_for_letter_and_thin_card(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """--sheets leaves the print out; paper and card are taken; a former name is told."""
    text = SMALL + "mount: {offers: plate}\n"
    assert run(tmp_path, text, "--sheets", "--paper", "letter", "--card", "1.5") == 0
    assert "mount.offers: renamed to mount.kind" in capsys.readouterr().out
    assert written(tmp_path) == {"dummy.json", "sheets.pdf", "sheets.dxf"}
    row = json.loads((tmp_path / "out" / "odd-pack-dummy" / "dummy.json").read_text("utf-8"))
    assert row["sheets"]["card_mm"] == 1.5 and row["sheets"]["paper"] == "letter"


@pytest.mark.slow
def test_too_much_filament_is_status_1_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Walls of one wide line weigh too much: the files are written, the check is reported."""
    monkeypatch.setattr(making, "compare", partial(making.compare, samples=300))
    status = run(tmp_path, SMALL + WIDE_NOZZLE, "--print")
    said = capsys.readouterr().err.splitlines()
    assert status == 1
    assert said[0].startswith("failed checks: dummy_filament")
    assert any(line.strip().startswith("dummy_filament: filament") for line in said[1:])
    assert "print/base.stl" in written(tmp_path)


def test_a_pack_without_enclosure_is_refused(tmp_path: Path) -> None:
    """There is no outside to copy: one line that names the field, and nothing is written."""
    with pytest.raises(PackFileError) as caught:
        run(tmp_path, SMALL + "enclosure: {style: none}\n")
    assert any("enclosure.style" in line for line in caught.value.lines())
    assert not (tmp_path / "out" / "odd-pack-dummy").exists()


@pytest.mark.parametrize("card", ["0.1", "9", "thick", "nan"])
def test_card_that_is_none_is_refused(
    tmp_path: Path, card: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A thickness out of reason ends with status 2 and says the remedy."""
    with pytest.raises(SystemExit) as caught:
        run(tmp_path, SMALL, "--card", card)
    assert caught.value.code == 2
    assert "0.3 to 8 mm" in capsys.readouterr().err


def test_a_foreign_folder_is_left_alone(tmp_path: Path) -> None:
    """A folder of that name with something else in it is not replaced."""
    folder = tmp_path / "out" / "odd-pack-dummy"
    folder.mkdir(parents=True)
    (folder / "mine.txt").write_text("keep", encoding="utf-8")
    with pytest.raises(OutputFolderError, match="something other than"):
        run(tmp_path, SMALL, "--sheets")
    assert (folder / "mine.txt").read_text(encoding="utf-8") == "keep"
