"""What the pack file asks of brackets, and the frame that they bolt to."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.formats import SheetMetal, sheet_metals

__all__ = ["DEFAULT_METAL", "Mount", "MountShock"]

DEFAULT_METAL = "steel-S235"  # every shop has it and bends it at once its thickness


@dataclass(frozen=True, kw_only=True, slots=True)
class MountShock:
    """A half-sine shock of the frame: peak, and duration from zero to zero."""

    g: float
    ms: float


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

    @property
    def sheet_metal(self) -> SheetMetal:
        """The metal that the file names, or the usual one."""
        return sheet_metals()[self.metal or DEFAULT_METAL]
