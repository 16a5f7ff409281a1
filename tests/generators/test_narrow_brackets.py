"""What a bracket's script may draw too narrow, through the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from generators import cli
from tests.generators.scripts.files import PACK, angle, pack_file
from tests.runs import without_pictures

# At the foot's end a fin of 0.5 mm; a slot of 0.3 in the foot; on the bed a post of 1.5 x 1.5,
# joined 10 mm above by a bar; a groove of 0.5, 0.6 deep
FAULTS = """
def box(x0, x1, y0, y1, z0, z1):
    start = cq.Workplane("XY").workplane(offset=z0).center(x0, y0)
    return start.rect(x1 - x0, y1 - y0, centered=False).extrude(z1 - z0)

def with_faults(whole, x):
    whole = whole.union(box(x - 1, x + 8, 1, 1.5, -20, 20))
    whole = whole.cut(box(x - 2, x + 1, 3, 3.3, -21, 21))
    whole = whole.union(box(x + 2, x + 3.5, 4, 5.5, -20, -8))
    whole = whole.union(box(x - 1, x + 3.5, 4, 5.5, -10, -8))
    return whole.cut(box(8, 14, 2, 2.5, -21, -19.4))
"""
IDS = {"print_walls", "print_gaps", "print_strokes", "print_first_layer"}


@pytest.mark.slow
def test_each_narrow_place_of_a_bracket_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One bracket with each of them: status 1, each check fails there at its figure; that it is
    slender is told, and the report has the map of its walls."""
    without_pictures(monkeypatch)
    script = angle(last="return with_faults(whole, long)") + FAULTS
    file = pack_file(tmp_path, script, PACK + "load: {continuous_a: 4}\n")
    assert cli.main(["make", "--allow-scripts", "--out", str(tmp_path / "out"), str(file)]) == 1
    folder = tmp_path / "out" / "pond-lamp"
    told = json.loads((folder / "result.json").read_text("utf-8"))
    checks = {check["id"]: check for check in told["checks"]}
    assert {name for name in IDS if not checks[name]["holds"]} == IDS
    assert all(checks[name]["where"].startswith("bracket at x ") for name in IDS)
    figures = {name: checks[name]["value"] for name in IDS}
    assert figures == {
        "print_walls": pytest.approx(0.5, abs=0.01),
        "print_gaps": pytest.approx(0.3, abs=0.01),
        "print_strokes": pytest.approx(0.5, abs=0.01),
        "print_first_layer": pytest.approx(2.25, abs=0.01),
    }
    slender = [one for one in told["print_findings"] if one["check"] == "print_standing"]
    assert [(one["severity"], one["value"]) for one in slender] == [
        ("warns", pytest.approx(10.0 / 1.5, abs=0.2))
    ]
    bracket = next(one for one in told["print_walls"] if one["part"] == "bracket")
    assert bracket["bed_mm2"] > 100.0 and bracket["thinnest_mm"] == figures["print_walls"]
    report = (folder / "report.html").read_text("utf-8")
    assert "thickness of the walls of bracket" in report
