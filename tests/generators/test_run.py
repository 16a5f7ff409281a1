"""Whole runs: what is in the folder, and what result.json says."""

from __future__ import annotations

import json
import math
import os
import re
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.runs import bytes_of, make, odd_pack
from tests.sampled import sampled

ROOT = Path(__file__).parents[2]
ROLES = {"holder_lower", "holder_upper", "tub", "lid", "bracket", "barrier"}
SECTIONS = {
    "tool", "pack", "cells", "can", "groups", "strips", "electrical", "thermal", "mass", "parts",
    "checks", "files",
}  # fmt: skip
TINY = odd_pack(1, 1, lattice="grid", format="18650")


@pytest.fixture(
    scope="module", params=sampled(["honeycomb", "grid"], lambda lattice: lattice == "honeycomb")
)
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
    """Report, assembly, plates, bill, drawings, pictures, templates, three files a part; none is
    empty."""
    names = set(bytes_of(folder))
    kinds = ("step", "stl", "3mf")
    parts = {f"parts/{part['name']}.{kind}" for part in result["parts"] for kind in kinds}
    top = {"result.json", "report.html", "commissioning.html", "assembly.step", "bill.csv",
           "pack.yaml"}  # fmt: skip
    drawings = {name for name in names if name.startswith("drawings/")}
    faces = ("upper-face", "lower-face", "weld-plan-upper", "weld-plan-lower", "balance-leads")
    assert {f"drawings/{face}.svg" for face in faces} <= drawings
    templates = {
        f"templates/{name}"
        for name in ("templates-a4.pdf", "templates-letter.pdf", "strips-upper.dxf",
                     "strips-lower.dxf", "pieces.dxf")
    }  # fmt: skip
    beds = {plate["file"] for plate in result["printing"]["plates"]}
    assert beds == {f"plates/plate-{k + 1}.3mf" for k in range(len(beds))} != set()
    pictures = {"pictures/cutaway.png", "pictures/exploded.png"}
    assert names == top | parts | drawings | pictures | templates | beds
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
    text = (folder / "result.json").read_text(encoding="utf-8")
    assert not re.findall(r".*\bnull\b.*", text)  # what isn't known is left out
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
        assert part["volume_mm3"] == pytest.approx(part["drawn_volume_mm3"], rel=1e-6)
        assert part["formula_volume_mm3"] == part["drawn_volume_mm3"]
        assert part["mass_g"] > 0


def test_mass_is_the_sum_of_its_parts(result: dict[str, Any]) -> None:
    """What is printed weighs as much as all copies of all parts."""
    mass = result["mass"]
    printed = sum(part["mass_g"] * part["count"] for part in result["parts"])
    assert mass["printed_g"] == pytest.approx(printed, rel=1e-4)
    others = sum(value for key, value in mass.items() if key != "total_g")
    assert mass["total_g"] == pytest.approx(others, rel=1e-6)


def test_checks_have_their_shape_and_agree_with_their_figures(result: dict[str, Any]) -> None:
    """Each says what it is about and from where; figure and limit confirm what it says."""
    ids = [check["id"] for check in result["checks"]]
    assert len(set(ids)) == len(ids)
    assert {
        "can_spacing", "strip_seat_mm", "lip_force_n", "smallest_island_mm2", "gas_way",
        "gas_window", "watertight", "one_body", "winding", "volume_formula", "mesh_volume",
        "fits_bed", "cells_go_in", "pockets_hold", "pockets_centre", "parts_clear",
        "strips_in_channels", "strips_on_cans", "notches_open", "rings_in_seats", "ends_borne",
        "tie_holes", "tie_nuts_held", "screw_holes", "screw_seats", "insert_holes",
        "screw_engagement", "gland_holes", "glands_free", "board_fits", "board_held",
        "lip_as_planned",
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


@pytest.mark.slow
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


@pytest.mark.slow
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
