"""What a part record refuses."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from layouts.parts.drawing import drawing_of
from layouts.parts.feature import Feature
from layouts.parts.part import Part, check_rigid
from layouts.slabs.profile import rectangle


def part(**changes: Any) -> Part:
    """A plain block as a part."""
    block = Feature(name="block", loops=(rectangle(0, 0, 2, 3),), z0_mm=0.0, z1_mm=1.0)
    values: dict[str, Any] = {
        "name": "block", "role": "block", "field": "holder", "placed": (np.eye(4),),
        "drawing": drawing_of((block,), part="block", field="holder"),
        "colour": (0.5, 0.5, 0.5),
    }  # fmt: skip
    return Part(**{**values, **changes})


def test_a_sound_part_is_taken() -> None:
    """Defaults: no bores, no note."""
    block = part()
    assert block.drawing.bores == ()
    assert block.drawing.volume_mm3() == 6.0
    assert block.print_note == ""


@pytest.mark.parametrize("name", ["", "a b", "../a", "a.stl", "é"])
def test_a_name_that_is_no_file_stem_is_refused(name: str) -> None:
    """Letters, digits, - and _ only: a name becomes part of a path."""
    with pytest.raises(ValueError, match="is no file stem"):
        part(name=name)


def test_a_colour_out_of_range_is_refused() -> None:
    """Shares lie between 0 and 1, not 0 and 255."""
    with pytest.raises(ValueError, match="outside 0 to 1"):
        part(colour=(128, 0, 0))


@pytest.mark.parametrize(
    "matrix",
    [
        np.diag([1.0, -1.0, 1.0, 1.0]),
        np.diag([2.0, 2.0, 2.0, 1.0]),
        np.diag([1.0, 1.0, 1.0, 2.0]),
        np.array([[1.0, 0.1, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]]),
    ],
    ids=["mirror", "stretch", "projective", "shear"],
)
def test_a_placement_that_does_more_than_turn_and_shift_is_refused(matrix: np.ndarray) -> None:
    """A mirrored or stretched copy is not the printed part."""
    with pytest.raises(ValueError, match="block: a placement may only turn and shift"):
        part(placed=(matrix,))


def test_a_placement_of_another_shape_or_without_numbers_is_refused() -> None:
    """A 3x3 matrix or a NaN is reported as such."""
    for matrix in (np.eye(3), np.full((4, 4), np.nan)):
        with pytest.raises(ValueError, match="finite 4x4 matrix"):
            check_rigid(matrix, what="block")
