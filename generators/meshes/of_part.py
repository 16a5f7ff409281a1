"""A part's mesh without the bores that are still to be cut: no kernel is needed for it."""

from __future__ import annotations

from generators.meshes.mesh import Mesh, mesh
from layouts.parts.drawing import CHORD_MM, Drawing
from layouts.parts.part import Part

__all__ = ["undrilled_mesh"]


def undrilled_mesh(part: Part) -> Mesh:
    """The part as printed, bores left out; a given shape as it is, its holes in it."""
    shape = part.drawing
    if isinstance(shape, Drawing):
        return mesh(shape.body, CHORD_MM)
    return Mesh(shape.vertices_mm, shape.faces)
