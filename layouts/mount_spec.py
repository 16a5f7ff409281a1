"""What the pack file asks of brackets, and the frame that they bolt to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from layouts.formats import SheetMetal, sheet_metals
from layouts.frame_spec import FrameFeature, HoldWishes

__all__ = ["DEFAULT_METAL", "USES", "Mount", "MountShock", "MountUse"]

DEFAULT_METAL = "steel-S235"  # every shop has it and bends it to a radius of its thickness


@dataclass(frozen=True, kw_only=True, slots=True)
class MountShock:
    """A half-sine shock of the frame: peak, and duration from zero to zero."""

    g: float
    ms: float


@dataclass(frozen=True, kw_only=True, slots=True)
class MountUse:
    """Loads of one use: accelerations along x, y and z, all at once with any signs; the shock that
    comes beside them, None: none; where the figures are from."""

    acceleration_g: tuple[float, float, float]
    shock: MountShock | None
    source: str


HELD_ANYHOW = HoldWishes()

# x is the way that the machine travels
USES: Mapping[str, MountUse] = {
    "stationary": MountUse(
        acceleration_g=(2.0, 2.0, 2.0), shock=None,
        source="ISO 10133:2012 5.2: twice the battery's weight in any direction (preview text)",
    ),
    "road-cargo": MountUse(
        acceleration_g=(0.8, 0.6, 1.0), shock=None,
        source="EN 12195-1 and 49 CFR 393.102: 0.8 forward, 0.5 sideways, 0.6 against tipping; 1 "
        "up: common practice, no source",
    ),
    "trolley": MountUse(
        acceleration_g=(4.0, 4.0, 6.0), shock=MountShock(g=10.0, ms=11.0),
        source="common practice, no source",
    ),
    "off-road": MountUse(
        acceleration_g=(6.0, 6.0, 10.0), shock=MountShock(g=15.0, ms=11.0),
        source="common practice, no source",
    ),
    "vehicle-body": MountUse(
        acceleration_g=(4.0, 4.0, 6.0), shock=MountShock(g=50.0, ms=6.0),
        source="shock: ISO 16750-3, rigid points of body and frame, 500 m/s2 and 6 ms, from "
        "memory; accelerations: common practice, no source",
    ),
    "crash-car": MountUse(
        acceleration_g=(28.0, 15.0, 6.0), shock=None,
        source="UN R100 annex 8D, upper edge of the sled's pulse for cars, from memory; upright: "
        "common practice, no source",
    ),
}  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class Mount:
    """Brackets and the frame that they bolt to: holes in the plane of a bracket's foot.

    ``kind``: a word of ``layouts.brackets.registry``. ``holes_mm``: (u, v) of each hole, u along
    the enclosure's side, v away from it, both from the first. ``script``: file of the script that
    draws the brackets, as the pack file has it; ``given``: what it gave, None before it was run.
    ``shock``: that it must withstand beside ``load.acceleration_g``; None: not asked. ``slot_mm``:
    the foot's screws can be moved so far away from the wall and back, in slots; 0: round holes.
    Of brackets of sheet metal, None where the file leaves it open: ``metal`` a designation of the
    table of sheet metals, ``thickness_mm`` of the sheet, ``bend_radius_mm`` inside, ``k_factor`` of
    the bend, ``kerf_mm`` that the cut takes.
    ``tube_mm``: outside diameter or side of the tube that clamps hold, ``liner_mm``: thickness of
    the rubber round it, ``cross_bolt``: a screw goes through it too.
    ``use``: a word of ``USES`` whose loads are taken where the file gives none; None: not told.
    ``frame``: features of a real frame, on which brackets are placed; none: each foot on
    ``holes_mm``. ``hold``: by what the pack may be held on them.
    """

    kind: str
    screw: str
    holes_mm: tuple[tuple[float, float], ...]
    script: str | None = None
    given: object | None = None  # a value of layouts.brackets, which stands above this module
    shock: MountShock | None = None
    slot_mm: float = 0.0
    tube_mm: float | None = None
    liner_mm: float = 1.0
    cross_bolt: bool = True
    metal: str | None = None
    thickness_mm: float | None = None
    bend_radius_mm: float | None = None
    k_factor: float | None = None
    kerf_mm: float | None = None
    use: str | None = None
    frame: tuple[FrameFeature, ...] = ()
    hold: HoldWishes = HELD_ANYHOW

    @property
    def sheet_metal(self) -> SheetMetal:
        """The metal that the file names, or the usual one."""
        return sheet_metals()[self.metal or DEFAULT_METAL]
