"""The wiring plan and the harness table of a tub whose wires have ways."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from generators.drawings.linework import Layer, Lines, Words
from generators.drawings.wiring_plan import wiring_plan
from generators.report.harness import harness_table, wiring_figure
from layouts.planning.pack_plan import PackPlan
from layouts.ratings.bms import Port
from layouts.ratings.charge import Charger
from tests.layouts.enclosures.box.test_wires import one


def planned(port: Port | None = None) -> PackPlan:
    """What drawing and table read of a plan: 4S6P of 26650, without a plan of its currents."""
    plan = one().plan
    charger = Charger(volts_v=14.6, amps_a=4.0, chemistry=plan.pack.cell.chemistry, wire_mm2=2.5)
    pack = replace(plan.pack, charger=charger, bms=replace(plan.pack.bms, port=port))
    read: Any = SimpleNamespace(
        pack=pack, enclosure=plan.enclosure, enclosure_set=plan.enclosure_set,
        cell_block=plan.cell_block, interconnect=plan.interconnect,
    )  # fmt: skip
    return cast(PackPlan, read)


def test_every_way_is_drawn_at_its_length_and_listed_with_it() -> None:
    """From above and from the side the lines span the ways; the table's lengths are the drawn way
    and what ends and glands take, within 5 mm; pins in the order of the plug."""
    plan = planned()
    sheet = wiring_plan(plan)
    pens = {Layer.MAIN_WIRE, Layer.LOWER_WIRE, Layer.UPPER_WIRE}
    drawn = [m for m in sheet.marks if isinstance(m, Lines) and m.layer in pens]
    ways = plan.enclosure.ways
    above, side = drawn[: len(ways)], drawn[len(ways) : 2 * len(ways)]
    table = harness_table(plan)
    assert table is not None
    told = {row[0]: row for row in table.rows}
    for way, plane, upright in zip(ways, above, side, strict=True):
        x, y = plane.lines[0].T
        z = upright.lines[0][:, 0]
        assert np.allclose(upright.lines[0][:, 1], y)
        long = float(np.hypot(np.hypot(np.diff(x), np.diff(y)), np.diff(z)).sum())
        assert long == pytest.approx(way.way_mm)
        assert 0.0 <= float(told[way.number][4].removesuffix(" mm")) - long - way.spare_mm < 5.0
    pins = [row[2] for row in table.rows if row[0].startswith("B")]
    assert pins == [f"balance plug, pin {k} (plugged)" for k in range(5)]
    assert all(row[5] for row in table.rows)
    words = {m.text for m in sheet.marks if isinstance(m, Words)}
    assert {"B-", "P-", "main fuse", "connector +", "charge port -", "M2, outside"} <= words


def test_a_separate_port_has_a_lead_of_its_own() -> None:
    """On a common port the charge leads begin outside, on a separate one at the board's C-."""
    common, separate = harness_table(planned(Port.COMMON)), harness_table(planned(Port.SEPARATE))
    assert common is not None and separate is not None
    assert [row[0] for row in common.rows if row[0].startswith("C")] == ["C1", "C2"]
    assert [row[0] for row in separate.rows if row[0].startswith("C")] == ["C1"]
    words = {m.text for m in wiring_plan(planned(Port.SEPARATE)).marks if isinstance(m, Words)}
    assert "C- of the board" in words and "M2, outside" not in words
    assert wiring_figure(planned()) is not None
