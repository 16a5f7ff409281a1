"""One joint's sheet as a conductor, against a general finite-element library on the same shape.

Triangles of the second order, the sheet's edge and the contacts' edges as polygons: what the
raster gets wrong is seen. In the normal tests one inner joint; others are slow.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import skfem
from numpy.typing import NDArray
from scipy.spatial import Delaunay
from skfem.models.poisson import laplace

from generators.packfile.resolve import parse_pack
from layouts.currents.plates import CONTACT_MM
from layouts.planning.steps import interconnected, laid_out
from layouts.strips.field import STEP_MM, SheetField, sheet_field
from tests.sampled import sampled

SIEMENS = 0.15e-3 / 9.6e-8
EDGE_MM, INSIDE_MM = 0.3, 0.6  # between points of the mesh, along edges and inside


def joint(format: str, lattice: str, parallel: int) -> tuple[shapely.Polygon, NDArray[np.float64]]:
    """An inner plate of a 4S pack, without its tail, and the centres of its can ends."""
    text = (
        f"name: one\ncell: {{format: '{format}'}}\nseries: 4\nparallel: {parallel}\n"
        f"lattice: {lattice}\n"
    )
    plan = interconnected(laid_out(parse_pack(text.encode(), "pack.yaml").pack))
    plate = next(one for one in plan.interconnect.plates if not one.is_end)
    return plate.body, plan.cell_layout.xy_mm[list(plate.cells)]


def by_elements(shape: shapely.Polygon, contacts: list[shapely.Polygon]) -> NDArray[np.float64]:
    """(k, k) siemens between contacts, each held at one potential along its edge."""
    free = shape.difference(shapely.union_all(contacts))
    rings = [ring for part in shapely.get_parts(free) for ring in (part.exterior, *part.interiors)]
    along = [shapely.get_coordinates(shapely.segmentize(ring, EDGE_MM))[:-1] for ring in rings]
    x0, y0, x1, y1 = free.bounds
    x, y = np.meshgrid(np.arange(x0, x1, INSIDE_MM), np.arange(y0, y1, INSIDE_MM))
    inside = np.column_stack([x.ravel(), y.ravel()])
    deep = shapely.contains_xy(free.buffer(-0.5 * EDGE_MM), inside[:, 0], inside[:, 1])
    points = np.vstack([*along, inside[deep]])
    corners = Delaunay(points).simplices
    middle = points[corners].mean(axis=1)
    one, other = (
        points[corners[:, 1]] - points[corners[:, 0]],
        points[corners[:, 2]] - points[corners[:, 0]],
    )
    wide = np.abs(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
    corners = corners[(wide > 1e-6) & shapely.contains_xy(free, middle[:, 0], middle[:, 1])]
    used, corners = np.unique(corners, return_inverse=True)
    mesh = skfem.MeshTri(points[used].T, corners.reshape(-1, 3).T)
    basis = skfem.Basis(mesh, skfem.ElementTriP2())
    stiff = SIEMENS * laplace.assemble(basis)
    at = shapely.points(basis.doflocs.T)
    # the dofs between two points of a contact's edge lie on its chord, a hair inside its circle
    held = [np.flatnonzero(shapely.distance(at, one.exterior) < 1e-6) for one in contacts]
    siemens = np.zeros((len(contacts), len(contacts)))
    for k, mine in enumerate(held):
        volts = np.zeros(basis.N)
        volts[mine] = 1.0
        solved = skfem.solve(*skfem.condense(stiff, x=volts, D=np.concatenate(held)))
        flow = stiff @ solved
        siemens[:, k] = [flow[one].sum() for one in held]
    return siemens


def loss_w(siemens: NDArray[np.float64], amps: NDArray[np.float64]) -> float:
    """Heat where these currents enter at the contacts; they sum to zero."""
    volts = np.zeros(len(amps))
    volts[1:] = np.linalg.solve(siemens[1:, 1:], amps[1:])
    return float(volts @ amps)


def fields(shape: shapely.Polygon, xy: NDArray[np.float64], step_mm: float) -> SheetField:
    """The raster of this step."""
    return sheet_field(shape, list(shapely.buffer(shapely.points(xy), CONTACT_MM)), SIEMENS,
                       step_mm=step_mm)  # fmt: skip


@pytest.mark.parametrize(
    ("format", "lattice", "parallel"),
    sampled(
        [("21700", "honeycomb", 4), ("18650", "grid", 4), ("26650", "honeycomb", 6),
         ("18650", "honeycomb", 5), ("32700", "grid", 3)],
        lambda case: case == ("21700", "honeycomb", 4),
    ),
)  # fmt: skip
def test_the_raster_is_within_one_percent_of_elements_and_of_a_finer_one(
    format: str, lattice: str, parallel: int
) -> None:
    """Loss of one joint with a current of one ampere from each cell of a group to the next group,
    and with all of it to one cell."""
    shape, xy = joint(format, lattice, parallel)
    contacts = list(shapely.buffer(shapely.points(xy), CONTACT_MM))
    elements = by_elements(shape, contacts)
    assert np.abs(elements.sum(axis=0)).max() < 1e-6 * np.abs(elements).max()
    order = np.argsort(xy[:, 1] if np.ptp(xy[:, 1]) < np.ptp(xy[:, 0]) else xy[:, 0])
    evenly = np.where(np.isin(np.arange(len(xy)), order[: len(xy) // 2]), 1.0, -1.0)
    single = np.full(len(xy), -1.0 / (len(xy) - 1))
    single[order[0]] = 1.0
    for amps in (evenly, single):
        exact = loss_w(elements, amps)
        coarse, fine = (
            loss_w(fields(shape, xy, step_mm).conductance, amps)
            for step_mm in (STEP_MM, STEP_MM / 2)
        )
        print(format, lattice, parallel, coarse / exact - 1, fine / exact - 1)
        assert coarse == pytest.approx(exact, rel=0.01)
        assert coarse == pytest.approx(fine, rel=0.01)
