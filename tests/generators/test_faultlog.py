"""The log of an internal fault, and files of its name that are somebody else's."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest

from generators.commands.common import begin
from generators.faultlog import is_log, write_log


def test_a_log_is_known_by_its_first_line(tmp_path: Path) -> None:
    """One of ours is replaced by the next fault's, and removed when a run begins."""
    log = tmp_path / "pack.log"
    assert write_log(ValueError("one"), log) == log
    assert is_log(log)
    assert write_log(ValueError("two"), log) == log
    assert "ValueError: two" in log.read_text(encoding="utf-8")
    begin(tmp_path, "pack", [])
    assert not log.exists()


@pytest.mark.parametrize("kind", ["text", "bytes", "folder", "pipe", "link"])
def test_a_file_of_somebody_else_is_left_alone(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run neither removes nor overwrites it: its own log goes to the temporary files."""
    log = tmp_path / "pack.log"
    if kind == "text":
        log.write_text("cellstead ordered on Monday", encoding="utf-8")
    elif kind == "bytes":
        log.write_bytes(bytes(range(256)))
    elif kind == "folder":
        log.mkdir()
    elif kind == "pipe":
        os.mkfifo(log)
    else:
        log.symlink_to("elsewhere")
    before = os.lstat(log)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "temporary"))
    (tmp_path / "temporary").mkdir()
    begin(tmp_path, "pack", [])
    written = write_log(ValueError("one"), log)
    after = os.lstat(log)
    assert (after.st_ino, after.st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    assert written is not None
    assert written.parent == tmp_path / "temporary"


def test_a_log_that_can_be_written_nowhere_is_no_fault_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The full disk is both."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "gone"))
    assert write_log(ValueError("one"), tmp_path / "gone" / "pack.log") is None
