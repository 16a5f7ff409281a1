"""A pack planned again with changed keys, and what of it fails: within a budget of plans."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from generators.fitting import fit_plan, given_pose
from generators.fixes.steps import Changes
from generators.proofs.meshes import bed_check
from layouts.brackets.loads import guessed_mass_kg
from layouts.checks import Check, worst_of
from layouts.electrical.plan import electrical_plan
from layouts.fitting.box_fit import fit_in_box, space_check
from layouts.holders.fastening import fastening_checks
from layouts.pack import Pack
from layouts.parts.outside import outside_pieces, outside_points
from layouts.planning.in_space import is_placed
from layouts.planning.pack_plan import PackPlan, plan_checks, plan_pack, walls_of
from layouts.planning.parts_list import enclosure_set_parts, parts_of
from layouts.planning.steps import OutsidePlan, fastened, interconnected, laid_out
from layouts.spaces.space import Space
from layouts.strips.checks import strip_checks
from layouts.strips.lip import seat_checks
from layouts.strips.lip_checks import lip_checks

__all__ = ["Changed", "Judge", "Judged", "SpentError", "in_space"]

Changed = Callable[[Changes], Pack]  # the pack of a file with changed keys; PackFileError if none

# Costs of a trial, in whole plans
WHOLE, CURRENTS, STRIPS = 1.0, 0.5, 0.1
BUDGET = 8.0  # whole plans for all failing checks of a pack: less than making it takes
LEAST_SHARE = 2.0  # of it for one check: a change, and one for what fails by it

# Sections whose keys move nothing: cells, strips and enclosure stay as planned
_UNMOVED = ("fuse.", "charger.", "controller.", "taps.", "load.continuous_", "load.peak_")
_UNMOVED_KEYS = {
    "bms.continuous_a", "bms.peak_a", "bms.peak_s", "bms.series", "bms.charge_a",
    "leads.connector_a", "leads.length_mm", "leads.table",
    "load.regeneration_a", "load.ambient_c", "load.discharge_cutoff_v",
}  # fmt: skip

# Checks that need no more than cells, strips and posts
QUICK = frozenset(
    {
        "strip_one_piece", "strip_potentials", "lead_out_mm", "strip_gap_mm", "strip_window_mm",
        "lip_force_n", "lip_rim_deg", "lip_gap_deg", "strip_seat_mm", "strip_proud_mm",
        "strip_stack_mm", "tie_posts", "post_clearance", "post_channel", "post_spacing",
    }
)  # fmt: skip


class SpentError(Exception):
    """No budget is left for another trial."""


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A plan and its checks."""

    plan: PackPlan
    checks: tuple[Check, ...]

    @property
    def failing(self) -> dict[str, Check]:
        """Those that fail, by their ids."""
        return {check.id: check for check in self.checks if not check.holds}


class Judge:
    """Plans a pack again and again, as the file with changed keys would be planned."""

    def __init__(self, plan: PackPlan, *, mass_kg: float, changed: Changed) -> None:
        """``plan``: as the file is; ``mass_kg``: of that pack."""
        self._plan = plan
        self._mass_ratio = mass_kg / guessed_mass_kg(plan.pack)
        self._changed = changed
        self._left, self._floor = BUDGET, 0.0
        self._now = self._judged(plan)
        self._known: dict[str, Judged | None] = {}
        self._known_changes: list[tuple[Changes, Judged]] = []

    def share(self, parts: int) -> None:
        """Give the trials that follow one of ``parts`` equal shares of what is left, and no less
        than ``LEAST_SHARE``: those that come first get it where all can't."""
        self._floor = max(0.0, self._left - max(self._left / parts, LEAST_SHARE))

    def known(self) -> tuple[tuple[Changes, Judged], ...]:
        """What was tried so far and not refused."""
        return tuple(self._known_changes)

    def now(self) -> Judged:
        """The pack as its file is."""
        return self._now

    @property
    def cells_stay(self) -> bool:
        """Whether no trial may move cells: placed in an outline they would be searched for anew,
        which takes longer than all else."""
        return is_placed(self._plan.pack)

    def can_try(self, changes: Changes) -> bool:
        """Whether changes may be tried at all."""
        return not self.cells_stay or _unmoved(changes)

    def holds_quickly(self, check_id: str, changes: Changes) -> bool:
        """False where strips and posts alone show that a check would still fail."""
        if check_id not in QUICK:
            return True
        self._spend(STRIPS)
        try:
            found = fastened(interconnected(laid_out(self._changed(changes))))
        except ValueError:  # as for a whole plan
            return False
        pack, layout, joined = found.pack, found.cell_layout, found.interconnect
        checks = (
            *strip_checks(pack, layout, joined),
            *lip_checks(pack, layout, joined),
            *seat_checks(pack, layout, joined),
            *fastening_checks(pack, layout, joined, found.cell_block),
        )
        return all(check.holds for check in checks if check.id == check_id)

    def judged(self, changes: Changes) -> Judged | None:
        """What the changed file gives; None where it is refused. Raises ``SpentError``."""
        key = repr(sorted(changes.items()))
        if key not in self._known:
            found = self._known[key] = self._tried(changes)
            if found is not None:
                self._known_changes.append((dict(changes), found))
        return self._known[key]

    def _tried(self, changes: Changes) -> Judged | None:
        unmoved = _unmoved(changes)
        try:
            pack = self._changed(changes)
            self._spend(CURRENTS if unmoved else WHOLE * self._larger(pack))
            plan = self._with_currents(pack) if unmoved else plan_pack(pack)
        except ValueError:  # refused by the file's rules or by the plan, or no plan of ours
            return None
        return self._judged(plan)

    def _larger(self, pack: Pack) -> float:
        """How many times the cells of the plan a pack has, 1 at least: it takes so much longer."""
        now = self._plan.pack
        return max(1.0, pack.series * pack.parallel / (now.series * now.parallel))

    def _with_currents(self, pack: Pack) -> PackPlan:
        plan = self._plan
        pack = replace(pack, holder=plan.pack.holder)  # its web as wide as its groups need
        walls = None if plan.enclosure_set is None else walls_of(plan.enclosure)
        electrical = electrical_plan(pack, plan.cell_layout, plan.interconnect, walls)
        return replace(plan, pack=pack, electrical=electrical)

    def _judged(self, plan: PackPlan) -> Judged:
        mass_kg = self._mass_ratio * guessed_mass_kg(plan.pack)
        checks = (*plan_checks(plan, mass_kg=mass_kg), *_on_bed(plan), *in_space(plan))
        return Judged(plan=plan, checks=checks)

    def _spend(self, cost: float) -> None:
        if self._left - self._floor < cost:
            raise SpentError
        self._left -= cost


def _unmoved(changes: Changes) -> bool:
    """Whether cells, strips and enclosure stay as they are."""
    return all(key.startswith(_UNMOVED) or key in _UNMOVED_KEYS for key in changes)


def in_space(plan: OutsidePlan, space: Space | None = None) -> tuple[Check, ...]:
    """Whether it fits a space, its own where none is given, by its drawings: in a box corners stand
    out a little more than the mesh's; any other space is searched. Cells placed in it lie in it."""
    pack = plan.pack
    space = pack.space if space is None else space
    if space is None or plan.enclosure_set is None:
        return ()
    if not space.is_box or given_pose(plan) is not None:
        return fit_plan(plan, space)[1]
    parts = tuple(enclosure_set_parts(plan))
    pieces = outside_pieces(plan.enclosure.shell, parts, plan.enclosure.screws)
    fit = fit_in_box(outside_points(pieces), space, pack.leads.side)
    return (space_check(fit, space),)


def _on_bed(plan: PackPlan) -> tuple[Check, ...]:
    """Whether every part fits the bed, by its drawing."""
    bed = plan.pack.printer.bed_mm
    parts = (part for part in parts_of(plan) if part.is_printed)
    found = [bed_check(part.name, part.drawing.box_mm(), bed) for part in parts]
    return worst_of(found)
