"""Packs of odd sizes, made whole: every check and every proof holds, and the files fit together."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.fit import Result, faults
from tests.runs import all_here, make, odd_pack, without_pictures

SIZES = [(1, 1), (1, 7), (5, 1), (3, 11), (7, 3), (16, 5)]
LATTICES = ["honeycomb", "grid"]
FORMATS = ["18650", "21700", "26650"]
# two hundred cells take minutes each: on either lattice once; first, so that none is left alone
CASES = [
    (20, 10, "honeycomb", "26650"),
    (20, 10, "grid", "18650"),
    *((*size, lattice, format) for size in SIZES for lattice in LATTICES for format in FORMATS),
]

# in the normal run: each format once, both lattices
SAMPLE = [
    (1, 1, "honeycomb", "26650"), (5, 1, "honeycomb", "21700"), (1, 7, "grid", "18650"),
]  # fmt: skip


def whole_run(folder: Path, series: int, parallel: int, lattice: str, format: str) -> None:
    """Make a pack from defaults alone and prove it, by its own checks and by its files."""
    text = odd_pack(series, parallel, lattice=lattice, format=format)
    made, failed = make(text, folder)
    assert [f"{check.id}: {check.value} {check.where}" for check in failed] == []
    told = json.loads((made / "result.json").read_text(encoding="utf-8"))
    assert len(told["cells"]) == series * parallel
    assert all(check["holds"] for check in told["checks"])
    assert faults(Result(made)) == []


@pytest.mark.one_in(3)
@pytest.mark.parametrize(("series", "parallel", "lattice", "format"), SAMPLE)
def test_a_sample_of_odd_packs_holds(
    series: int, parallel: int, lattice: str, format: str, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """The quick ones of the list below; their pictures are drawn there."""
    without_pictures(monkeypatch)
    whole_run(tmp_path, series, parallel, lattice, format)


@pytest.mark.slow
@pytest.mark.parametrize(("series", "parallel", "lattice", "format"), CASES)
def test_odd_packs_hold(
    series: int, parallel: int, lattice: str, format: str, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    """Primes, one row, one cell, two hundred cells: all of it holds, pictures and all."""
    all_here(monkeypatch)
    whole_run(tmp_path, series, parallel, lattice, format)
