"""What the build sheet tells of brackets of sheet metal."""

from __future__ import annotations

from generators.drawings.metal_plan import finish_words
from layouts.planning.pack_plan import PackPlan

__all__ = ["bent_brackets"]


def bent_brackets(plan: PackPlan) -> tuple[str, ...]:
    """How they are had from a shop and handled; nothing of printed ones."""
    if plan.enclosure_set is None:
        return ()
    bent = [part.sheet for part in plan.bracket.parts if part.sheet is not None]
    if not bent:
        return ()
    legs = " and ".join(f"{one:.1f}" for one in bent[0].legs_mm)
    return (
        "Brackets come from a shop, by the files in metal/: have one bent first, measure its legs "
        f"({legs} mm outside), then the others. Deburr every edge; finish: "
        f"{finish_words(bent[0].metal)}. They are metal: no bare strip or loose lead end may reach "
        "one.",
    )
