"""Joinings of invented packs for the tests of strips, sheets and cutting."""

from __future__ import annotations

from dataclasses import replace

from layouts.cells.arrangement import Arrangement
from layouts.pack import Face, Lattice, Pack
from layouts.strips.joining import Joining, StripKind
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


def of(joining: Joining, face: Face, kind: StripKind | None = None) -> list:
    """Strips of a face, of one kind or all."""
    return [s for s in joining.strips if s.face is face and kind in (None, s.kind)]
