"""What may be changed where the second holder does not go on, best first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from generators.fixes.steps import Changes, up
from layouts.checks import Check
from layouts.holders.second_holder import SURE, WIDEST_CLEARANCE_MM, needed_mm
from layouts.planning.pack_plan import PackPlan
from layouts.printing.stack import clearance_for

__all__ = ["HOLDER_FIT"]


def _goes_on(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """The clearance that the spreads ask for."""
    wanted = up(clearance_for(needed_mm(plan.pack, plan.cell_layout), SURE), 0.01)
    if plan.pack.holder.clearance_mm < wanted <= WIDEST_CLEARANCE_MM:
        yield {"holder.clearance_mm": wanted}


HOLDER_FIT: Mapping[str, Callable[[Check, PackPlan], Iterator[Changes]]] = {
    "second_holder_goes_on": _goes_on,
}
