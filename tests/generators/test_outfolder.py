"""The output folder is tried before the work, and never one that isn't ours is replaced."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from generators.outfolder import OutputFolderError, output_trouble, prepare


def test_folders_are_made_and_the_try_leaves_nothing(tmp_path: Path) -> None:
    """The way to a new folder is made whole; the probe is gone after it."""
    prepare(tmp_path / "a" / "b", "pack")
    assert list((tmp_path / "a" / "b").iterdir()) == []


@pytest.mark.parametrize("content", [[], ["result.json"], ["more.txt", "result.json"]])
def test_an_earlier_result_may_be_replaced(content: list[str], tmp_path: Path) -> None:
    """An empty folder and one with a result pass, and keep what they hold."""
    folder = tmp_path / "pack"
    folder.mkdir()
    for name in content:
        (folder / name).touch()
    prepare(tmp_path, "pack")
    assert sorted(one.name for one in folder.iterdir()) == content


@pytest.mark.parametrize("kind", ["file", "folder"])
def test_what_is_not_a_result_is_left_alone(kind: str, tmp_path: Path) -> None:
    """A folder of somebody's, or a file, at the result's place is refused."""
    if kind == "file":
        (tmp_path / "pack").touch()
    else:
        (tmp_path / "pack").mkdir()
        (tmp_path / "pack" / "letters.txt").touch()
    with pytest.raises(OutputFolderError, match="contains something other than an earlier result"):
        prepare(tmp_path, "pack")


def test_a_way_through_a_file_is_refused(tmp_path: Path) -> None:
    """The message has the system's reason."""
    (tmp_path / "file").touch()
    with pytest.raises(OutputFolderError, match="Not a directory"):
        prepare(tmp_path / "file" / "out", "pack")


def test_a_name_that_no_folder_can_have_is_refused() -> None:
    """A zero byte is not even the system's to refuse."""
    with pytest.raises(OutputFolderError, match="null byte"):
        prepare(Path("a\0b"), "pack")


def test_a_folder_without_the_right_to_write_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Reported with the remedy (the refusal is invented: an administrator has no limits)."""

    def denied(**rest: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(tmp_path))

    monkeypatch.setattr("tempfile.TemporaryFile", denied)
    with pytest.raises(OutputFolderError) as caught:
        prepare(tmp_path, "pack")
    assert str(caught.value) == (
        f"--out: can't be written: Permission denied ({tmp_path}), give a writable folder"
    )


@pytest.mark.parametrize(
    ("error", "ours"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), True),
        (OSError(errno.EDQUOT, "Disk quota exceeded", "/other/place"), True),
        (OSError(errno.EROFS, "Read-only file system", "/other/place"), True),
        (PermissionError(errno.EACCES, "Permission denied", "out/pack/a.stl"), True),
        (FileNotFoundError(errno.ENOENT, "No such file", "out/pack/a.stl"), True),
        (OSError(errno.EACCES, "Permission denied", "/other", None, "out/pack"), True),
        (PermissionError(errno.EACCES, "Permission denied", "output/a.stl"), False),
        (FileNotFoundError(errno.ENOENT, "No such file", "/other/place"), False),
        (OSError(errno.EACCES, "Permission denied"), False),
        (OSError("no number at all"), False),
    ],
)
def test_only_the_output_folders_trouble_is_its_trouble(error: OSError, ours: bool) -> None:
    """A full disk always; else the error has to name something in the folder."""
    assert (output_trouble(error, Path("out")) is not None) is ours
