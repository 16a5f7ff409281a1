"""Bores across the slabs, by the kernel and in the mesh."""

from __future__ import annotations

import math

import cadquery as cq
import pytest

from generators.kernel.drilled import drilled_solid
from generators.kernel.stitch import solid
from generators.meshes.drilled import drilled_mesh
from generators.meshes.mesh import mesh
from layouts.slabs.bore import Bore
from layouts.slabs.errors import SolidError
from layouts.slabs.profile import rectangle
from layouts.slabs.slabs import Slab, build
from tests.generators.kernel.sound import assert_sound_mesh

BLOCK = build({"a": [rectangle(0, 0, 40, 30, 4)]}, [Slab(0, 20, lambda m: m["a"])])
MOUNTING_PAD = Bore((40, 15, 10), (-1, 0, 0), 2.8, 8.6)
SLANTED = Bore((20, 15, 20), (0.6, 0, -0.8), 2.0, 9.0)
THROUGH = Bore((20, 0, 10), (0, 1, 0), 3.0, 30.1)
CASES = {
    "blind": ((MOUNTING_PAD,), math.pi * 2.8**2 * 8.6),
    # at a slanted mouth the tool leaves half a hoof standing, 2/3 r^3 tan(tilt), tan = 0.6 / 0.8
    "slanted": ((SLANTED,), math.pi * 4 * 9 - 2 / 3 * 8 * 0.75),
    "through": ((THROUGH,), math.pi * 9 * 30),
    "two": ((MOUNTING_PAD, THROUGH), math.pi * (2.8**2 * 8.6 + 9 * 30)),
}


@pytest.mark.parametrize("case", ["blind", "through", "two"])
def test_bores_take_their_cylinders_from_the_solid(case):
    """Volume before less cylinder volumes; still one valid solid."""
    bores, taken = CASES[case]
    drilled = cq.Solid(drilled_solid(solid(BLOCK), bores))
    assert drilled.isValid()
    assert drilled.Volume() == pytest.approx(BLOCK.volume_mm3() - taken, rel=1e-9)


@pytest.mark.parametrize("chord_mm", [0.005, 0.05])
@pytest.mark.parametrize("case", ["blind", "through", "two"])
def test_bores_take_the_same_from_the_mesh(case, chord_mm):
    """The prisms have the circles' area, so the volume is the same at every chord."""
    bores, taken = CASES[case]
    drilled = drilled_mesh(mesh(BLOCK, chord_mm), bores, chord_mm)
    assert_sound_mesh(drilled, BLOCK.volume_mm3() - taken)


def test_a_slanted_bore_agrees_in_solid_and_mesh():
    """A bore at an angle to all axes; its overshoot lies mostly in air, so 0.5 % is allowed."""
    bores, taken = CASES["slanted"]
    by_kernel = BLOCK.volume_mm3() - cq.Solid(drilled_solid(solid(BLOCK), bores)).Volume()
    by_mesh = BLOCK.volume_mm3() - drilled_mesh(mesh(BLOCK), bores, 0.005).volume_mm3()
    assert by_mesh == pytest.approx(by_kernel, rel=1e-3)
    assert by_kernel == pytest.approx(taken, rel=5e-3)


def test_no_bores_hand_back_what_came_in():
    """Nothing to do, nothing changed."""
    made, shape = mesh(BLOCK, 0.1), solid(BLOCK)
    assert drilled_mesh(made, ()) is made
    assert drilled_solid(shape, ()) is shape


@pytest.mark.parametrize(
    ("bore", "said"),
    [
        (Bore((40, 15, 10), (-2, 0, 0), 2.8, 8.6), "has length 2"),
        (Bore((40, 15, 10), (-1, 0, 0), 0, 8.6), "radius 0 and depth 8.6"),
        (Bore((40, 15, 10), (-1, 0, 0), 2, -1), "depth -1"),
        (Bore((60, 15, 10), (-1, 0, 0), 2, 5), "no material"),
        (Bore((20, 0, 10), (0, 1, 0), 12, 30.1), "boring leaves 2"),
    ],
)
def test_bores_that_can_not_be_are_refused(bore, said):
    """Bad direction, bad sizes, a miss, a block cut in two: by both ways."""
    with pytest.raises(SolidError, match=said):
        drilled_solid(solid(BLOCK), (bore,))
    with pytest.raises(SolidError, match=said):
        drilled_mesh(mesh(BLOCK, 0.05), (bore,), 0.05)
