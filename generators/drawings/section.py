"""A cut through a pocket with the cell, its ring and the strips in place, hatched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.drawings.svg import number, path_of, picture

__all__ = ["Block", "CutPart", "section_drawing"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CutPart:
    """A printed part in the assembly that the plane cuts."""

    name: str
    solid: manifold3d.Manifold


@dataclass(frozen=True, kw_only=True, slots=True)
class Block:
    """Something that is not printed, as a rectangle in the cut plane [mm]; ``kind`` picks its hatch."""

    name: str
    kind: str  # "can", "ring" or "strip"
    x0_mm: float
    x1_mm: float
    z0_mm: float
    z1_mm: float


_HATCHES = (
    ("a", 'width="2.2" height="2.2" patternTransform="rotate(45)"', '<path d="M0 0V2.2" {s}/>'),
    ("b", 'width="2.2" height="2.2" patternTransform="rotate(-45)"', '<path d="M0 0V2.2" {s}/>'),
    ("c", 'width="1.4" height="1.4" patternTransform="rotate(45)"', '<path d="M0 0V1.4" {s}/>'),
)
_STROKE = 'stroke="#000" stroke-width="0.18"'


def section_drawing(
    parts: Sequence[CutPart],
    blocks: Sequence[Block],
    *,
    y_mm: float,
    low: tuple[float, float],
    high: tuple[float, float],
    title: str,
    labels: Sequence[tuple[str, tuple[float, float], tuple[float, float]]] = (),
    scale: float = 3.0,
) -> str:
    """Cut of the assembly by the plane y = ``y_mm``, cropped to (x, z) ``low`` to ``high`` [mm].

    ``labels``: (text, place of the text, place that it points to), both (x, z) [mm].
    """
    defs = "".join(
        f'<pattern id="h{name}" patternUnits="userSpaceOnUse" {size}>'
        + line.format(s='stroke="#000" stroke-width="0.12"')
        + "</pattern>"
        for name, size, line in _HATCHES
    )
    clip = (
        f'<clipPath id="crop"><rect x="{number(low[0])}" y="{number(-high[1])}" '
        f'width="{number(high[0] - low[0])}" height="{number(high[1] - low[1])}"/></clipPath>'
    )
    body = [f"<defs>{defs}{clip}</defs>", '<g clip-path="url(#crop)">']
    for block in blocks:
        if block.kind == "can":
            body.append(_block(block, "#fff"))
    for k, part in enumerate(parts):
        rings = _cut(part.solid, y_mm)
        if rings:
            path = "".join(path_of(ring, closed=True, digits=3) for ring in rings)
            body.append(
                f'<path d="{path}" fill="url(#h{"ab"[k % 2]})" fill-rule="evenodd" {_STROKE}/>'
            )
    for block in blocks:
        if block.kind != "can":
            body.append(_block(block, "url(#hc)" if block.kind == "ring" else "#333"))
    body.append("</g>")
    for text, at, to in labels:
        anchor = "end" if at[0] < to[0] else "start"
        shift = -0.6 if anchor == "end" else 0.6
        body.append(
            f'<path d="M{number(at[0])} {number(-at[1])}L{number(to[0])} {number(-to[1])}" '
            f'{_STROKE} fill="none"/><circle cx="{number(to[0])}" cy="{number(-to[1])}" r="0.3"/>'
            f'<text x="{number(at[0] + shift)}" y="{number(-at[1] + 0.6)}" font-size="1.9" '
            f'font-family="sans-serif" text-anchor="{anchor}">{text}</text>'
        )
    xs = [low[0], high[0], *(at[0] for _, at, _ in labels)]
    wide = 26.0 if labels else 0.0
    return picture(
        body,
        low=(min(xs) - (wide if min(xs) < low[0] else 0.0), low[1]),
        high=(max(xs) + (wide if max(xs) > high[0] else 0.0), high[1]),
        title=title,
        margin=1.0,
        scale=scale,
    )


def _block(block: Block, fill: str) -> str:
    return (
        f'<rect x="{number(block.x0_mm, 3)}" y="{number(-block.z1_mm, 3)}" '
        f'width="{number(block.x1_mm - block.x0_mm, 3)}" '
        f'height="{number(block.z1_mm - block.z0_mm, 3)}" fill="{fill}" {_STROKE}/>'
    )


def _cut(solid: manifold3d.Manifold, y_mm: float) -> list[NDArray[np.float64]]:
    """Rings (k, 2) of the solid in the plane y = ``y_mm`` as (x, z) [mm]."""
    # a turn by 90 degrees about x takes (x, y, z) to (x, -z, y): y becomes the height to slice at
    rings = solid.rotate([90.0, 0.0, 0.0]).slice(y_mm).to_polygons()
    return [np.asarray(ring, dtype=np.float64) * (1.0, -1.0) for ring in rings]
