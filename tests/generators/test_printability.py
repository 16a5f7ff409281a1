"""What parts' layers show, through the command line: a bracket's script may draw any fault."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from generators import cli
from generators.layer_work import LayerJob, work_on_layers
from generators.made_part import meshed_part
from generators.packfile.resolve import parse_pack
from generators.print_work import PrintJob, work_on_printing
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of
from layouts.printable.judging import printability
from tests.generators.scripts.files import PACK, angle, pack_file
from tests.runs import without_pictures

# Beside the foot two towers 26 mm apart; between them a roof, a floor of two layers and a hook
# below the roof; outside of them a shelf, and a wedge that leans out by 60 degrees.
FAULTS = """
def box(x0, x1, y1, z0, z1):
    start = cq.Workplane("XY").workplane(offset=z0).center(x0, 0)
    return start.rect(x1 - x0, y1, centered=False).extrude(z1 - z0)

def with_faults(whole, x):
    whole = whole.union(box(x - 1, x + 6, 12, -20, 20)).union(box(x + 32, x + 38, 12, -20, 20))
    whole = whole.union(box(x, x + 38, 12, 17, 20)).union(box(x, x + 38, 12, -5, -4.6))
    whole = whole.union(box(x + 15, x + 19, 4, 8, 18)).union(box(x + 36, x + 50, 12, 0, 3))
    wedge = [(x + 37, 6), (x + 38, 6), (x + 38 + 17.32, 16), (x + 37, 16)]
    return whole.union(cq.Workplane("XZ").polyline(wedge).close().extrude(-12))
"""
IDS = {"print_ceilings", "print_bridges", "print_leaning", "print_begins", "print_floors"}


@pytest.mark.slow
def test_each_fault_of_a_bracket_is_found(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One bracket with a fault of each kind: status 1, each check fails at the bracket, and each
    place stands in result.json and in the report, with its picture."""
    without_pictures(monkeypatch)
    script = angle(last="return with_faults(whole, long)") + FAULTS
    file = pack_file(tmp_path, script, PACK + "load: {continuous_a: 4}\n")
    assert cli.main(["make", "--allow-scripts", "--out", str(tmp_path / "out"), str(file)]) == 1
    folder = tmp_path / "out" / "pond-lamp"
    told = json.loads((folder / "result.json").read_text("utf-8"))
    checks = {check["id"]: check for check in told["checks"] if check["id"] in IDS}
    assert set(checks) == IDS
    assert {name for name, check in checks.items() if not check["holds"]} == IDS
    assert all(check["where"].startswith("bracket at x ") for check in checks.values())
    assert checks["print_leaning"]["value"] == pytest.approx(60.0, abs=0.01)
    assert checks["print_floors"]["value"] == pytest.approx(26.0 * 12.0, abs=0.1)
    assert checks["print_bridges"]["value"] == pytest.approx(26.0 - 0.4, abs=0.1)
    assert checks["print_ceilings"]["value"] == pytest.approx((12.0 - 0.2) * 12.0, rel=0.01)
    assert checks["print_begins"]["value"] == 1.0
    (hook,) = [one for one in told["print_findings"] if one["check"] == "print_begins"]
    assert (hook["part"], hook["severity"]) == ("bracket", "fails")
    assert hook["value"] == pytest.approx(16.0)
    assert hook["at_mm"][2] == pytest.approx(28.0)
    report = (folder / "report.html").read_text("utf-8")
    assert "Printing: places to look at" in report
    for words in ("Free ceiling, fails", "Long bridge, fails", "Leaning face, fails",
                  "Begins over nothing, fails", "Thin floor, fails"):  # fmt: skip
        assert re.search(rf"<figure[^>]*><svg.*?<figcaption>{words}: bracket at z", report)
    assert "print_begins" in capsys.readouterr().err


def test_own_parts_of_a_small_pack_hold(tmp_path: Path) -> None:
    """Holders with their pins, tub, lid and bracket: every check holds, each with a figure, and the
    processes that look at layers and plan the printing give them."""
    text = PACK.replace("mount: {kind: script, script: own.py}\n", "")
    plan = plan_pack(parse_pack(text.encode(), "pack.yaml").pack)
    job = PrintJob(
        name="pond-lamp",
        printer=plan.pack.printer,
        meshed=tuple(meshed_part(part) for part in parts_of(plan)),
        solid_mm={},
        folder=tmp_path,
    )
    parts = tuple(one.part for one in job.meshed)
    told = work_on_layers(LayerJob(parts=parts, printer=job.printer, bed_items={}))
    checks = {check.id: check for check in told.checks if check.id in IDS}
    assert set(checks) == IDS
    assert [check.id for check in checks.values() if not check.holds] == []
    assert all(check.value is not None and check.limit is not None for check in checks.values())
    assert 0.0 < (checks["print_bridges"].value or 0.0) < 20.0
    assert len(work_on_printing(job).parts) == len(job.meshed)


def test_holders_without_support_pins_hang() -> None:
    """With ``holder.support_pins: false`` webs and wall end free over the channels of plates."""
    text = PACK.replace(
        "mount: {kind: script, script: own.py}\n", "holder: {support_pins: false}\n"
    )
    plan = plan_pack(parse_pack(text.encode(), "pack.yaml").pack)
    holders = [part for part in parts_of(plan) if part.role.startswith("holder")]
    told = printability(holders, plan.pack.printer)
    failing = {check.id: check for check in told.checks if not check.holds}
    assert set(failing) == {"print_ceilings"}
    assert failing["print_ceilings"].where.startswith("holder-lower at x ")
    assert (failing["print_ceilings"].value or 0.0) > 50.0
