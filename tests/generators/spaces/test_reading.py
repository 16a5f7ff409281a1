"""Files of spaces read in a process of their own: damaged ones, crashes, time."""

from __future__ import annotations

import importlib.util
import random
import time
from pathlib import Path

import pytest

from generators import cli
from generators.limited_process import NoAnswer, answers
from generators.spaces import reading
from generators.spaces.errors import UnreadableError
from generators.spaces.opening import libraries
from generators.spaces.reading import MEMORY_BYTES, SpaceFile, read_space_files
from layouts.spaces.space import Prism, Solid
from tests.damaged_files import FORMATS, damaged, sound_file, timed_read
from tests.limited_work import crashes, hangs

BOX = "v 0 0 0\nv 90 0 0\nv 0 90 0\nv 0 0 90\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n"
PACK = (
    "name: p\ncell: {format: '18650'}\nseries: 1\nparallel: 1\nlattice: grid\n"
    "space: {file: bay.obj}\n"
)


def space_file(path: Path) -> SpaceFile:
    """A file of a room."""
    return SpaceFile(
        path=str(path), name=path.name, units=None, as_name="room", mend=False, use="room",
        height_mm=70.0,
    )  # fmt: skip


@pytest.mark.slow
def test_damaged_files_are_read_or_refused_in_a_line(tmp_path: Path) -> None:
    """Five of each format with damage drawn at random, and the sound ones, in one process."""
    files = []
    for kind in FORMATS:
        sound = sound_file(kind, tmp_path)
        files.append(space_file(sound))
        for number in range(5):
            one = tmp_path / f"{number}.{kind}"
            draw = random.Random(f"{kind} {number}")
            one.write_bytes(damaged(sound.read_bytes(), kind, draw))
            files.append(space_file(one))
    given = answers(timed_read, files, limit_s=60, memory_bytes=MEMORY_BYTES, quiet=True)
    refused = 0
    for file, answer in zip(files, given, strict=True):
        if isinstance(answer, NoAnswer):  # told by read_space_files
            assert not answer.late, file.path
            continue
        what, seconds = answer
        assert seconds < 20.0, file.path
        if isinstance(what, UnreadableError):
            assert "\n" not in str(what)
            assert "sound" not in file.name
            refused += 1
        else:
            assert isinstance(what[0], Prism | Solid)
    assert 10 <= refused <= 30


def test_a_crash_of_a_library_is_a_fault_of_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line with the file, its field and what ended it; status 2."""
    monkeypatch.setattr(reading, "read_one", crashes)
    monkeypatch.setattr(reading, "libraries", lambda name: ())
    (tmp_path / "bay.obj").write_text(BOX, encoding="utf-8")
    (tmp_path / "pack.yaml").write_text(PACK, encoding="utf-8")
    assert cli.main(["check", str(tmp_path / "pack.yaml")]) == 2
    assert capsys.readouterr().err == (
        f"{tmp_path / 'pack.yaml'}:6: space.file: is damaged: the library that reads it crashes "
        "(SIGSEGV), save it again, or in another format\n"
    )


def test_a_file_that_takes_too_long_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Told with the time that it had."""
    monkeypatch.setattr(reading, "read_one", hangs)
    monkeypatch.setattr(reading, "libraries", lambda name: ())
    monkeypatch.setattr(reading, "LIMIT_S", 0.2)
    file = tmp_path / "bay.obj"
    file.write_text(BOX, encoding="utf-8")
    (given,) = read_space_files([space_file(file)])
    assert isinstance(given, UnreadableError)
    assert given.why == "is not read after 0.2 s"


def test_the_libraries_of_each_format_are_modules() -> None:
    """Two at least, and none twice."""
    for kind in (*FORMATS, "STP"):
        names = libraries(f"bay.{kind}")
        assert len(set(names)) == len(names) >= 2
        assert all(importlib.util.find_spec(name) is not None for name in names)


def test_files_that_are_not_there_need_no_process(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each answer stands at its file's place; the error has crossed over whole."""
    begin_s = time.monotonic()
    (gone,) = read_space_files([space_file(tmp_path / "gone.stl")])
    assert time.monotonic() - begin_s < 0.5
    (tmp_path / "bay.obj").write_text(BOX, encoding="utf-8")
    (tmp_path / "bad.obj").write_text("f 1 2 3\n", encoding="utf-8")
    names = ("gone.stl", "bad.obj", "bay.obj")
    first, second, third = read_space_files([space_file(tmp_path / name) for name in names])
    assert isinstance(gone, UnreadableError) and isinstance(first, UnreadableError)
    assert str(first) == str(gone)
    assert isinstance(second, UnreadableError)
    assert (second.key, second.remedy) == (("file",), "save the solid as a mesh")
    assert not isinstance(third, UnreadableError)
    assert isinstance(third[0], Solid)
    assert third[0].faces.shape == (4, 3)
