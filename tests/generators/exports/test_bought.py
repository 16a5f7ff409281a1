"""What is bought besides cells, strip and screws: fuses with all their ratings."""

from __future__ import annotations

from typing import Any

from generators.exports.bill import BillRow
from generators.exports.bought import electrical_rows, fuse_size
from layouts.defaults import leads
from layouts.pack import Load
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.ratings.charge import Charger
from layouts.ratings.fuse import Fuse
from tests.samples import sample_pack


def planned(**changes: Any) -> PackPlan:
    """A pack of 3S2P."""
    return plan_pack(sample_pack(3, 2, format="18650", **changes))


def row(plan: PackPlan, item: str) -> BillRow:
    """The one row of that item."""
    (found,) = [one for one in electrical_rows(plan) if one.item == item]
    return found


def test_a_given_fuse_is_billed_as_given() -> None:
    """Rating, DC volts and breaking capacity as the file has them."""
    plan = planned(fuse=Fuse(rating_a=20.0, dc_v=32.0, breaking_a=2500.0))
    fuse = row(plan, "main fuse")
    assert fuse.size == "20 A, 32 V DC, breaking capacity 2500 A"
    assert fuse.note == "as given in the pack file; within 180 mm of pack plus"


def test_a_proposed_fuse_is_billed_with_what_it_must_withstand() -> None:
    """Volts and breaking capacity are never below what is required; charge and tap fuses too."""
    plan = planned(
        load=Load(continuous_a=9.0), charger=Charger(volts_v=12.6, amps_a=3.0, wire_mm2=1.5)
    )
    of = plan.electrical.fuse_protection
    fuse = row(plan, "main fuse")
    assert fuse.size == fuse_size(of)
    assert fuse.size.startswith(f"{of.fuse.rating_a:g} A, at least 12.6 V DC, breaking capacity")
    assert "proposed" in fuse.note
    charging = plan.electrical.charging.fuse
    assert charging is not None
    assert row(plan, "charge port fuse").size == f"{charging.fuse.rating_a:g} A, at least 12.6 V DC"
    tap_a = plan.electrical.balance_leads.choice.fuse.rating_a
    assert f"each with a {tap_a:g} A fuse" in row(plan, "balance leads").note


def test_a_proposed_fuse_that_does_not_suit_is_billed_as_such() -> None:
    """Leads too thin for the load: the row says so."""
    plan = planned(load=Load(continuous_a=30.0), leads=leads(wire_mm2=2.5))
    assert not plan.electrical.fuse_protection.fits
    assert "does not carry the current" in row(plan, "main fuse").note
