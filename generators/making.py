"""Parts made: solid, mesh and the facts of both, from the drawing of each part."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps

from generators.kernel.of_part import part_mesh, part_solid
from generators.meshes.mesh import Mesh
from generators.proofs.meshes import MeshFacts, mesh_checks, mesh_facts
from layouts.checks import Check
from layouts.errors import told_by_field
from layouts.parts.drawing import CHORD_MM, Drawing
from layouts.parts.given import GivenShape
from layouts.parts.part import Part
from layouts.slabs.errors import SolidError

__all__ = ["LIBRARIES", "MadePart", "chord_bound_mm3", "made_part"]

# Sums of many faces' shares differ by float noise, also where no arc is.
SUM_NOISE = 1e-9
LIBRARIES = ("OCP", "cadquery", "manifold3d", "shapely", "scipy")  # whose errors are told by field


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MadePart:
    """One part with its solid (TopoDS), mesh, volume and mesh facts."""

    part: Part
    shape: Any
    mesh: Mesh
    solid_mm3: float
    facts: MeshFacts

    @property
    def name(self) -> str:
        """File stem."""
        return self.part.name

    def checks(self, bed_mm: tuple[float, float, float]) -> tuple[Check, ...]:
        """All proofs of this part alone."""
        return mesh_checks(
            self.facts,
            solid_mm3=self.solid_mm3,
            drawn_mm3=self.part.drawing.volume_mm3(),
            chord_bound_mm3=chord_bound_mm3(self.part.drawing, CHORD_MM)
            + SUM_NOISE * self.solid_mm3,
            bed_mm=bed_mm,
        )


def made_part(part: Part) -> MadePart:
    """Make solid and mesh of one part; both come from the same drawing or given shape.

    Raises LibraryError, naming part and field, where the kernel or the mesh library can't.
    """
    with told_by_field(
        part.field, what=f"the part {part.name}", libraries=LIBRARIES, also=(SolidError,)
    ):
        shape, made = part_solid(part), part_mesh(part)
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return MadePart(
        part=part,
        shape=shape,
        mesh=made,
        solid_mm3=properties.Mass(),
        facts=mesh_facts(part.name, made.vertices_mm, made.faces),
    )


def chord_bound_mm3(drawing: Drawing | GivenShape, chord_mm: float) -> float:
    """The most that chords can add to or take from a part's volume.

    A chord and its arc enclose at most 2/3 * chord height * chord length (the segment of a
    parabola, which a flat arc is); area-true polygons stray less. Summed over all walls. Of a
    given shape: chord height * area of all that is not flat.
    """
    if isinstance(drawing, GivenShape):
        return chord_mm * drawing.curved_mm2
    body = drawing.body
    rounds = [
        body.circles[wall.piece, 2] * body.turns[wall.piece, 1] * (wall.z1_mm - wall.z0_mm)
        for wall in body.walls
    ]
    rounds += [
        float((body.circles[list(cone.lower), 2] * body.turns[list(cone.lower), 1]).sum())
        * (cone.z1_mm - cone.z0_mm)
        for cone in body.cones
    ]
    rounds += [math.tau * bore.radius_mm * bore.depth_mm for bore in drawing.bores]
    return 2.0 / 3.0 * chord_mm * float(np.sum(rounds))
