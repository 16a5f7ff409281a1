"""The formulas of walls at mounting pads against finite elements of a tub's quarter, lid on.

The peak at a sharp corner grows with every finer mesh: what is held against the formula is the
greatest stress farther than the wall's thickness from the edges of pad and block.
"""

from __future__ import annotations

import numpy as np
import pytest

from layouts.enclosures.pad_walls import bare_modulus_mm3, block_modulus_mm3

pytestmark = pytest.mark.slow

# the demo pack's, about: lift of its worst bracket, and the moment by it
LIFT_N, MOMENT_N_MM = 96.0, 2615.0
CORNER_MM, MIDDLE_MM = 83.2, 50.0  # a pad near a corner of the tub, and far from it
RIM_MM = 82.1  # 2 mm below the rim


def greatest_mpa(**sizes: float) -> float:
    """Stress across the layers above a pad, off the edges."""
    from tests.layouts.enclosures.quarter_tub import QuarterTub, upright_stress

    tub = QuarterTub(**sizes)
    points, stress = upright_stress(tub, force_n=LIFT_N, moment_n_mm=MOMENT_N_MM)
    up, wall = points[2], tub.wall_mm
    off = (up > tub.pad_high_mm + wall) & (abs(up - tub.block_high_mm) > wall)
    off &= abs(abs(points[1] - tub.pad_at_mm) - tub.block_wide_mm / 2) > wall
    assert off.sum() > 1000
    return float(np.abs(stress[off]).max())


@pytest.mark.parametrize("at_mm", [CORNER_MM, MIDDLE_MM], ids=["corner", "middle"])
def test_a_bare_wall_is_stressed_less_than_its_formula_says(at_mm: float) -> None:
    """In the middle of a long wall half as much, near a corner far less."""
    found = greatest_mpa(pad_at_mm=at_mm)
    formula = MOMENT_N_MM / bare_modulus_mm3(2.6, 34.0, 26.0)
    assert 0.1 * formula < found < 0.6 * formula


@pytest.mark.parametrize(
    ("at_mm", "block_mm", "wall_mm"),
    [
        (CORNER_MM, 34.0, 2.6),
        (MIDDLE_MM, 24.0, 2.6),
        (MIDDLE_MM, 24.0, 1.68),
        (CORNER_MM, 34.0, 1.68),
    ],
)
def test_a_block_up_to_the_rim_is_stressed_less_than_its_formula_says(
    at_mm: float, block_mm: float, wall_mm: float
) -> None:
    """Wall and block alike, however wide it is; the bare wall bore some ten times as much."""
    found = greatest_mpa(
        pad_at_mm=at_mm, block_wide_mm=block_mm, block_high_mm=RIM_MM, wall_mm=wall_mm
    )
    formula = MOMENT_N_MM / block_modulus_mm3(wall_mm, block_mm, 10.0, 26.0)
    assert 0.5 * formula < found < formula


def test_a_block_that_ends_far_below_the_rim_only_moves_the_bend() -> None:
    """In the middle of a long wall, 29 mm below the rim: more than twice what the formula of a
    block up to the rim says."""
    found = greatest_mpa(pad_at_mm=MIDDLE_MM, block_high_mm=55.0)
    assert found > 2.0 * MOMENT_N_MM / block_modulus_mm3(2.6, 34.0, 10.0, 26.0)
