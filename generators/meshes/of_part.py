"""A part's mesh, whether it is drawn or its shape is given: no kernel is needed for it."""

from __future__ import annotations

import logging

from generators.meshes.drilled import drilled_mesh
from generators.meshes.mesh import CrossingChordsError, Mesh, mesh
from layouts.parts.drawing import CHORD_MM, Drawing
from layouts.parts.part import Part

__all__ = ["part_mesh", "undrilled_mesh"]

_log = logging.getLogger(__name__)
# tried in turn where two curves pass each other nearer than a chord's height
FINER_MM = (CHORD_MM, CHORD_MM / 4.0, CHORD_MM / 16.0)


def part_mesh(part: Part) -> Mesh:
    """The finished part as a closed mesh, chords within ``CHORD_MM``."""
    bores = part.drawing.bores if isinstance(part.drawing, Drawing) else ()
    return drilled_mesh(undrilled_mesh(part), bores, CHORD_MM)


def undrilled_mesh(part: Part) -> Mesh:
    """The part as printed, bores left out; a given shape as it is, its holes in it."""
    shape = part.drawing
    if not isinstance(shape, Drawing):
        return Mesh(shape.vertices_mm, shape.faces)
    for chord_mm in FINER_MM:
        try:
            return mesh(shape.body, chord_mm)
        except CrossingChordsError as error:
            _log.info("%s: %s, chords within %g mm now", part.name, error, chord_mm / 4.0)
    return mesh(shape.body, CHORD_MM / 64.0)
