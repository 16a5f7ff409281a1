"""Conductances round a cell, by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from layouts.heat.paths import (
    STILL_GAP_MM,
    along_cell_k_w,
    facing_factor,
    gap_w_m2k,
    metal_w_mk,
    strip_w_k,
)


def test_all_sectors_together_make_less_than_the_isolated_pair() -> None:
    """The part of a pair's flux that leaves within a sector grows with it up to the whole."""
    apart = np.array([22.95])
    factors = [
        facing_factor(diameter_mm=21.2, apart_mm=apart, sector_deg=sector)[0]
        for sector in (30.0, 60.0, 90.0, 180.0, 360.0)
    ]
    assert factors == sorted(factors)
    ratio = 22.95 / 21.2
    assert factors[-1] == pytest.approx(2 * math.pi / math.acosh(2 * ratio**2 - 1), rel=1e-12)


def test_a_narrow_sector_of_near_cylinders_is_a_flat_gap() -> None:
    """Within a tenth of a degree two near cylinders face each other over their gap: arc / gap."""
    factor = facing_factor(diameter_mm=20.0, apart_mm=np.array([20.02]), sector_deg=0.1)[0]
    assert factor == pytest.approx(10.0 * math.radians(0.1) / 0.02, rel=1e-3)


@pytest.mark.parametrize("apart", [20.0, 19.0])
def test_cylinders_that_touch_are_refused(apart: float) -> None:
    """Nothing between them: no finite conductance."""
    with pytest.raises(ValueError, match="stand clear"):
        facing_factor(diameter_mm=20.0, apart_mm=np.array([20.5, apart]), sector_deg=60.0)


def test_gaps_carry_by_air_and_by_radiation() -> None:
    """2.7 W/(m2 K) through 10 mm of air of 0.027, and 5 by radiation; wide gaps keep a floor."""
    gaps = np.array([10.0, STILL_GAP_MM, 80.0])
    films = gap_w_m2k(gaps, air_w_mk=0.027, radiation_w_m2k=5.0)
    assert films[0] == pytest.approx(7.7, rel=1e-12)
    assert films[2] == films[1] < films[0]


def test_along_a_cell_by_hand() -> None:
    """70 mm, 20 mm across, 11.8 W/(m K): 0.07 / (6 x 11.8 x pi x 1e-4) = 3.147 K/W."""
    assert along_cell_k_w(diameter_mm=20.0, length_mm=70.0) == pytest.approx(3.147, rel=1e-3)


def test_a_strip_by_hand() -> None:
    """8 x 0.2 mm over 20 mm: the metal's conductivity times 8e-5 m."""
    strip = strip_w_k(ohm_m=7.0e-8, section_mm2=1.6, length_mm=20.0)
    assert strip == pytest.approx(metal_w_mk(7.0e-8) * 8e-5, rel=1e-12)
    assert metal_w_mk(7.0e-8) == pytest.approx(2.443e-8 * 293.15 / 7.0e-8, rel=1e-12)
