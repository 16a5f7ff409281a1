"""One pack, planned: every decision from cells to brackets in order, and the checks on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layouts.checks import Check
from layouts.currents.landing import with_bus_strips
from layouts.currents.strips import Sharing, pack_sharing
from layouts.enclosures.bracket import BracketDesign, bracket_root_stress, design_bracket
from layouts.enclosures.checks import enclosure_checks
from layouts.enclosures.design import design_enclosure
from layouts.enclosures.gas_way import GasWay, gas_way, gas_way_caution, gas_way_check
from layouts.enclosures.values import EnclosureDesign
from layouts.fasteners import Into, ScrewUse
from layouts.field.arrange import arrange
from layouts.field.arrange_placed import arrange_in_space, is_placed
from layouts.field.arrangement import Arrangement
from layouts.field.placed import PlacedCells
from layouts.field.spacing import can_spacing
from layouts.field.tiles import tile_polygons
from layouts.holders.barriers import BarrierDesign, barrier_designs
from layouts.holders.design import holder_checks, holder_tiles
from layouts.holders.fastening import Core, fasten, fastening_checks
from layouts.holders.holder import HolderTile
from layouts.holders.islands import island_check
from layouts.holders.ties import tie_screw
from layouts.mass import guessed_mass_kg
from layouts.pack import EnclosureStyle, Pack
from layouts.placing.values import Effort
from layouts.strips.checks import strip_checks
from layouts.strips.joining import Joining
from layouts.strips.laying import join
from layouts.strips.leads import PAST_OUTLINE_MM
from layouts.strips.lip import lip_checks, seat_checks

__all__ = ["Housing", "PackPlan", "plan_checks", "plan_pack"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Housing:
    """What encloses and carries the held cells, and the way that gas takes through it."""

    enclosure: EnclosureDesign
    bracket: BracketDesign
    gas: GasWay


UNEVEN_RATIO = 0.5  # spread within a group that is cautioned; judgement, no source
NOT_ENCLOSED = (
    "enclosure.style none: no tub, lid or bracket is made. What the held cells go into must keep "
    "water and fingers off, hold them against shocks, let gas out away from people, and leave "
    "the room over both faces free"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class PackPlan:
    """Everything decided about one pack, nothing made yet.

    ``pack``: as asked, its web as wide as its placed groups need. ``placed``: how cells were
    placed in the space's outline, where they were. ``sharing``: how evenly the cells share the
    load through the strips as laid.
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
    sharing: Sharing

    @property
    def enclosure(self) -> EnclosureDesign:
        """Tub and lid. Raises ValueError where the pack has none: ask ``housing`` first."""
        return self._housed().enclosure

    @property
    def bracket(self) -> BracketDesign:
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
            *(self.housing.enclosure.notes if self.housing else ()),
        )

    @property
    def cautions(self) -> tuple[str, ...]:
        """What may hurt someone and follows from the plan."""
        if self.housing is None:
            return (NOT_ENCLOSED, *self._bare_strips(), *self._uneven())
        caution = gas_way_caution(self.housing.gas)
        said = () if caution is None else (caution,)
        return (*said, *self._bare_strips(), *self._uneven())

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
        return (ties, *housing.enclosure.screw_uses, *housing.bracket.screw_uses)

    def _uneven(self) -> tuple[str, ...]:
        """Cells that share the load so unevenly that some do much more than their part."""
        spread = self.sharing.spread_ratio
        if spread <= UNEVEN_RATIO:
            return ()
        return (
            f"strips: at {self.sharing.load_a:.0f} A the cells of one group differ by "
            f"{100 * spread:.0f} % of their mean, since the main leads take the current from one "
            "end of a row: lay more copper along the rows of the end groups, to their far ends",
        )

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
        arrangement = arrange(pack)
    joining = with_bus_strips(pack, arrangement, join(pack, arrangement))
    core = fasten(pack, arrangement, joining)
    return PackPlan(
        pack=pack,
        placed=placed,
        arrangement=arrangement,
        joining=joining,
        core=core,
        tiles=holder_tiles(pack, arrangement, joining, core, tile_polygons(arrangement)),
        barriers=barrier_designs(pack, arrangement, core.outline),
        housing=_housing(pack, arrangement, joining, core),
        sharing=pack_sharing(pack, arrangement, joining),
    )


def _housing(pack: Pack, arrangement: Arrangement, joining: Joining, core: Core) -> Housing | None:
    if pack.enclosure.style is EnclosureStyle.NONE:
        return None
    enclosure = design_enclosure(pack, arrangement, joining, core)
    return Housing(
        enclosure=enclosure,
        bracket=design_bracket(pack, enclosure.lugs, mass_kg=guessed_mass_kg(pack)),
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
        *fastening_checks(pack, arrangement, joining, plan.core),
        *holder_checks(pack, arrangement, plan.tiles),
        island_check(pack, plan.tiles),
        *_housing_checks(plan),
        *_load_checks(plan, mass_kg),
    ]
    return tuple(checks)


def _housing_checks(plan: PackPlan) -> tuple[Check, ...]:
    if plan.housing is None:
        return ()
    enclosure = plan.housing.enclosure
    return (
        *enclosure_checks(plan.pack, plan.arrangement, plan.joining, plan.core, enclosure),
        gas_way_check(plan.housing.gas),
    )


def _load_checks(plan: PackPlan, mass_kg: float) -> list[Check]:
    """What was asked of cells and brackets; nothing without a load."""
    pack = plan.pack
    if pack.load is None:
        return []
    cells_a = pack.parallel * pack.cell.continuous_a
    checks = [
        Check(
            id="cells_a",
            about="current that the cells may give all the time against what is asked",
            holds=cells_a >= pack.load.continuous_a,
            value=cells_a,
            limit=pack.load.continuous_a,
            unit="A",
            source="the cell's own rating times the cells in parallel",
            how_to_mend="more cells in parallel, stronger cells, or a lower load.continuous_a",
        )
    ]
    if pack.load.peak_a is not None and pack.cell.peak_a is not None:
        peak_a = pack.parallel * pack.cell.peak_a
        checks.append(
            Check(
                id="cells_peak_a",
                about="current that the cells may give for a short time against the peak asked",
                holds=peak_a >= pack.load.peak_a,
                value=peak_a,
                limit=pack.load.peak_a,
                unit="A",
                source="the cell's own rating times the cells in parallel",
                how_to_mend="more cells in parallel, stronger cells, or a lower load.peak_a",
            )
        )
    if plan.housing is not None and plan.enclosure.lugs:
        checks.append(
            bracket_root_stress(pack, plan.bracket, plan.enclosure.lugs[0], mass_kg=mass_kg)
        )
    return checks
