"""Whether the second holder goes on, as it is told."""

from __future__ import annotations

from dataclasses import replace

import pytest

from generators.report.second_holder import second_holder_line, second_holder_tables
from generators.result import plain
from generators.second_holder_row import second_holder_row
from layouts.holders.second_holder import FitCase, HolderFit

FIT = HolderFit(
    clearance_mm=0.25, chance=0.9996, recommended_mm=0.188, rss_mm=0.172, worst_mm=0.84,
    radius_mm=97.3, cells=40, tiles=1, measured=(),
    by_clearance=((0.2, 0.9931), (0.25, 0.9996)),
    cases=(FitCase(what="pockets come out small", chance=0.712, clearance_mm=0.341),
           FitCase(what="no hope", chance=0.001, clearance_mm=0.9)),
)  # fmt: skip


def test_the_line_and_the_tables() -> None:
    """Chance, recommended clearance, what is assumed; no chance is told as certain or as none."""
    assert second_holder_line(FIT)[1] == "over 99 % at 0.25 mm clearance; 99 % takes 0.19 mm"
    by_clearance, cases = second_holder_tables(FIT)
    assert by_clearance.rows == (("0.20", "99 %"), ("0.25", "over 99 %"))
    assert "none is measured" in by_clearance.note
    assert cases.rows == (
        ("pockets come out small", "71 %", "0.34"), ("no hope", "under 1 %", "0.90"),
    )  # fmt: skip
    some = replace(FIT, tiles=2, measured=("place_mm",))
    note = second_holder_tables(some)[0].note
    assert "in 2 tiles" in note
    assert "place_mm by the pack file" in note


def test_the_row_of_the_result() -> None:
    """All of it, pairs with their names."""
    row = second_holder_row(FIT, plain)
    assert row["chance"] == pytest.approx(0.9996)
    assert row["by_clearance"][0] == {"clearance_mm": 0.2, "chance": 0.9931}
    assert row["cases"][1]["what"] == "no hope"
