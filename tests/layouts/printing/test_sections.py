"""Sections hold what the drawing holds, layer by layer."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from layouts.parts.convex import block as convex_block
from layouts.parts.feature import Effect, Feature
from layouts.parts.given import GivenShape
from layouts.parts.part import Part
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of
from layouts.printing.sections import LayerStack, layer_stack
from layouts.slabs.bore import Bore, through
from layouts.slabs.profile import circle
from tests.layouts.printing.shapes import block, part_of, rectangle
from tests.samples import sample_pack


def stacked_mm3(stack: LayerStack) -> float:
    """Volume of all layers."""
    areas = shapely.area(np.array(stack.sections))
    return float(areas[list(stack.of)].sum() * stack.layer_mm)


def test_layers_that_do_not_differ_share_a_section() -> None:
    """A block with a hole: one section of its plan, all the way up."""
    stack = layer_stack(block(30.0, 20.0, 4.0, hole_mm=8.0), 0.2)
    assert stack.of == (0,) * 20
    assert stack.sections[0].area == pytest.approx(30.0 * 20.0 - math.pi * 16.0, rel=2e-3)
    assert stack.sections[0].bounds == pytest.approx((0.0, 0.0, 30.0, 20.0))


def test_a_step_begins_at_its_own_layer() -> None:
    """Five layers of the foot, then what stands on it."""
    stack = layer_stack(
        part_of(
            [
                Feature(name="foot", loops=(rectangle(0, 0, 20, 20),), z0_mm=0.0, z1_mm=1.0),
                Feature(name="post", loops=(circle((10, 10), 4.0),), z0_mm=0.0, z1_mm=3.0),
            ]
        ),
        0.2,
    )
    assert stack.of == (0,) * 5 + (1,) * 10
    assert [one.area for one in stack.sections] == pytest.approx([400.0, 16 * math.pi], rel=1e-2)


def test_an_island_in_a_hole_is_material() -> None:
    """A ring trench: its inner island stands in the hole, and the hole in the block."""
    part = part_of(
        [
            Feature(name="block", loops=(rectangle(-20, -20, 20, 20),), z0_mm=0.0, z1_mm=2.0),
            Feature(
                name="trench", loops=(circle((0, 0), 12.0),), z0_mm=1.0, z1_mm=2.0,
                effect=Effect.CUT,
            ),
            Feature(name="island", loops=(circle((0, 0), 6.0),), z0_mm=1.0, z1_mm=2.0),
        ]
    )  # fmt: skip
    upper = layer_stack(part, 0.2).sections[-1]
    assert upper.area == pytest.approx(1600 - math.pi * (144 - 36), rel=2e-3)
    assert shapely.contains_xy(upper, 0.0, 0.0)
    assert not shapely.contains_xy(upper, 9.0, 0.0)


@pytest.mark.parametrize(
    "bore",
    [
        through((10.0, 0.0, 5.0), (0.0, 1.0, 0.0), 2.0, 20.0),
        Bore((0.0, 10.0, 5.0), (1.0, 0.0, 0.0), 3.0, 8.0),
    ],
)
def test_a_sideways_bore_is_taken_off(bore: Bore) -> None:
    """Its volume, from sections of five layers each."""
    whole = [Feature(name="block", loops=(rectangle(0, 0, 20, 20),), z0_mm=0.0, z1_mm=10.0)]
    solid = stacked_mm3(layer_stack(part_of(whole), 0.05))
    bored = stacked_mm3(layer_stack(part_of(whole, bores=(bore,)), 0.05))
    # a prism of 24 sides has 1.2 % less than the circle; layers as steps stray by less
    assert solid - bored == pytest.approx(bore.volume_mm3, rel=0.03)


def given_block() -> Part:
    """A shape that is given as a mesh: 4 x 2 x 3."""
    piece = convex_block((0.0, 0.0, 0.0), (4.0, 2.0, 3.0))
    shape = GivenShape(
        vertices_mm=piece.vertices_mm, faces=piece.faces, solid=b"", solid_mm3=24.0,
        curved_mm2=0.0, pieces=(piece,),
    )  # fmt: skip
    return Part(
        name="given", role="bracket", field="mount", drawing=shape, placed=(np.eye(4),),
        colour=(0.5, 0.5, 0.5),
    )  # fmt: skip


def test_a_given_shape_is_cut_from_its_mesh() -> None:
    """Its plan at every height, closed."""
    stack = layer_stack(given_block(), 0.2)
    assert len(stack.of) == 15
    assert shapely.area(np.array(stack.sections)) == pytest.approx(8.0)


def test_layers_of_every_part_of_a_pack_hold_its_volume() -> None:
    """Pockets, channels, lead-ins, sunk figures, bores and pins: within a hundredth."""
    pins = 0
    for part in parts_of(plan_pack(sample_pack(3, 2))):
        volume = part.drawing.volume_mm3() + part.supports_mm3
        stack = layer_stack(part, 0.05)
        assert stacked_mm3(stack) == pytest.approx(volume, rel=0.01), part.name
        assert all(section.is_valid for section in stack.sections)
        pins += len(part.supports)
    assert pins


def test_a_step_at_the_middle_of_a_layer_is_cut_once() -> None:
    """At the height where one wall ends and another begins: what begins there."""
    part = part_of(
        [
            Feature(name="foot", loops=(rectangle(0, 0, 20, 20),), z0_mm=0.0, z1_mm=0.5),
            Feature(name="post", loops=(rectangle(0, 5, 20, 15),), z0_mm=0.0, z1_mm=1.0),
        ]
    )
    stack = layer_stack(part, 0.2)
    assert shapely.area(np.array(stack.sections))[list(stack.of)] == pytest.approx(
        [400, 400, 200, 200, 200]
    )
