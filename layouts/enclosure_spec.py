"""What the pack file asks of the enclosure."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum

__all__ = ["EnclosureSpec", "EnclosureStyle", "GasketSpec", "Surroundings"]


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
class GasketSpec:
    """A cord between lid and tub, and the vent that it makes necessary.

    ``gas_l``: gas of one venting cell, measured at 25 C, that comes ``within_s``; ``gas_c``: how
    hot it is; ``gas_kg_m3``: its density at 25 C. ``opens_at_kpa``: pressure inside, over the air
    outside, at which the vent opens. ``flange_mm``: from the walls' inner face outwards, None: the
    groove and a land on both sides; ``bend_radius_mm``: least inner one of the cord, None: by its
    diameter; ``vent_mm``: width and height of the vent's opening, None: as the gas needs.
    """

    gas_l: float
    within_s: float
    opens_at_kpa: float
    gas_c: float = 300.0  # from memory, no source: a cell that vents without ignition
    gas_kg_m3: float = 1.15  # mostly CO2, CO and hydrogen; from memory, no source
    cord_mm: float = 3.0
    flange_mm: float | None = None
    bend_radius_mm: float | None = None
    vent_mm: tuple[float, float] | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class EnclosureSpec:
    """Tub and lid round the held cells; ``by_load``: names of thicknesses that the load decides.

    ``gasket``: None for the open form. ``drains``: holes through the floor for water, None: where
    there is no gasket. ``wire_ways``: a tub is made so wide that every wire has a way.

    ``style_is_open``: the file says none, and that of the space may be another. ``instead_of``: why
    it is not the one that was tried first; empty where it is. Packs that differ in these alone are
    equal."""

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
    gasket: GasketSpec | None = None
    drains: bool | None = None
    wire_ways: bool = False
    style_is_open: bool = field(default=True, compare=False)
    instead_of: str = field(default="", compare=False)

    @property
    def has_drains(self) -> bool:
        """Whether the floor has holes for water."""
        return self.gasket is None if self.drains is None else self.drains
