"""Joinings of invented packs for the tests of strips, sheets and cutting."""

from __future__ import annotations

from dataclasses import replace

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Lattice, Pack
from layouts.strips.joining import Interconnect, StripKind
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


def joined(
    series: int, parallel: int, *, layers: int = 1, lattice: Lattice = Lattice.HONEYCOMB
) -> tuple[Pack, CellLayout, Interconnect]:
    """A pack, its cells and its strips."""
    pack = sample_pack(series, parallel, lattice=lattice)
    pack = replace(pack, strip=replace(pack.strip, layers=layers, thickness_mm=0.15))
    cell_layout = arrange(pack)
    return pack, cell_layout, join(pack, cell_layout)


def of(interconnect: Interconnect, face: Face, kind: StripKind | None = None) -> list:
    """Strips of a face, of one kind or all."""
    return [s for s in interconnect.strips if s.face is face and kind in (None, s.kind)]
