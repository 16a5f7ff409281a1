"""Maps of a pack at its load: currents along strips by width and number, cells by temperature."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from generators.drawings.svg import number, picture
from layouts.cells.arrangement import CellLayout
from layouts.pack import Face
from layouts.strips.joining import Interconnect

__all__ = ["current_map", "ramp_colour", "temperature_map"]

TITLE_MM, LEGEND_MM = 5.0, 3.6
WIDEST_SHARE = 0.4  # of the can's radius: the line with the most current
TOLD_SHARE = 0.1  # of the highest current: less is drawn, but not told
NEAR_SHARE = 1.25  # of the least distance of two cells: farther ones are no neighbours
FIGURE_SHARE = 0.42  # size of a figure over the can's radius
LETTER_SHARE = 0.6  # a sans-serif letter's width over its size, at most
# One hue from light to dark, so that it reads in grey and by those who see no red or green.
LIGHT, DARK = (0xF8, 0xEE, 0xDC), (0x7A, 0x2F, 0x0B)
DARK_FROM = 0.7  # of the ramp: figures are white from here
LEAST_SPAN_K = 5.0  # of the ramp: cells that differ by less look alike
STEPS = 5  # of the legend


def current_map(
    cell_layout: CellLayout,
    interconnect: Interconnect,
    face: Face,
    link_a: NDArray[np.float64],
    *,
    can_mm: float,
) -> str:
    """SVG of one face, the lower one mirrored: between cells a line as wide as its current.

    ``link_a`` (K,): current of each link in the order of the joining's strips or plates and their
    links [A]; ``can_mm``: diameter. What is under a tenth of the highest has no figure. A
    sheet is counted as resistances between all of its can ends; those between neighbours are
    drawn."""
    radius = can_mm / 2.0
    xy = cell_layout.xy_mm * np.array([-1.0 if face is Face.LOWER else 1.0, 1.0])
    most = float(np.abs(link_a).max(initial=0.0))
    near = _neighbours(xy)
    lines, figures = [], []
    for (i, j), amps in _links(interconnect, face, link_a):
        if not near[i, j]:
            continue
        share = abs(amps) / most if most else 0.0
        (ax, ay), (bx, by) = xy[i].tolist(), xy[j].tolist()
        lines.append(
            f'<path d="M{number(ax)} {number(-ay)}L{number(bx)} {number(-by)}" stroke="#000" '
            f'stroke-width="{number(max(WIDEST_SHARE * radius * share, 0.15))}"/>'
        )
        if share >= TOLD_SHARE:
            figures.append(_boxed(f"{abs(amps):.1f}", (ax + bx) / 2, (ay + by) / 2, radius))
    cells = [
        f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(radius)}" fill="none" '
        'stroke="#777" stroke-width="0.25"/>'
        for x, y in xy.tolist()
    ]
    title = "Upper face" if face is Face.UPPER else "Lower face, mirrored"
    return _framed([*cells, *lines, *figures], xy, radius, f"{title}: currents in amps", below=0.0)


def temperature_map(
    cell_layout: CellLayout, cell_c: NDArray[np.float64], *, can_mm: float, about: str
) -> str:
    """SVG of the cells from above, each with its temperature [C] in a tint of one hue; the
    ramp spans 5 K at least.

    ``cell_c`` (N,); ``about``: when that is."""
    radius = can_mm / 2.0
    low = float(cell_c.min())
    wide = max(float(cell_c.max()) - low, LEAST_SPAN_K)
    body = []
    for (x, y), celsius in zip(cell_layout.xy_mm.tolist(), cell_c.tolist(), strict=True):
        share = (celsius - low) / wide
        body.append(
            f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(radius)}" '
            f'fill="{ramp_colour(share)}" stroke="#333" stroke-width="0.25"/>'
            + _figure(f"{celsius:.1f}", x, y, 1.25 * FIGURE_SHARE * radius, share >= DARK_FROM)
        )
    xy = cell_layout.xy_mm
    left, foot = float(xy[:, 0].min()) - radius, float(xy[:, 1].min()) - radius
    body += _legend(left, foot - 3.0, low, low + wide)
    return _framed(body, xy, radius, f"Cells in \N{DEGREE SIGN}C, {about}", below=6.0 + LEGEND_MM)


def ramp_colour(share: float) -> str:
    """The tint at a share of the ramp, 0 light to 1 dark."""
    mixed = (round(a + (b - a) * share) for a, b in zip(LIGHT, DARK, strict=True))
    return "#" + "".join(f"{part:02x}" for part in mixed)


def _neighbours(xy: NDArray[np.float64]) -> NDArray[np.bool_]:
    """(N, N) whether two cells stand side by side."""
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    least = apart[apart > 0.0].min(initial=np.inf)
    near: NDArray[np.bool_] = apart <= NEAR_SHARE * least
    return near


def _links(
    interconnect: Interconnect, face: Face, link_a: NDArray[np.float64]
) -> Iterator[tuple[tuple[int, int], float]]:
    """Cells and current of each link on a face."""
    joined = [(one.face, one.conducts.pairs.tolist()) for one in interconnect.plates] or [
        (one.face, one.links) for one in interconnect.strips
    ]
    links = [(on, i, j) for on, pairs in joined for i, j in pairs]
    if len(links) != len(link_a):
        raise ValueError(f"{len(link_a)} currents for {len(links)} links")
    for (on, i, j), amps in zip(links, link_a.tolist(), strict=True):
        if on is face:
            yield (i, j), amps


def _figure(text: str, x: float, y: float, size: float, white: bool) -> str:
    fill = ' fill="#fff"' if white else ""
    return (
        f'<text x="{number(x)}" y="{number(-y + 0.36 * size)}" font-size="{number(size)}" '
        f'font-family="sans-serif" text-anchor="middle"{fill}>{escape(text)}</text>'
    )


def _boxed(text: str, x: float, y: float, radius: float) -> str:
    """A figure on white, so that it is read on the widest line."""
    size = FIGURE_SHARE * radius
    wide, high = LETTER_SHARE * size * len(text) + 0.3 * size, 1.1 * size
    return (
        f'<rect x="{number(x - wide / 2)}" y="{number(-y - high / 2)}" width="{number(wide)}" '
        f'height="{number(high)}" fill="#fff"/>' + _figure(text, x, y, size, False)
    )


def _legend(x: float, y: float, low: float, high: float) -> list[str]:
    """Tints with their temperatures, below the cells."""
    step = 4.0 * LEGEND_MM
    body = []
    for k in range(STEPS):
        share = k / (STEPS - 1)
        body.append(
            f'<rect x="{number(x + k * step)}" y="{number(-y)}" width="{number(step)}" '
            f'height="3" fill="{ramp_colour(share)}" stroke="#333" stroke-width="0.2"/>'
            + _figure(
                f"{low + share * (high - low):.1f}",
                x + (k + 0.5) * step,
                y - 3.0 - 0.8 * LEGEND_MM,
                LEGEND_MM,
                False,
            )
        )
    return body


def _framed(
    body: Sequence[str], xy: NDArray[np.float64], radius: float, title: str, *, below: float
) -> str:
    """The picture with its title above and ``below`` free beneath [mm]."""
    low, high = xy.min(axis=0) - radius, xy.max(axis=0) + radius
    x0, top = float(low[0]), float(high[1])
    words = (
        f'<text x="{number(x0)}" y="{number(-top - 3.0)}" font-size="{number(TITLE_MM)}" '
        f'font-family="sans-serif">{escape(title)}</text>'
    )
    return picture(
        [*body, words],
        low=(x0, float(low[1]) - below),
        high=(max(float(high[0]), x0 + LETTER_SHARE * TITLE_MM * len(title)), top + TITLE_MM + 3.0),
        title=title,
    )
