"""Keys of a pack file changed in its text: only their lines differ, and every comment stays."""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from generators.fixes.steps import changes_words
from generators.packfile.examples import example_names, example_text
from generators.packfile.loader import load
from generators.page.desk import fix_edits
from generators.page.editing import EditError, edited, value_text
from generators.page.folder import FolderError
from generators.page.sheet import EMPTY, Sheet

SAMPLE = """\
# An invented file with every way of writing.
name: sample   # kept
cell: {format: "21700", mass_g: 69} # one line
series: 10

space:
  outline_mm: [[0, 0], [300, 0], [300, 180]] # three corners
  height_mm: 120   # from the drawing
  keep_out:
    # the rear axle
    - {name: bolt, box_mm: [[0, 0, 0], [9, 9, 9]]}
    - name: wheel # written over several lines
      cylinder:
        from_mm: [1, 2, 3]
        to_mm: [1, 2, 30]
        radius_mm: 4
mount:
# a comment at the margin
    holes_mm:
      - [0, 0]
      - [20, 0] # second
load:
  continuous_a: 20"""


def changes(before: str, after: str) -> tuple[list[str], list[str]]:
    """Lines that are gone, and new ones."""
    lines = list(difflib.ndiff(before.splitlines(), after.splitlines()))
    return [x[2:] for x in lines if x[0] == "-"], [x[2:] for x in lines if x[0] == "+"]


def leaves(values: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Path and value of everything that is no section and no list."""
    if isinstance(values, dict):
        for key, value in values.items():
            yield from leaves(value, (*path, key))
    elif isinstance(values, tuple):
        for k, value in enumerate(values):
            yield from leaves(value, (*path, k))
    else:
        yield path, values


@pytest.mark.parametrize(
    ("path", "value", "gone", "new"),
    [
        (("series",), 12, ["series: 10"], ["series: 12"]),
        (
            ("name",), "two words", ["name: sample   # kept"], ["name: two words   # kept"],
        ),
        (
            ("cell", "mass_g"), None,
            ['cell: {format: "21700", mass_g: 69} # one line'],
            ['cell: {format: "21700"} # one line'],
        ),
        (
            ("cell", "capacity_ah"), 4.5,
            ['cell: {format: "21700", mass_g: 69} # one line'],
            ['cell: {format: "21700", mass_g: 69, capacity_ah: 4.5} # one line'],
        ),
        (
            ("space", "outline_mm", 2), [310.0, 180],
            ["  outline_mm: [[0, 0], [300, 0], [300, 180]] # three corners"],
            ["  outline_mm: [[0, 0], [300, 0], [310, 180]] # three corners"],
        ),
        (("space", "keep_out", 1, "cylinder", "radius_mm"), 5.5, ["        radius_mm: 4"],
         ["        radius_mm: 5.5"]),
        (("space", "keep_out", 2), {"name": "chain", "box_mm": [[0, 0, 0], [1, 1, 1]]}, [],
         ["    - {name: chain, box_mm: [[0, 0, 0], [1, 1, 1]]}"]),
        (("space", "keep_out", 0), None,
         ["    - {name: bolt, box_mm: [[0, 0, 0], [9, 9, 9]]}"], []),
        (("mount", "holes_mm", 2), [40, 0], [], ["      - [40, 0]"]),
        (("mount", "screw"), "M5", [], ["    screw: M5"]),
        (("leads", "side"), "+x", [], ["", "leads:", '  side: "+x"']),
        (("load", "machine", "mass_kg"), 180, [], ["  machine:", "    mass_kg: 180"]),
        (("load",), None, ["load:", "  continuous_a: 20"], []),
        (("load", "continuous_a"), None, ["load:", "  continuous_a: 20"], []),
    ],
)  # fmt: skip
def test_a_change_touches_its_own_lines(
    path: tuple[Any, ...], value: Any, gone: list[str], new: list[str]
) -> None:
    """As written: beside it nothing, not even spaces before a comment."""
    after = edited(SAMPLE, path, value)
    assert changes(SAMPLE, after) == (gone, new)
    yaml.safe_load(after)  # a general reader takes it too


def test_every_value_of_every_example_can_be_changed_alone() -> None:
    """Each differs in one line, and a general reader finds the new value where it belongs."""
    count = 0
    for name in example_names():
        text = example_text(name)
        for path, _ in list(leaves(load(text.encode()).values))[::9]:
            after = edited(text, path, 17)
            gone, new = changes(text, after)
            assert len(gone) == len(new) == 1, path
            assert gone[0].partition("#")[2] == new[0].partition("#")[2]
            found: Any = yaml.safe_load(after)
            for key in path:
                found = found[key]
            assert found == 17
            count += 1
    assert count > 10


def test_what_cannot_be_changed_in_place_is_refused() -> None:
    """Broken YAML, no key, a key below a number: the text stays."""
    for text, path in (("name: [", ("name",)), ("series: 4\n", ("series", "deep", "key"))):
        with pytest.raises(EditError):
            edited(text, path, 1)


def test_line_breaks_of_another_system_stay() -> None:
    """Those that the file has are written."""
    text = "name: a\r\nseries: 3\r\n"
    assert edited(text, ("parallel",), 2) == "name: a\r\nseries: 3\r\nparallel: 2\r\n"


@pytest.mark.parametrize("value", [True, 1.5, -3, 1e-7, "no", "+x", "a: b", "21700", [1, [2]], ""])
def test_values_are_written_so_that_they_are_read_again(value: Any) -> None:
    """A general reader gives back what was written."""
    assert yaml.safe_load(f"key: {value_text(value)}")["key"] == value


def test_a_fix_in_words_gives_its_keys() -> None:
    """The words of a tried fix, as the planner writes them, name what to change."""
    fix = {"fuse.rating_a": 30.0, "leads.side": "+y", "bms.board_mm": [80, 50.5, 10]}
    words = f"use {changes_words(fix)} (tried: it then holds)"
    assert fix_edits(words) == [
        (("fuse", "rating_a"), 30),
        (("leads", "side"), "+y"),
        (("bms", "board_mm"), (80, 50.5, 10)),
    ]
    assert fix_edits("a stronger printer.material") == []


def test_undo_and_saving(tmp_path: Path) -> None:
    """Steps are taken back and made again; a key typed on is one step; saving keeps the file's
    other lines; a file that someone else has changed is not overwritten."""
    (tmp_path / "sample.yaml").write_text(SAMPLE, encoding="utf-8")
    sheet = Sheet(tmp_path, name="sample.yaml")
    sheet.change([(("series",), 1)])
    sheet.change([(("series",), 13)])
    sheet.change([(("load", "continuous_a"), 25), (("name",), "other")])
    assert sheet.save() == "sample.yaml"
    saved = (tmp_path / "sample.yaml").read_text(encoding="utf-8")
    assert len(changes(SAMPLE, saved)[0]) == 3
    sheet.undo()
    assert sheet.values["series"] == 13 and sheet.values["load"] == {"continuous_a": 20}
    sheet.undo()
    assert sheet.text == SAMPLE and not sheet.can_undo
    sheet.redo()
    sheet.redo()
    assert sheet.text == saved and not sheet.can_redo
    (tmp_path / "sample.yaml").write_text("name: elsewhere\n", encoding="utf-8")
    with pytest.raises(FolderError, match="another program"):
        sheet.save()


def test_a_file_that_cannot_be_written_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fault is told, and no half-written file lies beside the one that stays."""

    def full(*paths: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(FolderError, match="No space left"):
        Sheet(tmp_path, text=EMPTY).save()
    assert list(tmp_path.iterdir()) == []


def test_an_empty_sheet_gets_a_file_of_its_own(tmp_path: Path) -> None:
    """Named by the pack, and no file that is there is taken."""
    (tmp_path / "my-pack.yaml").write_text("name: old\n", encoding="utf-8")
    sheet = Sheet(tmp_path, text=EMPTY)
    assert sheet.save() == "my-pack-2.yaml"
    assert (tmp_path / "my-pack.yaml").read_text(encoding="utf-8") == "name: old\n"
