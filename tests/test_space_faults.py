"""The judge of written files finds parts outside of an odd space, and in bodies there."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import trimesh

from tests.fit import Result, space_faults

L_SHAPED = """\
space:
  outline_mm: [[0, 0], [200, 0], [200, 80], [100, 80], [100, 160], [0, 160]]
  height_mm: 60
  keep_out:
    - {name: bolt, cylinder: {from_mm: [30, 130, 0], to_mm: [30, 130, 20], radius_mm: 8}}
    - {name: rib, box_mm: [[180, 0, 0], [200, 10, 60]]}
"""


@pytest.mark.parametrize(
    ("at", "said"),
    [
        ((0, 0, 0), []),
        ((140, 20, 0), []),
        ((45, 100, 20), []),
        ((55, 60, 0), ["1500.00 mm3 outside the space"]),  # 5 x 10 past x 100 and y 80
        ((10, 110, 0), ["within bolt"]),
        ((10, 110, 20), []),  # above it
        ((150, 0, 0), ["6000.00 mm3 within rib"]),
        ((0, 0, 31), ["1500.00 mm3 outside the space"]),
        ((170, 20, 0), ["18000.00 mm3 outside the space"]),
    ],
)
def test_a_block_in_an_odd_space(at: tuple[int, int, int], said: list[str], tmp_path: Path) -> None:
    """50 x 30 x 30 mm at a place: volumes by hand."""
    (tmp_path / "parts").mkdir()
    (tmp_path / "pack.yaml").write_text(L_SHAPED, encoding="utf-8")
    trimesh.creation.box(bounds=[(0, 0, 0), (50, 30, 30)]).export(tmp_path / "parts/block.stl")
    placed = [[1, 0, 0, at[0]], [0, 1, 0, at[1]], [0, 0, 1, at[2]], [0, 0, 0, 1]]
    pose = [[1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]]
    part = {"name": "block", "role": "tub", "placed": [placed]}
    told = {"parts": [part], "space": {"pose": pose}}
    (tmp_path / "result.json").write_text(json.dumps(told), encoding="utf-8")
    found = space_faults(Result(tmp_path))
    assert len(found) == len(said)
    assert all(word in one for word, one in zip(said, found, strict=True)), found
