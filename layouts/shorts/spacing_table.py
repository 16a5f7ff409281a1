"""Creepage distance and clearance for a potential difference, by IEC 60664-1.

Creepage rows: EN 60664-1 table F.4 as reproduced in a maker's catalogue; clearances from
memory. Material group III throughout: what nobody has tested, as printed plastic, counts as
that.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from layouts.ratings.given import above_zero, at_most, not_negative
from layouts.ratings.tables import table_rows

__all__ = [
    "CLEARANCE_SOURCE",
    "CREEPAGE_SOURCE",
    "Spacing",
    "clearance_mm",
    "creepage_mm",
    "pollution_degree",
    "spacing",
]

CREEPAGE_SOURCE = "EN 60664-1 table F.4, material group III, as reproduced in a maker's catalogue"
CLEARANCE_SOURCE = "IEC 60664-1 tables F.1 and F.2, overvoltage category II, from memory"
CLOSED_DEGREE, OPEN_DEGREE = 2, 3


@dataclass(frozen=True, kw_only=True, slots=True)
class Spacing:
    """Least distances between bare parts of two potentials.

    ``creepage_mm`` along surfaces, ``clearance_mm`` through air; both at least ``floor_mm``,
    and creepage never below clearance.
    """

    volts: float
    pollution_degree: int
    creepage_mm: float
    clearance_mm: float
    floor_mm: float


def pollution_degree(*, closed: bool) -> int:
    """2 within a closed dry box, 3 in an open or splashed one (IEC 60664-1 clause 4.6, memory)."""
    return CLOSED_DEGREE if closed else OPEN_DEGREE


@cache
def _rows(table: str, key: str, degree: int) -> tuple[tuple[float, float], ...]:
    """(volts, mm) of one pollution degree, lowest volts first."""
    rows = (row for row in table_rows(table) if int(row["pollution_degree"]) == degree)
    return tuple(sorted((float(row[key]), float(row["mm"])) for row in rows))


def _at(table: str, key: str, volts: float, degree: int) -> float:
    """The row of those volts, else the next higher one: never less than the table requires."""
    above_zero(volts, "volts")
    if degree not in (CLOSED_DEGREE, OPEN_DEGREE):
        raise ValueError(f"pollution_degree must be 2 or 3, got {degree!r}")
    rows = _rows(table, key, degree)
    for limit, distance in rows:
        if at_most(volts, limit):
            return distance
    raise ValueError(f"volts must be at most {rows[-1][0]:g}, got {volts:g}")


def creepage_mm(volts: float, pollution_degree: int = CLOSED_DEGREE) -> float:
    """Creepage along a surface of material group III [mm].

    Nothing is read between rows: volts that the table doesn't list take the next higher row.
    Raises ValueError above 1000 V and for pollution degrees other than 2 and 3.
    """
    return _at("creepage", "volts", volts, pollution_degree)


def clearance_mm(volts: float, pollution_degree: int = CLOSED_DEGREE) -> float:
    """Clearance through air up to 2000 m above the sea [mm], from memory.

    By the impulse of a circuit of those volts in overvoltage category II, which a battery that
    hangs on no mains never sees: on the safe side. Raises ValueError as ``creepage_mm``.
    """
    return _at("clearance", "system_v", volts, pollution_degree)


def spacing(volts: float, *, closed: bool, floor_mm: float = 0.0) -> Spacing:
    """Both distances for a potential difference, with the user's own minimum."""
    degree = pollution_degree(closed=closed)
    floor = not_negative(floor_mm, "floor_mm")
    air = max(clearance_mm(volts, degree), floor)
    return Spacing(
        volts=volts,
        pollution_degree=degree,
        creepage_mm=max(creepage_mm(volts, degree), air),
        clearance_mm=air,
        floor_mm=floor,
    )
