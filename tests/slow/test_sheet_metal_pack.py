"""A whole run of a pack on sheet metal brackets: what is printed, what goes to a shop."""

from __future__ import annotations

import csv
import json
import math
from pathlib import Path
from typing import Any

import cadquery as cq
import ezdxf
import pytest

from generators.packfile.resolve import parse_pack
from layouts.checks import Check
from layouts.planning.mounting import mounting_checks
from layouts.planning.steps import outside_plan
from tests.layouts.brackets.test_sheet import FILE
from tests.runs import make

pytestmark = pytest.mark.slow

SLOT = "{at_mm: [50, 30], screw: M6}"
PLATE = f"{{name: motor-plate, thickness_mm: 3, size_mm: [100, 60], slots: [{SLOT}]}}"
TEXT = (
    f"{FILE}load: {{continuous_a: 6}}\nmount: {{kind: sheet, k_factor: 0.42}}\n"
    f"plates_to_cut: [{PLATE}]\n"
)

# 65 cells for a flat bay, invented; what the finished pack weighs
HEAVY = """\
name: market-cart
cell: {format: "21700", capacity_ah: 5, continuous_a: 15, internal_resistance_mohm: 15, mass_g: 70}
series: 13
parallel: 5
load: {continuous_a: 22, acceleration_g: [4.5, 4.5, 7]}
enclosure: {style: tub}
printer: {bed_mm: [260, 260, 250]}
"""
HEAVY_KG = 6.6


def held(mount: str) -> dict[str, Check]:
    """What is judged of the heavy pack's mounting."""
    plan = outside_plan(parse_pack(f"{HEAVY}mount: {mount}\n".encode(), "p.yaml").pack)
    return {one.id: one for one in mounting_checks(plan, mass_kg=HEAVY_KG)}


def test_a_heavy_pack_gets_from_metal_what_print_does_not_give() -> None:
    """Printed brackets fail; of sheet metal, held nearer to the wall, they hold. The inserts are
    asked less, and still more than a printed pad gives: that is told."""
    printed, bent = held("{kind: angle}"), held("{kind: sheet}")
    failing = {one.id for one in printed.values() if not one.holds}
    assert failing == {"bracket_root_stress", "insert_pull"}
    assert {one.id for one in bent.values() if not one.holds} == {"insert_pull"}
    before, after = printed["insert_pull"].value, bent["insert_pull"].value
    assert before is not None and after is not None and 1.0 < after < 0.95 * before
    assert "metal plate that carries its floor" in bent["insert_pull"].remedy


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """The run's folder and its result; every check holds."""
    folder, failed = make(TEXT, tmp_path_factory.mktemp("out"))
    assert failed == ()
    return folder, json.loads((folder / "result.json").read_text(encoding="utf-8"))


def test_nothing_of_the_brackets_is_printed(made: tuple[Path, dict[str, Any]]) -> None:
    """No file to slice, no hours, no bed, no look at layers; a folder for the shop instead."""
    folder, result = made
    assert sorted(path.name for path in (folder / "metal").iterdir()) == [
        "bracket.dxf", "bracket.step", "bracket.svg", "drawings-a4.pdf", "drawings-letter.pdf",
        "motor-plate.dxf", "motor-plate.svg",
    ]  # fmt: skip
    assert not [path for path in (folder / "parts").iterdir() if "bracket" in path.name]
    assert "bracket" not in json.dumps(result["printing"])
    assert "bracket" not in {one["part"] for one in result["print_walls"]}
    for plate in (folder / "plates").iterdir():
        assert b"bracket" not in plate.read_bytes()
    ids = {one["id"] for one in result["checks"]}
    assert {"sheet_bend", "sheet_stress", "insert_pull", "wall_bending"} <= ids


def test_mass_bill_and_solid_agree(made: tuple[Path, dict[str, Any]]) -> None:
    """Grams by the flat pattern, in the pack's mass; the kernel's solid, with square corners and
    its bend's middle line, within 1.5 %."""
    folder, result = made
    (part,) = (one for one in result["parts"] if one["role"] == "bracket")
    sheet = part["sheet_metal"]
    assert part["files"] == [f"metal/bracket.{kind}" for kind in ("step", "dxf", "svg")]
    grams = sheet["area_mm2"] * sheet["thickness_mm"] / 1000 * 7.85  # steel, from memory
    assert part["mass_g"] == pytest.approx(grams, rel=1e-6)
    assert result["mass"]["sheet_metal_g"] == pytest.approx(part["count"] * grams, rel=1e-6)
    solid = cq.importers.importStep(str(folder / "metal" / "bracket.step")).val()
    assert solid.Volume() == pytest.approx(part["volume_mm3"], rel=1e-6)  # type: ignore[union-attr]
    assert 0.0 < part["volume_mm3"] * 7.85e-3 / grams - 1.0 < 0.015
    assert sheet["bends"][0]["k_factor"] == 0.42
    with (folder / "bill.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    (row,) = (one for one in rows if one["item"] == "sheet metal part")
    assert row["count"] == str(part["count"])
    assert f"{grams:.1f} g each" in row["note"] and "rusts" in row["note"]
    assert not [one for one in rows if one["item"] == "printed part" and "bracket" in one["size"]]


def test_the_machine_s_plate_is_no_part_of_the_pack(made: tuple[Path, dict[str, Any]]) -> None:
    """A row in bill and result, by its area by hand; not in mass, parts or assembly."""
    folder, result = made
    (row,) = result["metal_plates"]
    area = 100 * 60 - (4 - math.pi) * 5**2 - 15 * 6.6 - math.pi / 4 * 6.6**2
    assert row["area_mm2"] == pytest.approx(area, rel=1e-6)
    assert row["mass_g"] == pytest.approx(area * 3 * 7.85e-3, rel=1e-6)
    assert all((folder / name).is_file() for name in row["files"])
    (part,) = (one for one in result["parts"] if one["role"] == "bracket")
    assert result["mass"]["sheet_metal_g"] == pytest.approx(part["count"] * part["mass_g"])
    assert "motor-plate" not in (folder / "assembly.step").read_text(encoding="utf-8")
    assert "metal plate of the machine" in (folder / "bill.csv").read_text(encoding="utf-8")


def test_assembly_report_and_dxf_have_them(made: tuple[Path, dict[str, Any]]) -> None:
    """A copy a pad in the assembly, the drawing in the report, the piece in the DXF."""
    folder, result = made
    (part,) = (one for one in result["parts"] if one["role"] == "bracket")
    assembly = (folder / "assembly.step").read_text(encoding="utf-8")
    assert all(f"bracket-{k}" in assembly for k in range(1, part["count"] + 1))
    report = (folder / "report.html").read_text(encoding="utf-8")
    assert "Sheet metal, for a shop" in report and "your bender" in report
    assert "no bare strip or loose lead end may reach" in report
    space = ezdxf.readfile(folder / "metal" / "bracket.dxf").modelspace()
    assert len(space.query("CIRCLE[layer=='CUT']")) == 4
