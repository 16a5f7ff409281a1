"""The outside derived from the plan against the finished parts' meshes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from generators.making import made_part
from generators.proofs.together import placed_mesh
from generators.proving import outside_points as finished_points
from layouts import defaults
from layouts.pack import Lattice, Pack
from layouts.parts.drawing import CHORD_MM
from layouts.parts.outside import OVER_MM, outside_points
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of
from layouts.suggesting.judging import planned_outside
from layouts.suggesting.masses import PRINTED_OFF, holders_mm3
from tests.samples import sample_pack

pytestmark = pytest.mark.one_in(3)  # cases that plan a pack each

# at both ends of a side a round may stand out: told by chords outside it, made of chords inside it
SIZE_OFF_MM = 2 * 2 * CHORD_MM  # heights are exact
NOISE_MM = 1e-6


def on_bed(bed_mm: float, *shape: int, lattice: Lattice, format: str) -> Pack:
    """A pack for a printer of that bed."""
    printer = replace(defaults.printer(), bed_mm=(bed_mm, bed_mm, 250.0))
    return sample_pack(*shape, lattice=lattice, format=format, printer=printer)


PACKS = {
    "whole": on_bed(250.0, 10, 2, lattice=Lattice.HONEYCOMB, format="18650"),
    "one cell": on_bed(220.0, 1, 1, lattice=Lattice.GRID, format="26650"),
    "cut": on_bed(150.0, 7, 3, lattice=Lattice.HONEYCOMB, format="21700"),
}


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", ["one cell", *(pytest.param(n, marks=pytest.mark.slow) for n in ("whole", "cut"))]
)
def test_the_plans_outside_is_the_finished_parts(name: str) -> None:
    """Sides within two chords an end; in the plan never inside a mesh, and out as far as said."""
    plan = plan_pack(PACKS[name])
    placed = [
        placed_mesh(one.name, one.part.role, one.mesh.vertices_mm, one.mesh.faces, matrix)
        for one in map(made_part, parts_of(plan))
        for matrix in one.part.placed
    ]
    true = finished_points(plan, placed)
    outside = planned_outside(PACKS[name])
    told = outside_points(outside.pieces)
    assert np.ptp(told, axis=0) == pytest.approx(np.ptp(true, axis=0), abs=SIZE_OFF_MM)
    assert (told.min(axis=0) <= true.min(axis=0) + NOISE_MM).all()
    assert (told.max(axis=0) >= true.max(axis=0) - NOISE_MM).all()
    assert told[:, 2].min() == pytest.approx(true[:, 2].min())
    assert told[:, 2].max() == pytest.approx(true[:, 2].max())
    pieces = shapely.union_all([shapely.Polygon(piece.corners_mm) for piece in outside.pieces])
    assert shapely.distance(pieces, shapely.points(true[:, :2])).max() <= NOISE_MM
    # how far the pieces stand out: their corners from the shadow of all triangles
    triangles = np.vstack(
        [
            part.vertices_mm[part.faces][:, :, :2]
            for part in placed
            if part.role in ("tub", "lid", "bracket")
        ]
    )
    shadow = shapely.union_all(shapely.polygons(triangles[_area_mm2(triangles) > NOISE_MM]))
    corners = shapely.points(shapely.get_coordinates(pieces))
    assert shapely.distance(shadow, corners).max() <= OVER_MM


def _area_mm2(triangles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Areas of (n, 3, 2) triangles."""
    (a, b), (c, d) = (triangles[:, 1] - triangles[:, 0]).T, (triangles[:, 2] - triangles[:, 0]).T
    return np.abs(a * d - b * c) / 2


@pytest.mark.parametrize("name", PACKS)
def test_estimated_holders_are_near_the_finished_ones(name: str) -> None:
    """Within the share that is promised; all else is weighed from its drawing."""
    plan = plan_pack(PACKS[name])
    true = sum(
        part.drawing.volume_mm3() * len(part.placed)
        for part in parts_of(plan)
        if part.role.startswith("holder")
    )
    told = holders_mm3(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block)
    assert told == pytest.approx(true, rel=PRINTED_OFF)
