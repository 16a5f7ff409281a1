"""Screws as a pack uses them: thread, length, what they are screwed into, and how many."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from layouts.formats import screws

# Usual lengths of socket head screws, mm; common practice, no source
USUAL_LENGTHS_MM = (
    6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 90, 100,
)  # fmt: skip

# Thread in the metal of an insert, in diameters: the usual least; common practice, no source
LEAST_ENGAGEMENT = 1.0
# Left free below a screw's tip in a blind hole; common practice, no source
TIP_FREE_MM = 0.5
FLOAT_MM = 1e-9  # noise in sums of millimetres
# A blind hole is deeper than its insert by this, for the plastic that is pushed down: rule of a
# public chart of inserts
BELOW_INSERT_MM = 0.5


class Into(Enum):
    """What a screw is screwed into."""

    INSERT = "heat-set insert"
    NUT = "hexagon nut"
    PLASTIC = "printed plastic, whose thread it forms"
    FRAME = "the machine's frame"


@dataclass(frozen=True, kw_only=True, slots=True)
class ScrewUse:
    """Equal socket head screws (ISO 4762; ``low_head``: ISO 7380-1) in one kind of joint.

    ``length_mm``: below the head; None where the frame's own thickness decides.
    ``grip_mm``: what lies between head and thread, washer counted. ``insert_hole_deep_mm``: depth
    of the insert's hole, None: the table's.
    """

    where: str
    screw: str
    length_mm: float | None
    count: int
    into: Into
    grip_mm: float
    washer: bool = False
    insert_hole_deep_mm: float | None = None
    low_head: bool = False


def insert_hole_deep_mm(screw: str, insert_mm: float | None = None) -> float:
    """Depth of the hole of a heat-set insert of that length; None: the table's [mm]."""
    return screws()[screw].insert_deep_mm if insert_mm is None else insert_mm + BELOW_INSERT_MM


def insert_screw_length_mm(
    screw: str, *, grip_mm: float, hole_deep_mm: float | None = None
) -> float:
    """The shortest usual length that reaches one diameter into a heat-set insert.

    ``grip_mm``: head's underside to the insert's mouth; ``hole_deep_mm``: of the insert's hole,
    None: the table's. Raises ValueError when no usual length reaches far enough without touching
    the bottom of the hole."""
    thread_mm = float(screw.removeprefix("M"))
    least = grip_mm + LEAST_ENGAGEMENT * thread_mm
    deep_mm = screws()[screw].insert_deep_mm if hole_deep_mm is None else hole_deep_mm
    most = grip_mm + deep_mm - TIP_FREE_MM
    for length in USUAL_LENGTHS_MM:
        if least - FLOAT_MM <= length <= most + FLOAT_MM:
            return float(length)
    raise ValueError(
        f"{screw} through {grip_mm:.1f} mm: no standard length from {least:.1f} to {most:.1f} "
        "mm; change the thickness under its head or use another screw"
    )


def thinner_grip_mm(screw: str, grip_mm: float) -> float:
    """The thickest grip below ``grip_mm`` that ``insert_screw_length_mm`` has a screw for."""
    reach_mm = LEAST_ENGAGEMENT * float(screw.removeprefix("M"))
    return max(length - reach_mm for length in USUAL_LENGTHS_MM if length - reach_mm < grip_mm)
