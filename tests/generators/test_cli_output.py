"""The command line: trouble with the output, being stopped, progress, what it does not load."""

from __future__ import annotations

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
from generators.outfolder import OutputFolderError
from tests.generators.cli_runs import BAD, HEAVY, ROOT, Made, run
from tests.generators.packfile.files import PLAIN

# ---- the output folder


def test_an_output_folder_that_is_a_file_is_status_two(pack_file: Path) -> None:
    """Reported before anything heavy is loaded."""
    done = run("make", pack_file, "--out", pack_file, code="")
    assert done.returncode == 2
    assert done.stderr == (
        f"cellstead: --out: can't be written: File exists ({pack_file}), give a writable folder\n"
    )


def test_a_full_disk_is_status_two(pack_file: Path, tmp_path: Path) -> None:
    """With no byte allowed to be written the very first try fails, and nothing is loaded."""
    code = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))"
    done = run("make", pack_file, "--out", tmp_path / "out", code=code)
    assert done.returncode == 2
    assert done.stderr.startswith("cellstead: --out: can't be written: File too large (")
    assert "free some disk space" in done.stderr


def test_a_disk_that_fills_up_half_way_is_status_two(pack_file: Path, tmp_path: Path) -> None:
    """The error comes from the work itself; the last good result is kept."""
    last = tmp_path / "out" / "my-pack"
    last.mkdir(parents=True)
    (last / "result.json").write_text("{}", encoding="utf-8")
    code = textwrap.dedent(
        """
        import resource, types
        module = types.ModuleType("generators.run")
        def make_pack(pack, *, out_dir, **rest):
            resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))
            with open(out_dir / "part.stl", "wb") as file:
                file.write(b"x" * 20_000)
        module.make_pack = make_pack
        sys.modules["generators.run"] = module
        """
    )
    done = run("make", pack_file, "--out", tmp_path / "out", code=code)
    assert done.returncode == 2, done.stderr
    assert "File too large" in done.stderr
    assert (last / "result.json").read_text(encoding="utf-8") == "{}"


@pytest.mark.parametrize("error", [
    OutputFolderError(Path("x"), why="is full", remedy="free some disk space"),
    PermissionError(13, "Permission denied", "{out}/my-pack.part"),
])  # fmt: skip
def test_trouble_with_the_output_during_the_work_is_status_two(
    error: Exception, pack_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    maker: Callable[[Callable[..., object]], None],
) -> None:  # fmt: skip
    """Whether the work reports it itself or the system does."""
    if isinstance(error, OSError):
        error.filename = str(error.filename).format(out=tmp_path)

    def make_pack(pack, **rest):
        raise error

    maker(make_pack)
    assert cli.main(["make", str(pack_file), "--out", str(tmp_path)]) == 2
    assert capsys.readouterr().err.startswith("cellstead: --out: ")


def test_a_missing_file_of_our_own_is_no_trouble_with_the_output(
    pack_file: Path, tmp_path: Path, maker: Callable[[Callable[..., object]], None]
) -> None:
    """An error about a file elsewhere is an internal fault."""

    def make_pack(pack, **rest):
        raise FileNotFoundError(2, "No such file or directory", "/somewhere/else.csv")

    maker(make_pack)
    assert cli.main(["make", str(pack_file), "--out", str(tmp_path / "out")]) == 3


# ---- being stopped


def test_ctrl_c_half_way_is_status_130(pack_file: Path, tmp_path: Path) -> None:
    """One line, no traceback, and the last good result is kept."""
    last = tmp_path / "out" / "my-pack"
    last.mkdir(parents=True)
    (last / "result.json").write_text("{}", encoding="utf-8")
    code = textwrap.dedent(
        """
        import sys, time, types
        sys.argv[0] = "cellstead"
        module = types.ModuleType("generators.run")
        def make_pack(pack, *, out_dir, **rest):
            (out_dir / "begun").touch()
            time.sleep(30)
        module.make_pack = make_pack
        sys.modules["generators.run"] = module
        from generators.cli import main
        sys.exit(main())
        """
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code, "make", str(pack_file), "--out", str(tmp_path / "out")],
        cwd=ROOT, text=True, stderr=subprocess.PIPE, stdout=subprocess.PIPE,
        # a shell that runs tests in the background has its children ignore the signal
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip
    limit = time.monotonic() + 20
    while not (tmp_path / "out" / "begun").exists():
        assert time.monotonic() < limit
        assert process.poll() is None
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=20)
    assert process.returncode == 130
    assert err == "cellstead: stopped; the last good result is kept\n"
    assert out == ""
    assert (last / "result.json").read_text(encoding="utf-8") == "{}"


def test_a_reader_that_goes_away_is_no_trouble() -> None:
    """``cellstead schema | head -1`` ends quietly."""
    process = subprocess.Popen(
        [sys.executable, "-m", "generators", "schema"], cwd=ROOT,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    assert process.stderr.read() == b""
    assert process.wait(timeout=20) == 0
    process.stderr.close()


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="the device is Linux's")
def test_standard_output_that_is_full_is_status_two() -> None:
    """Reported in one line, with nothing left to fail when Python ends."""
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "generators", "example"], cwd=ROOT, stdout=full,
            stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == ("cellstead: output can't be written: No space left on device\n")


# ---- progress and weight


def test_progress_shows_on_a_terminal_only(
    pack_file: Path, tmp_path: Path, maker: Callable[[Callable[..., object]], None],
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """With a terminal each stage's name comes out on stderr; without, nothing does."""

    def make_pack(pack, *, out_dir, report_progress, **rest):
        for share, stage in enumerate(("holders", "lid", "proofs")):
            report_progress(stage, share / 3)
            time.sleep(0.15)  # the bar is drawn ten times a second
        return Made(out_dir / pack.name)

    maker(make_pack)
    arguments = ["make", str(pack_file), "--out", str(tmp_path)]
    assert cli.main(arguments) == 0
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert cli.main(arguments) == 0
    shown = capsys.readouterr().err
    assert all(stage in shown for stage in ("holders", "lid", "proofs"))


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["--help"], 0), (["--version"], 0), (["schema"], 0), (["example"], 0), (["nonsense"], 2),
        (["check", "sound.yaml"], 0), (["check", "bad.yaml"], 2), (["make", "bad.yaml"], 2),
        (["make", "sound.yaml", "--out", "sound.yaml"], 2),
    ],
)  # fmt: skip
def test_only_making_loads_what_is_heavy(arguments: list[str], status: int, tmp_path: Path) -> None:
    """Help, reading and every fault of the input leave kernel, arrays and meshes alone."""
    (tmp_path / "sound.yaml").write_text(PLAIN, encoding="utf-8")
    (tmp_path / "bad.yaml").write_text(BAD, encoding="utf-8")
    code = (
        f"import sys; sys.path.insert(0, {str(ROOT)!r})\n"
        "from generators.cli import main\n"
        f"status = main({arguments!r})\n"
        f"heavy = [name for name in {HEAVY!r} if name in sys.modules]\n"
        "print(); print(status, heavy, 'pydantic' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, text=True, capture_output=True, check=True
    )
    reads = arguments[0] in ("check", "make", "schema")
    assert done.stdout.splitlines()[-1] == f"{status} [] {reads}"
