"""Files of the user's own in a result's folder move along into the next result."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from generators.own_files import file_rows, move_along

HOLDS = "result.json"


def result(folder: Path, **files: str) -> Path:
    """A result of some files, listed as a run does; ``__`` in a name stands for a slash."""
    folder.mkdir()
    for name, text in files.items():
        path = folder / name.replace("__", "/")
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    text = json.dumps({"files": file_rows(folder, but=HOLDS)})
    (folder / HOLDS).write_text(text, encoding="utf-8")
    return folder


def texts(folder: Path) -> dict[str, str]:
    """Every file below a folder but the list."""
    return {
        path.relative_to(folder).as_posix(): path.read_text(encoding="utf-8")
        for path in folder.rglob("*")
        if path.is_file() and path.name != HOLDS
    }


def test_what_a_run_wrote_is_replaced_and_nothing_is_said(tmp_path: Path) -> None:
    """Also where the new result no longer has it: a part that is not made any more."""
    old = result(tmp_path / "old", report="one", parts__lid="lid", parts__tub="tub")
    new = result(tmp_path / "new", report="two", parts__tub="tub")
    assert move_along(old, new, HOLDS) == ()
    assert texts(new) == {"report": "two", "parts/tub": "tub"}


def test_files_folders_and_links_of_the_users_own_are_kept(tmp_path: Path) -> None:
    """At the same place; a folder is known by what it holds, an empty one by being there."""
    old = result(tmp_path / "old", report="one", parts__lid="lid")
    (old / "parts" / "mine.txt").write_text("mine", encoding="utf-8")
    (old / "photos" / "day 1").mkdir(parents=True)
    os.symlink("parts/mine.txt", old / "link")
    os.symlink("photos", old / "away")
    new = result(tmp_path / "new", report="two")
    notes = move_along(old, new, HOLDS)
    assert notes == (
        f"{old}: kept what no run has written: away, link, parts/mine.txt, photos/day 1",
    )
    assert texts(new) == {"report": "two", "parts/mine.txt": "mine", "link": "mine"}
    assert os.readlink(new / "away") == "photos"
    assert (new / "photos" / "day 1").is_dir()
    assert (old / "parts" / "mine.txt").samefile(new / "parts" / "mine.txt")  # linked, not moved


def test_a_changed_file_of_a_result_gets_another_name(tmp_path: Path) -> None:
    """So does one whose place the new result needs; what is the same as the new one is not."""
    old = result(tmp_path / "old", report="one", bill__csv="1", same="x")
    (old / "report").write_text("one, ticked", encoding="utf-8")
    (old / "fresh.txt").write_text("mine", encoding="utf-8")
    (old / "same").write_text("y", encoding="utf-8")
    (old / "parts").write_text("a file", encoding="utf-8")
    (old / "deep").mkdir()
    (old / "deep" / "own.txt").write_text("own", encoding="utf-8")
    new = result(tmp_path / "new", report="two", same="y", parts__lid="lid", deep="a file")
    (new / "fresh.txt").write_text("the tool's", encoding="utf-8")
    (note,) = move_along(old, new, HOLDS)
    assert note.endswith(
        "deep/own.txt as deep-own-kept.txt, fresh.txt as fresh-kept.txt, parts as parts-kept, "
        "report as report-kept"
    )
    assert texts(new) == {
        "report": "two", "report-kept": "one, ticked", "fresh.txt": "the tool's",
        "fresh-kept.txt": "mine", "same": "y", "parts/lid": "lid", "parts-kept": "a file",
        "deep": "a file", "deep-own-kept.txt": "own",
    }  # fmt: skip


def test_a_kept_copy_is_kept_again_and_never_replaced(tmp_path: Path) -> None:
    """A second change of the same file gets a number."""
    old = result(tmp_path / "old", report="one")
    (old / "report-kept").write_text("first", encoding="utf-8")
    (old / "report").write_text("second", encoding="utf-8")
    new = result(tmp_path / "new", report="two")
    move_along(old, new, HOLDS)
    assert texts(new) == {"report": "two", "report-kept": "first", "report-kept-2": "second"}


@pytest.mark.parametrize("listing", ["{}", "damaged", '{"files": [1]}'])
def test_without_a_list_only_what_the_new_result_lacks_is_kept(
    listing: str, tmp_path: Path
) -> None:
    """As in results of earlier versions."""
    old = result(tmp_path / "old", report="one", mine="mine")
    (old / HOLDS).write_text(listing, encoding="utf-8")
    new = result(tmp_path / "new", report="two")
    move_along(old, new, HOLDS)
    assert texts(new) == {"report": "two", "mine": "mine"}


def test_where_files_can_not_be_linked_they_are_copied(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on a file system without links."""

    def refuses(source: Path, target: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuses)
    old = result(tmp_path / "old")
    for name in "abcdef":
        (old / name).write_text(name, encoding="utf-8")
    new = result(tmp_path / "new")
    (note,) = move_along(old, new, HOLDS)
    assert note.endswith("written: a, b, c, d and 2 more")
    assert texts(new) == {name: name for name in "abcdef"}
