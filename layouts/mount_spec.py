"""What the pack file asks of brackets, and the frame that they bolt to."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Mount", "MountShock"]


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
    """

    kind: str
    screw: str
    holes_mm: tuple[tuple[float, float], ...]
    script: str | None = None
    given: object | None = None  # a value of layouts.brackets, which stands above this module
    shock: MountShock | None = None
    slot_mm: float = 0.0
