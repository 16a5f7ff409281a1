"""What `check` refuses before anything is planned: the same as `make`, in the same words."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators import cli
from generators.packfile.models import PackFile
from layouts.errors import PlanError
from layouts.parts.tie_screw import DEEPEST_MM
from layouts.planning.early import early_refusals
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of
from tests.generators.packfile.files import read

pytestmark = pytest.mark.one_in(3)  # cases that plan a pack each

SMALL = """\
name: small
cell: {format: "18650", capacity_ah: 2.5, continuous_a: 8, internal_resistance_mohm: 25}
series: 3
parallel: 2
"""
LONG = SMALL.replace('"18650"', '"18500", measured_diameter_mm: 18.4, measured_length_mm: LENGTH')
CASE = "space: {box_mm: [200, 200, 90]}\nenclosure: {style: none}\n"

# what is added to the small pack, and how the line begins that refuses it
REFUSED = {
    "free spacing": (
        SMALL + CASE + "lattice: free\n",
        "lattice: leaves cells without rows, so no straight strips can be laid and no holder made "
        "(free), write honeycomb or grid; cellstead place draws free cell positions",
    ),
    "a low space": (
        SMALL + CASE.replace("90", "70"),
        "space: is lower than one layer of held cells with the vent space over both faces "
        "(70.0 mm high), give at least 75.9 mm",
    ),
    "a lid between two screws": (
        SMALL + "enclosure: {lid_mm: 10}\n",
        "enclosure.lid_mm: suits no standard length of M3 into a heat-set insert of 5.7 mm (10), "
        "use 9",
    ),
    "a wire for no gland": (
        SMALL + "leads: {outside_mm: 25}\n",
        "leads.outside_mm: is above 21, the largest cable diameter of the known cable glands "
        "(25), use a wire of at most 21 over its insulation",
    ),
    "frame holes under one washer": (
        SMALL + "mount: {screw: M8, holes_mm: [[0, 0], [15.5, 0]]}\n",
        "mount.holes_mm: has two holes too close to each other for the washers of M8 (holes 1 and "
        "2: 15.5 mm apart), keep them 16.5 mm apart or use a smaller screw",
    ),
    "air too warm for the wire's insulation": (
        SMALL.replace("mohm: 25", "mohm: 25, max_c: 100")
        + "leads: {table: cable_60}\nload: {continuous_a: 4, ambient_c: 62}\n"
        + "printer: {material: pc}\n",
        "load.ambient_c: leaves the wire no current: its conductor is rated for 60 C (62), ",
    ),
    "air too warm for the plastic": (
        SMALL + "load: {continuous_a: 4, ambient_c: 40}\nprinter: {material: pla}\n",
        "load.ambient_c: is at the temperature limit of the pla, 35 C (40), print in abs or asa or "
        "pa12 or pc or petg, or use less than 35",
    ),
    "pockets below the screws' recess": (
        LONG.replace("LENGTH", "125"),
        "holder.depth_mm: ends below the screws' recess of 28.2 mm: the longest usual screw is "
        "100 mm (10), use at least 27.8",
    ),
    "cells too long for the screws": (
        LONG.replace("LENGTH", "145"),
        "holder.depth_mm: ends below the screws' recess of 48 mm: the longest usual screw is "
        "100 mm (10), use shorter cells: 47.6 would be required, and 40 is the most",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_check_refuses_what_can_not_be_planned(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Status 2 and one line, from `check` and from `make`, which leaves no folder behind."""
    text, says = REFUSED[name]
    file = tmp_path / "pack.yaml"
    file.write_text(text, encoding="utf-8")
    assert cli.main(["check", str(file)]) == 2
    checked = capsys.readouterr()
    (line,) = checked.err.splitlines()
    assert line.removeprefix(f"{file}:").partition(": ")[2].startswith(says)
    assert checked.out == ""
    assert cli.main(["make", str(file), "--out", str(tmp_path / "out")]) == 2
    assert capsys.readouterr().err == checked.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", REFUSED)
def test_the_plan_refuses_the_same_in_the_same_words(name: str) -> None:
    """The early refusal is the plan's own, not a second opinion."""
    pack = read(REFUSED[name][0]).pack
    with pytest.raises(PlanError) as caught:
        list(parts_of(plan_pack(pack)))
    assert [str(error) for error in early_refusals(pack)] == [str(caught.value)]


@pytest.mark.parametrize("name", ["pockets below the screws' recess", "a lid between two screws"])
def test_the_value_that_is_named_is_taken(name: str) -> None:
    """What stands after "use", written in the file, is refused no more."""
    text, says = REFUSED[name]
    key = "depth_mm" if "depth_mm" in says else "lid_mm"
    value = says.split()[-1]
    mended = text.replace("lid_mm: 10", f"lid_mm: {value}")
    if key == "depth_mm":
        mended = f"{text}holder: {{depth_mm: {value}}}\n"
    pack = read(mended).pack
    assert early_refusals(pack) == ()
    assert list(parts_of(plan_pack(pack)))


def test_all_that_is_refused_is_told_at_once() -> None:
    """Three fields, three refusals."""
    text = SMALL + "leads: {outside_mm: 25}\nenclosure: {lid_mm: 10}\n"
    text += "mount: {screw: M8, holes_mm: [[0, 0], [15.5, 0]]}\n"
    fields = [error.field for error in early_refusals(read(text).pack)]
    assert sorted(fields) == ["enclosure.lid_mm", "leads.outside_mm", "mount.holes_mm"]


def test_a_sound_pack_is_refused_nothing() -> None:
    """Nor is one without an enclosure for what only an enclosure has."""
    assert early_refusals(read(SMALL).pack) == ()
    bare = SMALL + CASE + "leads: {outside_mm: 25}\n"
    assert early_refusals(read(bare).pack) == ()


def test_the_deepest_pocket_is_the_forms() -> None:
    """One number in two places."""
    form = PackFile.model_json_schema()["$defs"]["HolderSection"]["properties"]["depth_mm"]
    assert form["anyOf"][0]["maximum"] == DEEPEST_MM


def test_check_says_what_it_has_not_looked_at(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The last line, so that a sound file is not taken for a sound pack."""
    file = tmp_path / "pack.yaml"
    file.write_text(SMALL, encoding="utf-8")
    assert cli.main(["check", str(file)]) == 0
    last = capsys.readouterr().out.splitlines()[-1]
    assert last.startswith("not looked at: ") and "cellstead make checks them" in last
