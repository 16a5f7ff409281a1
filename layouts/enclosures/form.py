"""What every form of enclosure must provide: its design, and all that is read of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from layouts.brackets.kind import MountingPad
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.holders.fastening import CellBlock
from layouts.pack import Face, Pack
from layouts.parts.clearance import Clearance
from layouts.parts.outlet import CableOutlet
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.parts.shell import BoardPlace, Shell
from layouts.strips.joining import Interconnect

__all__ = ["BillItem", "Enclosure", "EnclosureForm", "GasOpening", "GasPassages"]


@dataclass(frozen=True, kw_only=True, slots=True)
class BillItem:
    """Bought parts that an enclosure needs, screws not counted."""

    item: str
    count: int


@dataclass(frozen=True, kw_only=True, slots=True)
class GasOpening:
    """How gas leaves through one wall.

    ``wide_mm``: of all slots together, ``high_mm``: of each, from the wall's top edge down.
    ``behind_mm2``: level section behind the splash guard, where it leaves downwards.
    """

    wide_mm: float
    high_mm: float
    behind_mm2: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class GasPassages:
    """What an enclosure leaves open for gas.

    ``blocked``: a face -> (n, 3) x, y and radius of what stands in the gap over it.
    ``compartment_mm2``: level section beside the board. ``plus_x``, ``minus_x``: the openings in
    these walls. ``y_mm``: inner faces of the walls along y.
    """

    blocked: Mapping[Face, NDArray[np.float64]]
    compartment_mm2: float
    plus_x: GasOpening
    minus_x: GasOpening
    y_mm: tuple[float, float]


class Enclosure(Protocol):
    """An enclosure, designed: all that the rest reads of it."""

    @property
    def shell(self) -> Shell:
        """Walls, floor and lid."""
        ...

    @property
    def parts(self) -> tuple[Part, ...]:
        """Its printed parts, roles ``tub`` and ``lid``."""
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
    def board(self) -> BoardPlace:
        """Where the protection board stands."""
        ...

    @property
    def gas_passages(self) -> GasPassages:
        """What it leaves open for gas."""
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

    def design(
        self, pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, cell_block: CellBlock
    ) -> Enclosure:
        """The enclosure of a pack. Raises PlanError where the pack file must change."""
        ...
