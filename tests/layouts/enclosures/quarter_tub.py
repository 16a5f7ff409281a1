"""Finite elements of a quarter of a tub with one mounting pad, for what formulas are held against.

A CadQuery solid, meshed by netgen from its STEP file; elasticity with second order tetrahedra by
scikit-fem. Both are extras of the tests alone.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path

import cadquery as cq
import numpy as np
import scipy.sparse.linalg as sparse
from netgen.meshing import MeshingParameters
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

__all__ = ["QuarterTub", "upright_stress"]

Floats = NDArray[np.float64]

YOUNG_MPA, POISSON = 2000.0, 0.38  # of the materials table; common practice, no source
NEAR_MM = 30.0  # of the pad's middle, along the wall


@dataclass(frozen=True, kw_only=True)
class QuarterTub:
    """Half the outside sizes; the pad stands on the wall that faces x, its top ``pad_high_mm``
    over the underside, and its block goes on to ``block_high_mm``; ``lid``: holds the rim."""

    half_x_mm: float = 71.2
    half_y_mm: float = 106.3
    high_mm: float = 84.1
    wall_mm: float = 2.6
    floor_mm: float = 3.0
    pad_at_mm: float = 83.2
    pad_wide_mm: float = 34.0
    pad_high_mm: float = 26.0
    pad_out_mm: float = 10.0
    block_wide_mm: float = 34.0
    block_high_mm: float = 26.0
    lid: bool = True

    def solid(self) -> cq.Workplane:
        """Floor, two walls, pad and block, each face of which stays one of its own."""
        x, y, t, high = self.half_x_mm, self.half_y_mm, self.wall_mm, self.high_mm
        shell = _block((0.0, x), (0.0, y), (0.0, self.floor_mm))
        shell = shell.union(_block((x - t, x), (0.0, y), (0.0, high)))
        shell = shell.union(_block((0.0, x), (y - t, y), (0.0, high)))
        out = (x, x + self.pad_out_mm)
        at, half = self.pad_at_mm, self.pad_wide_mm / 2
        shell = shell.union(_block(out, (at - half, at + half), (0.0, self.pad_high_mm)))
        if self.block_high_mm > self.pad_high_mm:
            half = self.block_wide_mm / 2
            up = (self.pad_high_mm, self.block_high_mm)
            # not cleaned: the pad's face would become one with the block's
            shell = shell.union(_block(out, (at - half, at + half), up), clean=False)
        return shell


def upright_stress(
    tub: QuarterTub,
    *,
    force_n: float,
    moment_n_mm: float,
    mesh_mm: float = 7.0,
    fine_mm: float = 2.0,
) -> tuple[Floats, Floats]:
    """Points (3, n) and stress along z (n,) of wall and block above the pad, near to it.

    ``force_n`` upwards on the pad's face, as much downwards on the floor; ``moment_n_mm`` about the
    wall's middle plane, as tractions on that face that go evenly from pull to push over its
    height. All four quarters of the tub are loaded alike. ``fine_mm``: of the mesh just above the
    pad."""
    mesh = _mesh(tub, mesh_mm, fine_mm)
    face = tub.half_x_mm + tub.pad_out_mm
    mesh = mesh.with_boundaries(
        {
            "pad": lambda x: np.isclose(x[0], face) & (x[2] < tub.pad_high_mm),
            "floor": lambda x: np.isclose(x[2], tub.floor_mm),
            "x": lambda x: np.isclose(x[0], 0.0),
            "y": lambda x: np.isclose(x[1], 0.0),
            "rim": lambda x: np.isclose(x[2], tub.high_mm) & (x[0] > tub.half_x_mm - tub.wall_mm),
        }
    )
    basis = Basis(mesh, ElementVector(ElementTetP2()), intorder=2)
    stiff = linear_elasticity(*lame_parameters(YOUNG_MPA, POISSON)).assemble(basis)
    pad, floor = basis.boundary("pad"), basis.boundary("floor")
    area, floor_area = (Functional(lambda w: 1.0 + 0.0 * w.x[0]).assemble(b) for b in (pad, floor))
    mid = tub.pad_high_mm / 2
    second = Functional(lambda w: (w.x[2] - mid) ** 2).assemble(pad)
    own = moment_n_mm - force_n * (tub.pad_out_mm + tub.wall_mm / 2)
    load = LinearForm(
        lambda v, w: force_n / area * v[2] - own / second * (w.x[2] - mid) * v[0]
    ).assemble(pad)
    load = load - LinearForm(lambda v, w: force_n / floor_area * v[2]).assemble(floor)
    corner = int(np.argmin((mesh.p**2).sum(axis=0)))
    held = np.concatenate(
        [
            basis.get_dofs("x").all(["u^1"]),
            basis.get_dofs("y").all(["u^2"]),
            *([basis.get_dofs("rim").all(["u^1"])] if tub.lid else []),
            [basis.nodal_dofs[2, corner]],  # the forces balance: it bears nothing
        ]
    )
    k, f, moved, free = condense(stiff, load, D=np.unique(held))
    moved = moved.copy()
    moved[free] = sparse.splu(
        k.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    ).solve(f)  # fmt: skip
    return _upright(basis, moved, tub)


def _mesh(tub: QuarterTub, mesh_mm: float, fine_mm: float) -> MeshTet:
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "tub.step")
        cq.exporters.export(tub.solid(), path)
        geometry = OCCGeometry(path)
    asked = MeshingParameters(maxh=mesh_mm, grading=0.5)
    for along in np.linspace(-22.0, 22.0, 18):
        for up in (0.0, 2.0, 4.0):
            asked.RestrictH(
                tub.half_x_mm - tub.wall_mm / 2, tub.pad_at_mm + along, tub.pad_high_mm + up,
                h=fine_mm,
            )  # fmt: skip
    made = geometry.GenerateMesh(mp=asked)
    points = np.array([one.p for one in made.Points()])
    cells = np.array([[v.nr - 1 for v in one.vertices] for one in made.Elements3D()])
    used, numbers = np.unique(cells, return_inverse=True)
    return MeshTet(
        np.ascontiguousarray(points[used].T), np.ascontiguousarray(numbers.reshape(cells.shape).T)
    )


def _upright(basis: Basis, moved: Floats, tub: QuarterTub) -> tuple[Floats, Floats]:
    """Points above the pad and near to it, and the stress along z there."""
    grad = basis.interpolate(moved).grad
    lam, mu = lame_parameters(YOUNG_MPA, POISSON)
    strain = (grad + np.swapaxes(grad, 0, 1)) / 2
    upright = 2 * mu * strain[2, 2] + lam * np.einsum("kk...->...", strain)
    points = np.asarray(basis.global_coordinates()).reshape(3, -1)
    here = (points[2] > tub.pad_high_mm) & (abs(points[1] - tub.pad_at_mm) < NEAR_MM)
    here &= points[0] > tub.half_x_mm - tub.wall_mm
    return points[:, here], upright.ravel()[here]


def _block(x: tuple[float, float], y: tuple[float, float], z: tuple[float, float]) -> cq.Workplane:
    sizes = [high - low for low, high in (x, y, z)]
    return cq.Workplane().box(*sizes, centered=False).translate((x[0], y[0], z[0]))
