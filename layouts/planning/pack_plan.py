"""One pack, planned: every decision from cells to brackets in order, and the checks on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layouts.brackets.kind import Bracket
from layouts.brackets.registry import kind_of
from layouts.cells.arrange import arrange
from layouts.cells.arrangement import Arrangement
from layouts.cells.placed_cells import PlacedCells
from layouts.cells.spacing import can_spacing
from layouts.cells.tiles import tile_polygons
from layouts.checks import Check
from layouts.currents.bus_strips import with_bus_strips
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.enclosures.form import Enclosure
from layouts.enclosures.gas_way import GasWay, gas_way, gas_way_caution, gas_way_check
from layouts.enclosures.registry import form_of
from layouts.holders.barriers import BarrierDesign, barrier_designs
from layouts.holders.design import holder_checks, holder_tiles
from layouts.holders.fastening import Core, fasten, fastening_checks
from layouts.holders.holder import HolderTile
from layouts.holders.islands import island_check
from layouts.pack import Pack
from layouts.parts.fasteners import Into, ScrewUse
from layouts.parts.screw import screw_uses
from layouts.parts.tie_screw import tie_screw
from layouts.placing.values import Effort
from layouts.planning.estimate import envelope
from layouts.planning.in_space import arrange_in_space, is_placed
from layouts.planning.mass import guessed_mass_kg
from layouts.shorts.checks import short_checks
from layouts.shorts.short_check import shorts
from layouts.shorts.values import ShortReport
from layouts.strips.checks import strip_checks
from layouts.strips.joining import Joining
from layouts.strips.laying import join
from layouts.strips.leads import PAST_OUTLINE_MM
from layouts.strips.lip import lip_checks, seat_checks

__all__ = ["Housing", "PackPlan", "plan_checks", "plan_pack"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Housing:
    """What encloses and carries the held cells, and the way that gas takes through it."""

    enclosure: Enclosure
    bracket: Bracket
    gas: GasWay


NOT_ENCLOSED = (
    "enclosure.style none: no tub, lid or bracket is made. What the held cells go into must keep "
    "water and fingers off, hold them against shocks, let gas out away from people, and leave "
    "the room over both faces free"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class PackPlan:
    """Everything decided about one pack, nothing made yet.

    ``pack``: as asked, its web as wide as its placed groups need. ``placed``: how cells were
    placed in the space's outline, where they were. ``electrical``: currents, ratings, fuse, wire
    and heat, with the strips as laid.
    ``housing``: None where the pack has no enclosure of its own (``enclosure.style: none``).
    """

    pack: Pack
    placed: PlacedCells | None
    arrangement: Arrangement
    joining: Joining
    core: Core
    tiles: tuple[HolderTile, ...]
    barriers: tuple[BarrierDesign, ...]
    housing: Housing | None
    shorts: ShortReport
    electrical: Electrical

    @property
    def enclosure(self) -> Enclosure:
        """Tub and lid. Raises ValueError where the pack has none: ask ``housing`` first."""
        return self._housed().enclosure

    @property
    def bracket(self) -> Bracket:
        """The brackets. Raises ValueError where the pack has none: ask ``housing`` first."""
        return self._housed().bracket

    @property
    def gas(self) -> GasWay:
        """The gas's way. Raises ValueError where the pack has none: ask ``housing`` first."""
        return self._housed().gas

    def _housed(self) -> Housing:
        if self.housing is None:
            raise ValueError("this pack has no enclosure of its own")
        return self.housing

    @property
    def notes(self) -> tuple[str, ...]:
        """What the builder must know of the choices made, in the order they were made."""
        return (
            *self.arrangement.notes,
            *self.joining.notes,
            *self.core.notes,
            *self.electrical.advice,
            *(self.housing.enclosure.notes if self.housing else ()),
        )

    @property
    def cautions(self) -> tuple[str, ...]:
        """What may hurt someone and follows from the plan."""
        if self.housing is None:
            return (NOT_ENCLOSED, *self._bare_strips(), *self.electrical.cautions)
        caution = gas_way_caution(self.housing.gas)
        said = () if caution is None else (caution,)
        return (*said, *self._bare_strips(), *self.electrical.cautions)

    @property
    def screw_uses(self) -> tuple[ScrewUse, ...]:
        """Every screw of the pack."""
        tie = tie_screw(self.pack)
        ties = ScrewUse(
            where="tie posts",
            screw=tie.screw,
            length_mm=tie.length_mm,
            count=len(self.core.posts),
            into=Into.NUT,
            grip_mm=tie.length_mm - tie.nut_recess_mm,
        )
        if self.housing is None:
            return (ties,)
        housing = self.housing
        return (ties, *screw_uses((*housing.enclosure.screws, *housing.bracket.screws)))

    def _bare_strips(self) -> tuple[str, ...]:
        """Strips to a main lead that lie outside the holder for longer than their tails."""
        pack, xy = self.pack, self.arrangement.xy_mm
        wall = pack.pocket_mm / 2 + pack.holder.wall_mm
        bare = {
            strip.groups[0]: float(np.hypot(*(np.asarray(strip.end_mm) - xy[strip.cells[-1]])))
            - wall
            for strip in self.joining.strips
            if strip.runs_out
        }
        return tuple(
            f"strips: group {group}'s strip to its main lead lies bare for {free:.0f} mm outside "
            "the holder, beside groups of other volts: sleeve it and fix it to the tub, or "
            "solder the wire on where it leaves the holder"
            for group, free in sorted(bare.items())
            if free > PAST_OUTLINE_MM + pack.pitch_mm
        )


def plan_pack(pack: Pack, *, effort: Effort = Effort.BEST) -> PackPlan:
    """Plan a pack, each step from the ones before it.

    ``effort``: of the search where cells are placed in an outline; ``BEST`` takes up to half a
    minute for 100 cells.

    Raises PlanError, naming the field, where no sound plan exists at all (a BMS board
    without room, mount holes too close): the pack file must change.
    """
    placed: PlacedCells | None = None
    if is_placed(pack):
        pack, placed, arrangement = arrange_in_space(pack, effort=effort)
    else:
        arrangement = arrange(pack, estimate=envelope)
    joining = with_bus_strips(pack, arrangement, join(pack, arrangement))
    core = fasten(pack, arrangement, joining)
    housing = _housing(pack, arrangement, joining, core)
    return PackPlan(
        pack=pack,
        placed=placed,
        arrangement=arrangement,
        joining=joining,
        core=core,
        tiles=holder_tiles(pack, arrangement, joining, core, tile_polygons(arrangement)),
        barriers=barrier_designs(pack, arrangement, core.outline),
        housing=housing,
        electrical=electrical_plan(
            pack, arrangement, joining, None if housing is None else housing.enclosure.shell
        ),
        shorts=shorts(
            pack,
            arrangement,
            joining,
            core,
            () if housing is None else (*housing.enclosure.screws, *housing.bracket.screws),
        ),
    )


def _housing(pack: Pack, arrangement: Arrangement, joining: Joining, core: Core) -> Housing | None:
    form = form_of(pack)
    if form is None:
        return None
    enclosure = form.design(pack, arrangement, joining, core)
    return Housing(
        enclosure=enclosure,
        bracket=kind_of(pack).design(pack, enclosure.lugs, mass_kg=guessed_mass_kg(pack)),
        gas=gas_way(pack, arrangement, joining, enclosure),
    )


def plan_checks(plan: PackPlan, *, mass_kg: float) -> tuple[Check, ...]:
    """All checks that need no solid; ``mass_kg`` is what the finished pack weighs."""
    pack, arrangement, joining = plan.pack, plan.arrangement, plan.joining
    checks = [
        can_spacing(pack, arrangement),
        *strip_checks(pack, arrangement, joining),
        *lip_checks(pack, arrangement, joining),
        *seat_checks(pack, arrangement, joining),
        *short_checks(plan.shorts),
        *fastening_checks(pack, arrangement, joining, plan.core),
        *holder_checks(pack, arrangement, plan.tiles),
        island_check(pack, plan.tiles),
        *_housing_checks(plan),
        *plan.electrical.checks,
        *_load_checks(plan, mass_kg),
    ]
    return tuple(checks)


def _housing_checks(plan: PackPlan) -> tuple[Check, ...]:
    if plan.housing is None:
        return ()
    enclosure = plan.housing.enclosure
    return (
        *enclosure.checks(plan.pack, plan.arrangement, plan.joining, plan.core),
        gas_way_check(plan.housing.gas),
    )


def _load_checks(plan: PackPlan, mass_kg: float) -> list[Check]:
    """What shocks ask of the brackets; nothing without a load."""
    if plan.housing is None:
        return []
    return list(plan.bracket.checks(plan.pack, plan.enclosure.lugs, mass_kg=mass_kg))
