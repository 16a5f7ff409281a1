"""The placed assembly: cans go in, nothing interpenetrates, all of it lies within the space."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from generators.proofs.solids import cans_solid, mesh_solid, placed_points
from layouts.checks import Check

__all__ = ["PlacedMesh", "cell_checks", "overlap_checks", "placed_mesh"]

OVERLAP_MM3 = 0.01  # two parts drawn to touch share a face; more than float noise is a clash
LIFT_MM = 0.01  # a can that stands on the lip touches it: lifted by this, it must be free
CLASH_MM3 = 1e-3  # a can that does not go in bites at least this much; chords alone never do
LARGER_POCKET = (
    "a larger holder.clearance_mm, or the can's actual diameter in cell.measured_diameter_mm"
)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlacedMesh:
    """One copy of a part in the assembly: (n, 3) points [mm], (m, 3) triangles, its solid."""

    name: str
    role: str
    vertices_mm: NDArray[np.float64]
    faces: NDArray[np.int64]
    solid: manifold3d.Manifold

    @property
    def box_mm(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Least and greatest corner."""
        low, high = np.array(self.solid.bounding_box()).reshape(2, 3)
        return low, high


def placed_mesh(
    name: str,
    role: str,
    vertices_mm: NDArray[np.float64],
    faces: NDArray[np.int64],
    matrix: NDArray[np.float64],
) -> PlacedMesh:
    """A part's mesh put where it belongs."""
    there = placed_points(vertices_mm, matrix)
    return PlacedMesh(
        name=name, role=role, vertices_mm=there, faces=faces, solid=mesh_solid(there, faces)
    )


def cell_checks(
    parts: Sequence[PlacedMesh],
    *,
    xy_mm: NDArray[np.float64],
    diameter_mm: float,
    clearance_mm: float,
    length_mm: float,
    chord_mm: float,
) -> tuple[Check, ...]:
    """All cells at once against all parts, and the three ways in which it must fail.

    ``xy_mm`` (n, 2): centres. ``diameter_mm``, ``length_mm``: the largest allowed can.
    A can two clearances thicker, and one shifted sideways by twice the play, must clash in
    every pocket: that shows that the pockets hold the cans and the test can see a clash.
    """
    z0, z1 = LIFT_MM, length_mm - LIFT_MM
    cans = cans_solid(xy_mm, diameter_mm=diameter_mm, z0_mm=z0, z1_mm=z1, chord_mm=chord_mm)
    bitten = sum((part.solid ^ cans).volume() for part in parts)
    holders = [part for part in parts if part.role.startswith("holder")]
    play = clearance_mm / 2
    thick = _held(holders, xy_mm, np.zeros(2), diameter_mm + 2 * clearance_mm, z0, z1, chord_mm)
    shifted = np.stack(
        [
            _held(holders, xy_mm, np.array(step), diameter_mm, z0, z1, chord_mm)
            for step in ((2 * play + play, 0.0), (0.0, 2 * play + play))
        ]
    ).all(axis=0)
    return (
        _goes_in(bitten),
        _pockets_hold(thick),
        _pockets_centre(np.asarray(shifted, dtype=np.bool_)),
    )


def _goes_in(bitten: float) -> Check:
    return Check(
        id="cells_go_in",
        about="interference of all cells of the largest allowed size with the parts",
        holds=bitten <= OVERLAP_MM3,
        value=bitten,
        limit=OVERLAP_MM3,
        unit="mm3",
        at_least=False,
        source="geometry",
        remedy=LARGER_POCKET,
    )


def _pockets_hold(refused: NDArray[np.bool_]) -> Check:
    return Check(
        id="pockets_hold",
        about="a can two clearances larger does not enter any pocket (pockets that block it)",
        holds=bool(refused.all()),
        value=float(refused.sum()),
        limit=float(len(refused)),
        unit="",
        source="geometry",
        remedy=LARGER_POCKET,
    )


def _pockets_centre(refused: NDArray[np.bool_]) -> Check:
    return Check(
        id="pockets_centre",
        about=(
            "a can shifted sideways by more than the clearance interferes (pockets that block it)"
        ),
        holds=bool(refused.all()),
        value=float(refused.sum()),
        limit=float(len(refused)),
        unit="",
        source="geometry",
        remedy=LARGER_POCKET,
    )


def _held(
    holders: Sequence[PlacedMesh],
    xy_mm: NDArray[np.float64],
    step_mm: NDArray[np.float64],
    diameter_mm: float,
    z0_mm: float,
    z1_mm: float,
    chord_mm: float,
) -> NDArray[np.bool_]:
    """(n,) whether the can of each cell clashes with both holders' ends (lower and upper)."""
    xy = xy_mm + step_mm
    middle = (z0_mm + z1_mm) / 2
    cans = cans_solid(xy, diameter_mm=diameter_mm, z0_mm=z0_mm, z1_mm=z1_mm, chord_mm=chord_mm)
    tree = cKDTree(xy)
    bitten_mm3 = np.zeros(2 * len(xy))
    for holder in holders:
        shared = (holder.solid ^ cans).to_mesh64()
        corners = np.asarray(shared.vert_properties)[:, :3][np.asarray(shared.tri_verts)]
        if not len(corners):
            continue
        # cans that are this thick or shifted may touch, so that what they bite is one piece: each
        # triangle counts for the can that it is nearest to
        centre = corners.mean(axis=1)
        _, cell = tree.query(centre[:, :2])
        about = corners - np.column_stack([xy[cell], np.full(len(cell), middle)])[:, None]
        volumes = np.einsum("ij,ij->i", about[:, 0], np.cross(about[:, 1], about[:, 2])) / 6.0
        end = cell + len(xy) * (centre[:, 2] > middle)
        bitten_mm3 += np.bincount(end, weights=volumes, minlength=2 * len(xy))
    return np.asarray((bitten_mm3.reshape(2, -1) >= CLASH_MM3).all(axis=0), dtype=np.bool_)


def overlap_checks(parts: Sequence[PlacedMesh]) -> tuple[Check, ...]:
    """The worst overlap between any two placed parts."""
    worst, pair = 0.0, "no two parts are close to each other"
    boxes = [part.box_mm for part in parts]
    for i, j in itertools.combinations(range(len(parts)), 2):
        (low_i, high_i), (low_j, high_j) = boxes[i], boxes[j]
        if (low_i >= high_j).any() or (low_j >= high_i).any():
            continue
        shared = (parts[i].solid ^ parts[j].solid).volume()
        if shared >= worst:
            worst, pair = shared, f"{parts[i].name} and {parts[j].name}"
    return (
        Check(
            id="parts_clear",
            about=f"no interference between printed parts (worst: {pair})",
            holds=worst <= OVERLAP_MM3,
            value=worst,
            limit=OVERLAP_MM3,
            unit="mm3",
            at_least=False,
            source="geometry",
            remedy="a fault of the tool, not of the pack file: keep the file and the log",
            where=pair,
        ),
    )
