"""Standard streams that are closed, full or unread, and signals that end a command."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from generators import cli
from generators.atomic_folder import written_beside
from generators.signals import StoppedBySignalError, ending_signals, held
from tests.generators.cli_runs import BAD, ROOT
from tests.generators.packfile.files import PLAIN
from tests.sampled import sampled


def shell(arguments: str, tmp_path: Path) -> subprocess.CompletedProcess[str]:
    """The command with the shell's own redirections."""
    (tmp_path / "bad.yaml").write_text(BAD, encoding="utf-8")
    (tmp_path / "sound.yaml").write_text(PLAIN, encoding="utf-8")
    return subprocess.run(
        f"{sys.executable} -m generators {arguments}", shell=True, cwd=tmp_path, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, timeout=60, check=False,
    )  # fmt: skip


NO_ROOM = "cellstead: output can't be written: No space left on device\n"
NOT_OPEN = "cellstead: output can't be written: Bad file descriptor\n"
STREAMS = [
    ("example >&-", 0, ""),
    ("example >&- 2>&- <&-", 0, ""),
    ("check sound.yaml 2>&-", 0, None),
    ("check bad.yaml 2>&-", 2, ""),
    ("check bad.yaml >&- 2>&-", 2, ""),
    ("--help >&-", 0, ""),
    ("example >/dev/full", 2, NO_ROOM),
    ("--help >/dev/full", 2, NO_ROOM),
    ("check bad.yaml 2>/dev/full", 2, ""),
    ("check sound.yaml 2>/dev/full", 0, None),
    ("check sound.yaml >/dev/full 2>/dev/full", 2, ""),
    ("example 1</dev/null", 2, NOT_OPEN),
]
SAMPLE = (
    "example >&- 2>&- <&-", "--help >/dev/full", "check bad.yaml >&- 2>&-",
)  # fmt: skip


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="the device is Linux's")
@pytest.mark.parametrize(
    ("arguments", "status", "told"), sampled(STREAMS, lambda case: case[0] in SAMPLE)
)
def test_streams_that_take_nothing(
    arguments: str, status: int, told: str | None, tmp_path: Path
) -> None:
    """The right status and no traceback; None: something is told on standard output."""
    done = shell(arguments, tmp_path)
    assert done.returncode == status, done.stderr
    assert "Traceback" not in done.stderr + done.stdout
    if told is not None:
        assert done.stderr == told
    else:
        assert "valid: " in done.stdout


def test_a_file_opened_later_is_no_standard_stream(tmp_path: Path) -> None:
    """With all three closed, the numbers 0 to 2 lead to the null device."""
    code = textwrap.dedent(
        """
        import os, sys
        from generators.streams import guarded_streams
        with guarded_streams():
            number = os.open(sys.argv[1], os.O_CREAT | os.O_WRONLY)
            print("lost"); print("lost too", file=sys.stderr)
        os._exit(number)
        """
    )
    done = subprocess.run(
        f'{sys.executable} -c "$CODE" opened >&- 2>&- <&-', shell=True, cwd=tmp_path, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT), "CODE": code},
    )  # fmt: skip
    assert done.returncode >= 3
    assert (tmp_path / "opened").read_bytes() == b""


def test_a_reader_that_goes_away_does_not_change_the_status(tmp_path: Path) -> None:
    """Also where each line is written at once, and the first one fails."""
    (tmp_path / "bad.yaml").write_text(BAD, encoding="utf-8")
    for arguments, status in ((["example"], 0), (["check", "bad.yaml"], 2)):
        process = subprocess.Popen(
            [sys.executable, "-u", "-m", "generators", *arguments], cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        if status:
            process.stderr.close()
        assert process.wait(timeout=20) == status


# ---- signals


WAITS = """
import signal, sys, time, types
module = types.ModuleType("generators.run")
def make_pack(pack, *, out_dir, **rest):
    from generators.atomic_folder import written_beside
    with written_beside(out_dir, pack.name, holds="result.json", notes=[]) as beside:
        (beside / "half").touch()
        (out_dir / "begun").touch()
        time.sleep(30)
module.make_pack = make_pack
sys.modules["generators.run"] = module
from generators.cli import main
sys.exit(main())
"""


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_signal_cleans_up_as_ctrl_c_does(name: str, tmp_path: Path) -> None:
    """One line, the status that shells give the signal, and nothing half made; twice is once."""
    (tmp_path / "pack.yaml").write_text(PLAIN, encoding="utf-8")
    number = getattr(signal, name)
    process = subprocess.Popen(
        [sys.executable, "-c", WAITS, "make", tmp_path / "pack.yaml", "--out", tmp_path / "out"],
        cwd=ROOT, text=True, stderr=subprocess.PIPE, stdout=subprocess.PIPE,
        preexec_fn=lambda: signal.signal(number, signal.SIG_DFL),
    )  # fmt: skip
    limit = time.monotonic() + 20
    while not (tmp_path / "out" / "begun").exists():
        assert time.monotonic() < limit
        assert process.poll() is None
        time.sleep(0.02)
    process.send_signal(number)
    process.send_signal(number)
    out, err = process.communicate(timeout=20)
    assert process.returncode == 128 + number
    assert (out, err) == ("", "cellstead: stopped; the last good result is kept\n")
    assert [one.name for one in (tmp_path / "out").iterdir()] == ["begun"]


@pytest.mark.parametrize("lost", [ImportError("initialization failed"), None])
def test_a_signal_that_a_library_loses_stops_the_run_all_the_same(
    lost: Exception | None, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    maker: Callable[[Callable[..., object]], None],
) -> None:  # fmt: skip
    """As where it comes while an extension is loaded: an error of its own, or none."""
    (tmp_path / "pack.yaml").write_text(PLAIN, encoding="utf-8")

    def make_pack(pack, *, out_dir, **rest):
        with written_beside(out_dir, pack.name, holds="result.json", notes=[]):
            with contextlib.suppress(KeyboardInterrupt):
                signal.raise_signal(signal.SIGTERM)
            if lost is not None:
                raise lost

    maker(make_pack)
    out = tmp_path / "out"
    assert cli.main(["make", str(tmp_path / "pack.yaml"), "--out", str(out)]) == 143
    assert capsys.readouterr().err == "cellstead: stopped; the last good result is kept\n"
    assert list(out.iterdir()) == []


def test_what_the_caller_ignores_stays_ignored() -> None:
    """As nohup does for SIGHUP; afterwards all handlers are as they were."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        with ending_signals():
            signal.raise_signal(signal.SIGHUP)
            with pytest.raises(StoppedBySignalError) as caught:
                signal.raise_signal(signal.SIGTERM)
        assert caught.value.number == signal.SIGTERM
        assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
        assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL
    finally:
        signal.signal(signal.SIGHUP, before)


def test_held_signals_act_once_the_block_is_done() -> None:
    """The first of them; the block itself is not cut."""
    done = []

    def work() -> None:
        with ending_signals(), held():
            signal.raise_signal(signal.SIGTERM)
            signal.raise_signal(signal.SIGINT)
            done.append("whole")

    with pytest.raises(StoppedBySignalError, match="SIGTERM"):
        work()
    assert done == ["whole"]
