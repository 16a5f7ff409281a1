"""What the pack file asks of the enclosure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

__all__ = ["EnclosureSpec", "EnclosureStyle", "Surroundings"]


class EnclosureStyle(Enum):
    """What is made around the cell block."""

    TUB = "tub"  # a tub open at the top, a lid and brackets
    FITTED = "fitted"  # the same, walls along cells and rooms
    NONE = "none"  # nothing: the space itself is the case


class Surroundings(Enum):
    """What the enclosure stands in: decides volts of a caution and the pollution degree."""

    DRY = "dry"
    SPLASHED = "splashed"


@dataclass(frozen=True, kw_only=True, slots=True)
class EnclosureSpec:
    """Tub and lid round the held cells; ``by_load``: names of thicknesses that the load decides."""

    style: EnclosureStyle
    wall_mm: float
    floor_mm: float
    lid_mm: float
    vent: str
    side_gap_mm: float
    gas_gap_mm: float
    screw: str
    insert_mm: float
    surroundings: Surroundings = Surroundings.DRY
    by_load: tuple[str, ...] = ()
