"""Checks of what carries a pack in its machine: brackets, their inserts, the walls at the pads."""

from __future__ import annotations

from layouts.brackets.inserts import insert_pull
from layouts.checks import Check
from layouts.enclosures.pad_walls import wall_bending
from layouts.planning.held import held_checks
from layouts.planning.shock import shock_checks
from layouts.planning.steps import OutsidePlan

__all__ = ["mounting_checks"]


def mounting_checks(plan: OutsidePlan, *, mass_kg: float) -> tuple[Check, ...]:
    """All of a pack that has an enclosure; without a load a shock alone, where one is given."""
    pack, enclosure, bracket = plan.pack, plan.enclosure, plan.bracket
    shocked = shock_checks(plan, mass_kg=mass_kg)
    if pack.mount.frame:
        return (*held_checks(plan, mass_kg=mass_kg), *shocked)
    if pack.load is None or not enclosure.pads:
        return shocked
    return (
        *bracket.checks(pack, enclosure.pads, mass_kg=mass_kg),
        *insert_pull(pack, enclosure.pads, bracket.hold, mass_kg=mass_kg),
        *wall_bending(pack, enclosure.pad_walls, bracket.hold, mass_kg=mass_kg),
        *shocked,
    )
