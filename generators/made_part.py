"""A part that was made: its mesh, then its solid.

The kernel is not loaded here: proofs and pictures need meshes alone, and begin before it is.
"""

from __future__ import annotations

import math
from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import Any

import numpy as np

from generators.meshes.for_printer import DrawnForPrinter, drawn_for_printer
from generators.meshes.mesh import Mesh, joined_mesh, mesh
from generators.meshes.of_part import part_mesh
from layouts.errors import told_by_field
from layouts.parts.drawing import CHORD_MM, Drawing
from layouts.parts.given import GivenShape
from layouts.parts.part import Part
from layouts.printer_spec import Printer
from layouts.slabs.errors import SolidError

__all__ = [
    "LIBRARIES", "MadePart", "MeshedPart", "ShapedPart", "chord_bound_mm3", "meshed_part",
    "told_by_part",
]  # fmt: skip

LIBRARIES = ("OCP", "cadquery", "manifold3d", "shapely", "scipy")  # whose errors are told by field


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MeshedPart:
    """One part with its mesh, in its own coordinates; ``supports``: the meshes of the loose bodies
    that are printed with it. ``for_printer``: all of them as they are written for a printer that
    prints off size, None: as they are."""

    part: Part
    mesh: Mesh
    supports: tuple[Mesh, ...] = ()
    for_printer: DrawnForPrinter | None = None

    @property
    def name(self) -> str:
        """File stem."""
        return self.part.name

    @property
    def printed(self) -> Mesh:
        """All that is printed: the part, then its supports, as shells of one mesh."""
        return joined_mesh((self.mesh, *self.supports)) if self.supports else self.mesh

    def written_bodies(self, *, quarter_turned: bool = False) -> tuple[Mesh, ...]:
        """The part, then its supports, as a slicer gets them; ``quarter_turned``: for a copy that
        is laid on the bed a quarter turn round."""
        if self.for_printer is None:
            return (self.mesh, *self.supports)
        return self.for_printer.scaled(quarter_turned=quarter_turned)

    @property
    def written(self) -> Mesh:
        """All that a slicer gets, as shells of one mesh."""
        return self.printed if self.for_printer is None else joined_mesh(self.written_bodies())

    @property
    def box_mm(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Least and greatest corner of the mesh."""
        low, high = self.mesh.vertices_mm.min(axis=0), self.mesh.vertices_mm.max(axis=0)
        return (
            (float(low[0]), float(low[1]), float(low[2])),
            (float(high[0]), float(high[1]), float(high[2])),
        )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MadePart(MeshedPart):
    """One part with its mesh and the volume of its solid by the kernel."""

    solid_mm3: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ShapedPart(MadePart):
    """One part with its mesh and its solid (TopoDS)."""

    shape: Any


def meshed_part(part: Part, printer: Printer | None = None) -> MeshedPart:
    """The mesh of one part, and what a ``printer`` that prints off size gets in its place.

    Raises LibraryError, naming part and field, where the mesh library can't.
    """
    with told_by_part(part):
        return MeshedPart(
            part=part,
            mesh=part_mesh(part),
            supports=tuple(mesh(one.body, CHORD_MM) for one in part.supports),
            for_printer=None
            if printer is None or not printer.prints_off_size
            else drawn_for_printer(part, printer),
        )


def told_by_part(part: Part) -> AbstractContextManager[None]:
    """Turns an error of the kernel's or the mesh library's into one that names part and field."""
    return told_by_field(
        part.field, what=f"the part {part.name}", libraries=LIBRARIES, also=(SolidError,)
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
