"""A part's mesh, whether it is drawn or its shape is given: no kernel is needed for it."""

from __future__ import annotations

from generators.meshes.drilled import drilled_mesh
from generators.meshes.mesh import Mesh, mesh
from layouts.parts.drawing import CHORD_MM, Drawing
from layouts.parts.part import Part

__all__ = ["part_mesh", "undrilled_mesh"]


def part_mesh(part: Part) -> Mesh:
    """The finished part as a closed mesh, chords within ``CHORD_MM``."""
    bores = part.drawing.bores if isinstance(part.drawing, Drawing) else ()
    return drilled_mesh(undrilled_mesh(part), bores, CHORD_MM)


def undrilled_mesh(part: Part) -> Mesh:
    """The part as printed, bores left out; a given shape as it is, its holes in it."""
    shape = part.drawing
    if isinstance(shape, Drawing):
        return mesh(shape.body, CHORD_MM)
    return Mesh(shape.vertices_mm, shape.faces)
