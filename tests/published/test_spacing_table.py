"""Creepage and clearance against the rows of IEC 60664-1."""

from __future__ import annotations

import pytest

from layouts.shorts.spacing_table import clearance_mm, creepage_mm

# EN 60664-1 table F.4, material group III, mm by working volts, as reproduced in a maker's
# 2015 catalogue of terminal blocks, p. 596
PD2 = {
    10: 0.4,
    12.5: 0.42,
    16: 0.45,
    20: 0.48,
    25: 0.5,
    32: 0.53,
    40: 1.1,
    50: 1.2,
    63: 1.25,
    80: 1.3,
    100: 1.4,
    125: 1.5,
    160: 1.6,
    200: 2.0,
    250: 2.5,
    320: 3.2,
    400: 4.0,
    500: 5.0,
    630: 6.3,
    800: 8.0,
    1000: 10.0,
}
PD3 = {
    10: 1.0,
    25: 1.25,
    32: 1.3,
    40: 1.8,
    50: 1.9,
    63: 2.0,
    80: 2.1,
    100: 2.2,
    125: 2.4,
    160: 2.5,
    200: 3.2,
    250: 4.0,
    500: 8.0,
    1000: 16.0,
}
# The same page, material groups I and II in pollution degree 2: not used by the project
PD2_I = {10: 0.4, 25: 0.5, 50: 0.6, 63: 0.63, 100: 0.71, 250: 1.25, 500: 2.5, 1000: 5.0}
PD2_II = {40: 0.8, 50: 0.85, 63: 0.9, 100: 1.0, 250: 1.8, 500: 3.6, 1000: 7.1}
# IEC 60664-1 table F.2, inhomogeneous field, pollution degree 2: mm by rated impulse, at the
# largest volts with that impulse in overvoltage category II (table F.1); from memory, not confirmed
CLEARANCE = {50: 0.2, 100: 0.2, 150: 0.5, 300: 1.5, 600: 3.0, 1000: 5.5}


@pytest.mark.parametrize(("volts", "mm"), PD2.items())
def test_creepage_in_a_closed_box(volts: float, mm: float) -> None:
    """Every printed row of pollution degree 2, typed a second time: detects a change only."""
    assert creepage_mm(volts, 2) == mm


@pytest.mark.parametrize(("volts", "mm"), PD3.items())
def test_creepage_in_an_open_or_splashed_box(volts: float, mm: float) -> None:
    """Every printed row of pollution degree 3, typed a second time: detects a change only."""
    assert creepage_mm(volts, 3) == mm


@pytest.mark.parametrize(("volts", "mm"), CLEARANCE.items())
def test_clearance_from_memory(volts: float, mm: float) -> None:
    """Remembered rows, typed a second time: detects a change only. Degree 3: 0.8 mm or more."""
    assert clearance_mm(volts, 2) == mm
    assert clearance_mm(volts, 3) == max(mm, 0.8)


@pytest.mark.parametrize("volts", [v for v in PD2 if v >= 160])
def test_creepage_grows_with_the_volts_from_160_on(volts: float) -> None:
    """10 mm a kilovolt in degree 2, the rule behind the rows; in degree 3 1.6 times as much."""
    assert creepage_mm(volts, 2) == pytest.approx(volts / 100.0, rel=1e-9)
    if volts in PD3 and volts >= 200:
        assert creepage_mm(volts, 3) == pytest.approx(1.6 * volts / 100.0, rel=1e-9)


def test_other_groups_of_material_need_less() -> None:
    """Group III needs at least what II and I need, from 250 V on twice as much as I."""
    for volts, mm in (PD2_I | PD2_II).items():
        assert creepage_mm(volts, 2) >= mm
    for volts in (250, 500, 1000):
        assert creepage_mm(volts, 2) == pytest.approx(2.0 * PD2_I[volts], rel=1e-9)


@pytest.mark.parametrize("volts", [50, 100])
@pytest.mark.parametrize("degree", [2, 3])
def test_along_a_surface_is_farther_than_through_air(volts: float, degree: int) -> None:
    """A creepage distance is never below the clearance of the same circuit."""
    assert creepage_mm(volts, degree) >= clearance_mm(volts, degree)
