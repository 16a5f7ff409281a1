"""Invented packs with their enclosures, each made once for all tests."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from layouts.brackets.registry import kind_of
from layouts.cells.arrangement import CellLayout
from layouts.enclosures.box.design import design_enclosure
from layouts.enclosures.box.form import BoxEnclosure
from layouts.enclosures.box.sizes import EnclosureDesign
from layouts.holders.fastening import CellBlock, fasten
from layouts.pack import Lattice, Pack
from layouts.parts.screw import PlacedScrew
from layouts.strips.joining import Interconnect
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.samples import sample_pack

PACKS = ("10S4P", "4S6P", "1S1P", "5S1P")


@dataclass(frozen=True)
class Enclosed:
    """A pack with all that its enclosure is made from."""

    pack: Pack
    cell_layout: CellLayout
    interconnect: Interconnect
    cell_block: CellBlock
    design: EnclosureDesign

    @property
    def enclosure(self) -> BoxEnclosure:
        """The same as the rest of a plan reads it."""
        return BoxEnclosure(sizes=self.design)

    @property
    def screws(self) -> tuple[PlacedScrew, ...]:
        """Those of enclosure and brackets."""
        bracket = kind_of(self.pack).design(self.pack, self.design.pads, mass_kg=None)
        return (*self.enclosure.screws, *bracket.screws)


@cache
def enclosed(name: str) -> Enclosed:
    """One of ``PACKS``."""
    pack = {
        "10S4P": lambda: sample_pack(10, 4),
        "4S6P": lambda: sample_pack(4, 6, format="26650", chemistry="lfp", lattice=Lattice.GRID),
        "1S1P": lambda: sample_pack(1, 1, format="18650"),
        "5S1P": lambda: sample_pack(5, 1),
    }[name]()
    return enclosed_pack(pack)


def enclosed_pack(pack: Pack) -> Enclosed:
    """Any pack with all that its enclosure is made from."""
    cell_layout = arrange(pack)
    interconnect = join(pack, cell_layout)
    cell_block = fasten(pack, cell_layout, interconnect)
    return Enclosed(
        pack,
        cell_layout,
        interconnect,
        cell_block,
        design_enclosure(pack, cell_layout, interconnect, cell_block),
    )
