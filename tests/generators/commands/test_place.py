"""``cellstead place`` as a command: what it writes and says."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from generators.commands.place import declare
from tests.generators.packfile.files import PLAIN

SMALL = (
    PLAIN.replace("series: 10", "series: 3").replace("parallel: 4", "parallel: 2")
    + "enclosure: {style: none}\nspace: {box_mm: [120, 90, 90]}\n"
)


def test_cells_are_placed_and_a_former_name_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Picture and figures are written; the line of the excluded place stands among the words."""
    file = tmp_path / "pack.yaml"
    file.write_text(SMALL + "grouping: {forbid_mm: [[60, 45]]}\n", encoding="utf-8")
    parser = argparse.ArgumentParser()
    declare(parser.add_subparsers())
    words = ["place", str(file), "--quick", "--out", str(tmp_path / "out")]
    arguments = parser.parse_args(words)
    assert arguments.run(arguments, []) == 0
    folder = tmp_path / "out" / "my-pack-place"
    assert {one.name for one in folder.iterdir()} == {"place.json", "place.svg"}
    assert len(json.loads((folder / "place.json").read_text(encoding="utf-8"))["cells"]) == 6
    said = capsys.readouterr().out
    assert f"caution: {file}:7: grouping.forbid_mm: renamed to grouping.exclude_mm" in said
