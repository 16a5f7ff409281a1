"""Where a part is hard to print: a layer in outline, seen from above, with the places on it."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

import numpy as np
import shapely

from generators.drawings.space_walls import rings_path
from generators.drawings.svg import number, picture
from layouts.printable.finding import PrintFinding, Severity

__all__ = ["print_marks"]

ACROSS_MM, TALL_MM = 90.0, 110.0  # as printed, at most
FINE_MM = 0.05  # of rims in the picture, as printed
TEXT_MM = 3.2  # as printed
RING_MM = 2.5  # radius of the ring round a place, as printed, at least
LABELLED_MOST = 12  # numbers would lie on one another

# Solid and double for what fails, hatched and dashed for what warns: told without colours too
FAILS, WARNS = "#c2410c", "#1d4ed8"
HATCH = (
    '<defs><pattern id="print-warns" patternUnits="userSpaceOnUse" width="{a}" height="{a}" '
    'patternTransform="rotate(45)"><path d="M0 0V{a}" stroke="{c}" stroke-width="{b}"/>'
    "</pattern></defs>"
)


def print_marks(findings: Sequence[PrintFinding]) -> str:
    """SVG of findings on one layer of one part, numbered from 1 in their order."""
    outline = findings[0].outline
    shapes = [outline, *(one.region for one in findings)]
    boxes = np.array([shape.bounds for shape in shapes if not shape.is_empty])
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    wide, tall = (high - low).tolist()
    scale = min(ACROSS_MM / max(wide, 1.0), TALL_MM / max(tall, 1.0))
    body = [HATCH.format(a=number(1.2 / scale), b=number(0.5 / scale), c=WARNS)]
    body.append(
        f'<path d="{_path(outline, scale)}" fill="#d9d9d9" fill-rule="evenodd" stroke="#555" '
        f'stroke-width="{number(0.2 / scale, 3)}"/>'
    )
    for k, one in enumerate(findings, start=1):
        body += _mark(one, str(k) if k <= LABELLED_MOST else "", scale)
    first = findings[0]
    reach = (RING_MM + TEXT_MM) / scale
    return picture(
        body,
        low=(float(low[0]) - reach, float(low[1]) - reach),
        high=(float(high[0]) + reach, float(high[1]) + reach),
        title=f"{first.part} at z {first.at_mm[2]:g} mm: {len(findings)} places",
        scale=scale,
        margin=0.0,
    )


def _path(shape: shapely.Geometry, scale: float) -> str:
    return rings_path(shapely.simplify(shape, FINE_MM / scale))


def _mark(one: PrintFinding, label: str, scale: float) -> list[str]:
    """The region, a ring round it and its number."""
    fails = one.severity is Severity.FAILS
    colour = FAILS if fails else WARNS
    fill = colour if fails else "url(#print-warns)"
    dashes = "" if fails else f' stroke-dasharray="{number(0.8 / scale)} {number(0.5 / scale)}"'
    thin = number(0.25 / scale, 3)
    x, y = one.at_mm[0], -one.at_mm[1]
    radius = RING_MM / scale
    ring = (
        f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" fill="none" '
        f'stroke="{colour}" stroke-width="{number((0.5 if fails else 0.3) / scale, 3)}"{dashes}/>'
    )
    words = (
        f'<text x="{number(x + radius)}" y="{number(y - radius)}" '
        f'font-size="{number(TEXT_MM / scale)}" font-weight="bold" fill="{colour}" '
        f'stroke="#fff" stroke-width="{number(0.6 / scale, 3)}" paint-order="stroke" '
        f'font-family="sans-serif">{escape(label)}</text>'
    )
    return [
        f'<path d="{rings_path(one.region)}" fill="{fill}" fill-rule="evenodd" stroke="{colour}" '
        f'stroke-width="{thin}"{dashes}/>',
        ring,
        *([words] if label else []),
    ]
