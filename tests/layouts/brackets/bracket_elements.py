"""Finite elements of a bracket's own solid, for what formulas are held against.

The solid that goes to the STEP file, washers added as rings so that loads and holds act on faces of
their own; meshed by netgen from a STEP file, elasticity with second order tetrahedra by scikit-fem.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
import numpy as np
import scipy.sparse.linalg as sparse
from netgen.meshing import MeshingParameters, meshsize
from netgen.occ import OCCGeometry
from numpy.typing import NDArray
from skfem import (
    Basis,
    ElementTetP2,
    ElementVector,
    Functional,
    LinearForm,
    MeshTet,
    condense,
)
from skfem.models.elasticity import lame_parameters, linear_elasticity

from generators.kernel.drilled import drilled_solid
from generators.kernel.stitch import solid
from layouts.parts.part import Part

__all__ = ["Ring", "pulled_n_mm"]

Floats = NDArray[np.float64]
Where = Callable[[Floats], NDArray[np.bool_]]

YOUNG_MPA, POISSON = 2000.0, 0.38  # of the materials table; common practice, no source
RING_HIGH_MM = 1.0
INTO_MM = 0.2  # a ring reaches so far into its face


@dataclass(frozen=True, kw_only=True)
class Ring:
    """A washer on a face: the middle there, the way it faces, inner and outer diameter."""

    at_mm: tuple[float, float, float]
    out: tuple[float, float, float]
    inner_mm: float
    outer_mm: float

    def solid(self) -> cq.Workplane:
        """From a little below the face up."""
        start = np.array(self.at_mm) - INTO_MM * np.array(self.out)
        plane = cq.Plane(origin=tuple(start.tolist()), normal=self.out)
        rings = cq.Workplane(plane).circle(self.outer_mm / 2).circle(self.inner_mm / 2)
        return rings.extrude(RING_HIGH_MM + INTO_MM)

    def top(self, points: Floats) -> NDArray[np.bool_]:
        """Which points (3, n) lie on its outer face."""
        from_middle = points - np.reshape(self.at_mm, (3,) + (1,) * (points.ndim - 1))
        high = np.tensordot(np.array(self.out), from_middle, axes=1)
        far = np.sqrt(np.maximum((from_middle**2).sum(axis=0) - high**2, 0.0))
        on: NDArray[np.bool_] = np.isclose(high, RING_HIGH_MM) & (far < self.outer_mm / 2 + 0.1)
        return on


def pulled_n_mm(
    part: Part,
    *,
    held: Sequence[Ring],
    loaded: Sequence[Ring] | Where,
    forces_n: Sequence[tuple[float, float, float]],
    mesh_mm: float = 8.0,
) -> tuple[float, ...]:
    """Stiffness at the loaded faces by each force alone, which they share evenly, while the held
    rings stand still [N/mm]."""
    rings = (*held, *(() if callable(loaded) else loaded))
    mesh = _mesh(part, rings, mesh_mm)
    on = loaded if callable(loaded) else (lambda x: np.any([r.top(x) for r in loaded], axis=0))
    mesh = mesh.with_boundaries(
        {"held": lambda x: np.any([ring.top(x) for ring in held], axis=0), "loaded": on}
    )
    basis = Basis(mesh, ElementVector(ElementTetP2()), intorder=2)
    stiff = linear_elasticity(*lame_parameters(YOUNG_MPA, POISSON)).assemble(basis)
    face = basis.boundary("loaded")
    area = Functional(lambda w: 1.0 + 0.0 * w.x[0]).assemble(face)
    still = basis.get_dofs("held")
    k, _, _, free = condense(stiff, np.zeros(stiff.shape[0]), D=still)
    solved = sparse.splu(
        k.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )  # fmt: skip
    found = []
    for force_n in forces_n:
        each = np.array(force_n) / area
        load = LinearForm(lambda v, w, each=each: sum(each[k] * v[k] for k in range(3))).assemble(
            face
        )
        force = float(np.linalg.norm(force_n))
        # work of the load over the force: the mean shift of the loaded faces its way
        shift = float(load[free] @ solved.solve(load[free])) / force
        found.append(force / shift)
    return tuple(found)


def _mesh(part: Part, rings: Sequence[Ring], mesh_mm: float) -> MeshTet:
    body = cq.Workplane(obj=cq.Solid(drilled_solid(solid(part.drawing.body), part.drawing.bores)))
    for ring in rings:
        body = body.union(ring.solid(), clean=False)
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "bracket.step")
        cq.exporters.export(body, path)
        geometry = OCCGeometry(path)
    made = geometry.GenerateMesh(mp=MeshingParameters(meshsize.coarse, maxh=mesh_mm))
    points = np.array([one.p for one in made.Points()])
    cells = np.array([[v.nr - 1 for v in one.vertices] for one in made.Elements3D()])
    used, numbers = np.unique(cells, return_inverse=True)
    return MeshTet(
        np.ascontiguousarray(points[used].T), np.ascontiguousarray(numbers.reshape(cells.shape).T)
    )
