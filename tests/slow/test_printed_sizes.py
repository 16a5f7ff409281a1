"""Whole runs for printers that print off size; all values are invented."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh

from generators import made_part
from generators.meshes.for_printer import DrawnForPrinter, drawn_for_printer
from generators.meshes.mesh import Mesh, joined_mesh
from layouts.parts.part import Part
from layouts.printer_spec import Printer
from tests.runs import bytes_of, make, odd_pack, without_pictures

PACK = odd_pack(3, 1, lattice="honeycomb", format="18650")
MINE = (
    "printer: {hole_mm: 0.15, outside_mm: 0.08, shrink_percent: [0.4, 0.3, 0.1], foot_mm: 0.2, "
    "measured: 2026-03-31}\n"
)
ZEROS = "printer: {hole_mm: 0, outside_mm: 0, shrink_percent: [0, 0, 0], foot_mm: 0}\n"


def place(folder: Path) -> Path:
    """A folder for a result."""
    folder.mkdir()
    return folder


@pytest.mark.slow
def test_a_printer_of_zeros_gives_the_files_of_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Byte for byte what is printed; a profile changes those files and no other part of the
    result but what tells of it."""
    without_pictures(monkeypatch)
    plain, failed = make(PACK, place(tmp_path / "plain"))
    zeros, failed_too = make(PACK + ZEROS, place(tmp_path / "zeros"))
    assert failed == failed_too
    for folder in ("parts", "plates"):
        assert bytes_of(plain / folder) == bytes_of(zeros / folder) != {}
    own = (
        "printer: {hole_mm: 0.15, outside_mm: 0.08, shrink_percent: [0.4, 0.3, 0.1], foot_mm: 0.2,"
    )
    drawn, failed = make(PACK + own + " measured: 2026-03-31}\n", place(tmp_path / "drawn"))
    assert failed == failed_too
    before, after = bytes_of(plain), bytes_of(drawn)
    same = {name for name in before if before[name] == after.get(name)}
    assert {name for name in before if name.endswith(".step")} <= same
    assert not {name for name in before if name.endswith((".stl", ".3mf"))} & same
    told = json.loads((drawn / "result.json").read_text("utf-8"))
    held = {one["id"]: one["holds"] for one in told["checks"]}
    assert held["print_size"] and held["print_sound"]
    assert "measured 2026-03-31: holes 0.15 mm under size" in (drawn / "report.html").read_text(
        "utf-8"
    )
    assert "assumed, not measured: it prints true" in (plain / "report.html").read_text("utf-8")
    for mesh in (drawn / "parts").glob("*.stl"):
        assert trimesh.load_mesh(mesh).is_watertight
    sizes = [
        np.ptp(trimesh.load_mesh(made / "parts" / "tub.stl").bounds, axis=0)
        for made in (plain, drawn)
    ]
    # outsides by hand: (size - 2 x 0.08) / scale; along z size / scale
    meant = (sizes[0] - (0.16, 0.16, 0.0)) / (0.996, 0.997, 0.999)
    assert sizes[1] == pytest.approx(meant, abs=0.002)


def twice(part: Part, printer: Printer) -> DrawnForPrinter:
    """A fault: every part has a second one above it."""
    drawn = drawn_for_printer(part, printer)
    first, *others = drawn.bodies
    above = Mesh(first.vertices_mm + (0.0, 0.0, 500.0), first.faces)
    return DrawnForPrinter(bodies=(joined_mesh((first, above)), *others), scale=drawn.scale)


@pytest.mark.slow
def test_faults_of_drawing_for_a_printer_fail_the_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A printer that adds half a millimetre everywhere can't be met; a part written
    twice is not sound."""
    without_pictures(monkeypatch)
    most = "printer: {hole_mm: 0.5, outside_mm: 0.5, foot_mm: 0.5}\n"
    _, failed = make(PACK + most, place(tmp_path / "most"))
    assert "print_size" in {one.id for one in failed}
    monkeypatch.setattr(made_part, "drawn_for_printer", twice)
    _, failed = make(PACK + "printer: {hole_mm: 0.1}\n", place(tmp_path / "faulty"))
    assert {"print_sound"} <= {one.id for one in failed}
