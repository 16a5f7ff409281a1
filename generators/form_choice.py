"""The enclosure's form where a pack file leaves it open: a tub where that goes into the space, else
walls that follow the cells where those do."""

from __future__ import annotations

from dataclasses import replace

from generators.fixes.judging import Changed, in_space
from generators.fixes.steps import Changes
from layouts.checks import Check
from layouts.errors import LibraryError, PlanError
from layouts.pack import Pack
from layouts.placing.values import Effort
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.planning.steps import OutsidePlan, outside_there
from layouts.spaces.space import Space

__all__ = ["fitted_where_tub_fails", "outside_with_form", "plan_with_form", "with_fitted"]

FITTED: Changes = {"enclosure.style": "fitted"}


def plan_with_form(
    pack: Pack, changed: Changed | None, *, effort: Effort = Effort.BEST
) -> tuple[PackPlan, Changed | None]:
    """The plan of a pack, and its file with changed keys from then on.

    ``changed``: the pack of the file with changed keys; None: only what the file says is planned.
    Where the file leaves the form open, the tub does not go into the space and the fitted form
    does, that is planned. Raises PlanError as ``plan_pack`` does, of the tub."""
    space = pack.space
    if changed is None or space is None or not pack.enclosure.style_is_open:
        return _as_asked(plan_pack(pack, effort=effort)), changed
    try:
        plan = plan_pack(pack, effort=effort)
    except LibraryError:
        raise
    except PlanError as error:
        other = _fitted_instead(f"finds no plan: {error.field} {error.why}", space, changed)
        if other is None:
            raise
        return other, with_fitted(changed)
    other = _where_it_fails(plan, space, changed)
    return (_as_asked(plan), changed) if other is None else (other, with_fitted(changed))


def outside_with_form(pack: Pack, space: Space, changed: Changed) -> OutsidePlan:
    """The outside of a pack in a space of any file, of the form as ``plan_with_form`` chooses it.

    Raises PlanError as ``outside_plan`` does, of the tub."""
    plan = outside_there(pack, space)
    if not pack.enclosure.style_is_open:
        return plan
    other = _where_it_fails(plan, space, changed)
    return plan if other is None else other


def fitted_where_tub_fails(plan: PackPlan, changed: Changed) -> PackPlan | None:
    """The fitted plan where the file leaves the form open, the tub of ``plan`` does not go into its
    space and that does; else None."""
    space = plan.pack.space
    if space is None or not plan.pack.enclosure.style_is_open:
        return None
    return _where_it_fails(plan, space, changed)


def _as_asked(plan: PackPlan) -> PackPlan:
    """The plan. Raises PlanError where it leaves the space as the pack file places it."""
    space = plan.pack.space
    if space is None or space.place is None or space.place.at_mm is None:
        return plan
    for check in in_space(plan):
        if check.id == "space" and not check.holds and check.value is not None:
            raise PlanError(
                field="space.place.at_mm",
                why=f"puts the pack {-check.value:.1f} mm out of the space, or into what it keeps "
                f"free: {check.where}",
                remedy="another place, or delete it: then one is looked for",
            )
    return plan


def _where_it_fails(plan: OutsidePlan, space: Space, changed: Changed) -> PackPlan | None:
    """The fitted plan where a tub does not go into a space and that does; else None."""
    failing = [check for check in in_space(plan, space) if not check.holds]
    return _fitted_instead(_told(failing[0]), space, changed) if failing else None


def _fitted_instead(why: str, space: Space, changed: Changed) -> PackPlan | None:
    """The fitted plan of a pack file in a space; None where it does not stand there.

    ``why``: what keeps a tub from it, for the plan's notes."""
    try:
        pack = replace(changed(FITTED), space=space)
        told = f"enclosure.style is left open: a tub {why}; walls that follow the cells go in"
        return plan_pack(replace(pack, enclosure=replace(pack.enclosure, instead_of=told)))
    except ValueError:  # refused by the file's rules or by the plan, which stands it in the space
        return None


def _told(check: Check) -> str:
    """What the failing check of the space says of a tub."""
    if check.value is None:
        return f"does not go into the space ({check.where})" if check.where else "does not fit"
    return f"reaches {-check.value:.1f} mm out of the space"


def with_fitted(changed: Changed) -> Changed:
    """The file with the fitted form and with further changes."""
    return lambda changes: changed({**FITTED, **changes})
