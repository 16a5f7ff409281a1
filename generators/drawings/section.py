"""Cuts through the assembly, hatched and labelled: panels of one picture, one above the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.drawings.svg import number, path_of, picture

__all__ = [
    "Panel",
    "Ring",
    "SectionBlock",
    "SectionLabel",
    "cut_rings",
    "is_cut",
    "label_heights",
    "section_drawing",
]


Ring = NDArray[np.float64]  # (k, 2) closed outline in a cut, (u, z) [mm]


@dataclass(frozen=True, kw_only=True, slots=True)
class SectionBlock:
    """What is not printed, as a rectangle in the cut plane [mm]; ``kind`` picks its filling."""

    kind: str  # "can", "ring" or "strip"
    u0_mm: float
    u1_mm: float
    z0_mm: float
    z1_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SectionLabel:
    """A word beside the cut and the point (u, z) [mm] in the cut that it names.

    ``beside_mm``: the height at which it would rather stand; None: at the point's own.
    """

    text: str
    to_mm: tuple[float, float]
    beside_mm: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Panel:
    """One upright cut.

    ``cuts``: outlines of each part that the plane cuts. ``low_mm``, ``high_mm``: (u, z) corners
    of what is shown, u along the cut.
    """

    title: str
    cuts: tuple[tuple[Ring, ...], ...]
    low_mm: tuple[float, float]
    high_mm: tuple[float, float]
    blocks: tuple[SectionBlock, ...]
    labels: tuple[SectionLabel, ...]


# Printed sizes at the drawing's scale.
_LETTERS_MM = 3.6
_TITLE_MM = 4.2
_LINE_MM = 0.35
_LEADER_MM = 0.25
_WORDS_MM = 42.0  # space for the longest label
_BETWEEN_MM = 5.2  # from one label's line to the next
_GAP_MM = 6.0
# name, printed distance of the lines, their printed width, angle
_HATCHES = (("a", 1.9, 0.22, 45), ("b", 1.9, 0.22, -45), ("c", 0.7, 0.18, 45))


def section_drawing(panels: Sequence[Panel], *, title: str, scale: float = 3.2) -> str:
    """The panels from above to below; ``scale``: printed size over true size."""
    defs = "".join(
        f'<pattern id="h{name}" patternUnits="userSpaceOnUse" width="{number(step / scale, 3)}" '
        f'height="{number(step / scale, 3)}" patternTransform="rotate({angle})">'
        f'<path d="M0 0V{number(step / scale, 3)}" stroke="#000" '
        f'stroke-width="{number(2 * wide / scale, 3)}"/></pattern>'
        for name, step, wide, angle in _HATCHES
    )
    body = [f"<defs>{defs}</defs>"]
    down = 0.0
    wide = 0.0
    for k, panel in enumerate(panels):
        high = panel.high_mm[1] - panel.low_mm[1]
        down += _TITLE_MM * 1.6 / scale
        body.append(
            f'<text x="0" y="{number(down - _TITLE_MM * 0.5 / scale)}" '
            f'font-size="{number(_TITLE_MM / scale, 3)}" font-family="sans-serif">'
            f"{escape(panel.title)}</text>"
        )
        # u = low is at x = 0, z = high at y = down
        body.append(
            f'<g transform="translate({number(-panel.low_mm[0], 3)} '
            f'{number(down + panel.high_mm[1], 3)})">{"".join(_panel(panel, k, scale))}</g>'
        )
        wide = max(wide, panel.high_mm[0] - panel.low_mm[0])
        down += high + _GAP_MM / scale
    wide += (_WORDS_MM + 8.0) / scale
    return picture(body, low=(0.0, -down), high=(wide, 0.0), title=title, margin=1.0, scale=scale)


def _panel(panel: Panel, k: int, scale: float) -> list[str]:
    (u0, z0), (u1, z1) = panel.low_mm, panel.high_mm
    line = f'stroke="#000" stroke-width="{number(_LINE_MM / scale, 3)}"'
    out = [
        f'<clipPath id="crop{k}"><rect x="{number(u0, 3)}" y="{number(-z1, 3)}" '
        f'width="{number(u1 - u0, 3)}" height="{number(z1 - z0, 3)}"/></clipPath>',
        f'<g clip-path="url(#crop{k})">',
    ]
    out += [_block(block, "#ececec", line) for block in panel.blocks if block.kind == "can"]
    for n, rings in enumerate(panel.cuts):
        if rings:
            path = "".join(path_of(ring, closed=True, digits=3) for ring in rings)
            out.append(f'<path d="{path}" fill="#fff" fill-rule="evenodd"/>')
            out.append(f'<path d="{path}" fill="url(#h{"ab"[n % 2]})" fill-rule="evenodd" {line}/>')
    for block in panel.blocks:
        if block.kind == "ring":
            out += [_block(block, "#fff", line), _block(block, "url(#hc)", line)]
        elif block.kind == "strip":
            out.append(_block(block, "#000", line))
    out.append("</g>")
    heights = label_heights(
        [label.to_mm[1] if label.beside_mm is None else label.beside_mm for label in panel.labels],
        between=_BETWEEN_MM / scale,
        low=z0,
        high=z1,
    )
    bend, words = u1 + 2.0 / scale, u1 + 7.0 / scale
    for label, z in zip(panel.labels, heights, strict=True):
        u, v = label.to_mm
        way = f"M{number(words)} {number(-z)}L{number(bend)} {number(-z)}L{number(u)} {number(-v)}"
        out.append(
            f'<path d="{way}" fill="none" stroke="#000" '
            f'stroke-width="{number(_LEADER_MM / scale, 3)}"/>'
            f'<circle cx="{number(u)}" cy="{number(-v)}" r="{number(0.7 / scale, 3)}" '
            f'fill="#000" stroke="#fff" stroke-width="{number(0.3 / scale, 3)}"/>'
            f'<text x="{number(words + 1.2 / scale)}" '
            f'y="{number(-z + 0.35 * _LETTERS_MM / scale)}" '
            f'font-size="{number(_LETTERS_MM / scale, 3)}" font-family="sans-serif">'
            f"{escape(label.text)}</text>"
        )
    return out


def label_heights(
    wanted: Sequence[float], *, between: float, low: float, high: float
) -> list[float]:
    """Heights for labels as near to the wanted ones as may be, ``between`` or more apart.

    The order of the heights stays, so leaders don't cross. They lie within ``low`` to ``high``
    where there is space for all; else they are stacked from ``low`` upwards."""
    order = np.argsort(wanted, kind="stable")
    heights = np.asarray(wanted, float)[order]
    for k in range(len(heights)):
        floor = low + between / 2 if k == 0 else heights[k - 1] + between
        heights[k] = max(heights[k], floor)
    for k in reversed(range(len(heights))):
        roof = high - between / 2 if k == len(heights) - 1 else heights[k + 1] - between
        heights[k] = min(heights[k], max(roof, low + between * (k + 0.5)))
    out = np.empty(len(heights))
    out[order] = heights
    return [float(v) for v in out]


def _block(block: SectionBlock, fill: str, line: str) -> str:
    return (
        f'<rect x="{number(block.u0_mm, 3)}" y="{number(-block.z1_mm, 3)}" '
        f'width="{number(block.u1_mm - block.u0_mm, 3)}" '
        f'height="{number(block.z1_mm - block.z0_mm, 3)}" fill="{fill}" {line}/>'
    )


def cut_rings(
    solid: manifold3d.Manifold, at_mm: tuple[float, float], *, across: bool
) -> tuple[Ring, ...]:
    """Outlines of a solid in the upright plane through (x, y) ``at_mm``.

    u is x, or y with ``across``; z stays.
    """
    x, y = at_mm
    if across:  # a quarter turn about z takes (x, y) to (y, -x)
        solid, y = solid.rotate([0.0, 0.0, -90.0]), -x
    # a turn by 90 degrees about x takes (x, y, z) to (x, -z, y): y becomes the height to slice at
    rings = solid.rotate([90.0, 0.0, 0.0]).slice(y).to_polygons()
    return tuple(np.asarray(ring, dtype=np.float64) * (1.0, -1.0) for ring in rings)


def is_cut(rings: Sequence[Ring], point: tuple[float, float]) -> bool:
    """Whether a point (u, z) lies within material: an odd number of outlines lie left of it."""
    u, z = point
    inside = False
    for ring in rings:
        (u0, z0), (u1, z1) = ring.T, np.roll(ring, -1, axis=0).T
        crossed = (z0 <= z) != (z1 <= z)
        rise = np.where(crossed, z1 - z0, 1.0)
        left = u0 + (z - z0) / rise * (u1 - u0) < u
        inside ^= bool((crossed & left).sum() % 2)
    return inside
