"""How thick the walls of a part are: its rims from above, drawn broader the thinner they are."""

from __future__ import annotations

from xml.sax.saxutils import escape

import numpy as np
import shapely
from numpy.typing import NDArray

from generators.drawings.space_walls import rings_path
from generators.drawings.svg import number, picture
from layouts.printable.walls import WallMap

__all__ = ["wall_thickness"]

ACROSS_MM, TALL_MM = 90.0, 110.0  # as printed, at most
FINE_MM = 0.05  # of rims in the picture, as printed
TEXT_MM = 3.2  # as printed
ROW_MM = 4.2  # of the key, as printed
RING_MM = 2.5  # radius of the ring round the thinnest place, as printed

# Up to so many limits of a wall's thickness: colour, and width of the dots as printed. From dark
# to light, from broad to fine: told without colours too
CLASSES = (
    (1.0, "#7f1d1d", 1.5),
    (1.5, "#9a3412", 1.15),
    (2.0, "#b45309", 0.95),
    (3.0, "#3f7d20", 0.75),
    (5.0, "#2563eb", 0.6),
    (np.inf, "#93a3b8", 0.45),
)


def wall_thickness(walls: WallMap) -> str:
    """SVG of one part; a part without a thin wall has its outline alone."""
    x0, y0, x1, y1 = walls.outline.bounds
    scale = min(ACROSS_MM / max(x1 - x0, 1.0), TALL_MM / max(y1 - y0, 1.0))
    path = rings_path(shapely.simplify(walls.outline, FINE_MM / scale))
    body = [f'<path d="{path}" fill="#e7e7e4" fill-rule="evenodd"/>']
    counts = []
    low = 0.0
    for limits, colour, wide in CLASSES:
        high = limits * walls.limit_mm
        inside = (walls.thickness_mm >= low) & (walls.thickness_mm < high)
        if inside.any():
            counts.append((_range(low, high), colour, wide))
            body.append(_dots(walls.points_mm[inside], colour, wide, scale))
        low = high
    body += _thinnest(walls, scale)
    reach, foot = (RING_MM + TEXT_MM) / scale, (ROW_MM * (len(counts) + 1)) / scale
    for k, (words, colour, wide) in enumerate(counts, start=1):
        y = -y0 + (RING_MM + ROW_MM * k) / scale
        body.append(
            f'<path d="M{number(x0)} {number(y)}h{number(6.0 / scale)}" stroke="{colour}" '
            f'stroke-width="{number(wide / scale, 3)}"/>{_text(x0 + 8.0 / scale, y, words, scale)}'
        )
    return picture(
        body,
        low=(x0 - reach, y0 - reach - foot),
        high=(x1 + reach, y1 + reach),
        title=f"thickness of the walls of {walls.part}",
        scale=scale,
        margin=0.0,
    )


def _range(low: float, high: float) -> str:
    if low == 0.0:
        return f"less than {high:.1f} mm"
    return f"{low:.1f} to {high:.1f} mm" if np.isfinite(high) else f"{low:.1f} mm and more"


def _dots(points: NDArray[np.float64], colour: str, wide: float, scale: float) -> str:
    """Dots as a path of no length with round ends: the shortest text for so many."""
    steps = "".join(f"M{number(x, 1)} {number(-y, 1)}h0" for x, y in points.tolist())
    return (
        f'<path d="{steps}" stroke="{colour}" stroke-width="{number(wide / scale, 3)}" '
        'stroke-linecap="round" fill="none"/>'
    )


def _thinnest(walls: WallMap, scale: float) -> list[str]:
    """A ring and its figure."""
    k = walls.thinnest
    if k is None:
        return []
    x, y = walls.points_mm[k].tolist()
    ring = (
        f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(RING_MM / scale)}" fill="none" '
        f'stroke="#111" stroke-width="{number(0.35 / scale, 3)}"/>'
    )
    words = f"{walls.thickness_mm[k]:.2f} mm, z {walls.z_mm[k]:.1f}"
    wide = 0.55 * TEXT_MM * len(words) / scale  # of common faces; common practice, no source
    right = walls.outline.bounds[2]
    start = x + RING_MM / scale
    start = min(start, right + (RING_MM + TEXT_MM) / scale - wide)
    return [ring, _text(start, -y - (RING_MM + 0.4 * TEXT_MM) / scale, words, scale)]


def _text(x: float, y: float, words: str, scale: float) -> str:
    return (
        f'<text x="{number(x)}" y="{number(y)}" dy="0.35em" font-size="{number(TEXT_MM / scale)}" '
        f'fill="#111" stroke="#fff" stroke-width="{number(0.7 / scale, 3)}" paint-order="stroke" '
        f'font-family="sans-serif">{escape(words)}</text>'
    )
