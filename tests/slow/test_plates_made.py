"""Packs of plates made whole: every check and proof holds, and all files tell the same counts."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from tests.runs import make, odd_pack, without_pictures

SIZES = [
    (3, 3, "honeycomb", "21700"), (5, 4, "grid", "18650"), (6, 2, "grid", "26650"),
]  # fmt: skip


def result_of(folder: Path) -> dict[str, Any]:
    """The figures of a run."""
    told: dict[str, Any] = json.loads((folder / "result.json").read_text(encoding="utf-8"))
    return told


@pytest.mark.slow
@pytest.mark.parametrize(("series", "parallel", "lattice", "format"), SIZES)
def test_a_pack_of_plates_holds_and_its_files_agree(
    series: int, parallel: int, lattice: str, format: str, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """One plate a potential and face; as many sheets in the bill and the DXF; losses sum up."""
    without_pictures(monkeypatch)
    text = odd_pack(series, parallel, lattice=lattice, format=format)
    made, failed = make(f"{text}strip: {{joints: plates}}\n", tmp_path)
    assert [f"{check.id}: {check.value} {check.where}" for check in failed] == []
    told = result_of(made)
    plates = told["strips"]
    assert len(plates) == series + 1
    assert sorted(cell for plate in plates for cell in _cells(plate)) == sorted(
        2 * list(range(series * parallel))
    )
    sheets = sum(plate["layers"] for plate in plates)
    bars = sum(len(plate["bar"]["pieces"]) for plate in plates if "bar" in plate)
    rows = list(csv.DictReader((made / "bill.csv").read_text(encoding="utf-8").splitlines()))
    item = next(iter(rows[0]))
    count = next(name for name in rows[0] if name.lower().startswith(("count", "number", "qty")))
    assert sum(float(row[count]) for row in rows if "one cut piece" in row[item]) == sheets
    assert sum(float(row[count]) for row in rows if "flat copper" in row[item]) == bars
    drawing = ezdxf.readfile(made / "templates" / "pieces.dxf")
    outlines = [one for one in drawing.modelspace() if one.dxf.layer == "CUT"]
    holes = sum(plate["layers"] * len(plate["holes_mm"]) for plate in plates)
    lugs = sum(len(plate["bar"]["lugs"]) for plate in plates if "bar" in plate)
    assert lugs == 2  # a hole in the end of each bar
    assert len(outlines) == sheets + bars + holes + lugs
    lost = sum(link["loss_w"] for plate in plates for link in plate["links"])
    assert lost == pytest.approx(told["electrical"]["strip_loss_w"], rel=1e-6)


def _cells(plate: dict[str, Any]) -> set[int]:
    """The cells that a plate's links join; of one cell, none is."""
    return {int(cell) for link in plate["links"] for cell in link["cells"]}
