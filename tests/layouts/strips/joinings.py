"""Joinings of invented packs for the tests of strips, sheets and cutting."""

from __future__ import annotations

from dataclasses import replace

from layouts.cells.arrangement import Arrangement
from layouts.pack import Lattice, Pack
from layouts.strips.joining import Joining
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


def joined(
    series: int, parallel: int, *, layers: int = 1, lattice: Lattice = Lattice.HONEYCOMB
) -> tuple[Pack, Arrangement, Joining]:
    """A pack, its cells and its strips."""
    pack = sample_pack(series, parallel, lattice=lattice)
    pack = replace(pack, strip=replace(pack.strip, layers=layers, thickness_mm=0.15))
    arrangement = arrange(pack)
    return pack, arrangement, join(pack, arrangement)
