"""Slabs within a shape whose walls do not stand upright."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from generators.dummy.given import STEP_MM, slabs_within
from generators.dummy.sections import prism, united


def filled(solid: manifold3d.Manifold) -> manifold3d.Manifold:
    """All slabs as one."""
    return united(prism(one.plan, one.z0_mm, one.z1_mm) for one in slabs_within(solid))


def test_a_stack_of_blocks_is_filled_to_its_faces() -> None:
    """A ledge at a height of no step's is a level all the same."""
    stack = manifold3d.Manifold.cube([10, 10, 3.7]) + manifold3d.Manifold.cube([4, 10, 9.3])
    assert filled(stack).volume() == pytest.approx(stack.volume(), rel=1e-9)
    ends = [one.z1_mm for one in slabs_within(stack)]
    assert any(end == pytest.approx(3.7) for end in ends)
    assert np.diff([0.0, *ends]).max() <= STEP_MM + 1e-9


@pytest.mark.parametrize("up", [True, False], ids=["cone", "funnel"])
def test_slabs_stay_within_slanting_walls(up: bool) -> None:
    """What they leave out is a step wide at most."""
    low, high = (9.0, 3.0) if up else (3.0, 9.0)
    cone = manifold3d.Manifold.cylinder(6.0, low, high, 60)
    inside = filled(cone)
    assert (inside - cone).volume() < 1e-5  # the ends are looked at a ten-thousandth inside
    least = manifold3d.Manifold.cylinder(6.0, low - STEP_MM, high - STEP_MM, 60)
    assert (least - inside).volume() < 1e-6


def test_a_groove_narrower_than_a_step_is_seen() -> None:
    """A sharp one round a column, between two steps: no slab runs across it."""
    profile = [[0, 0], [5, 0], [5, 2.3], [4, 2.55], [5, 2.8], [5, 6], [0, 6]]
    section = manifold3d.CrossSection([np.array(profile, float)])
    column = section.revolve(48)
    assert (filled(column) - column).volume() < 1e-6
