"""The command line: exit status and what it prints."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from generators import cli
from generators.version import VERSION
from tests.generators.cli_runs import BAD, ROOT, Made, failed_check, run
from tests.generators.packfile.files import PLAIN

pytestmark = pytest.mark.one_in(3)  # cases that run the command each

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
    assert lines[0] == f"{pack_file}: valid: my-pack, 40 cells of 21700 as 10S4P, honeycomb"
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
        (b"- a\n", "1: file: has no keys at its top level (a list)"),
        (b"name: a\nname: b\n", "2: name: is given twice"),
        (b"a: &a [1]\nb: [*a, *a]\n", "2: b entry 1: refers to another value by an alias"),
        (b"x: " + b"y" * 1_000_001, "1: file: is too large"),
        (PLAIN.replace("10", "9999").encode(), "3: series: series times parallel is more than"),
        (PLAIN.replace("4.8", ".nan").encode(), "2: cell.capacity_ah: is not a finite number"),
        (PLAIN.replace("my-pack", "a/b").encode(), "1: name: has characters other than letters"),
        (PLAIN.encode() + b"holder: {web_mm: 0.2}\n", "5: holder.web_mm: is less than two lin"),
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
    """What ``example`` prints can be put in a file and checked; others are printed as they are."""
    assert cli.main(["example", "--list"]) == 0
    *names, cells, script = capsys.readouterr().out.split()
    assert names[0] == "orchard-trolley"
    assert cli.main(["example", script]) == 0
    assert "def bracket(sizes" in capsys.readouterr().out
    assert cli.main(["example", cells]) == 0
    assert "label,capacity_mah,ac_resistance_mohm,rested_v" in capsys.readouterr().out
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
    assert printed.out.splitlines()[-2:] == [
        Made(folder).printing, f"{folder}: everything holds",
    ]  # fmt: skip


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
    """The first line names them all once, then each with figures and remedy; warnings last."""
    import warnings

    def make_pack(pack, *, out_dir, **rest):
        warnings.warn("a mesh was coarse", RuntimeWarning, stacklevel=1)
        checks = (failed_check("can_spacing"), failed_check("gas_way"), failed_check("gas_way"))
        return Made(out_dir / pack.name, checks)

    maker(make_pack)
    assert cli.main(["make", str(pack_file), "--out", str(tmp_path)]) == 1
    printed = capsys.readouterr()
    lines = printed.err.splitlines()
    assert lines[0] == "failed checks: can_spacing, gas_way"
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
        f"cellstead: the CAD kernel needs {library}, which is missing on this machine: apt-get "
        "install libgl1\n"
    )
