"""Small SVG pictures in millimetres, strings only: the same input gives the same text."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

__all__ = ["line_drawing", "number", "path_of", "picture"]

# Printed width of a line drawing's lines.
LINE_MM = 0.2
# Its points are rounded by this much at most, as printed.
ROUNDING_MM = 0.025


def number(value: float, digits: int = 2) -> str:
    """Shortest text of a length, no minus zero."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path_of(points: NDArray[np.float64], *, closed: bool = False, digits: int = 2) -> str:
    """Path commands through (n, 2) points; y grows upward in, downward out."""
    steps = "L".join(f"{number(x, digits)} {number(-y, digits)}" for x, y in points.tolist())
    return f"M{steps}{'Z' if closed else ''}"


def picture(
    body: Iterable[str],
    *,
    low: tuple[float, float],
    high: tuple[float, float],
    title: str,
    margin: float = 3.0,
    scale: float = 1.0,
) -> str:
    """An <svg> whose view box covers ``low`` to ``high`` [mm, y up] and prints at ``scale``:1."""
    x0, y0 = low[0] - margin, -high[1] - margin
    wide, tall = high[0] - low[0] + 2 * margin, high[1] - low[1] + 2 * margin
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{number(wide * scale)}mm" '
        f'height="{number(tall * scale)}mm" viewBox="{number(x0)} {number(y0)} {number(wide)} '
        f'{number(tall)}"><title>{escape(title)}</title>{"".join(body)}</svg>'
    )


def line_drawing(
    lines: Sequence[NDArray[np.float64]],
    *,
    title: str,
    within_mm: tuple[float, float] | None = None,
) -> str:
    """A line drawing; ``within_mm``: printed width and height at most (None: true size)."""
    points = np.vstack(lines)
    low, high = points.min(axis=0), points.max(axis=0)
    size = np.maximum(high - low, 1e-9)
    scale = 1.0 if within_mm is None else float((np.asarray(within_mm) / size).min())
    stroke = number(LINE_MM / scale, 3)
    digits = max(0, math.ceil(math.log10(scale / (2 * ROUNDING_MM))))
    commands = "".join(path_of(line, digits=digits) for line in lines)
    body = (
        f'<path d="{commands}" fill="none" stroke="#000" stroke-width="{stroke}" '
        'stroke-linecap="round" stroke-linejoin="round"/>'
    )
    return picture(
        [body],
        low=(float(low[0]), float(low[1])),
        high=(float(high[0]), float(high[1])),
        title=title,
        scale=scale,
    )
