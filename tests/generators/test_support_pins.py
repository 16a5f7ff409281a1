"""Support pins reach the files that are sliced, and nothing of the finished pack."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
import trimesh
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer

NAMES = ("holder-lower", "holder-upper")


@pytest.fixture(scope="module")
def rows(small_run: Path) -> dict[str, dict[str, Any]]:
    """The parts of a small pack of plates by name."""
    read = json.loads((small_run / "result.json").read_text(encoding="utf-8"))
    return {row["name"]: row for row in read["parts"]}


def solids_in(file: Path) -> int:
    """How many solids the kernel reads from a STEP file."""
    reader = STEPControl_Reader()
    assert reader.ReadFile(str(file)) == IFSelect_RetDone
    reader.TransferRoots()
    found, count = TopExp_Explorer(reader.OneShape(), TopAbs_SOLID), 0
    while found.More():
        count += 1
        found.Next()
    return count


@pytest.mark.parametrize("name", NAMES)
def test_pins_are_in_every_file_of_a_holder(
    small_run: Path, rows: dict[str, dict[str, Any]], name: str
) -> None:
    """Bodies of their own in STEP, STL and 3MF; volume and mass of the part leave them out."""
    row = rows[name]
    assert row["support_pins"] > 0
    assert solids_in(small_run / "parts" / f"{name}.step") == 1 + row["support_pins"]
    mesh = trimesh.load(small_run / "parts" / f"{name}.stl")
    assert mesh.is_volume and mesh.body_count == 1 + row["support_pins"]
    whole_mm3 = row["volume_mm3"] + row["support_pins_mm3"]
    assert mesh.volume == pytest.approx(whole_mm3, rel=1e-4)
    with zipfile.ZipFile(small_run / "parts" / f"{name}.3mf") as package:
        model = package.read("3D/3dmodel.model").decode()
    assert model.count("<triangle ") == len(mesh.faces)


def test_the_assembly_holds_no_pins(small_run: Path, rows: dict[str, dict[str, Any]]) -> None:
    """Each copy of each part, and six cells."""
    copies = sum(row["count"] for row in rows.values())
    assert solids_in(small_run / "assembly.step") == copies + 6


def test_the_builder_is_told(small_run: Path, rows: dict[str, dict[str, Any]]) -> None:
    """In the print notes and in the order of work, with the counts; other parts have none."""
    text = (small_run / "report.html").read_text(encoding="utf-8")
    counts = [f"{name} {rows[name]['support_pins']}" for name in NAMES]
    assert f"count them ({', '.join(counts)})" in text
    assert f"{rows[NAMES[0]]['support_pins']} loose pins" in text
    assert not any("support_pins" in row for name, row in rows.items() if name not in NAMES)
