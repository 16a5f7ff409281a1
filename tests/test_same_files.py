"""The comparison of two trees' files finds what differs, and excuses only what it may."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.benchmarks import same_files
from tests.benchmarks.comparing import Rules, byte_change, compare_folders, json_changes
from tests.benchmarks.same_files import Made, made_by, printed_faults, side_of
from tests.benchmarks.same_packs import RUNS, Run

RULES = Rules()


def changes(old: Any, new: Any, *, rules: Rules = RULES) -> dict[str, str]:
    """Key paths that differ, and why each is excused, if it is."""
    found = json_changes(json.dumps(old).encode(), json.dumps(new).encode(), rules=rules)
    return {one.path: one.excused for one in found}


def write(folder: Path, **files: str) -> Path:
    """A folder with files; ``_`` in a name stands for the dot."""
    folder.mkdir()
    for name, text in files.items():
        (folder / name.replace("_", ".")).write_text(text, encoding="utf-8")
    return folder


def test_the_same_folders_have_no_faults(tmp_path: Path) -> None:
    """Nothing is told, and every file is counted."""
    old, new = (write(tmp_path / n, a_stl="solid", r_json='{"a": 1}') for n in ("old", "new"))
    told = compare_folders(old, new, rules=RULES)
    assert (told.files, told.faults, told.excused) == (2, {}, {})


def test_one_byte_is_found_and_placed(tmp_path: Path) -> None:
    """So is a file that only one of the trees writes."""
    old = write(tmp_path / "old", a_stl="solid one", b_svg="<svg/>")
    new = write(tmp_path / "new", a_stl="solid ore", c_svg="<svg/>")
    told = compare_folders(old, new, rules=RULES)
    assert set(told.faults) == {"a.stl", "b.svg", "c.svg"}
    assert told.faults["a.stl"][0] == "9 -> 9 bytes, the first that differs is number 7"
    assert "old" in told.faults["b.svg"][0]
    assert "new" in told.faults["c.svg"][0]


@pytest.mark.parametrize(
    ("old", "new", "first"),
    [(b"\xff\x00a", b"\xff\x00b", 2), (b"same", b"same\x00", 4), (b"", b"\xff", 0)],
)
def test_bytes_that_are_no_text_are_told_by_number(old: bytes, new: bytes, first: int) -> None:
    """One line, no difference of lines."""
    (line,) = byte_change(old, new)
    assert line.endswith(f"number {first}")


def test_a_long_line_of_markup_is_told_where_it_parts() -> None:
    """Each tag counts as a line, and the place in it is shown."""
    long = "M1 2" * 200
    lines = byte_change(
        f'<svg><path d="{long}3"/><g/></svg>'.encode(),
        f'<svg><path d="{long}4"/><g/></svg>'.encode(),
        markup=True,
    )
    assert max(map(len, lines)) < 400
    assert lines[-1].startswith(f"at column {len(long) + 10}: ")
    assert '3"/>' in lines[-1]
    assert '4"/>' in lines[-1]


def test_ends_of_lines_count_as_text_does() -> None:
    """A carriage return more is a difference, though it can't be seen."""
    assert any("\\r" in line for line in byte_change(b"a\nb\n", b"a\r\nb\n"))


def test_json_is_told_by_key_path() -> None:
    """A value, a key more, a key less and an entry more, each at its place."""
    old = {"pack": {"web_mm": 1.5, "gone": 1}, "cells": [{"x": 0}, {"x": 2}]}
    new = {"pack": {"web_mm": 1.6, "come": 1}, "cells": [{"x": 0}, {"x": 3}, {"x": 4}]}
    assert set(changes(old, new)) == {
        "pack.web_mm", "pack.gone", "pack.come", "cells.1.x", "cells.2",
    }  # fmt: skip


def test_entries_with_names_are_told_by_them() -> None:
    """One more at the front does not make all others differ."""
    old = {"parts": [{"name": "tub", "mm3": 1}, {"name": "lid", "mm3": 2}]}
    new = {
        "parts": [{"name": "bar", "mm3": 9}, {"name": "tub", "mm3": 1}, {"name": "lid", "mm3": 3}]
    }
    assert set(changes(old, new)) == {"parts.bar", "parts.lid.mm3"}
    turned = {"parts": old["parts"][::-1]}
    assert set(changes(old, turned)) == {"parts"}


@pytest.mark.parametrize(
    ("old", "new"), [(1, 1.0), (1, True), (0.0, -0.0), (None, False), ("1", 1), ([], {})]
)
def test_values_that_python_takes_for_equal_differ(old: object, new: object) -> None:
    """What is written differs, so it is told."""
    assert changes({"a": old}, {"a": new}) == {"a": ""}


def test_the_same_values_written_otherwise_differ() -> None:
    """Spaces and the order of keys are bytes as well."""
    (space,) = json_changes(b'{"a": 1}', b'{"a":1}', rules=RULES)
    assert "written otherwise" in space.told
    assert changes({"a": 1, "b": 2}, {"b": 2, "a": 1}) == {"": ""}


def test_only_sums_are_excused_and_only_within_rounding() -> None:
    """At a key of sums by one part in 1e12; at another key by nothing."""
    for key in ("formula_volume_mm3", "drawn_volume_mm3"):
        assert changes({key: 44913.4}, {key: 44913.4 * (1 + 5e-13)}) == {key: "within rounding"}
        assert changes({key: 44913.4}, {key: 44913.4 * (1 + 3e-12)}) == {key: ""}
    assert changes({"volume_mm3": 1.0}, {"volume_mm3": 1.0 + 5e-13}) == {"volume_mm3": ""}


def test_allowed_key_paths_are_excused_with_all_below() -> None:
    """No others are, such as one whose name only begins alike."""
    old, new = {"pack": {"cell": {"a": 1}, "cells": 1}}, {"pack": {"cell": {"b": 1}, "cells": 2}}
    rules = Rules(allowed=("pack.cell",))
    assert changes(old, new, rules=rules) == {"pack.cell": "allowed", "pack.cells": ""}
    rules = Rules(allowed=("pack.*",))
    assert set(changes(old, new, rules=rules).values()) == {"allowed"}


def test_a_hash_follows_only_from_a_file_that_differs(tmp_path: Path) -> None:
    """Then it is counted; of a file that is the same it is a fault."""

    def told(digest: str, b: str) -> str:
        rows = [{"path": "a.txt", "sha256": digest}, {"path": "b.txt", "sha256": b}]
        return json.dumps({"files": rows})

    old = write(tmp_path / "old", a_txt="one", b_txt="same", r_json=told("11", "22"))
    new = write(tmp_path / "new", a_txt="two", b_txt="same", r_json=told("33", "22"))
    outcome = compare_folders(old, new, rules=RULES)
    assert set(outcome.faults) == {"a.txt"}
    assert outcome.excused == {"hash of a file that differs": 1}
    (new / "r.json").write_text(told("33", "44"), encoding="utf-8")
    outcome = compare_folders(old, new, rules=RULES)
    assert outcome.faults["r.json"] == ('files.b.txt.sha256: "22" -> "44"',)


def test_broken_json_is_a_fault() -> None:
    """It is told, not passed over."""
    (one,) = json_changes(b'{"a": 1}', b'{"a": ', rules=RULES)
    assert "is no JSON" in one.told
    assert not one.excused


def ended(status: int = 0, stdout: str = "", stderr: str = "") -> Made:
    """A command's end."""
    return Made(folder=Path(), status=status, stdout=stdout, stderr=stderr, took_s=1.0)


def test_what_is_printed_and_the_status_count() -> None:
    """Times on stderr do not; a command that both trees refuse proves nothing."""
    assert printed_faults(ended(stderr="took 1.2 s"), ended(stderr="took 31.4 s")) == {}
    assert set(printed_faults(ended(stdout="took 1 s"), ended(stdout="took 2 s"))) == {"stdout"}
    assert set(printed_faults(ended(stderr="gap 1 mm"), ended(stderr="gap 2 mm"))) == {"stderr"}
    assert printed_faults(ended(0), ended(1))["exit status"][0] == "0 -> 1"
    assert printed_faults(ended(2), ended(2))["exit status"][0] == "both end with 2"
    assert printed_faults(ended(1), ended(1)) == {}
    broken = ended(1, stderr="Traceback (most recent call last):\n")
    assert "broke off" in printed_faults(broken, broken)["exit status"][0]


TOOL = """
import sys
from pathlib import Path
Path("out").mkdir()
Path("out/a.txt").write_text({text!r})
with Path({count!r}).open("a") as runs:
    runs.write("x")
print(*sys.argv[1:])
"""


def tree(folder: Path, text: str, count: Path) -> Path:
    """A source tree whose command writes one file, and a letter to ``count`` each time."""
    for package in ("generators", "layouts"):
        (folder / package).mkdir(parents=True)
        (folder / package / "__init__.py").write_text("", encoding="utf-8")
    code = TOOL.format(text=text, count=str(count))
    (folder / "generators" / "__main__.py").write_text(code, encoding="utf-8")
    return folder


ONE = Run(name="one", words=("make", "pack.yaml"), files={"pack.yaml": "name: one\n"})


def test_trees_are_compared_and_the_old_one_runs_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Status 1 and the file's name where they differ, 0 where they do not, 2 for no tree."""
    count = tmp_path / "count"
    monkeypatch.setattr(same_files, "RUNS", (ONE,))
    monkeypatch.setattr(same_files, "state_of", lambda tree: "a commit")
    old = tree(tmp_path / "a", "hello", count)
    same = tree(tmp_path / "b", "hello", tmp_path / "other")
    other = tree(tmp_path / "c", "hallo", tmp_path / "other")
    keep = ["--keep", str(tmp_path / "keep")]
    assert same_files.main([str(old), str(same), *keep]) == 0
    assert "same 2 files" in capsys.readouterr().out
    assert same_files.main([str(old), str(other), *keep]) == 1
    told = capsys.readouterr().out
    assert "1 of 2 files differ" in told
    assert "one: out/a.txt" in told
    assert count.read_text(encoding="utf-8") == "x"
    assert same_files.main([str(old), str(tmp_path), *keep]) == 2


def test_a_changed_pack_is_made_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Kept results stand for the same command on the same files only."""
    count = tmp_path / "count"
    monkeypatch.setattr(same_files, "state_of", lambda tree: "a commit")
    side = side_of(tree(tmp_path / "a", "hello", count), tmp_path / "keep", "old", cached=True)
    other = Run(name="one", words=ONE.words, files={"pack.yaml": "name: two\n"})
    for run in (ONE, ONE, other):
        assert made_by(side, run).stdout == "make pack.yaml --out out\n"
    assert count.read_text(encoding="utf-8") == "xx"


def test_a_tree_with_changes_has_no_state(tmp_path: Path) -> None:
    """Nor has one that is under no version control."""
    assert same_files.state_of(tmp_path) is None


def test_runs_have_names_of_their_own() -> None:
    """Each names a folder; both examples, places, fits, dummies and suggestions are there."""
    assert len({run.name for run in RUNS}) == len(RUNS)
    kinds = [run.words[0] for run in RUNS]
    assert {kind: kinds.count(kind) for kind in kinds} == {
        "make": 8, "fit": 2, "dummy": 2, "suggest": 2,
    }  # fmt: skip
