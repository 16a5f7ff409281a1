"""The next value of one key: from a standard series where parts are bought by it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from layouts.ratings.fuse import RATINGS_A, fuse_continuous_a

__all__ = [
    "WIRES_MM2",
    "Changes",
    "changes_words",
    "down",
    "fuse_rating_a",
    "next_of",
    "number",
    "thicker_mm2",
    "up",
]

# Values of keys by their whole names, as the pack file has them
Changes = Mapping[str, object]

# Sections of copper wire as sold, mm2; common practice, no source
WIRES_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0)
FLOAT = 1e-9  # noise of a quotient


def up(value: float, step: float) -> float:
    """Rounded up to whole steps."""
    return round(math.ceil(value / step - FLOAT) * step, 6)


def down(value: float, step: float) -> float:
    """Rounded down to whole steps."""
    return round(math.floor(value / step + FLOAT) * step, 6)


def next_of(series: Sequence[float], least: float) -> float | None:
    """The smallest of a series from ``least`` up; None where it ends before."""
    return next((one for one in series if one >= least - FLOAT), None)


def thicker_mm2(area_mm2: float, most: int) -> tuple[float, ...]:
    """The next sections of wire as sold above ``area_mm2``, at most so many."""
    return tuple(one for one in WIRES_MM2 if one > area_mm2 + FLOAT)[:most]


def fuse_rating_a(demand_a: float) -> float | None:
    """The smallest usual rating that carries the current."""
    return next((one for one in RATINGS_A if fuse_continuous_a(one) >= demand_a - FLOAT), None)


def number(value: object) -> str:
    """A value as it is written in a pack file."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(number(one) for one in value)}]"
    if isinstance(value, str) and value.startswith(("+", "-")):
        return f'"{value}"'
    return str(value)


def changes_words(changes: Changes) -> str:
    """Keys and values, to be written in the file."""
    told = [f"{key}: {number(value)}" for key, value in changes.items()]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"
