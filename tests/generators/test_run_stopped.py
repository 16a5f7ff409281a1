"""Runs that stop or fail: what stays, and the exit status."""

from __future__ import annotations

import errno
import itertools
import json
import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from typing import Any

import pytest
import shapely

from generators import atomic_folder, cli, files, form_choice, making, run
from generators.outfolder import OutputFolderError
from layouts.errors import PlanError
from layouts.planning import steps
from tests.runs import bytes_of, make, odd_pack, without_pictures
from tests.sampled import sampled

ROOT = Path(__file__).parents[2]
TINY = odd_pack(1, 1, lattice="grid", format="18650")
BARE = TINY + "enclosure: {style: none}\n"  # two holders are made, which takes half the time
STAGES = {
    "plan_pack": form_choice, "meshed_part": run, "solid_part": making, "write_files": files,
    "plan_checks": run, "write_pages": run, "write_result": run,
}  # fmt: skip
ENDS = {
    "fault": RuntimeError("broken"),
    "full": OSError(errno.ENOSPC, "No space left on device"),
    "stopped": KeyboardInterrupt(),
}
ENDS_SAMPLE = {
    ("fault", "plan_pack"), ("stopped", "solid_part"), ("full", "write_files"),
    ("stopped", "write_result"),
}  # fmt: skip


# ---- what stays when a run stops


@pytest.fixture(scope="module")
def tiny_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The output folder with the whole result of one cell."""
    out = tmp_path_factory.mktemp("tiny-run")
    with pytest.MonkeyPatch.context() as patch:
        without_pictures(patch)
        make(BARE, out)
    return out


@pytest.mark.one_in(2)
@pytest.mark.parametrize(
    ("how", "stage"), sampled(itertools.product(ENDS, STAGES), lambda case: case in ENDS_SAMPLE)
)
def test_the_last_good_result_stays(
    how: str, stage: str, tiny_run: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever ends a run, and in whatever stage: the old files are whole, and nothing is left."""
    without_pictures(monkeypatch)
    before = bytes_of(tiny_run)
    real = getattr(STAGES[stage], stage)

    def ends(*arguments: Any, **named: Any) -> Any:
        real(*arguments, **named)  # half of the work is done
        raise ENDS[how]

    monkeypatch.setattr(STAGES[stage], stage, ends)
    with pytest.raises(type(ENDS[how])):
        make(BARE, tiny_run)
    assert bytes_of(tiny_run) == before
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


@pytest.mark.one_in(3)
@pytest.mark.parametrize("after", [0, 1, 2], ids=["before", "between", "after"])
def test_stopped_in_the_swap_one_whole_result_stays(
    after: int, tiny_run: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The old or the new folder is in place, whichever step of the swap was the last."""
    without_pictures(monkeypatch)
    before = bytes_of(tiny_run)
    real, done = os.replace, []

    def replaces(source: Path, target: Path) -> None:
        if len(done) < after:
            real(source, target)
        done.append(target)
        if len(done) == max(after, 1):
            raise KeyboardInterrupt
        if len(done) > max(after, 1):
            real(source, target)

    monkeypatch.setattr(atomic_folder.os, "replace", replaces)
    with pytest.raises(KeyboardInterrupt):
        make(BARE, tiny_run)
    after_it = bytes_of(tiny_run)
    assert after_it.keys() == before.keys()
    if after < 2:
        assert after_it == before
    listed = json.loads((tiny_run / "odd-pack" / "result.json").read_text(encoding="utf-8"))
    for row in listed["files"]:
        assert after_it[f"odd-pack/{row['path']}"] == row["sha256"]
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


@pytest.mark.slow
def test_a_folder_that_can_not_be_replaced_is_told(
    tiny_run: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As where another program has it open: the old one stays."""
    without_pictures(monkeypatch)
    before = bytes_of(tiny_run)

    def replaces(source: Path, target: Path) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(source))

    monkeypatch.setattr(atomic_folder.os, "replace", replaces)
    with pytest.raises(OutputFolderError, match="can't be replaced: Permission denied"):
        make(BARE, tiny_run)
    assert bytes_of(tiny_run) == before
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


@pytest.mark.slow
def test_ctrl_c_half_way_leaves_nothing_but_the_old_result(tiny_run: Path, tmp_path: Path) -> None:
    """The signal that a terminal sends, to the whole group of processes: 130 and one line."""
    file = tmp_path / "pack.yaml"
    file.write_text(odd_pack(3, 4, lattice="grid", format="18650"), encoding="utf-8")
    before = bytes_of(tiny_run)
    process = subprocess.Popen(
        [sys.executable, "-m", "generators", "make", str(file), "--out", str(tiny_run)],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        start_new_session=True,
        # a shell that runs tests in the background has its children ignore the signal
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip
    limit = time.monotonic() + 180
    while not list(tiny_run.glob(".odd-pack-*/parts/*.step")):  # parts are being written
        assert time.monotonic() < limit
        assert process.poll() is None
        time.sleep(0.01)
    os.killpg(process.pid, signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 130, err
    assert err == "cellstead: stopped; the last good result is kept\n"
    assert out == ""
    assert bytes_of(tiny_run) == before
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


@pytest.mark.slow
@pytest.mark.parametrize(
    "most_bytes", sampled([20_000, 100_000, 300_000], lambda size: size == 100_000)
)
def test_a_disk_that_fills_up_is_status_two(
    most_bytes: int, tiny_run: Path, tmp_path: Path
) -> None:
    """Whoever writes when the room ends, the kernel or we: one line, and the old result stays."""
    file = tmp_path / "pack.yaml"
    file.write_text(TINY, encoding="utf-8")
    before = bytes_of(tiny_run)
    code = textwrap.dedent(
        f"""
        import resource, sys
        resource.setrlimit(resource.RLIMIT_FSIZE, ({most_bytes}, {most_bytes}))
        sys.argv[0] = "cellstead"
        from generators.cli import main
        sys.exit(main())
        """
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "make", str(file), "--out", str(tiny_run)],
        cwd=ROOT, capture_output=True, text=True, timeout=180,
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    assert done.stderr.startswith("cellstead: --out: ")
    assert len(done.stderr.splitlines()) == 1
    assert bytes_of(tiny_run) == before
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


# ---- exit status


def _status(text: str, tmp_path: Path) -> int:
    file = tmp_path / "pack.yaml"
    file.write_text(text, encoding="utf-8")
    return cli.main(["make", str(file), "--out", str(tmp_path / "out")])


def test_a_pack_that_holds_is_status_zero(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing on stderr, the folder on stdout."""
    without_pictures(monkeypatch)
    assert _status(TINY, tmp_path) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    assert f"{tmp_path / 'out' / 'odd-pack'}: everything holds" in printed.out


@pytest.mark.one_in(2)
@pytest.mark.parametrize(
    ("more", "failing"),
    [
        ("space: {box_mm: [60, 60, 60]}\n", "space"),
        ("load: {continuous_a: 4}\n", "load_current_a"),
    ],
)
def test_a_failing_check_is_status_one_with_its_files(
    more: str, failing: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """The first line of stderr names it; everything is written all the same."""
    without_pictures(monkeypatch)
    assert _status(TINY + more, tmp_path) == 1
    first, told, *_ = capsys.readouterr().err.splitlines()
    assert first == f"failed checks: {failing}"
    assert "(tried: it then holds)" in told or "no fix was found" in told or "no value" in told
    result = json.loads((tmp_path / "out" / "odd-pack" / "result.json").read_text(encoding="utf-8"))
    assert [check["id"] for check in result["checks"] if not check["holds"]] == [failing]
    assert (tmp_path / "out" / "odd-pack" / "assembly.step").is_file()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("bms:\n  board_mm: [400, 60, 10]\n",
         "7: bms.board_mm: does not fit beside glands for leads of 6.5 mm and the lid screws in "
         "a tub up to 240 mm longer than the cells (400 x 60 x 10), use bms.board_mm: "
         "[110, 60, 12] (tried: it can then be planned)"),
        ("mount:\n  screw: M8\n  holes_mm: [[0, 0], [15.5, 0]]\n",
         "8: mount.holes_mm: has two holes too close to each other for the washers of M8 (holes 1 "
         "and 2: 15.5 mm apart), keep them 16.5 mm apart or use a smaller screw"),
        ("enclosure: {lid_mm: 10}\n",
         "6: enclosure.lid_mm: suits no standard length of M3 into a heat-set insert of "
         "5.7 mm (10), use 9"),
        ("leads: {outside_mm: 25}\n",
         "6: leads.outside_mm: is above 21, the largest cable diameter of the known cable "
         "glands (25), use a wire of at most 21 over its insulation"),
    ],
)  # fmt: skip
def test_a_pack_that_can_not_be_planned_is_status_two(
    more: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A fault of the file, at the line of its field, not one of ours; nothing is left behind."""
    assert _status(TINY + more, tmp_path) == 2
    printed = capsys.readouterr()
    assert printed.err == f"{tmp_path / 'pack.yaml'}:{says}\n"
    assert printed.out == ""
    out = tmp_path / "out"
    assert not out.exists() or list(out.iterdir()) == []


def test_a_fault_of_our_own_stays_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A plain ValueError of the plan is no fault of the file: status 3 and a log."""

    def plan_pack(pack: object, *, effort: object) -> None:
        raise ValueError("one disc lies in another")

    monkeypatch.setattr(form_choice, "plan_pack", plan_pack)
    assert _status(TINY, tmp_path) == 3
    assert "internal fault: ValueError: one disc lies in another" in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["odd-pack.log"]


def test_what_a_library_can_not_draw_is_told_by_its_field_and_logged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An error of a geometry library: the section at its line, status 2, the cause in a log."""

    def broken(*_: object) -> None:
        raise shapely.errors.GEOSException("TopologyException: side location conflict")

    monkeypatch.setattr(steps, "holder_tiles", broken)
    assert _status(TINY + "holder: {web_mm: 2}\n", tmp_path) == 2
    said, log = capsys.readouterr().err.splitlines()
    assert said.startswith(f"{tmp_path / 'pack.yaml'}:6: holder: gives a shape that can't be drawn")
    assert "the holders: TopologyException" in said
    file = tmp_path / "out" / "odd-pack.log"
    assert log == f"  log: {file}"
    assert "GEOSException" in file.read_text(encoding="utf-8")


def test_a_field_that_the_file_lacks_is_told_at_its_section() -> None:
    """Where a default is at fault, the line is the nearest that the file has."""
    from generators.packfile.resolve import parse_pack

    read = parse_pack((TINY + "enclosure:\n  wall_mm: 3\n").encode(), "p.yaml")
    error = PlanError(field="enclosure.lid_mm", why="is odd", remedy="use 3", value="10")
    assert read.refused(error).lines() == ["p.yaml:6: enclosure.lid_mm: is odd (10), use 3"]
    given = PlanError(field="enclosure.wall_mm", why="is odd", remedy="use 4")
    assert read.refused(given).lines() == ["p.yaml:7: enclosure.wall_mm: is odd (3), use 4"]


def test_holders_alone_for_a_case_of_the_users_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """enclosure.style none: two holders and nothing else is made, and all of it holds."""
    without_pictures(monkeypatch)
    folder, failed = make(TINY + "enclosure: {style: none}\n", tmp_path)
    told = json.loads((folder / "result.json").read_text(encoding="utf-8"))
    assert failed == ()
    assert {part["role"] for part in told["parts"]} == {"holder_lower", "holder_upper"}
    assert "gas_way" not in told


@pytest.mark.slow
def test_what_comes_too_near_is_pictured_and_only_then(
    tmp_path: Path, tiny_run: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A floor above what is there fails the short checks: each gets its picture in the report."""
    without_pictures(monkeypatch)
    folder, failed = make(TINY + "spacing_floor_mm: 9\n", tmp_path)
    short = {check.id for check in failed if check.id.startswith("short_")}
    assert short
    drawn = {path.stem.replace("-", "_") for path in (folder / "drawings").glob("short-*.svg")}
    assert drawn == short
    report = (folder / "report.html").read_text(encoding="utf-8")
    assert "Insufficient clearance" in report
    before = (tiny_run / "odd-pack" / "report.html").read_text(encoding="utf-8")
    assert "Insufficient clearance" not in before


@pytest.mark.slow
def test_placed_cells_are_drawn_in_their_space(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cells in an outline are posed where they were placed, clear of its walls, and drawn."""
    without_pictures(monkeypatch)
    text = TINY + (
        "enclosure: {style: none}\n"
        "space: {outline_mm: [[0, 0], [90, 0], [90, 45], [45, 45], [45, 90], [0, 90]], "
        "height_mm: 90}\n"
    )
    folder, failed = make(text, tmp_path)
    assert [check.id for check in failed] == []
    told = json.loads((folder / "result.json").read_text(encoding="utf-8"))
    assert told["space"]["smallest_gap_mm"] > 0.0
    assert (folder / "drawings" / "placing.svg").is_file()
    assert "Cell placement in the space" in (folder / "report.html").read_text(encoding="utf-8")


@pytest.mark.slow
def test_kills_at_random_moments_lose_nothing() -> None:
    """Three of the kills of tests/benchmarks/kills.py, each with the run after it."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks.kills", "--kills", "3"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
