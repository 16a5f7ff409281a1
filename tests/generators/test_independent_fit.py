"""The files of a run fit together, judged from the files alone."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.fit import Result, faults
from tests.runs import make, odd_pack, without_pictures

pytestmark = pytest.mark.one_in(3)  # cases that plan a pack each


@pytest.fixture(scope="module", params=["honeycomb", "grid"])
def result(
    request: pytest.FixtureRequest, small_run: Path, tmp_path_factory: pytest.TempPathFactory
) -> Result:
    """3S2P of 18650 in a honeycomb, and 2S2P of 21700 in a grid."""
    if request.param == "honeycomb":
        return Result(small_run)
    with pytest.MonkeyPatch.context() as patch:
        without_pictures(patch)
        out = tmp_path_factory.mktemp("grid-fit")
        return Result(make(odd_pack(2, 2, lattice="grid", format="21700"), out)[0])


def test_it_all_goes_together(result: Result) -> None:
    """Cans go in and stay, no part meets another, every part lies on the bed as stated."""
    assert faults(result) == []


def test_thicker_cans_clash_in_both_holders(result: Result) -> None:
    """Each pocket refuses a can that is two clearances thicker, by all of its ring."""
    can, depth = result.told["can"], result.told["pack"]["holder"]["depth_mm"]
    thick = can["diameter_mm"] + 2 * can["clearance_mm"]
    ring = np.pi / 4 * (thick**2 - (thick - can["clearance_mm"]) ** 2) * depth
    for role in ("holder_lower", "holder_upper"):
        bitten = result.bitten_mm3(thick, roles=(role,))
        assert (bitten > 0.5 * ring).all()  # channels and the lead-in take the rest
        assert (bitten < 1.1 * ring).all()


def _spoilt(result: Result, folder: Path, change: Any) -> Result:
    shutil.copytree(result.folder / "parts", folder / "parts")
    shutil.copy(result.folder / "pack.yaml", folder)
    told = json.loads(json.dumps(result.told))
    spoilt = Result(folder)
    change(told, folder)
    (folder / "result.json").write_text(json.dumps(told), encoding="utf-8")
    return spoilt


def _part(told: dict[str, Any], role: str) -> dict[str, Any]:
    found: dict[str, Any] = next(part for part in told["parts"] if part["role"] == role)
    return found


def _moved_holder(told: dict[str, Any], folder: Path) -> None:
    _part(told, "holder_lower")["placed"][0][0][3] += 0.5


def _sunk_lid(told: dict[str, Any], folder: Path) -> None:
    _part(told, "lid")["placed"][0][2][3] -= 0.5


def _thick_cell(told: dict[str, Any], folder: Path) -> None:
    told["can"]["diameter_mm"] += 2 * told["can"]["clearance_mm"]


def _small_bed(told: dict[str, Any], folder: Path) -> None:
    told["pack"]["printer"]["bed_mm"] = [100, 40, 200]


def _small_space(told: dict[str, Any], folder: Path) -> None:
    told["pack"]["space"] = {"box_mm": [10, 10, 10]}
    told["space"] = {"pose": np.eye(4).tolist()}


def _wrong_volume(told: dict[str, Any], folder: Path) -> None:
    _part(told, "tub")["volume_mm3"] *= 1.01


def _torn_mesh(told: dict[str, Any], folder: Path) -> None:
    file = folder / f"parts/{_part(told, 'lid')['name']}.stl"
    data = bytearray(file.read_bytes())
    data[80:84] = (int.from_bytes(data[80:84], "little") - 1).to_bytes(4, "little")
    file.write_bytes(data[:-50])  # the last triangle left out


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (_moved_holder, "cans bite"), (_sunk_lid, "share"), (_thick_cell, "cans bite"),
        (_small_bed, "larger than the bed"), (_small_space, "outside the space"),
        (_wrong_volume, "volume"), (_torn_mesh, "not watertight"),
    ],
)  # fmt: skip
def test_what_is_spoilt_is_found(change: Any, says: str, small_run: Path, tmp_path: Path) -> None:
    """The test can fail: each kind of fault in the files is reported."""
    told = faults(_spoilt(Result(small_run), tmp_path, change))
    assert any(says in fault for fault in told), told
