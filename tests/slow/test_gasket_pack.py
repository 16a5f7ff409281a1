"""A whole pack of 40 cells closed by a gasket, made from its pack file; all values are invented."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
import trimesh

from generators.cli import main

TEXT = """name: sealed
cell: {format: "18650", chemistry: nmc, capacity_ah: 3.0, continuous_a: 10,
       internal_resistance_mohm: 20, mass_g: 46}
series: 10
parallel: 4
space: {box_mm: [360, 360, 130], open_sides: ["-x", "+z"]}
load: {continuous_a: 10}
mount: {kind: flat}
printer: {bed_mm: [300, 300, 250]}
enclosure:
  style: fitted
  gasket: {gas_l: 3.2, within_s: 2, opens_at_kpa: 3}
"""


@pytest.mark.slow
def test_it_is_made_and_everything_holds(tmp_path: Path) -> None:
    """Status 0, tub and lid watertight, cord and vent told in bill, drawing and result."""
    file = tmp_path / "sealed.yaml"
    file.write_text(TEXT, encoding="utf-8")
    assert main(["make", str(file), "--out", str(tmp_path / "out")]) == 0
    made = tmp_path / "out" / "sealed"
    result = json.loads((made / "result.json").read_text(encoding="utf-8"))
    held = {one["id"]: one["holds"] for one in result["checks"]}
    assert all(held.values())
    assert {"gasket_squeeze", "gasket_screws", "vent_area", "gas_way", "gas_out"} <= set(held)
    for name in ("tub", "lid"):
        assert trimesh.load_mesh(made / "parts" / f"{name}.stl").is_watertight
    gasket = result["enclosure"]["gasket"]
    assert gasket["vent"]["opens_at_kpa"] == 3.0
    with (made / "bill.csv").open(encoding="utf-8", newline="") as rows:
        bill = " ".join(" ".join(row) for row in csv.reader(rows))
    assert "sponge cord" in bill and "vent cover" in bill
    plan = (made / "drawings" / "enclosure-plan.svg").read_text(encoding="utf-8")
    assert f"grey: cord in the flange's groove, {gasket['long_mm']:.0f} mm" in plan
    report = (made / "report.html").read_text(encoding="utf-8")
    assert "What opens the vent" in report and "withstands a gas explosion" in report
