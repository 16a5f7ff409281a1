"""Which part is printed on which plate, and where on the bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

GAP_MM = 5.0  # between parts on one bed: space for a brim and a scraper; common practice, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class Footprint:
    """What one part covers on the bed in its print orientation, and how many are made."""

    name: str
    width_mm: float
    depth_mm: float
    count: int = 1


@dataclass(frozen=True, kw_only=True, slots=True)
class OnPlate:
    """One copy on one bed: lower left corner of its box, (0, 0) the bed's own corner.

    ``turned``: the part is turned a quarter counter-clockwise to go on.
    """

    name: str
    plate: int
    x_mm: float
    y_mm: float
    turned: bool


def arrange_plates(
    parts: Sequence[Footprint], *, bed_mm: tuple[float, float], gap_mm: float = GAP_MM
) -> tuple[OnPlate, ...]:
    """Rows on as few beds as simple filling gives: deepest first, each into the first free space.

    A part lies with its long side along x where the bed allows it. Every row stands on the row
    before it; a copy goes to the first row of the first plate with space for it. Returns one entry
    a copy, in plate order. Raises ValueError naming a part that is larger than the bed either way
    round."""
    copies = [_laid(part, bed_mm) for part in parts for _ in range(part.count)]
    copies.sort(key=lambda copy: (-copy[2], -copy[1], copy[0]))
    plates: list[list[_Row]] = []
    placed = []
    for name, width, depth, turned in copies:
        plate, row = _room(plates, width, depth, bed_mm, gap_mm)
        placed.append(
            OnPlate(name=name, plate=plate, x_mm=row.filled_mm, y_mm=row.y_mm, turned=turned)
        )
        row.filled_mm += width + gap_mm
    return tuple(sorted(placed, key=lambda one: (one.plate, one.y_mm, one.x_mm)))


@dataclass(slots=True)
class _Row:
    """A row being filled; lives only within one call."""

    y_mm: float
    depth_mm: float
    filled_mm: float = 0.0


def _laid(part: Footprint, bed_mm: tuple[float, float]) -> tuple[str, float, float, bool]:
    """Name, width and depth as laid down, and whether that turned the part."""
    flat = (part.width_mm, part.depth_mm)
    ways = [(*flat, False), (*flat[::-1], True)]
    ways.sort(key=lambda way: (way[1] > way[0], way[2]))
    for width, depth, turned in ways:
        if width <= bed_mm[0] and depth <= bed_mm[1]:
            return part.name, width, depth, turned
    raise ValueError(
        f"{part.name}: {part.width_mm:.1f} x {part.depth_mm:.1f} mm is larger than the bed "
        f"{bed_mm[0]:.1f} x {bed_mm[1]:.1f} mm either way round: cut it or use a larger printer"
    )


def _room(
    plates: list[list[_Row]],
    width: float,
    depth: float,
    bed_mm: tuple[float, float],
    gap_mm: float,
) -> tuple[int, _Row]:
    for number, rows in enumerate(plates):
        for row in rows:
            if depth <= row.depth_mm and row.filled_mm + width <= bed_mm[0]:
                return number, row
        above = rows[-1].y_mm + rows[-1].depth_mm + gap_mm
        if above + depth <= bed_mm[1]:
            rows.append(_Row(y_mm=above, depth_mm=depth))
            return number, rows[-1]
    plates.append([_Row(y_mm=0.0, depth_mm=depth)])
    return len(plates) - 1, plates[-1][0]
