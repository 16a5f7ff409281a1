"""The process that a script runs in: how it is ended, and what comes out of it."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
from pathlib import Path

import pytest

from generators import cli, limited_process
from generators.scripts import running
from generators.scripts.job import ScriptJob, Trouble
from layouts.brackets.scripted import sizes_for
from tests.generators.scripts.files import pack_file
from tests.samples import sample_pack


def job(source: str) -> ScriptJob:
    """A script to run for an invented pack."""
    return ScriptJob(file="own.py", source=source, line=1, sizes=sizes_for(sample_pack()))


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[subprocess.Popen[bytes]]:
    """Every process that was started."""
    found: list[subprocess.Popen[bytes]] = []

    class Noted(subprocess.Popen):  # type: ignore[type-arg]
        def __init__(self, *arguments: object, **options: object) -> None:
            super().__init__(*arguments, **options)  # type: ignore[call-overload]
            found.append(self)

    monkeypatch.setattr(limited_process.subprocess, "Popen", Noted)
    return found


def test_a_script_without_end_is_ended(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
    started: list[subprocess.Popen[bytes]],
) -> None:  # fmt: skip
    """One line at its function, status 2, and its process is gone."""
    monkeypatch.setattr(running, "LIMIT_S", 1.5)
    file = pack_file(tmp_path, "\ndef bracket(sizes):\n    while True:\n        pass\n")
    assert cli.main(["check", str(file), "--allow-scripts"]) == 2
    assert capsys.readouterr().err == (
        f"{tmp_path / 'own.py'}:2: bracket: is not done after 1.5 s, look for an infinite loop, "
        "or simplify it\n"
    )
    assert [one.returncode for one in started] == [-signal.SIGKILL]


def test_a_stop_by_the_user_ends_the_process_too(
    monkeypatch: pytest.MonkeyPatch, started: list[subprocess.Popen[bytes]]
) -> None:
    """It has a session of its own, so the terminal's signal does not reach it."""

    def stopped(*arguments: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(limited_process, "_ends", stopped)
    with pytest.raises(KeyboardInterrupt):
        running.run_script(job("def bracket(sizes): pass"))
    assert [one.returncode for one in started] == [-signal.SIGKILL]


def test_what_the_process_has_started_is_ended_with_it() -> None:
    """A child of the script's does not stay behind."""
    process = subprocess.Popen(
        ["sh", "-c", "sleep 60 & echo $!; wait"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        start_new_session=True,
    )  # fmt: skip
    with process:
        assert process.stdout is not None
        child = int(process.stdout.readline())
        os.kill(child, 0)  # it runs
        limited_process.end(process)
        process.stdout.read()  # until nobody holds its other end: the child is gone
        assert process.returncode == -signal.SIGKILL
    with contextlib.suppress(ProcessLookupError):
        state = Path(f"/proc/{child}/stat")
        assert not state.exists() or state.read_text().split()[2] == "Z"


def test_what_a_script_prints_goes_to_standard_error(capfd: pytest.CaptureFixture[str]) -> None:
    """Standard output is the command's; a script that ends its process gives no answer."""
    source = "import os\ndef bracket(s):\n    print(s.top_mm, flush=True)\n    os._exit(4)\n"
    assert running.run_script(job(source)) == Trouble(
        line=1, why="ends its process without a result", value="exit status 4",
        remedy="remove what ends it",
    )  # fmt: skip
    printed = capfd.readouterr()
    assert (printed.out, printed.err) == ("", "29.0\n")


def test_modules_beside_the_script_and_data_classes_of_its_own_can_be_used(tmp_path: Path) -> None:
    """As in any Python file; no folder of compiled files is left beside it."""
    (tmp_path / "helper.py").write_text("REASON = 'told by helper'\n", encoding="utf-8")
    source = (
        "from dataclasses import dataclass\nimport helper\n@dataclass\nclass Size:\n"
        "    wide: 'float' = 1.0\ndef bracket(s):\n    raise ValueError(helper.REASON, Size())\n"
    )
    file = str(tmp_path / "own.py")
    told = running.run_script(
        ScriptJob(file=file, source=source, line=6, sizes=sizes_for(sample_pack()))
    )
    assert isinstance(told, Trouble)
    assert (told.line, told.why) == (7, "stops with an error")
    assert told.value == "ValueError ('told by helper', Size(wide=1.0))"
    assert [path.name for path in tmp_path.iterdir()] == ["helper.py"]


def test_a_fault_of_ours_is_no_fault_of_the_script() -> None:
    """What fails while a bracket is proven comes out with its traceback."""
    source = "import sys\nsys.modules['generators.scripts.shape'] = None\ndef bracket(s): ..."
    with pytest.raises(RuntimeError, match=r"(?s)proving a script's bracket failed: Traceback.*"
                                           "generators.scripts.shape"):  # fmt: skip
        running.run_script(job(source))
