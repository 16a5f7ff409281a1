"""A plan in steps: cells, interconnect, cell block, enclosure, brackets, holders.

Each step takes what the step before gave and adds to it. So planning can be stopped between any
two, and none is done twice. ``outside_plan`` goes as far as the outside is decided;
``layouts.planning.pack_plan`` completes it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from layouts.brackets.framed import brackets_on_frame
from layouts.brackets.kind import Bracket
from layouts.brackets.loads import guessed_mass_kg
from layouts.brackets.registry import kind_of
from layouts.cells.arrange import arrange
from layouts.cells.arrangement import CellLayout
from layouts.cells.fields import BlockShape
from layouts.cells.placed_cells import PlacedCells
from layouts.cells.tiles import tile_polygons
from layouts.enclosures.form import Enclosure
from layouts.enclosures.registry import form_of
from layouts.errors import LibraryError, PlanError, told_by_field
from layouts.holders.barriers import BarrierDesign, barrier_designs
from layouts.holders.design import holder_tiles
from layouts.holders.fastening import CellBlock, fasten
from layouts.holders.holder import HolderTile
from layouts.pack import Pack
from layouts.placing.values import Effort
from layouts.planning.estimate import envelope
from layouts.planning.in_space import arrange_in_space, is_placed
from layouts.planning.joints import joined
from layouts.planning.layout_search import first_that_stands, is_searched
from layouts.planning.pocket_clearance import PocketChoice, chosen_pockets
from layouts.spaces.space import Space
from layouts.strips.joining import Interconnect

__all__ = [
    "BlockPlan",
    "CellPlan",
    "EnclosedPlan",
    "EnclosureSet",
    "HolderPlan",
    "InterconnectPlan",
    "OutsidePlan",
    "bracketed",
    "enclosed",
    "fastened",
    "interconnected",
    "laid_out",
    "outside_plan",
    "outside_there",
    "with_holders",
]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CellPlan:
    """Every cell has its place.

    ``pack``: as required, its web as wide as its placed groups need. ``placed``: how cells were
    placed in the space's outline, where they were."""

    pack: Pack
    placed: PlacedCells | None
    cell_layout: CellLayout


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class InterconnectPlan(CellPlan):
    """Strips and copper are laid too."""

    interconnect: Interconnect


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BlockPlan(InterconnectPlan):
    """Outline and tie posts of the held cells too."""

    cell_block: CellBlock


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class EnclosedPlan(BlockPlan):
    """The enclosure too; None where the pack has none of its own."""

    enclosure: Enclosure | None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class EnclosureSet:
    """What encloses and carries the held cells."""

    enclosure: Enclosure
    bracket: Bracket


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class OutsidePlan(BlockPlan):
    """All that decides the outside.

    ``enclosure_set``: None where the pack has no enclosure of its own (``enclosure.style: none``).
    """

    enclosure_set: EnclosureSet | None

    @property
    def enclosure(self) -> Enclosure:
        """Tub and lid. Raises ValueError where the pack has none: ask ``enclosure_set`` first."""
        return self._housed().enclosure

    @property
    def bracket(self) -> Bracket:
        """The brackets. Raises ValueError where the pack has none: ask ``enclosure_set`` first."""
        return self._housed().bracket

    def _housed(self) -> EnclosureSet:
        if self.enclosure_set is None:
            raise ValueError("this pack has no enclosure of its own")
        return self.enclosure_set


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class HolderPlan(OutsidePlan):
    """Holders and barriers too: every printed part is decided."""

    tiles: tuple[HolderTile, ...]
    barriers: tuple[BarrierDesign, ...]


@told_by_field("lattice", what="the cells")
def laid_out(
    pack: Pack, *, effort: Effort = Effort.BEST, shape: BlockShape | None = None
) -> CellPlan:
    """Step 1: the cells, placed in the space's outline where the pack asks for it.

    ``shape``: lay this one instead of the best, where they are not placed. Laid again where the
    second holder needs more clearance than usual, or tiles, and there is room for it.
    """
    cells = _cells_laid(pack, effort, shape)

    def lay(choice: PocketChoice) -> CellPlan | None:
        try:
            same = choice.of(pack) == pack and choice.tile_radius_mm == inf
            laid = (
                cells
                if same
                else _cells_laid(choice.of(pack), effort, shape, choice.tile_radius_mm)
            )
        except LibraryError:
            raise
        except PlanError:
            return None  # no room; the check of the second holder tells it
        return replace(laid, cell_layout=choice.joined(laid.cell_layout))

    def laid_with(choice: PocketChoice) -> tuple[Pack, CellLayout] | None:
        laid = lay(choice)
        return None if laid is None else (laid.pack, laid.cell_layout)

    found = chosen_pockets(cells.pack, cells.cell_layout, laid_with, can_cut=cells.placed is None)
    again = None if found is None else lay(found[0])
    if found is None or again is None:
        return cells
    notes = (*again.cell_layout.notes, found[1])
    return replace(again, cell_layout=replace(again.cell_layout, notes=notes))


def _cells_laid(
    pack: Pack, effort: Effort, shape: BlockShape | None, tile_radius_mm: float = inf
) -> CellPlan:
    if is_placed(pack):
        wide, placed, cell_layout = arrange_in_space(pack, effort=effort)
        return CellPlan(pack=wide, placed=placed, cell_layout=cell_layout)
    cell_layout = arrange(pack, estimate=envelope, shape=shape, tile_radius_mm=tile_radius_mm)
    return CellPlan(pack=pack, placed=None, cell_layout=cell_layout)


@told_by_field("strip", what="the strips")
def interconnected(cells: CellPlan) -> InterconnectPlan:
    """Step 2: plates or strips, and copper on the end groups."""
    return InterconnectPlan(
        pack=cells.pack,
        placed=cells.placed,
        cell_layout=cells.cell_layout,
        interconnect=joined(cells.pack, cells.cell_layout),
    )


@told_by_field("holder", what="the cell block")
def fastened(plan: InterconnectPlan) -> BlockPlan:
    """Step 3: the cell block."""
    return BlockPlan(
        pack=plan.pack,
        placed=plan.placed,
        cell_layout=plan.cell_layout,
        interconnect=plan.interconnect,
        cell_block=fasten(plan.pack, plan.cell_layout, plan.interconnect),
    )


@told_by_field("enclosure", what="the enclosure")
def enclosed(plan: BlockPlan) -> EnclosedPlan:
    """Step 4: the enclosure around the cell block."""
    form = form_of(plan.pack)
    enclosure = None
    if form is not None:
        enclosure = form.design(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block)
    return EnclosedPlan(
        pack=plan.pack,
        placed=plan.placed,
        cell_layout=plan.cell_layout,
        interconnect=plan.interconnect,
        cell_block=plan.cell_block,
        enclosure=enclosure,
    )


@told_by_field("mount", what="the brackets")
def bracketed(plan: EnclosedPlan) -> OutsidePlan:
    """Step 5: the brackets on the enclosure's pads."""
    pack, enclosure = plan.pack, plan.enclosure
    enclosure_set = None
    if enclosure is not None:
        if pack.mount.frame or pack.mount.hold.none:
            bracket = brackets_on_frame(pack, enclosure.pads)
        else:
            bracket = kind_of(pack).design(pack, enclosure.pads, mass_kg=guessed_mass_kg(pack))
        enclosure_set = EnclosureSet(enclosure=enclosure, bracket=bracket)
    return OutsidePlan(
        pack=pack,
        placed=plan.placed,
        cell_layout=plan.cell_layout,
        interconnect=plan.interconnect,
        cell_block=plan.cell_block,
        enclosure_set=enclosure_set,
    )


@told_by_field("holder", what="the holders")
def with_holders(plan: OutsidePlan) -> HolderPlan:
    """Step 6: both holders' tiles, and the barriers between cells of distant groups."""
    tiles = tile_polygons(plan.cell_layout)
    return HolderPlan(
        pack=plan.pack,
        placed=plan.placed,
        cell_layout=plan.cell_layout,
        interconnect=plan.interconnect,
        cell_block=plan.cell_block,
        enclosure_set=plan.enclosure_set,
        tiles=holder_tiles(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, tiles),
        barriers=barrier_designs(plan.pack, plan.cell_layout, plan.cell_block.outline),
    )


def outside_plan(
    pack: Pack,
    *,
    effort: Effort = Effort.BEST,
    shape: BlockShape | None = None,
    advise: bool = True,
) -> OutsidePlan:
    """Steps 1 to 5: as far as the outside is decided.

    A fitted enclosure in a space is planned with one layout of the cells after another, until one
    stands. Raises PlanError where the pack file must change; ``advise``: where none stands, with
    what would do, which takes its time.
    """
    if shape is None and is_searched(pack):
        return first_that_stands(
            pack, lambda asked, one: outside_plan(asked, effort=effort, shape=one), advise=advise
        )
    cells = laid_out(pack, effort=effort, shape=shape)
    return bracketed(enclosed(fastened(interconnected(cells))))


def outside_there(pack: Pack, space: Space) -> OutsidePlan:
    """The outside of a pack for a space, which decides it where its enclosure follows the space."""
    form = form_of(pack)
    follows = form is not None and form.follows_space
    return outside_plan(replace(pack, space=space) if follows else pack)
