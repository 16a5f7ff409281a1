"""The command line: exit status, what it prints, and what it does not load."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import textwrap
import time
import tomllib
import types
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from generators import cli
from generators.outfolder import OutputFolderError
from generators.version import VERSION
from layouts.checks import Check
from tests.generators.packfile.files import PLAIN

ROOT = Path(__file__).parents[2]
HEAVY = ("OCP", "cadquery", "trimesh", "numpy", "scipy", "shapely", "manifold3d", "vtk", "rich")
BAD = PLAIN.replace("series: 10", "series: 0")


@dataclass(frozen=True)
class Made:
    """An outcome as ``make_pack`` gives it."""

    folder: Path
    failed: tuple[Check, ...] = ()


def failed_check(name: str) -> Check:
    """A check that does not hold (invented)."""
    return Check(
        id=name, about="distance of two cans", holds=False, value=1.2, limit=2.0, unit="mm",
        source="geometry", how_to_mend="widen the web", where="cells 3 and 9",
    )  # fmt: skip


@pytest.fixture
def pack_file(tmp_path: Path) -> Path:
    """A sound pack file."""
    file = tmp_path / "pack.yaml"
    file.write_text(PLAIN, encoding="utf-8")
    return file


@pytest.fixture
def maker(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[..., object]], None]:
    """Puts a function in the place of ``generators.run.make_pack``."""

    def put(make_pack: Callable[..., object]) -> None:
        module = types.ModuleType("generators.run")
        module.make_pack = make_pack  # type: ignore[attr-defined]
        monkeypatch.setitem(sys.modules, "generators.run", module)

    return put


def run(*arguments: str | Path, code: str = "", **options: object) -> subprocess.CompletedProcess:
    """The command in a process of its own; ``code`` runs in it before."""
    start = f"import sys; sys.argv[0] = 'cellstead'\n{code}\nfrom generators.cli import main\n"
    return subprocess.run(
        [sys.executable, "-c", start + "sys.exit(main())", *map(str, arguments)],
        cwd=ROOT, text=True, capture_output=True, timeout=60, **options,  # type: ignore[call-overload]
    )  # fmt: skip


# ---- reading


def test_version_is_the_packages() -> None:
    """The one number stands in the build file too."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == VERSION


def test_check_of_a_sound_file_says_what_it_is(
    pack_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Status 0, the pack in a line, the cautions after it."""
    assert cli.main(["check", str(pack_file)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == f"{pack_file}: sound: my-pack, 40 cells of 21700 as 10S4P, honeycomb"
    assert lines[1].startswith("caution: space: not given")


@pytest.mark.parametrize("command", ["check", "make"])
def test_faults_of_the_file_are_status_two(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line a fault on stderr, nothing on stdout, and no output folder."""
    file = tmp_path / "bad.yaml"
    file.write_text(BAD.replace("my-pack", "../up"), encoding="utf-8")
    out = ["--out", str(tmp_path / "out")] if command == "make" else []
    assert cli.main([command, str(file), *out]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert [line.split(": ")[:2] for line in printed.err.splitlines()] == [
        [f"{file}:1", "name"], [f"{file}:3", "series"],
    ]  # fmt: skip
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "1: file: is empty"),
        (b"{", "1: file: is not readable as YAML"),
        (b"- a\n", "1: file: holds no keys at its top level (a list)"),
        (b"name: a\nname: b\n", "2: name: is given twice"),
        (b"a: &a [1]\nb: [*a, *a]\n", "2: b entry 1: refers to another value by an alias"),
        (b"x: " + b"y" * 1_000_001, "1: file: is too large"),
        (PLAIN.replace("10", "9999").encode(), "3: series: series times parallel is more than"),
        (PLAIN.replace("4.8", ".nan").encode(), "2: cell.capacity_ah: is not a finite number"),
        (PLAIN.replace("my-pack", "a/b").encode(), "1: name: holds something else than letters"),
        (PLAIN.encode() + b"holder: {web_mm: 0.2}\n", "5: holder.web_mm: is thinner than the noz"),
        (PLAIN.encode() + b"holder: {window_mm: 25}\n", "5: holder.window_mm: is larger than the"),
    ],
)
def test_bad_input_gives_its_line_and_status_two(content: bytes, says: str, tmp_path: Path) -> None:
    """In a process of its own, so nothing but the line can come out."""
    file = tmp_path / "bad.yaml"
    file.write_bytes(content)
    done = run("make", file, "--out", tmp_path / "out")
    assert done.returncode == 2
    assert done.stdout == ""
    assert any(line.startswith(f"{file}:{says}") for line in done.stderr.splitlines()), done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "cellstead: the following arguments are required: COMMAND"),
        (["mak"], "cellstead: argument COMMAND: invalid choice: 'mak'"),
        (["check"], "cellstead check: the following arguments are required: FILE"),
        (["make", "--out"], "cellstead make: argument --out: expected one argument"),
        (["make", "a", "b"], "cellstead: unrecognized arguments: b"),
        (["example", "x"], "cellstead example: no such example (x), give one of orchard-trolley"),
    ],
)
def test_wrong_arguments_are_one_line_and_status_two(
    arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """No page of usage, but where to find it."""
    assert cli.main(arguments) == 2
    (line,) = capsys.readouterr().err.splitlines()
    assert line.startswith(says)


def test_examples_are_listed_and_printed_as_sound_files(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What ``example`` prints can be put in a file and checked; a script is printed as it is."""
    assert cli.main(["example", "--list"]) == 0
    *names, script = capsys.readouterr().out.split()
    assert names[0] == "orchard-trolley"
    assert cli.main(["example", script]) == 0
    assert "def bracket(sizes" in capsys.readouterr().out
    for arguments in ([], *([name] for name in names), ["river-raft.yaml"]):
        assert cli.main(["example", *arguments]) == 0
        file = tmp_path / "printed.yaml"
        file.write_text(capsys.readouterr().out, encoding="utf-8")
        assert cli.main(["check", str(file)]) == 0
        assert (arguments or names)[0].removesuffix(".yaml") in capsys.readouterr().out


def test_schema_is_printed_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    """A whole JSON document and nothing else."""
    assert cli.main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out)["required"] == [
        "name", "cell", "series", "parallel",
    ]  # fmt: skip


# ---- making


def test_make_hands_over_the_pack_and_says_that_it_holds(
    pack_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    maker: Callable[[Callable[..., object]], None],
) -> None:  # fmt: skip
    """Status 0; the pack, its text, cautions and folder are those of the file."""
    handed = {}

    def make_pack(pack, **rest):
        rest["report_progress"]("holders", 0.25)
        handed.update(rest, pack=pack)
        return Made(rest["out_dir"] / pack.name)

    maker(make_pack)
    assert cli.main(["make", str(pack_file), "--out", str(tmp_path / "deep" / "out")]) == 0
    assert handed["pack"].name == "my-pack"
    assert handed["source_text"] == PLAIN
    assert [caution.field for caution in handed["cautions"]] == ["space", "load"]
    assert handed["out_dir"] == tmp_path / "deep" / "out"
    printed = capsys.readouterr()
    assert printed.err == ""
    folder = tmp_path / "deep" / "out" / "my-pack"
    assert printed.out.splitlines()[-1] == f"{folder}: everything holds"


def test_make_without_a_file_makes_the_first_example(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    maker: Callable[[Callable[..., object]], None],
) -> None:  # fmt: skip
    """The trolley, in ``out`` where one stands."""
    made = []

    def make_pack(pack, *, out_dir, **rest):
        made.append((pack.name, out_dir))
        return Made(out_dir / pack.name)

    maker(make_pack)
    monkeypatch.chdir(tmp_path)
    assert cli.main(["make"]) == 0
    assert made == [("orchard-trolley", Path("out"))]
    assert (tmp_path / "out").is_dir()


def test_failing_checks_are_status_one_and_lead_stderr(
    pack_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    maker: Callable[[Callable[..., object]], None],
) -> None:  # fmt: skip
    """The first line names them all once, then each with figures and mend; warnings last."""
    import warnings

    def make_pack(pack, *, out_dir, **rest):
        warnings.warn("a mesh was coarse", RuntimeWarning, stacklevel=1)
        checks = (failed_check("can_spacing"), failed_check("gas_way"), failed_check("gas_way"))
        return Made(out_dir / pack.name, checks)

    maker(make_pack)
    assert cli.main(["make", str(pack_file), "--out", str(tmp_path)]) == 1
    printed = capsys.readouterr()
    lines = printed.err.splitlines()
    assert lines[0] == "does not hold: can_spacing, gas_way"
    assert lines[1] == (
        "  can_spacing: distance of two cans: 1.2 mm, at least 2 mm (cells 3 and 9); widen the web"
    )
    assert lines[-1] == "  warning: a mesh was coarse"
    assert printed.out.splitlines()[-1].endswith("my-pack: written, see report.html")


def test_an_internal_fault_is_status_three_with_its_log(
    pack_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    maker: Callable[[Callable[..., object]], None],
) -> None:  # fmt: skip
    """One line with the log's place; the traceback is in the log, and a good run takes it away."""

    def make_pack(pack, **rest):
        raise ZeroDivisionError("no area\nat all")

    maker(make_pack)
    arguments = ["make", str(pack_file), "--out", str(tmp_path / "out")]
    assert cli.main(arguments) == 3
    (line,) = capsys.readouterr().err.splitlines()
    log = tmp_path / "out" / "my-pack.log"
    assert line == f"cellstead: internal fault: ZeroDivisionError: no area at all; log: {log}"
    assert "Traceback" in log.read_text(encoding="utf-8")
    maker(lambda pack, *, out_dir, **rest: Made(out_dir / pack.name))
    assert cli.main(arguments) == 0
    assert not log.exists()


def test_an_internal_fault_before_the_output_is_known_has_its_log_elsewhere(
    pack_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """In the system's folder for temporary files."""
    import generators.packfile.resolve as resolve

    def broken(data: bytes, file: str) -> None:
        raise RuntimeError("broken")

    monkeypatch.setattr(resolve, "parse_pack", broken)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert cli.main(["check", str(pack_file)]) == 3
    log = Path(capsys.readouterr().err.strip().split("; log: ")[1])
    assert log.parent == tmp_path
    assert "RuntimeError: broken" in log.read_text(encoding="utf-8")


@pytest.mark.parametrize("library", ["libGL.so.1", "libX11.so.6"])
def test_a_missing_display_library_names_its_package(
    library: str, pack_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    maker: Callable[[Callable[..., object]], None],
) -> None:  # fmt: skip
    """One line with the command that brings it, also where another error hides the first."""

    def make_pack(pack, **rest):
        try:
            raise ImportError(f"{library}: cannot open shared object file: No such file")
        except ImportError as error:
            raise RuntimeError("no kernel") from error

    maker(make_pack)
    assert cli.main(["make", str(pack_file), "--out", str(tmp_path)]) == 3
    assert capsys.readouterr().err == (
        f"cellstead: the CAD kernel needs {library}, which this machine lacks: "
        "apt-get install libgl1\n"
    )


# ---- the output folder


def test_an_output_folder_that_is_a_file_is_status_two(pack_file: Path) -> None:
    """Told before anything heavy is loaded."""
    done = run("make", pack_file, "--out", pack_file, code="")
    assert done.returncode == 2
    assert done.stderr == (
        f"cellstead: --out: can't be written: File exists ({pack_file}), "
        "give a folder that you may write to\n"
    )


def test_a_full_disk_is_status_two(pack_file: Path, tmp_path: Path) -> None:
    """With no byte allowed to be written the very first try fails, and nothing is loaded."""
    code = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))"
    done = run("make", pack_file, "--out", tmp_path / "out", code=code)
    assert done.returncode == 2
    assert done.stderr.startswith("cellstead: --out: can't be written: File too large (")
    assert "free some room" in done.stderr


def test_a_disk_that_fills_up_half_way_is_status_two(pack_file: Path, tmp_path: Path) -> None:
    """The error comes from the work itself; the last good result stays as it was."""
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
    OutputFolderError(Path("x"), why="is full", mend="free some room"),
    PermissionError(13, "Permission denied", "{out}/my-pack.part"),
])  # fmt: skip
def test_trouble_with_the_output_during_the_work_is_status_two(
    error: Exception, pack_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    maker: Callable[[Callable[..., object]], None],
) -> None:  # fmt: skip
    """Whether the work tells it itself or the system does."""
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
    """One line, no traceback, and the last good result stays as it was."""
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
    assert err == "cellstead: stopped; the last good result stays as it was\n"
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
    """Told in one line, with nothing left to fail when Python ends."""
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "generators", "example"], cwd=ROOT, stdout=full,
            stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == (
        "cellstead: what was to be printed can't be written: No space left on device\n"
    )


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
