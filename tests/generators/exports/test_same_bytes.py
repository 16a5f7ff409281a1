"""The same input gives the same bytes in any process."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

WRITE = """
import sys
from pathlib import Path
from generators.exports.bill import BillRow, write_bill
from generators.exports.step import StepPlace, write_part_step
from generators.exports.stl import write_stl
from generators.exports.threemf import PrintObject, write_3mf
from tests.generators.exports.assembled import write_step
from tests.generators.exports.shapes import ring_mesh, turned
from tests.generators.exports.test_step import GREY, box_kind, cell_kind, row_of_cells
out = Path(sys.argv[1])
kinds = {"cell": cell_kind(), "box": box_kind(), "grey": box_kind(GREY), "red": box_kind((1, 0, 0))}
places = row_of_cells(5) + [
    StepPlace(name=f"b{i}", kind=kind, matrix=turned(0, 40 * i, angle_rad=0.3 * i))
    for i, kind in enumerate(("box", "grey", "red", "box"), 1)
]
write_step(out / "a.step", kinds, places, "same")
write_part_step(out / "part.step", "box", kinds["box"])
write_stl(out / "a.stl", ring_mesh())
rings = [PrintObject(name=n, mesh=ring_mesh(), colour=c)
         for n, c in (("r", GREY), ("s", (0.1, 0.2, 0.3)), ("t", GREY))]
write_3mf(out / "a.3mf", rings, "same")
write_bill(out / "bill.csv", [BillRow(item="cells", size="21700", count=40)])
"""


@pytest.mark.slow
def test_fresh_processes_with_other_hash_seeds_agree(tmp_path: Path) -> None:
    """STEP, STL, 3MF and bill are the same files from three processes, each with its own seed."""
    made = []
    for seed in ("0", "1", "4242"):
        out = tmp_path / seed
        out.mkdir()
        subprocess.run(
            [sys.executable, "-c", WRITE, str(out)],
            check=True,
            cwd=Path(__file__).parents[3],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": f"UTC{seed[0]}"},
        )
        made.append(
            {file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in out.iterdir()}
        )
    assert set(made[0]) >= {"a.step", "part.step", "a.stl", "a.3mf", "bill.csv"}
    assert made[0] == made[1] == made[2]
