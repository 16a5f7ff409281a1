"""One pack, planned: every decision from cells to brackets in order, and the checks on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layouts.cells.spacing import can_spacing
from layouts.checks import Check
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.enclosures.form import Enclosure
from layouts.enclosures.gas_way import GasWay, gas_way, gas_way_checks
from layouts.errors import told_by_field
from layouts.heat.of_pack import Walls
from layouts.holders.design import holder_checks
from layouts.holders.fastening import fastening_checks
from layouts.holders.islands import island_check
from layouts.holders.second_holder import second_holder_check
from layouts.holders.web_checks import web_checks
from layouts.pack import Pack
from layouts.parts.cut_plates import cut_plate_checks
from layouts.parts.fasteners import Into, ScrewUse
from layouts.parts.screw import screw_uses
from layouts.parts.tie_screw import tie_screw
from layouts.placing.values import Effort
from layouts.planning.candidates import candidate_miss_mm, candidates_of, pack_with
from layouts.planning.estimate import ENVELOPE_OFF_MM
from layouts.planning.mounting import mounting_checks
from layouts.planning.scoring import outside_score
from layouts.planning.search import best_outside
from layouts.planning.steps import HolderPlan, OutsidePlan, outside_plan, with_holders
from layouts.shorts.checks import short_checks
from layouts.shorts.short_check import shorts
from layouts.shorts.values import ShortReport
from layouts.sorting.places import sorted_places_check
from layouts.strips.checks import strip_checks
from layouts.strips.leads import PAST_OUTLINE_MM
from layouts.strips.lip import seat_checks
from layouts.strips.lip_checks import lip_checks

__all__ = ["PackPlan", "completed", "plan_checks", "plan_pack"]


NOT_ENCLOSED = (
    "enclosure.style none: no tub, lid or bracket is made. The user's case must keep out water "
    "and fingers, hold the cells against shocks, vent gas away from people, and leave the vent "
    "space over both faces free"
)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PackPlan(HolderPlan):
    """Everything decided about one pack, nothing made yet.

    ``electrical``: currents, ratings, fuse, wire and heat, with the strips as laid. ``gas_way``:
    through the enclosure; None where the pack has none of its own.
    """

    gas_way: GasWay | None
    electrical: Electrical
    shorts: ShortReport

    @property
    def gas(self) -> GasWay:
        """The vent path. Raises ValueError where the pack has no enclosure of its own."""
        if self.gas_way is None:
            raise ValueError("this pack has no enclosure of its own")
        return self.gas_way

    @property
    def notes(self) -> tuple[str, ...]:
        """Notes for the builder on the choices made, in their order."""
        return (
            *self.cell_layout.notes,
            *self.interconnect.notes,
            *self.cell_block.notes,
            *self.electrical.advice,
            *(self.enclosure_set.enclosure.notes if self.enclosure_set else ()),
        )

    @property
    def cautions(self) -> tuple[str, ...]:
        """What may injure someone and follows from the plan."""
        if self.gas_way is None:
            return (NOT_ENCLOSED, *self._bare_strips(), *self.electrical.cautions)
        own = self.enclosure.cautions
        return (self._burns(), *own, *self._bare_strips(), *self.electrical.cautions)

    def _burns(self) -> str:
        """A printed enclosure is no fire barrier."""
        material = self.pack.printer.material
        return (
            f"fire: the printed enclosure of {material} burns, and does not hold the fire of a "
            "cell: usual filament is of class HB (UL 94: it goes on burning along a bar; ABS "
            "by a maker's sheet, the others from memory); charge and store the pack away from "
            "what can burn, and never unwatched"
        )

    @property
    def screw_uses(self) -> tuple[ScrewUse, ...]:
        """Every screw of the pack."""
        tie = tie_screw(self.pack)
        ties = ScrewUse(
            where="tie posts",
            screw=tie.screw,
            length_mm=tie.length_mm,
            count=len(self.cell_block.posts),
            into=Into.NUT,
            grip_mm=tie.length_mm - tie.nut_recess_mm,
        )
        if self.enclosure_set is None:
            return (ties,)
        enclosure_set = self.enclosure_set
        return (ties, *screw_uses((*enclosure_set.enclosure.screws, *enclosure_set.bracket.screws)))

    def _bare_strips(self) -> tuple[str, ...]:
        """Strips to a main lead that lie outside the holder for longer than their tails."""
        pack, xy = self.pack, self.cell_layout.xy_mm
        wall = pack.pocket_mm / 2 + pack.holder.wall_mm
        bare = {
            strip.groups[0]: float(np.hypot(*(np.asarray(strip.end_mm) - xy[strip.cells[-1]])))
            - wall
            for strip in self.interconnect.strips
            if strip.runs_out
        }
        return tuple(
            f"strips: group {group}'s strip to its main lead lies bare for {free:.0f} mm outside "
            "the holder, beside groups of other potentials: sleeve it and fix it to the tub, or "
            "solder the wire on where it leaves the holder"
            for group, free in sorted(bare.items())
            if free > PAST_OUTLINE_MM + pack.pitch_mm
        )


def plan_pack(pack: Pack, *, effort: Effort = Effort.BEST) -> PackPlan:
    """Plan a pack: the outside of the best candidate, then all that lies inside.

    ``effort``: of the search where cells are placed in an outline; ``BEST`` takes up to half a
    minute for 100 cells.

    Raises PlanError, naming the field, where no valid plan exists at all (a BMS board that does not
    fit, mount holes too close): the pack file must change."""
    found = best_outside(
        candidates_of(pack),
        miss_mm=lambda one: candidate_miss_mm(pack, one),
        miss_off_mm=ENVELOPE_OFF_MM,
        plan_outside=lambda one: outside_plan(
            pack_with(pack, one), effort=effort, shape=one.layout
        ),
        score=outside_score,
    )
    return completed(found.outside)


@told_by_field("strip", what="the currents and clearances")
def completed(outside: OutsidePlan) -> PackPlan:
    """The rest of a plan whose outside is decided, or whose holders are too."""
    plan = outside if isinstance(outside, HolderPlan) else with_holders(outside)
    pack, cell_layout, interconnect, cell_block = (
        plan.pack,
        plan.cell_layout,
        plan.interconnect,
        plan.cell_block,
    )
    enclosure = None if plan.enclosure_set is None else plan.enclosure_set.enclosure
    return PackPlan(
        pack=pack,
        placed=plan.placed,
        cell_layout=cell_layout,
        interconnect=interconnect,
        cell_block=cell_block,
        enclosure_set=plan.enclosure_set,
        tiles=plan.tiles,
        barriers=plan.barriers,
        gas_way=None if enclosure is None else gas_way(pack, cell_layout, interconnect, enclosure),
        electrical=electrical_plan(
            pack, cell_layout, interconnect, None if enclosure is None else walls_of(enclosure)
        ),
        shorts=shorts(
            pack,
            cell_layout,
            interconnect,
            cell_block,
            () if plan.enclosure_set is None else (*plan.enclosure.screws, *plan.bracket.screws),
        ),
    )


def walls_of(enclosure: Enclosure) -> Walls:
    """The enclosure as heat sees it: its plastic from the drawings."""
    volume_mm3 = sum(part.drawing.volume_mm3() for part in enclosure.parts)
    return Walls(shell=enclosure.shell, plastic_mm3=volume_mm3)


@told_by_field("lattice", what="the checks of the plan")
def plan_checks(plan: PackPlan, *, mass_kg: float) -> tuple[Check, ...]:
    """All checks that need no solid; ``mass_kg`` is what the finished pack weighs."""
    pack, cell_layout, interconnect = plan.pack, plan.cell_layout, plan.interconnect
    checks = [
        can_spacing(pack, cell_layout),
        *strip_checks(pack, cell_layout, interconnect),
        *lip_checks(pack, cell_layout, interconnect),
        *seat_checks(pack, cell_layout, interconnect),
        *short_checks(plan.shorts),
        *fastening_checks(pack, cell_layout, interconnect, plan.cell_block, _clamped_mm(plan)),
        *holder_checks(pack, cell_layout, plan.tiles),
        second_holder_check(pack, cell_layout),
        island_check(pack, plan.tiles),
        *web_checks(pack, cell_layout, plan.tiles),
        *_enclosure_set_checks(plan),
        *_sorted_checks(plan),
        *plan.electrical.checks,
        *cut_plate_checks(pack.plates_to_cut),
        *_load_checks(plan, mass_kg),
    ]
    return tuple(checks)


def _clamped_mm(plan: PackPlan) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Where the enclosure, if there is one, clamps the holders on the cans."""
    return () if plan.enclosure_set is None else plan.enclosure.clamped_mm


def _enclosure_set_checks(plan: PackPlan) -> tuple[Check, ...]:
    if plan.enclosure_set is None:
        return ()
    enclosure = plan.enclosure_set.enclosure
    return (
        *enclosure.checks(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block),
        *gas_way_checks(plan.gas),
    )


def _sorted_checks(plan: PackPlan) -> tuple[Check, ...]:
    """Nothing where no cells were measured and sorted."""
    measured = plan.pack.measured_cells
    return () if measured is None else (sorted_places_check(measured, plan.cell_layout),)


def _load_checks(plan: PackPlan, mass_kg: float) -> tuple[Check, ...]:
    """Shock load on brackets and what they hang from; nothing without a load."""
    return () if plan.enclosure_set is None else mounting_checks(plan, mass_kg=mass_kg)
