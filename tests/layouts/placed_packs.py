"""Packs whose cells are placed in an invented outline, for tests."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from layouts.pack import EnclosureStyle, Lattice, Pack
from layouts.spaces.space import Point, Prism, Space
from tests.samples import sample_pack

__all__ = ["ELL", "HULL", "placed_pack"]

# the corner box of a bird-ringing cart
ELL: tuple[Point, ...] = (
    (0.0, 0.0), (300.0, 0.0), (300.0, 120.0), (120.0, 120.0), (120.0, 280.0), (0.0, 280.0),
)  # fmt: skip
# the bow of a weed-cutting punt
HULL: tuple[Point, ...] = ((0.0, 0.0), (420.0, 0.0), (150.0, 300.0))


def placed_pack(
    series: int,
    parallel: int,
    outline: tuple[Point, ...] = ELL,
    *,
    lattice: Lattice = Lattice.HONEYCOMB,
    height_mm: float = 90.0,
    **changes: Any,
) -> Pack:
    """A pack without an enclosure of its own, in a prism over an outline."""
    pack = sample_pack(series, parallel, lattice=lattice)
    values: dict[str, Any] = {
        "enclosure": replace(pack.enclosure, style=EnclosureStyle.NONE),
        "space": Space(room=Prism(outline_mm=outline, height_mm=height_mm)),
    }
    return replace(pack, **values | changes)
