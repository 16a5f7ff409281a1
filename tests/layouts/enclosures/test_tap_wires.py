"""Balance leads reach the board."""

from __future__ import annotations

import math

from layouts.enclosures.tap_wires import SLACK_MM, balance_lead_runs
from layouts.pack import Face
from layouts.planning.pack_plan import plan_pack
from tests.samples import sample_pack


def test_every_wire_is_longer_than_the_straight_way_and_not_twice_as_long() -> None:
    """From the tap's cell to the board's middle, slack apart; one wire a tap."""
    plan = plan_pack(sample_pack(7, 3))
    wires = balance_lead_runs(plan.pack, plan.cell_layout, plan.interconnect, plan.enclosure.board)
    assert [wire.number for wire in wires] == list(range(8))
    bay = plan.enclosure.sizes.bay
    middle = (
        (bay.board.x0 + bay.board.x1) / 2,
        (bay.board.y0 + bay.board.y1) / 2,
        (bay.z0_mm + bay.z1_mm) / 2,
    )
    for balance_lead, wire in zip(plan.interconnect.balance_leads, wires, strict=True):
        x, y = plan.cell_layout.xy_mm[balance_lead.cell].tolist()
        z = plan.pack.lip_to_lip_mm if balance_lead.face is Face.UPPER else 0.0
        straight = math.dist((x, y, z), middle)
        assert straight <= wire.length_mm - SLACK_MM <= 1.8 * straight + 5.0
        assert wire.length_mm % 5.0 == 0.0
