"""The report's section on currents, fuse, wire and heat."""

from __future__ import annotations

from typing import Any

from generators.report.electrical import electrical_facts, electrical_tables
from generators.report.values import Table
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.pack import Controller, Load, Pack
from layouts.ratings.fuse import Fuse
from tests.layouts.electrical.packs import laid


def told(**changes: Any) -> tuple[Pack, Electrical, dict[str, Table]]:
    """7S3P, its electrical side and its tables by title."""
    one = laid(7, 3, **changes)
    of = electrical_plan(one.pack, one.cell_layout, one.interconnect)
    return one.pack, of, {table.title: table for table in electrical_tables(one.pack, of)}


def test_facts_are_the_ratings() -> None:
    """Volts of seven cells, and what limits the current by name."""
    _, of, _ = told()
    facts = dict(electrical_facts(of))
    assert facts["voltage: cut-off / nominal / full charge"] == "19.6 / 25.2 / 29.4 V"
    assert facts["capacity"] == "12.0 Ah"
    assert facts["main fuse"].endswith("A, proposed")
    assert not [name for name in facts if name.endswith("asked")]
    assert any("limited by strips" in name for name in facts)


def test_a_load_and_a_fuse_are_told() -> None:
    """The load demand stands among the facts, and a given fuse is no proposal."""
    _, of, tables = told(load=Load(continuous_a=12.0, peak_a=20.0), fuse=Fuse(rating_a=25.0))
    facts = dict(electrical_facts(of))
    assert facts["continuous, required"] == "12.0 A"
    assert facts["main fuse"] == "25 A"
    cases = [row[0] for row in tables["Currents and losses"].rows]
    assert cases[:3] == ["at load demand", "at the continuous rating", "at peak load"]
    assert "Temperatures at 12.0 A" in tables


def test_every_limit_has_a_row_and_one_is_the_least() -> None:
    """Eight things limit a pack; what isn't given says so."""
    _, _, tables = told()
    rows = tables["Current rating until the pack is empty"].rows
    assert len(rows) == 8
    assert [row[2] for row in rows].count("lowest") == 1
    assert {row[0]: row[1] for row in rows}["connector"] == "not given or none"


def test_rows_fit_their_headings() -> None:
    """No table has a row of another length."""
    _, _, tables = told(
        load=Load(continuous_a=12.0, regeneration_a=3.0),
        controller=Controller(highest_v=40.0, capacitance_f=0.001),
    )
    assert "Machine" in tables
    for table in tables.values():
        assert table.rows
        assert {len(row) for row in table.rows} == {len(table.headings)}, table.title
