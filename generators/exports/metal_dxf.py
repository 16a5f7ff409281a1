"""Pieces of sheet metal as DXF for a shop: what is cut on layer CUT, bend lines on layer BEND.

True size in millimetres, true arcs: outlines are closed polylines with bulges, round holes are
circles, so that a machine's program finds each contour closed."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from generators.exports.dxf_file import write_dxf
from generators.exports.sheet_dxf import DXF_COLOURS
from layouts.parts.metal_piece import MetalPiece
from layouts.slabs.profile import Arc, Loop, segment_start

if TYPE_CHECKING:
    from ezdxf.document import Drawing

__all__ = ["write_metal_dxf"]

WHOLE = 1e-9  # of a turn: an arc that closes in itself


def write_metal_dxf(path: Path, piece: MetalPiece) -> None:
    """Write one piece, its kerf counted; the bytes depend on the piece alone."""
    write_dxf(path, lambda document: _draw(document, piece))


def _draw(document: Drawing, piece: MetalPiece) -> None:
    space = document.modelspace()
    for name in ("CUT", *(("BEND",) if piece.bends else ())):
        document.layers.add(name, color=DXF_COLOURS[name])
    for loop in piece.cut:
        only = loop[0]
        if isinstance(only, Arc) and abs(abs(only.sweep_rad) - math.tau) < WHOLE:
            space.add_circle(only.centre, only.radius_mm, dxfattribs={"layer": "CUT"})
        else:
            space.add_lwpolyline(
                _bulged(loop), format="xyb", close=True, dxfattribs={"layer": "CUT"}
            )
    for bend in piece.bends:
        space.add_line(bend.start, bend.end, dxfattribs={"layer": "BEND"})


def _bulged(loop: Loop) -> list[tuple[float, float, float]]:
    """Corners of a loop, each with the bulge to the next: tangent of a quarter of the arc."""
    return [
        (*segment_start(one), math.tan(one.sweep_rad / 4.0) if isinstance(one, Arc) else 0.0)
        for one in loop
    ]
