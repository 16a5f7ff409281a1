"""No edge of the mock-up is shared by more than two faces."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from generators.dummy.pieces import PrintedPiece
from generators.dummy.touching import THREAD_MM, joined_where_it_touches, touching_edges_mm
from tests.generators.dummy.small import SMALL, dummied
from tests.runs import odd_pack

OTHERS = {
    "flat brackets, a grid": odd_pack(4, 3, lattice="grid", format="21700") + "mount: {kind: flat}",
    "cut for a small bed": odd_pack(5, 3, lattice="honeycomb", format="21700")
    + "printer: {bed_mm: [140, 140, 200]}",
}


def touching(solid: manifold3d.Manifold) -> int:
    """Edges that more than two faces share."""
    mesh = solid.to_mesh64()
    points = np.asarray(mesh.vert_properties, np.float64)[:, :3]
    return len(touching_edges_mm(points, np.asarray(mesh.tri_verts, np.int64)))


def test_two_blocks_that_meet_in_an_edge_become_one_body() -> None:
    """Four faces share the edge; a thread joins them, and the box stays."""
    block = manifold3d.Manifold.cube([10.0, 10.0, 5.0])
    pair = block + block.translate([10.0, 10.0, 0.0])
    assert touching(pair) == 1
    joined = joined_where_it_touches(pair)
    assert touching(joined) == 0
    assert len(joined.decompose()) == 1
    assert joined.bounding_box() == pytest.approx(pair.bounding_box())
    # two quarters of a square thread lie in neither block
    assert joined.volume() - pair.volume() == pytest.approx(2 * THREAD_MM**2 * 5.0, rel=0.01)


def test_a_block_across_the_corner_of_another() -> None:
    """A slanted edge as well, and a block that touches nothing stays as it is."""
    block = manifold3d.Manifold.cube([10.0, 10.0, 5.0]).rotate([20.0, 30.0, 10.0])
    assert touching(joined_where_it_touches(block)) == 0
    assert joined_where_it_touches(block).volume() == pytest.approx(500.0)
    pair = block + (
        manifold3d.Manifold.cube([10.0, 10.0, 5.0])
        .translate([10.0, 10.0, 0.0])
        .rotate([20.0, 30.0, 10.0])
    )
    assert touching(joined_where_it_touches(pair)) == 0


def shared_edges(piece: PrintedPiece) -> int:
    """Counted anew, on the numbers that an STL file has."""
    corners, which = np.unique(
        piece.mesh.vertices_mm.astype(np.float32), axis=0, return_inverse=True
    )
    assert len(corners) > 8
    faces = np.sort(which.reshape(-1)[piece.mesh.faces], axis=1)
    faces = faces[(np.diff(faces, axis=1) > 0).all(axis=1)]
    edges = np.vstack([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [0, 2]]])
    return int((np.unique(edges, axis=0, return_counts=True)[1] > 2).sum())


def test_no_edge_of_a_small_mock_up_is_shared_by_more_than_two_faces() -> None:
    """Base, cap, bracket, buttons and outlets."""
    found = {one.name: shared_edges(one) for one in dummied(SMALL).pieces}
    assert len(found) >= 5
    assert not any(found.values()), found


@pytest.mark.slow
@pytest.mark.parametrize("name", OTHERS)
def test_nor_of_other_forms(name: str) -> None:
    """Other brackets, lattices and beds."""
    found = {one.name: shared_edges(one) for one in dummied(OTHERS[name]).pieces}
    assert not any(found.values()), found
