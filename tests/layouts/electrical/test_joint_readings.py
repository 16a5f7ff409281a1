"""What a meter reads at each joint of plates. Packs invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from generators.report.plate_work import joint_table, lead_pair_table
from layouts.currents.strips import plate_network
from layouts.electrical.flows import losses, shares
from layouts.electrical.joint_readings import TEST_A, joint_ohms, lead_pair_ohms
from layouts.strips.plate import BusPlate
from tests.layouts.plates.test_plates import GRID, TEN, planned

PACKS = pytest.mark.parametrize("text", [TEN, GRID], ids=["honeycomb", "grid"])


def worse(plate: BusPlate, times: float) -> BusPlate:
    """The same plate with more resistance everywhere."""
    was = plate.conducts
    landing = tuple((cell, times * ohm) for cell, ohm in was.landing)
    return replace(plate, conduction=replace(was, ohm=times * was.ohm, landing=landing))


@pytest.mark.slow
@PACKS
def test_joints_sum_to_all_but_the_cells(text: str) -> None:
    """Their heat is that of all sheets, bars and welds; neighbouring leads' sum is the pack's."""
    plan = planned(text)
    of = plan.electrical.shares
    lost = losses(of, 1.0)
    ohms = joint_ohms(plan.interconnect.plates, of)
    assert ohms.sum() == pytest.approx(lost.strip_w + lost.tail_w + lost.weld_w, rel=1e-9)
    assert len(ohms) == plan.pack.series + 1 and (ohms > 0).all()
    pairs = lead_pair_ohms(plan.cell_layout, plan.interconnect, of)
    assert len(pairs) == plan.pack.series
    assert pairs.sum() == pytest.approx(of.ohm, rel=1e-9)
    group = plan.pack.cell.internal_resistance_mohm / 1000.0 / plan.pack.parallel
    assert (pairs > 0.9 * group).all() and (pairs < 1.3 * group).all()


@PACKS
def test_a_bad_joint_is_named_by_its_row(text: str) -> None:
    """Twice the resistance in one sheet: its own row alone goes past the limit of 20 %."""
    plan = planned(text)
    plates = plan.interconnect.plates
    before = joint_ohms(plates, plan.electrical.shares)
    for bad in range(len(plates)):
        made = [worse(one, 2.0) if k == bad else one for k, one in enumerate(plates)]
        network = plate_network(plan.pack, plan.cell_layout, made)
        of = shares(network, plan.cell_layout.group)
        after = joint_ohms(made, of)
        over = np.flatnonzero(after > 1.2 * before)
        assert over.tolist() == [bad]
        others = np.delete(after / before, bad)
        assert others == pytest.approx(np.ones(len(others)), abs=0.02)
        pairs = lead_pair_ohms(plan.cell_layout, plan.interconnect, of)
        rise = pairs - lead_pair_ohms(plan.cell_layout, plan.interconnect, plan.electrical.shares)
        lead = next(
            one.number
            for one in plan.interconnect.balance_leads
            if (one.face, one.groups) == (plates[bad].face, plates[bad].groups)
        )
        beside = [k for k in (lead - 1, lead) if 0 <= k < plan.pack.series]
        assert int(np.argmax(rise)) in beside


def test_the_tables_have_a_row_and_a_blank_for_each() -> None:
    """In the order of the leads, mV at the test current, the limit a fifth above."""
    plan = planned(TEN)
    table = joint_table(plan)
    ohms = joint_ohms(plan.interconnect.plates, plan.electrical.shares)
    told = [float(row[2]) for row in table.rows]
    assert sorted(told) == pytest.approx(sorted(1e3 * TEST_A * ohms), abs=0.006)
    assert [float(row[3]) for row in table.rows] == pytest.approx(
        [1.2 * one for one in told], abs=0.02
    )
    assert [row[1] for row in table.rows][:2] == [
        "lower face, from the main lead to minus of group 1",
        "upper face, from plus of group 1 to minus of group 2",
    ]
    assert {row[-1] for row in table.rows} == {""}
    pairs = lead_pair_table(plan)
    assert [row[0] for row in pairs.rows] == [f"B{k} to B{k + 1}" for k in range(10)]
    total = sum(float(row[1]) for row in pairs.rows)
    assert total == pytest.approx(1e3 * TEST_A * plan.electrical.shares.ohm, abs=0.6)
