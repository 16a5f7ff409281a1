"""A given shape answers what a drawing answers."""

from __future__ import annotations

import numpy as np
import pytest

from layouts.parts.convex import block
from layouts.parts.given import GivenShape


def step() -> GivenShape:
    """An invented block of 4 x 2 x 3, as one convex piece."""
    piece = block((0.0, 0.0, 0.0), (4.0, 2.0, 3.0))
    return GivenShape(
        vertices_mm=piece.vertices_mm, faces=piece.faces, solid=b"", solid_mm3=24.0,
        curved_mm2=0.0, pieces=(piece,),
    )  # fmt: skip


def test_volume_and_box_are_the_shapes() -> None:
    """The volume is the solid's, the box the mesh's."""
    assert step().volume_mm3() == 24.0
    assert step().box_mm() == ((0.0, 0.0, 0.0), (4.0, 2.0, 3.0))
    assert step().bores == ()


def test_convex_pieces_are_put_in_place() -> None:
    """Turned a quarter about z and shifted, the box of the pieces follows."""
    matrix = np.array([[0.0, -1, 0, 10], [1, 0, 0, 20], [0, 0, 1, 30], [0, 0, 0, 1]])
    (piece,) = step().convex_pieces(matrix)
    assert piece.vertices_mm.min(axis=0) == pytest.approx([8.0, 20.0, 30.0])
    assert piece.vertices_mm.max(axis=0) == pytest.approx([10.0, 24.0, 33.0])
    assert (piece.faces == step().pieces[0].faces).all()
