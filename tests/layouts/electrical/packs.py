"""Small packs with strips laid by hand, for tests of their electrical side."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Lattice, Pack
from layouts.strips.joining import Interconnect, Strip, StripKind
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack

__all__ = ["Laid", "laid", "strip", "two_by_two", "without_link"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Laid:
    """A pack, its cells and its strips."""

    pack: Pack
    cell_layout: CellLayout
    interconnect: Interconnect


def laid(series: int = 4, parallel: int = 3, **changes: Any) -> Laid:
    """A pack as the planner lays it, without copper on its end rows."""
    pack = sample_pack(series, parallel, **changes)
    cell_layout = arrange(pack)
    return Laid(pack=pack, cell_layout=cell_layout, interconnect=join(pack, cell_layout))


def strip(
    pack: Pack, cell_layout: CellLayout, cells: tuple[int, ...], face: Face, kind: StripKind
) -> Strip:
    """A strip over some cells that ends at the last one's centre."""
    xy = cell_layout.xy_mm[list(cells)]
    groups = tuple(sorted({int(cell_layout.group[cell]) for cell in cells}))
    return Strip(
        name="-".join(map(str, (face.value, *cells))),
        face=face,
        kind=kind,
        groups=groups,
        cells=cells,
        start_mm=(float(xy[0, 0]), float(xy[0, 1])),
        end_mm=(float(xy[-1, 0]) + 1e-3, float(xy[-1, 1])),
        width_mm=8.0,
        thickness_mm=pack.strip.thickness_mm,
        layers=pack.strip.layers,
    )


def without_link(one: Laid, cells: tuple[int, int]) -> Laid:
    """The same with the strip that joins just these two cells left out."""
    left = tuple(s for s in one.interconnect.strips if set(s.cells) != set(cells))
    assert len(left) == len(one.interconnect.strips) - 1
    return replace(one, interconnect=replace(one.interconnect, strips=left))


def two_by_two() -> Laid:
    """2S2P on a grid: cells 0 and 1 of group 1 below cells 2 and 3 of group 2.

    On the upper face a link from 0 to 2 and one from 1 to 3; on the lower a row of each group.
    """
    pack = sample_pack(2, 2, lattice=Lattice.GRID)
    cell_layout = in_rows(pack)
    strips = (
        strip(pack, cell_layout, (0, 2), Face.UPPER, StripKind.LINK),
        strip(pack, cell_layout, (1, 3), Face.UPPER, StripKind.LINK),
        strip(pack, cell_layout, (0, 1), Face.UPPER, StripKind.ROW),
        strip(pack, cell_layout, (2, 3), Face.UPPER, StripKind.ROW),
        strip(pack, cell_layout, (0, 1), Face.LOWER, StripKind.LEAD),
        strip(pack, cell_layout, (2, 3), Face.LOWER, StripKind.LEAD),
    )
    interconnect = Interconnect(
        strips=strips, minus_face=Face.LOWER, plus_face=Face.LOWER, stack_mm=np.zeros((2, 4))
    )
    return Laid(pack=pack, cell_layout=cell_layout, interconnect=interconnect)
