"""The electrical sections of result.json, of a small pack with and without a load."""

from __future__ import annotations

import json
from typing import Any

import pytest

from generators.electrical_rows import cell_rows, electrical_row, link_rows, thermal_row
from generators.result import plain
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.pack import Load
from layouts.ratings.fuse import Fuse
from tests.layouts.electrical.packs import Laid, laid

NAMES = {
    "empty_v", "nominal_v", "full_v", "capacity_ah", "energy_wh", "cells_a", "pack_continuous_a",
    "limited_by", "resistance_mohm", "short_circuit_a", "fuse_a", "wire_mm2", "spread_ratio",
    "strip_loss_w", "weld_loss_w", "at",
}  # fmt: skip


def made(**changes: Any) -> tuple[Laid, Electrical]:
    """7S3P and its electrical side."""
    one = laid(7, 3, **changes)
    return one, electrical_plan(one.pack, one.cell_layout, one.interconnect)


def test_every_promised_name_is_there_and_what_nothing_requires_is_left_out() -> None:
    """Without a load there is no demand and no peak, and nothing is null."""
    one, of = made()
    text = json.dumps([electrical_row(one.pack, of, plain), thermal_row(of, plain)])
    assert "null" not in text and "NaN" not in text
    row = json.loads(text)[0]
    assert set(row) >= NAMES
    assert not {"asked_a", "peak_a", "peak", "asked_load", "precharge"} & set(row)
    assert row["at"] == "continuous"
    assert row["at_a"] == pytest.approx(row["pack_continuous_a"])


def test_the_fuse_is_told_with_its_volts_and_breaking_capacity() -> None:
    """As given; of a proposed one only its rating is known."""
    fuse = Fuse(rating_a=25.0, dc_v=58.0, breaking_a=2000.0)
    given = electrical_row(*_row(fuse=fuse))
    assert (given["fuse_a"], given["fuse_dc_v"], given["fuse_breaking_a"]) == (25.0, 58.0, 2000.0)
    assert not {"fuse_dc_v", "fuse_breaking_a"} & set(electrical_row(*_row()))


def _row(**changes: Any) -> tuple[Any, ...]:
    one, of = made(**changes)
    return one.pack, of, plain


def test_a_load_is_told_as_asked() -> None:
    """At 12 A with a peak of 20."""
    one, of = made(load=Load(continuous_a=12.0, peak_a=20.0, peak_s=5.0))
    row = electrical_row(one.pack, of, plain)
    assert (row["asked_a"], row["peak_a"], row["at"], row["at_a"]) == (12.0, 20.0, "asked", 12.0)
    assert row["peak"]["load_a"] == 20.0
    assert row["lost_w"] == pytest.approx(12.0**2 * row["resistance_mohm"] / 1000.0, rel=1e-9)


def test_the_losses_of_all_links_add_up() -> None:
    """strip_loss_w is the links' sum; with cells, welds and ends it is the whole."""
    one, of = made(load=Load(continuous_a=12.0))
    row = electrical_row(one.pack, of, plain)
    rows = link_rows(one.interconnect, of)
    assert [len(links) for links in rows] == [len(s.links) for s in one.interconnect.strips]
    told = [link["cells"] for links in rows for link in links]
    assert told == [list(pair) for s in one.interconnect.strips for pair in s.links]
    total = sum(link["loss_w"] for links in rows for link in links)
    assert total == pytest.approx(row["strip_loss_w"], rel=1e-9)
    parts = row["cell_loss_w"] + row["strip_loss_w"] + row["weld_loss_w"] + row["tail_loss_w"]
    assert parts == pytest.approx(row["lost_w"], rel=1e-9)


def test_cells_and_heat_are_told_at_the_same_current() -> None:
    """Each group's cells give the load; the hottest is the air plus the rise; watts in and out."""
    one, of = made(load=Load(continuous_a=12.0, ambient_c=30.0))
    cells, heat = cell_rows(of, plain), thermal_row(of, plain)
    for group in range(1, 8):
        mine = [c for c, g in zip(cells, one.cell_layout.group, strict=True) if g == group]
        assert sum(cell["current_a"] for cell in mine) == pytest.approx(12.0, rel=1e-9)
    hottest = max(cell["temperature_c"] for cell in cells)
    assert hottest == pytest.approx(30.0 + heat["rise_k"], abs=1e-5)
    assert heat["hottest_c"] == hottest
    assert heat["empty"]["hottest_c"] == max(cell["temperature_empty_c"] for cell in cells)
    assert heat["watts_in"] == pytest.approx(heat["watts_out"], rel=1e-9)
    assert (heat["at"], heat["at_a"]) == ("asked", 12.0)
    json.dumps(heat, allow_nan=False)
