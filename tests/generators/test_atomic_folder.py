"""What killed runs leave behind, and how the next one puts it right."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from generators.atomic_folder import NEW, OLD, recover, written_beside

HOLDS = "result.json"
ROOT = Path(__file__).parents[2]


def result(folder: Path, text: str) -> Path:
    """A result of one file."""
    folder.mkdir()
    (folder / HOLDS).write_text(text, encoding="utf-8")
    return folder


def names(folder: Path) -> list[str]:
    """What a folder holds."""
    return sorted(one.name for one in folder.iterdir())


def written(out: Path, text: str) -> list[str]:
    """A run that writes one file; what it has to say."""
    notes: list[str] = []
    with written_beside(out, "pack", holds=HOLDS, notes=notes) as beside:
        (beside / HOLDS).write_text(text, encoding="utf-8")
    return notes


RUN = """
import os, signal, sys
from pathlib import Path
from generators import atomic_folder
out, step = Path(sys.argv[1]), int(sys.argv[2])
real, done = os.replace, []
def replaces(source, target):
    real(source, target)
    done.append(target)
    if len(done) == step:
        os.kill(os.getpid(), signal.SIGKILL)
atomic_folder.os.replace = replaces
with atomic_folder.written_beside(out, "pack", holds="result.json", notes=[]) as beside:
    (beside / "result.json").write_text("new")
    if step == 0:
        os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.parametrize(
    ("step", "text", "told"), [(0, "old", 0), (1, "old", 1), (2, "new", 0), (3, "new", 0)]
)
def test_a_run_killed_at_any_step_of_the_swap_is_put_right(
    step: int, text: str, told: int, tmp_path: Path
) -> None:
    """The old or the new result, with the user's own file, and nothing besides."""
    folder = result(tmp_path / "pack", "old")
    (folder / "own.txt").write_text("mine", encoding="utf-8")
    done = subprocess.run([sys.executable, "-c", RUN, tmp_path, str(step)], cwd=ROOT, check=False)
    assert done.returncode == -signal.SIGKILL
    assert len(names(tmp_path)) > 1 or step == 1
    notes = recover(tmp_path, "pack", holds=HOLDS)
    assert len(notes) == told
    assert all("was killed while replacing it" in note for note in notes)
    assert names(tmp_path) == ["pack"]
    assert names(folder) == ["own.txt", HOLDS]
    assert (folder / HOLDS).read_text(encoding="utf-8") == text


def test_an_empty_folder_does_not_keep_a_result_from_being_put_back(tmp_path: Path) -> None:
    """A folder with something else in it does: both stay."""
    result(tmp_path / f".pack-abcdefgh{OLD}", "old")
    (tmp_path / "pack").mkdir()
    (tmp_path / "pack" / "letter").touch()
    assert recover(tmp_path, "pack", holds=HOLDS) == ()
    assert len(names(tmp_path)) == 2
    (tmp_path / "pack" / "letter").unlink()
    assert len(recover(tmp_path, "pack", holds=HOLDS)) == 1
    assert names(tmp_path) == ["pack"]


def test_the_newest_of_two_is_put_back(tmp_path: Path) -> None:
    """The other is older than it."""
    for name, second in (("aaaaaaaa", 2_000_000_000), ("bbbbbbbb", 1_000_000_000)):
        one = result(tmp_path / f".pack-{name}{OLD}", name)
        os.utime(one, (second, second))
    recover(tmp_path, "pack", holds=HOLDS)
    assert names(tmp_path) == ["pack"]
    assert (tmp_path / "pack" / HOLDS).read_text(encoding="utf-8") == "aaaaaaaa"


def test_only_leavings_of_runs_of_this_pack_are_removed(tmp_path: Path) -> None:
    """Hidden folders of the user's, and those of other packs, are left alone."""
    others = [".pack-personal", f".pack-two-abcdefgh{NEW}", f".other-abcdefgh{NEW}", f"x{NEW}"]
    for name in (*others, f".pack-abcdefgh{NEW}"):
        (tmp_path / name).mkdir()
    assert recover(tmp_path, "pack", holds=HOLDS) == ()
    assert names(tmp_path) == sorted(others)


def test_a_run_that_goes_on_keeps_its_folder(tmp_path: Path) -> None:
    """Also while another of the same pack begins, ends, and begins again."""
    notes: list[str] = []
    with written_beside(tmp_path, "pack", holds=HOLDS, notes=notes) as beside:
        recover(tmp_path, "pack", holds=HOLDS)
        assert written(tmp_path, "second") == []
        recover(tmp_path, "pack", holds=HOLDS)
        (beside / HOLDS).write_text("first", encoding="utf-8")
    assert notes == []
    assert (tmp_path / "pack" / HOLDS).read_text(encoding="utf-8") == "first"
    assert names(tmp_path) == ["pack"]


def test_a_link_in_the_results_place_is_replaced_and_its_target_left(tmp_path: Path) -> None:
    """A folder elsewhere is not the run's to empty."""
    elsewhere = result(tmp_path / "elsewhere", "old")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "pack").symlink_to(elsewhere)
    written(tmp_path / "out", "new")
    assert names(tmp_path / "out") == ["pack"]
    assert (tmp_path / "out" / "pack" / HOLDS).read_text(encoding="utf-8") == "new"
    assert (elsewhere / HOLDS).read_text(encoding="utf-8") == "old"


def test_a_signal_during_the_swap_acts_after_it(tmp_path: Path) -> None:
    """The new result is in place, nothing lies beside it, and the run ends all the same."""
    result(tmp_path / "pack", "old")
    code = textwrap.dedent(
        """
        import os, signal, sys
        from pathlib import Path
        from generators import atomic_folder
        from generators.signals import StoppedBySignalError, ending_signals
        real = os.replace
        def replaces(source, target):
            os.kill(os.getpid(), signal.SIGTERM)
            real(source, target)
        atomic_folder.os.replace = replaces
        try:
            with ending_signals(), atomic_folder.written_beside(
                Path(sys.argv[1]), "pack", holds="result.json", notes=[]
            ) as beside:
                (beside / "result.json").write_text("new")
        except StoppedBySignalError as stop:
            sys.exit(100 + stop.number)
        """
    )
    done = subprocess.run([sys.executable, "-c", code, tmp_path], cwd=ROOT, check=False)
    assert done.returncode == 100 + signal.SIGTERM
    assert names(tmp_path) == ["pack"]
    assert (tmp_path / "pack" / HOLDS).read_text(encoding="utf-8") == "new"
