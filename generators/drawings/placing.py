"""Plan of placed and grouped cells in their space, legible in black and white."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from generators.drawings.space_walls import HATCH, WALL_MM, space_walls
from generators.drawings.svg import number, path_of, picture
from layouts.cells.placed_cells import PlacedCells
from layouts.cells.spacing import HIGH_VOLTS
from layouts.pack import Pack

__all__ = ["placing_plan"]

TEXT_MM = 5.0
LINE_MM = 7.0
ACROSS_MM = 180.0


def placing_plan(pack: Pack, placed: PlacedCells) -> str:
    """SVG of the space's plan: its walls hatched, every cell with its sign and group.

    Positive upper ends carry a ring. Between touching cells of two groups runs a line: thin where
    the groups are joined, dashed between others, thick and dashed where the voltage requires a
    barrier. The touching pair with the most volts is ringed."""
    xy = placed.xy_mm @ placed.pose[:2, :2].T + placed.pose[:2, 3]
    can = pack.cell.diameter_mm / 2
    body = [HATCH, *space_walls(placed.cavity)]
    for (x, y), group in zip(xy.tolist(), placed.group.tolist(), strict=True):
        body.append(_disc(x, y, can, 0.3))
        if group % 2 == 1:
            body.append(_disc(x, y, can * 0.86, 0.8))
        size = can * 0.62
        body.append(
            f'<text x="{number(x)}" y="{number(-y + size * 0.36)}" font-size="{number(size)}" '
            f'font-family="sans-serif" text-anchor="middle">'
            f"{'+' if group % 2 == 1 else chr(0x2212)}{group}</text>"
        )
    body += _group_contacts(pack, placed, xy)
    body += _worst(placed, xy, can)
    x0, y0, x1, y1 = placed.cavity.buffer(WALL_MM).bounds
    lines = _words(pack, placed)
    for k, line in enumerate(lines):
        body.append(
            f'<text x="{number(x0)}" y="{number(-y0 + LINE_MM * (k + 1))}" '
            f'font-size="{number(TEXT_MM)}" font-family="sans-serif">{line}</text>'
        )
    wide = max(x1 - x0, 0.55 * TEXT_MM * max(len(line) for line in lines))
    return picture(
        body,
        low=(x0, y0 - LINE_MM * (len(lines) + 0.5)),
        high=(x0 + wide, y1),
        title=f"{pack.name}: cells placed in their space",
        scale=min(1.0, ACROSS_MM / wide),
    )


def _disc(x: float, y: float, radius: float, stroke: float) -> str:
    return (
        f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(radius)}" fill="none" '
        f'stroke="#000" stroke-width="{stroke}"/>'
    )


def _group_contacts(pack: Pack, placed: PlacedCells, xy: NDArray[np.float64]) -> list[str]:
    """Lines half-way between touching cells of two groups."""
    kinds: dict[str, list[str]] = {"joined": [], "apart": [], "barrier": []}
    half = pack.pitch_mm / (2 * np.sqrt(3))
    for i, j in placed.neighbours.tolist():
        step = abs(int(placed.group[i]) - int(placed.group[j]))
        if step == 0:
            continue
        between = xy[j] - xy[i]
        across = np.array([-between[1], between[0]]) / np.hypot(*between) * half
        middle = (xy[i] + xy[j]) / 2
        kind = "joined" if step == 1 else "apart"
        if step * pack.cell.full_v > HIGH_VOLTS:
            kind = "barrier"
        kinds[kind].append(path_of(np.array([middle - across, middle + across])))
    strokes = {
        "joined": 'stroke-width="0.35"',
        "apart": 'stroke-width="0.5" stroke-dasharray="1.2 1.2"',
        "barrier": 'stroke-width="1.4" stroke-dasharray="3 1.2"',
    }
    return [
        f'<path d="{"".join(lines)}" fill="none" stroke="#000" {strokes[kind]}/>'
        for kind, lines in kinds.items()
        if lines
    ]


def _worst(placed: PlacedCells, xy: NDArray[np.float64], can: float) -> list[str]:
    pair = _worst_pair(placed)
    if pair is None:
        return []
    x, y = xy[list(pair)].mean(axis=0).tolist()
    return [_disc(x, y, can * 0.5, 1.0), _disc(x, y, can * 0.65, 0.4)]


def _worst_pair(placed: PlacedCells) -> tuple[int, int] | None:
    """The first touching pair with the most groups between; None where all are joined ones."""
    pairs = placed.neighbours
    if not len(pairs):
        return None
    step = np.abs(placed.group[pairs[:, 0]] - placed.group[pairs[:, 1]])
    at = int(step.argmax())
    return (int(pairs[at, 0]), int(pairs[at, 1])) if step[at] > 1 else None


def _words(pack: Pack, placed: PlacedCells) -> list[str]:
    grouping = placed.grouping
    lines = [
        f"{pack.series} groups of {pack.parallel}, numbered from pack minus; ring: positive end up",
        f"{len(placed.group)} cells of {placed.most} that fit; upper bound {placed.bound}",
    ]
    if pack.series > 1:
        lines.append(
            f"smallest group boundary {grouping.fewest_contacts} touching pairs, upper bound "
            f"{grouping.contact_bound}; highest voltage between touching cells "
            f"{grouping.worst_volts:.1f} V"
        )
    lines.append("lines between groups: thin joined, dashed not joined, thick barrier")
    return lines
