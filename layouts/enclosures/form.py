"""What every form of enclosure must provide: its design, and all that is read of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.brackets.kind import MountingPad
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.pad_walls import PadWall
from layouts.holders.fastening import CellBlock
from layouts.pack import Face, Pack, Side
from layouts.parts.clearance import Clearance
from layouts.parts.outlet import CableOutlet
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.parts.shell import BoardPlace, Rect, Shell
from layouts.slabs.profile import Loop
from layouts.strips.joining import Interconnect
from layouts.wiring.ways import WireWay

__all__ = [
    "OUTSIDE", "BillItem", "Compartment", "Enclosure", "EnclosureForm", "GasLink", "RimEdge",
    "Seal", "StandingBody", "gas_site",
]  # fmt: skip

OUTSIDE = "outside"  # the place where a vent path ends


@dataclass(frozen=True, kw_only=True, slots=True)
class BillItem:
    """Bought parts that an enclosure needs, screws not counted."""

    item: str
    count: int


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StandingBody:
    """A bought body with a place of its own, board, screws and glands not counted: a prism.

    ``item``: of the bill, as its row begins."""

    item: str
    plan: shapely.Polygon
    z0_mm: float
    z1_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Compartment:
    """Room for something beside the held cells, in the plan. ``dry``: a partition keeps gas out."""

    name: str
    plan: Rect
    dry: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Seal:
    """A gasket's cord and the vent that it makes necessary.

    ``cord``: its middle line in the plan, ``cord_mm`` its diameter, ``long_mm`` its length.
    ``vent_at_mm``: middle of the vent's opening on the outside, ``vent_out`` (x, y) its outward
    direction, ``vent_mm`` its width and height; it opens at ``opens_at_kpa``."""

    cord: Loop
    cord_mm: float
    long_mm: float
    vent_at_mm: tuple[float, float, float]
    vent_out: tuple[float, float]
    vent_mm: tuple[float, float]
    opens_at_kpa: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RimEdge:
    """A side of a cell's site that no other site meets, on one face of the cell block.

    ``way`` (2,): unit, outwards; ``middle_mm`` (2,) of the side, ``long_mm`` its length.
    ``section_mm2``: what pads and bosses leave of it, over the free height of the gap there.
    """

    face: Face
    cell: int
    way: NDArray[np.float64]
    middle_mm: NDArray[np.float64]
    long_mm: float
    section_mm2: float


@dataclass(frozen=True, kw_only=True, slots=True)
class GasLink:
    """A way for gas from one named place to another, with its free section.

    ``kind``: in the words of the report, ``remedy``: what would widen it. Ways begin at
    ``gas_site`` and end at ``OUTSIDE``.
    """

    start: str
    end: str
    section_mm2: float
    kind: str
    remedy: str


def gas_site(face: Face, cell: int) -> str:
    """Name of the place over a cell's end, in the gap between holder and floor (lid)."""
    return f"{face.value} {cell}"


class Enclosure(Protocol):
    """An enclosure, designed: all that the rest reads of it."""

    @property
    def shell(self) -> Shell:
        """Walls, floor and lid."""
        ...

    @property
    def parts(self) -> tuple[Part, ...]:
        """Its printed parts, roles ``tub`` and ``lid``; straps across seams ``floor_strap`` and
        ``lid_strap``."""
        ...

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Every screw that holds its parts together."""
        ...

    @property
    def outlets(self) -> tuple[CableOutlet, ...]:
        """Where wires leave it."""
        ...

    @property
    def pads(self) -> tuple[MountingPad, ...]:
        """Pads for brackets."""
        ...

    @property
    def pad_walls(self) -> tuple[PadWall, ...]:
        """The wall at each pad, as its bending is judged."""
        ...

    @property
    def pose(self) -> NDArray[np.float64] | None:
        """(4, 4) from the pack's coordinates to the space's, where the space decided its design;
        None: how it stands is looked for afterwards."""
        ...

    @property
    def board(self) -> BoardPlace:
        """Where the protection board stands."""
        ...

    @property
    def compartments(self) -> tuple[Compartment, ...]:
        """Its rooms beside the held cells; none where it tells none of its own."""
        ...

    @property
    def standing(self) -> tuple[StandingBody, ...]:
        """Bought bodies that it has a place for, board, screws and glands not counted."""
        ...

    @property
    def gas_side(self) -> Side | None:
        """The one side where gas leaves; None: it leaves on several."""
        ...

    @property
    def seal(self) -> Seal | None:
        """Its gasket and vent; None where it is open."""
        ...

    @property
    def gas_blocked(self) -> Mapping[Face, NDArray[np.float64]]:
        """A face -> (n, 3) x, y and radius of what stands in the gap over it."""
        ...

    def gas_links(
        self, pack: Pack, cell_layout: CellLayout, rim: Sequence[RimEdge]
    ) -> tuple[GasLink, ...]:
        """Ways for gas from the rim of the cell block to the outside; ``rim``: of both faces."""
        ...

    @property
    def clamped_mm(self) -> tuple[tuple[tuple[float, float], ...], ...]:
        """Places where it clamps both holders on the cans: one point each, or both ends."""
        ...

    @property
    def holding_steps(self) -> tuple[str, ...]:
        """Steps of the build that hold the cells until the lid is on; none where posts do."""
        ...

    @property
    def joining_steps(self) -> tuple[str, ...]:
        """Steps of the build that join pieces of tub and lid, before anything is put in; none where
        both are whole, or joined by flanges of their own."""
        ...

    @property
    def closing_steps(self) -> tuple[str, ...]:
        """Steps of the build between the cells' way in and the lid."""
        ...

    @property
    def service(self) -> tuple[Clearance, ...]:
        """What must be free to open it."""
        ...

    @property
    def bill(self) -> tuple[BillItem, ...]:
        """Bought parts, screws and inserts not counted."""
        ...

    @property
    def notes(self) -> tuple[str, ...]:
        """What the builder must know of how it was chosen."""
        ...

    @property
    def cautions(self) -> tuple[str, ...]:
        """What may injure someone and no check covers."""
        ...

    @property
    def ways(self) -> tuple[WireWay, ...]:
        """The way of every wire inside; none where it does not decide them."""
        ...

    def checks(
        self, pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
    ) -> tuple[Check, ...]:
        """All checks of the enclosure but those of the vent path and of brackets."""
        ...


class EnclosureForm(Protocol):
    """One form; ``name`` is the word of ``enclosure.style`` that asks for it."""

    @property
    def name(self) -> str:
        """Its word in the pack file."""
        ...

    @property
    def follows_space(self) -> bool:
        """Whether the space decides the layout of the cells: one after another is tried."""
        ...

    def cells_find_room(self, pack: Pack, cell_block_mm: tuple[float, float]) -> bool:
        """Whether held cells of these outer sizes may stand in the pack's space, by their plan."""
        ...

    def rooms_least_mm2(self, pack: Pack) -> float:
        """Plan area beside the held cells that it takes at least."""
        ...

    def design(
        self, pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
    ) -> Enclosure:
        """The enclosure of a pack. Raises PlanError where the pack file must change."""
        ...
