"""What several tests read of whole plans."""

from __future__ import annotations

from layouts.parts.outside import OutsidePiece, outside_pieces
from layouts.planning.pack_plan import PackPlan


def outside_of(plan: PackPlan) -> tuple[OutsidePiece, ...]:
    """The outside of a whole plan, from its drawings."""
    enclosure = plan.enclosure
    parts = (*enclosure.parts, *plan.bracket.parts)
    return outside_pieces(enclosure.shell, parts, enclosure.screws)
