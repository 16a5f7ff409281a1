"""``cellstead fit``: verdict, files, exit status, and bad input reported in lines."""

from __future__ import annotations

import argparse
import contextlib
import io
import json
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from generators.commands.fit import declare
from generators.packfile.faults import PackFileError

PACK = (
    "name: pond-lamp\n"
    'cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25}\n'
    "series: 3\nparallel: 2\nload: {continuous_a: 6}\n"
)


def run(*words: str) -> int:
    """The command as the command line runs it."""
    parser = argparse.ArgumentParser()
    declare(parser.add_subparsers(required=True))
    arguments = parser.parse_args(["fit", *words])
    status: int = arguments.run(arguments, [])
    return status


@pytest.fixture(scope="module")
def fitted(tmp_path_factory: pytest.TempPathFactory) -> tuple[int, Path, Path]:
    """Status, folder of the result and the pack's file of one run in a box of its own."""
    folder = tmp_path_factory.mktemp("fit")
    file = folder / "pond-lamp.yaml"
    file.write_text(PACK + "space: {box_mm: [240, 240, 140]}\n", encoding="utf-8")
    with contextlib.redirect_stdout(io.StringIO()) as said:
        status = run(str(file), "--out", str(folder / "out"))
    (folder / "said.txt").write_text(said.getvalue(), encoding="utf-8")
    return status, folder / "out" / "pond-lamp-fit", file


def test_a_roomy_box_holds_the_pack(fitted: tuple[int, Path, Path]) -> None:
    """Status 0; pose, gap and checks stand in fit.json; what was searched needs no words."""
    status, folder, file = fitted
    told = json.loads((folder / "fit.json").read_text(encoding="utf-8"))
    assert status == 0 and told["fits"] and told["smallest_gap_mm"] > 5.0
    pose = np.array(told["pose"])
    assert np.linalg.det(pose[:3, :3]) == pytest.approx(1.0)
    assert all(check["holds"] for check in told["checks"])
    assert told["way_in"]["through"].endswith("of the space")
    said = file.with_name("said.txt").read_text(encoding="utf-8")
    assert "straight insertion path: from " in said and "turns searched" not in said
    assert told["turns_searched"] == {
        "right_angled": 24, "about_one_axis": 120, "about_any_axis": None,
    }  # fmt: skip
    assert {one["name"] for one in told["servicing"]} == {
        "service clearance: lid",
        "service clearance: driver over the bracket screws",
    }


def test_the_picture_reads_on_its_own(fitted: tuple[int, Path, Path]) -> None:
    """Three views with captions, a ring in each, the verdict and the gap in words, no colour."""
    _, folder, _ = fitted
    text = (folder / "fit.svg").read_text(encoding="utf-8")
    root = ElementTree.fromstring(text)
    name = "{http://www.w3.org/2000/svg}"
    words = [element.text or "" for element in root.iter(f"{name}text")]
    for begin in ("plan, from above", "front, from -y", "side, from +x", "pond-lamp fits: "):
        assert any(one.startswith(begin) for one in words)
    assert sum(" mm: " in one for one in words) == 1
    rings = [one for one in root.iter(f"{name}circle") if float(one.get("r", "0")) > 3]
    assert len(rings) == 6  # black on a white rim
    colours = {one.get(key) for one in root.iter() for key in ("fill", "stroke")}
    assert colours <= {None, "none", "#000", "#fff", "#ddd", "url(#cut)"}


@pytest.mark.slow
def test_a_space_that_is_too_small_gives_status_1(
    fitted: tuple[int, Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """A space in a file of its own, wide but lower than any way round: by how much is reported, and
    a former name in the pack file."""
    _, _, fitting = fitted
    file = fitting.with_name("renamed.yaml")
    former = "mount: {offers: plate}\n"
    file.write_text(fitting.read_text(encoding="utf-8") + former, encoding="utf-8")
    space = file.with_name("bay.yaml")
    space.write_text("box_mm: [400, 400, 70]\n", encoding="utf-8")
    status = run(str(file), str(space), "--out", str(file.parent / "small"))
    said = capsys.readouterr()
    assert status == 1
    assert "failed checks: space" in said.err
    assert f"caution: {file}:7: mount.offers: renamed to mount.kind" in said.out
    assert "does not fit: " in said.out and "mm less in the pack's" in said.out
    assert "turns searched: 24 at right angles, 120 about z" in said.out
    told = json.loads(
        (file.parent / "small" / "pond-lamp-fit" / "fit.json").read_text(encoding="utf-8")
    )
    assert told["smallest_gap_mm"] < 0 and told["way_in"] is None
    assert told["turns_searched"]["about_any_axis"]["by_width"] > 600
    assert any(one.get("less_mm") for one in told["shrink"])


def test_no_space_at_all_is_told_at_its_field(tmp_path: Path) -> None:
    """Neither the pack file nor the command names one."""
    file = tmp_path / "pond-lamp.yaml"
    file.write_text(PACK, encoding="utf-8")
    with pytest.raises(PackFileError, match="space: is not given") as caught:
        run(str(file), "--out", str(tmp_path / "out"))
    assert "give the space's file" in str(caught.value)
    assert not (tmp_path / "out" / "pond-lamp-fit").exists()


def test_a_space_file_that_is_missing_is_told(tmp_path: Path) -> None:
    """Nothing is written."""
    file = tmp_path / "pond-lamp.yaml"
    file.write_text(PACK, encoding="utf-8")
    with pytest.raises(PackFileError, match=r"hull\.stl"):
        run(str(file), str(tmp_path / "hull.stl"), "--out", str(tmp_path / "out"))
    assert not (tmp_path / "out").exists()
