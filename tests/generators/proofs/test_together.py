"""Cans, clashes and gaps in the placed assembly, each with a case in which it fails."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from generators.proofs.together import PlacedMesh, cell_checks, overlap_checks, placed_mesh

CAN, PLAY, LONG = 18.45, 0.25, 65.3
XY = np.array([[0.0, 0.0], [20.2, 0.0]])


def plate(pocket_mm: float, z0: float, *, name: str, xy: np.ndarray = XY) -> PlacedMesh:
    """A plate 10 thick with a round hole for each cell."""
    solid = manifold3d.Manifold.cube([60.0, 40.0, 10.0], True).translate([10.0, 0.0, z0 + 5.0])
    for x, y in xy:
        hole = manifold3d.Manifold.cylinder(20.0, pocket_mm / 2, pocket_mm / 2, 400)
        solid -= hole.translate([x, y, z0 - 5.0])
    mesh = solid.to_mesh64()
    return placed_mesh(
        name,
        "holder_" + name,
        np.asarray(mesh.vert_properties)[:, :3],
        np.asarray(mesh.tri_verts, dtype=np.int64),
        np.eye(4),
    )


def failing(parts: list[PlacedMesh]) -> set[str]:
    """Ids of the cell checks that do not hold."""
    checks = cell_checks(
        parts, xy_mm=XY, diameter_mm=CAN, clearance_mm=PLAY, length_mm=LONG, chord_mm=0.01
    )
    return {check.id for check in checks if not check.holds}


def test_cans_go_into_pockets_of_the_right_size() -> None:
    """Two plates with pockets one clearance wider than the can pass all three proofs."""
    assert (
        failing([plate(CAN + PLAY, 0.0, name="lower"), plate(CAN + PLAY, 55.0, name="upper")])
        == set()
    )


def test_a_pocket_a_millimetre_too_small_stops_the_cans() -> None:
    """The can bites into the wall."""
    parts = [plate(CAN + PLAY, 0.0, name="lower"), plate(CAN - 1.0, 55.0, name="upper")]
    assert "cells_go_in" in failing(parts)


def test_a_pocket_a_millimetre_too_wide_does_not_hold() -> None:
    """A thicker can goes in, and a shifted one too."""
    parts = [plate(CAN + PLAY, 0.0, name="lower"), plate(CAN + 1.0, 55.0, name="upper")]
    assert failing(parts) == {"pockets_hold", "pockets_centre"}


def test_a_pocket_out_of_place_is_noticed() -> None:
    """One pocket of the upper plate half a millimetre off its cell."""
    off = XY + [[0.0, 0.0], [0.5, 0.0]]
    parts = [plate(CAN + PLAY, 0.0, name="lower"), plate(CAN + PLAY, 55.0, name="upper", xy=off)]
    assert "cells_go_in" in failing(parts)


def test_a_missing_holder_is_noticed() -> None:
    """Cells held at one end only are not held."""
    assert {"pockets_hold", "pockets_centre"} <= failing([plate(CAN + PLAY, 0.0, name="lower")])


@pytest.mark.parametrize(("shift", "holds"), [(10.0, True), (9.99, False)])
def test_parts_may_touch_but_not_overlap(shift: float, holds: bool) -> None:
    """Plates face to face are clear; pushed a hundredth into each other they clash."""
    first, second = plate(CAN, 0.0, name="lower"), plate(CAN, shift, name="upper")
    (check,) = overlap_checks([first, second])
    assert check.holds is holds
    assert "lower" in check.about or holds
