"""Whole runs: what is in the folder, what result.json says, and what a run that stops leaves."""

from __future__ import annotations

import errno
import json
import math
import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from generators import atomic_folder, cli, run
from generators.outfolder import OutputFolderError
from layouts.errors import PlanError
from tests.runs import bytes_of, make, odd_pack, without_pictures

ROOT = Path(__file__).parents[2]
ROLES = {"holder_lower", "holder_upper", "tub", "lid", "bracket", "barrier"}
SECTIONS = {
    "tool", "pack", "cells", "can", "groups", "strips", "electrical", "thermal", "mass", "parts",
    "checks", "files",
}  # fmt: skip
TINY = odd_pack(1, 1, lattice="grid", format="18650")
STAGES = ("plan_pack", "made_part", "write_files", "proofs", "write_pages", "write_result")


@pytest.fixture(scope="module", params=["honeycomb", "grid"])
def folder(
    request: pytest.FixtureRequest, small_run: Path, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """A whole result: 3S2P in a honeycomb with space and load, and 2S2P in a grid without."""
    if request.param == "honeycomb":
        return small_run
    text = odd_pack(2, 2, lattice="grid", format="21700")
    return make(text, tmp_path_factory.mktemp("grid-run"))[0]


@pytest.fixture(scope="module")
def result(folder: Path) -> dict[str, Any]:
    """Its result.json."""
    read: dict[str, Any] = json.loads((folder / "result.json").read_text(encoding="utf-8"))
    return read


# ---- what is there


def test_every_file_of_a_run_is_there(folder: Path, result: dict[str, Any]) -> None:
    """Report, assembly, plates, bill, drawings, templates, three files a part; none is empty."""
    names = set(bytes_of(folder))
    kinds = ("step", "stl", "3mf")
    parts = {f"parts/{part['name']}.{kind}" for part in result["parts"] for kind in kinds}
    top = {"result.json", "report.html", "assembly.step", "plates.3mf", "bill.csv", "pack.yaml"}
    drawings = {name for name in names if name.startswith("drawings/")}
    faces = ("upper-face", "lower-face", "weld-plan-upper", "weld-plan-lower", "balance-leads")
    assert {f"drawings/{face}.svg" for face in faces} <= drawings
    templates = {
        f"templates/{name}"
        for name in ("templates-a4.pdf", "templates-letter.pdf", "strips-upper.dxf",
                     "strips-lower.dxf", "pieces.dxf")
    }  # fmt: skip
    assert names == top | parts | drawings | templates
    assert all(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    assert folder.stat().st_mode & 0o777 == 0o755


def test_files_are_listed_with_their_sums(folder: Path, result: dict[str, Any]) -> None:
    """All but result.json itself, once each, with the sum of what is on the disk."""
    listed = {row["path"]: row["sha256"] for row in result["files"]}
    assert len(listed) == len(result["files"])
    there = bytes_of(folder)
    del there["result.json"]
    assert listed == there


def test_result_has_its_sections(folder: Path, result: dict[str, Any]) -> None:
    """All that scripts rely on, and the space just where one was given."""
    assert set(result) >= SECTIONS
    assert ("space" in result) == (result["pack"].get("space") is not None)
    assert not [key for key, value in result.items() if value in (None, {}, [])]  # placeholders
    assert result["tool"].startswith("cellstead ")


def test_cells_and_groups_agree(result: dict[str, Any]) -> None:
    """S times P cells, P a group, turned over from one group to the next, 1 at pack minus."""
    pack, cells = result["pack"], result["cells"]
    assert len(cells) == pack["series"] * pack["parallel"]
    assert [g["group"] for g in result["groups"]] == list(range(1, pack["series"] + 1))
    for group in result["groups"]:
        assert len(group["cells"]) == pack["parallel"]
        for index in group["cells"]:
            assert cells[index]["group"] == group["group"]
            assert cells[index]["positive_up"] == (group["group"] % 2 == 1)
    xy = np.array([(c["x_mm"], c["y_mm"]) for c in cells])
    assert np.abs(xy.min(axis=0) + xy.max(axis=0)).max() < 1e-5  # origin in the field's middle
    can = result["can"]
    pitch = can["diameter_mm"] + can["clearance_mm"] + pack["holder"]["web_mm"]
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)) + np.eye(len(xy)) * 1e9
    assert apart.min() == pytest.approx(pitch, abs=1e-5)


def test_strips_join_what_they_name(result: dict[str, Any]) -> None:
    """Every strip joins cells of its groups, lies over them, and every junction has one."""
    cells = result["cells"]
    joined: set[frozenset[int]] = set()
    for strip in result["strips"]:
        outline = np.array(strip["outline_mm"])
        assert strip["face"] in ("upper", "lower")
        assert outline.ndim == 2 and len(outline) >= 3
        assert strip["thickness_mm"] * strip["layers"] > 0
        for link in strip["links"]:
            groups = {cells[i]["group"] for i in link["cells"]}
            assert groups <= set(strip["groups"])
            for i in link["cells"]:
                low, high = outline.min(axis=0), outline.max(axis=0)
                assert low[0] < cells[i]["x_mm"] < high[0] and low[1] < cells[i]["y_mm"] < high[1]
        if len(strip["groups"]) == 2:
            joined.add(frozenset(strip["groups"]))
            lower = min(strip["groups"])
            assert strip["face"] == ("upper" if lower % 2 else "lower")
    assert joined == {frozenset((k, k + 1)) for k in range(1, result["pack"]["series"])}


def test_parts_have_known_roles_and_rigid_places(folder: Path, result: dict[str, Any]) -> None:
    """One matrix a copy, a turn and a shift, never a mirror; files by name; sizes that agree."""
    roles = [part["role"] for part in result["parts"]]
    assert set(roles) <= ROLES
    assert {"holder_lower", "holder_upper", "tub", "lid", "bracket"} <= set(roles)
    names = [part["name"] for part in result["parts"]]
    assert len(set(names)) == len(names)
    for part in result["parts"]:
        assert part["name"] and all(c.isalnum() or c in "-_" for c in part["name"])
        assert part["files"] == [f"parts/{part['name']}.{kind}" for kind in ("step", "stl", "3mf")]
        assert all((folder / name).is_file() for name in part["files"])
        assert part["count"] == len(part["placed"]) >= 1
        for rows in part["placed"]:
            matrix = np.array(rows)
            assert matrix.shape == (4, 4)
            turn = matrix[:3, :3]
            assert np.abs(turn @ turn.T - np.eye(3)).max() < 1e-9
            assert np.linalg.det(turn) == pytest.approx(1.0, abs=1e-9)
            assert matrix[3].tolist() == [0, 0, 0, 1]
        assert part["watertight"] is True
        assert 0 < part["volume_mm3"] < math.prod(part["box_mm"])
        assert part["volume_mm3"] == pytest.approx(part["formula_volume_mm3"], rel=1e-6)
        assert part["mass_g"] > 0


def test_mass_is_the_sum_of_its_parts(result: dict[str, Any]) -> None:
    """What is printed weighs as much as all copies of all parts."""
    mass = result["mass"]
    printed = sum(part["mass_g"] * part["count"] for part in result["parts"])
    assert mass["printed_g"] == pytest.approx(printed, rel=1e-4)
    others = sum(value for key, value in mass.items() if key != "total_g")
    assert mass["total_g"] == pytest.approx(others, rel=1e-6)


def test_checks_have_their_shape_and_agree_with_their_figures(result: dict[str, Any]) -> None:
    """Each says what it is about and from where; figure and limit bear out what it says."""
    ids = [check["id"] for check in result["checks"]]
    assert len(set(ids)) == len(ids)
    assert {
        "can_spacing", "strip_seat_mm", "lip_force_n", "smallest_island_mm2", "gas_way",
        "watertight", "one_body", "winding", "volume_formula", "mesh_volume", "fits_bed",
        "cells_go_in", "pockets_hold", "pockets_centre", "parts_clear",
    } <= set(ids)  # fmt: skip
    for check in result["checks"]:
        assert set(check) >= {
            "id", "about", "holds", "value", "limit", "unit", "source", "remedy", "how_to_mend",
        }  # fmt: skip
        assert isinstance(check["holds"], bool)
        assert check["about"] and check["source"]
        assert check["remedy"] or check["holds"]
        assert check["how_to_mend"] == check["remedy"]  # its former name, which scripts may read
        if check["value"] is not None and check["limit"] is not None:
            room = check["value"] - check["limit"]
            noise = 1e-6 * max(1.0, abs(check["limit"]))
            holds = room >= -noise if check["at_least"] else room <= noise
            assert holds == check["holds"], check


def test_small_packs_hold(result: dict[str, Any]) -> None:
    """An ordinary small pack passes every check."""
    assert [check["id"] for check in result["checks"] if not check["holds"]] == []


def test_the_pose_is_rigid(small_run: Path) -> None:
    """The pack stands upright in its space, turned in plan at most."""
    result = json.loads((small_run / "result.json").read_text(encoding="utf-8"))
    pose = np.array(result["space"]["pose"])
    assert np.linalg.det(pose[:3, :3]) == pytest.approx(1.0, abs=1e-9)
    assert pose[2, :3].tolist() == [0, 0, 1]
    assert result["space"]["smallest_gap_mm"] >= 0


def test_only_relative_paths_and_no_machine_in_any_text(folder: Path) -> None:
    """Nothing of the folder that it was made in stands in a file."""
    told = str(folder.parent).encode()
    for path in folder.rglob("*"):
        if path.is_file() and path.suffix != ".3mf":  # zipped; its bytes are compared below
            assert told not in path.read_bytes(), path.name


# ---- the same bytes


def test_two_runs_give_the_same_bytes(tmp_path: Path) -> None:
    """Processes of their own, with other seeds of the hash: every file is the same."""
    file = tmp_path / "pack.yaml"
    file.write_text(odd_pack(2, 1, lattice="honeycomb", format="18650"), encoding="utf-8")
    runs = [
        subprocess.Popen(
            [sys.executable, "-m", "generators", "make", str(file), "--out", str(tmp_path / seed)],
            cwd=ROOT, env=os.environ | {"PYTHONHASHSEED": seed},
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        )
        for seed in ("1", "4242")
    ]  # fmt: skip
    for process in runs:
        said, _ = process.communicate(timeout=120)
        assert process.returncode == 0, said
    first, second = (bytes_of(tmp_path / seed / "odd-pack") for seed in ("1", "4242"))
    assert len(first) > 20
    names = first.keys() | second.keys()
    assert [name for name in names if first.get(name) != second.get(name)] == []


def test_a_second_run_in_one_process_gives_the_same_bytes(tmp_path: Path) -> None:
    """Nothing comes out of what the kernel counts from its start on."""
    code = textwrap.dedent(
        f"""
        import sys
        from pathlib import Path
        import pytest
        from tests.runs import make, without_pictures
        without_pictures(pytest.MonkeyPatch())
        for out in map(Path, sys.argv[1:]):
            out.mkdir()
            make({TINY!r}, out)
        """
    )
    outs = [tmp_path / name for name in ("1", "2", "3")]
    subprocess.run([sys.executable, "-c", code, *map(str, outs)], cwd=ROOT, check=True)
    first, *others = map(bytes_of, outs)
    for other in others:
        assert [name for name in first if first[name] != other.get(name)] == []


# ---- what stays when a run stops


@pytest.fixture(scope="module")
def tiny_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The output folder with the whole result of one cell."""
    out = tmp_path_factory.mktemp("tiny-run")
    with pytest.MonkeyPatch.context() as patch:
        without_pictures(patch)
        make(TINY, out)
    return out


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize(
    "error",
    [RuntimeError("broken"), OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()],
    ids=["fault", "full", "stopped"],
)
def test_the_last_good_result_stays(
    error: BaseException, stage: str, tiny_run: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever ends a run, and in whatever stage: the old files are whole, and nothing is left."""
    without_pictures(monkeypatch)
    before = bytes_of(tiny_run)
    real = getattr(run, stage)

    def ends(*arguments: Any, **named: Any) -> Any:
        real(*arguments, **named)  # half of the work is done
        raise error

    monkeypatch.setattr(run, stage, ends)
    with pytest.raises(type(error)):
        make(TINY, tiny_run)
    assert bytes_of(tiny_run) == before
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


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
        make(TINY, tiny_run)
    after_it = bytes_of(tiny_run)
    assert after_it.keys() == before.keys()
    if after < 2:
        assert after_it == before
    listed = json.loads((tiny_run / "odd-pack" / "result.json").read_text(encoding="utf-8"))
    for row in listed["files"]:
        assert after_it[f"odd-pack/{row['path']}"] == row["sha256"]
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


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
        make(TINY, tiny_run)
    assert bytes_of(tiny_run) == before
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


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
    limit = time.monotonic() + 60
    while not list(tiny_run.glob(".odd-pack-*/parts/*.step")):  # parts are being written
        assert time.monotonic() < limit
        assert process.poll() is None
        time.sleep(0.01)
    os.killpg(process.pid, signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 130, err
    assert err == "cellstead: stopped; the last good result stays as it was\n"
    assert out == ""
    assert bytes_of(tiny_run) == before
    assert [path.name for path in tiny_run.iterdir()] == ["odd-pack"]


@pytest.mark.parametrize("most_bytes", [20_000, 100_000, 300_000])
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
        from generators import run
        real = run.write_files
        def write_files(*arguments):
            resource.setrlimit(resource.RLIMIT_FSIZE, ({most_bytes}, {most_bytes}))
            return real(*arguments)
        run.write_files = write_files
        sys.argv[0] = "cellstead"
        from generators.cli import main
        sys.exit(main())
        """
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "make", str(file), "--out", str(tiny_run)],
        cwd=ROOT, capture_output=True, text=True, timeout=60,
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
    first = capsys.readouterr().err.splitlines()[0]
    assert first == f"does not hold: {failing}"
    result = json.loads((tmp_path / "out" / "odd-pack" / "result.json").read_text(encoding="utf-8"))
    assert [check["id"] for check in result["checks"] if not check["holds"]] == [failing]
    assert (tmp_path / "out" / "odd-pack" / "assembly.step").is_file()


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ("bms:\n  board_mm: [400, 60, 10]\n",
         "7: bms.board_mm: finds no room beside glands for leads of 6.5 mm and the lid's screws in "
         "a tub up to 240 mm longer than the cells (400 x 60 x 10), use a smaller board or thinner "
         "wires"),
        ("mount:\n  screw: M8\n  holes_mm: [[0, 0], [15.5, 0]]\n",
         "8: mount.holes_mm: has two holes too near each other for the washers of M8 (holes 1 and "
         "2: 15.5 mm apart), keep them 16.5 mm apart or use a smaller screw"),
        ("enclosure: {lid_mm: 10}\n",
         "6: enclosure.lid_mm: suits no usual length of M3 into a heat-set insert (10), use 9"),
        ("leads: {outside_mm: 25}\n",
         "6: leads.outside_mm: is above 21, the thickest wire that a known cable gland takes (25), "
         "use a wire of at most 21 over its insulation"),
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
    assert list((tmp_path / "out").iterdir()) == []


def test_a_fault_of_our_own_stays_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A plain ValueError of the plan is no fault of the file: status 3 and a log."""

    def plan_pack(pack: object, *, effort: object) -> None:
        raise ValueError("one disc lies in another")

    monkeypatch.setattr(run, "plan_pack", plan_pack)
    assert _status(TINY, tmp_path) == 3
    assert "internal fault: ValueError: one disc lies in another" in capsys.readouterr().err
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["odd-pack.log"]


def test_a_field_that_the_file_lacks_is_told_at_its_section() -> None:
    """Where a default is at fault, the line is the nearest that the file has."""
    from generators.packfile.resolve import parse_pack

    read = parse_pack((TINY + "enclosure:\n  wall_mm: 3\n").encode(), "p.yaml")
    error = PlanError(field="enclosure.lid_mm", why="is odd", mend="use 3", value="10")
    assert read.refused(error).lines() == ["p.yaml:6: enclosure.lid_mm: is odd (10), use 3"]
    given = PlanError(field="enclosure.wall_mm", why="is odd", mend="use 4")
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
    assert "What comes too near" in report
    before = (tiny_run / "odd-pack" / "report.html").read_text(encoding="utf-8")
    assert "What comes too near" not in before


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
    assert "Cells in their space" in (folder / "report.html").read_text(encoding="utf-8")
