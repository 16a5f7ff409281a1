"""Published best packings of equal discs in a disc and in a square."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

__all__ = ["Packing", "best_known", "most_in_circle", "most_in_square"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Packing:
    """The least container known for a number of equal discs.

    ``ratio``: container's radius (circle) or side (square) over a disc's radius, truncated as
    printed, so never above the true value. ``proven``: no smaller container exists.
    """

    container: str
    count: int
    ratio: float
    proven: bool


@cache
def best_known() -> tuple[Packing, ...]:
    """All rows of the table."""
    text = files("layouts.tables").joinpath("circle_packings.csv").read_text(encoding="utf-8")
    return tuple(
        Packing(
            container=row["container"],
            count=int(row["count"]),
            ratio=float(row["ratio"]),
            proven=row["proven"] == "1",
        )
        for row in csv.DictReader(text.splitlines()[1:])
    )


def most_in_circle(radius_mm: float, *, pitch_mm: float) -> int | None:
    """Most centres a pitch apart in a disc of this radius, where a proven value says so.

    Centres in a disc of radius R are discs of half a pitch in one of R + half a pitch.
    """
    return _most("circle", 1 + 2 * radius_mm / pitch_mm)


def most_in_square(side_mm: float, *, pitch_mm: float) -> int | None:
    """Most centres a pitch apart in a square of this side, where a proven value says so."""
    return _most("square", 2 + 2 * side_mm / pitch_mm)


def _most(container: str, ratio: float) -> int | None:
    """One less than the least proven number whose container is larger than this one."""
    too_many = [
        one.count
        for one in best_known()
        if one.container == container and one.proven and one.ratio > ratio
    ]
    return min(too_many) - 1 if too_many else None
