"""Trouble of the kernel is told in the pack file's terms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox

from generators.kernel import of_part
from generators.making import made_part
from layouts.errors import LibraryError, PlanError, told_by_field
from layouts.parts.drawing import drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.slabs.bore import Bore
from layouts.slabs.profile import circle, rectangle

BLOCK = Feature(name="block", loops=(rectangle(0, 0, 20, 30),), z0_mm=0.0, z1_mm=10.0)


def block(*bores: Bore) -> Part:
    """A block with bores."""
    drawing = drawing_of((BLOCK,), part="block", field="mount", bores=bores)
    return Part(
        name="block", role="block", field="mount", drawing=drawing, placed=(np.eye(4),),
        colour=(0.5, 0.5, 0.5),
    )  # fmt: skip


def test_a_bore_that_meets_nothing_names_part_and_section() -> None:
    """What the kernel finds wrong is told by the section that the sizes come from."""
    outside = Bore((50.0, 50.0, 5.0), (1.0, 0.0, 0.0), 2.0, 5.0)
    with pytest.raises(PlanError, match=r"^mount: gives .* the part block: .*bore") as caught:
        made_part(block(outside))
    assert caught.value.__cause__ is not None


def test_the_kernels_own_exceptions_are_told_so_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """An exception of the kernel, which has no class of ours, is told in the same words."""

    def failing(body: object) -> object:
        return BRepPrimAPI_MakeBox(0.0, 1.0, 1.0).Solid()

    monkeypatch.setattr(of_part, "solid", failing)
    with pytest.raises(LibraryError, match=r"block: .*a size of this section"):
        made_part(block())


def test_other_errors_pass_through() -> None:
    """A fault of the tool's own stays one."""
    with pytest.raises(ZeroDivisionError), told_by_field("mount", what="it"):
        raise ZeroDivisionError


def test_features_that_make_no_body_are_told_by_their_section() -> None:
    """Two discs that touch in a point: the drawing names part and section."""
    discs = (circle((0, 0), 5.0), circle((10.0, 0.0), 5.0))
    touching = Feature(name="discs", loops=discs, z0_mm=0.0, z1_mm=3.0)
    with pytest.raises(PlanError, match=r"^enclosure: gives a part that can't be drawn, tub:"):
        drawing_of((touching,), part="tub", field="enclosure")


def test_features_of_one_name_have_the_same_loops() -> None:
    """One region is one figure."""
    other = replace(BLOCK, loops=(rectangle(0, 0, 2, 3),), effect=Effect.CUT)
    with pytest.raises(ValueError, match="different loops"):
        drawing_of((BLOCK, other), part="block", field="mount")
