"""Stiffness of brackets against finite elements and beams, frequencies against one spring."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from layouts.brackets.frequency import (
    Washers,
    angle_stiffness_n_mm,
    natural_frequencies_hz,
    plate_stiffness_n_mm,
)
from layouts.brackets.kind import Hold, MountingPad
from layouts.pack import Side
from layouts.physics import GRAVITY_M_S2

HOLD = Hold(out_mm=16.0, below_mm=3.0, apart_mm=20.0)
FOUR = tuple(
    MountingPad(side=side, face_mm=84.0, along_mm=along, underside_mm=-8.0)
    for side in (Side.PLUS_X, Side.MINUS_X)
    for along in (-80.0, 80.0)
)


def plain_angle(thick_mm: float) -> tuple[float, float, float]:
    """29 wide, leg 26 up, clamped from 21 out, no gussets, 2000 MPa."""
    return angle_stiffness_n_mm(
        thick_mm=thick_mm, wide_mm=29.0, near_mm=21.0, up_mm=26.0, rib_mm=0.0, rib_reach_mm=0.0,
        modulus_mpa=2000.0,
    )  # fmt: skip


def test_finite_elements_of_a_plain_angle() -> None:
    """Quadratic tetrahedra, meshes of 4 and 2.5 mm, computed once with a general library: pull 49
    to 51 N/mm and lift 462 at 5 mm, pull 24 at 4 mm; formula within 6 % of pull, 10 % of lift."""
    off, _, upright = plain_angle(5.0)
    assert off == pytest.approx(50.0, rel=0.06)
    assert upright == pytest.approx(462.0, rel=0.10)
    assert plain_angle(4.0)[0] == pytest.approx(24.0, rel=0.06)


def test_gussets_and_thickness_stiffen() -> None:
    """Each direction by a gusset that bends with it; nothing is softer."""
    bare = plain_angle(6.0)
    ribbed = angle_stiffness_n_mm(
        thick_mm=6.0, wide_mm=29.0, near_mm=21.0, up_mm=26.0, rib_mm=4.0, rib_reach_mm=14.0,
        modulus_mpa=2000.0,
    )  # fmt: skip
    assert ribbed[0] > 1.5 * bare[0] and ribbed[2] > 1.2 * bare[2]
    assert all(b > a for a, b in zip(plain_angle(5.0), bare, strict=True))


def row_of(screw: str, *places_mm: tuple[float, float]) -> Washers:
    """Washers at these places."""
    return Washers(screw=screw, places_mm=places_mm)


def test_a_slim_plate_is_a_cantilever() -> None:
    """E b t^3/(4 L^3): 2000 x 20 x 4^3 / (4 x 400^3) = 0.01 N/mm; pulled upright at a lever, a bar
    with L/(E A) (1 + 12 e^2/t^2) (both from any handbook); washers in series are next to nothing
    over such a length."""
    lower, upper = ((x, 0.0) for x in (3.5, 16.5)), ((x, 400.0) for x in (3.5, 16.5))
    off, along, upright = plate_stiffness_n_mm(
        thick_mm=4.0, wide_mm=20.0, arm_mm=400.0, held=row_of("M3", *lower),
        loaded=row_of("M3", *upper), modulus_mpa=2000.0,
    )  # fmt: skip
    assert off == pytest.approx(0.01, rel=0.03)
    assert upright == pytest.approx(2000.0 * 80.0 / 400.0 / (1.0 + 12.0 * 2.5**2 / 16.0), rel=0.05)
    assert off < along < 0.01 * (20.0 / 4.0) ** 2


# Screws, thickness, width, pad screws' row over the frame screws' upper one, frame holes; stiffness
# off the wall, along it and upright at 2000 MPa: quadratic tetrahedra of the bracket's own solid,
# washers as rings of its own plastic, computed once by ``bracket_elements``
TWO = ((0.0, 0.0), (20.0, 0.0))
PLATES = [
    ("M5", 6.0, 38.0, 22.0, TWO, (322.0, 1683.0, 3239.0)),
    ("M6", 8.0, 60.0, 23.0, ((0.0, 0.0), (40.0, 0.0)), (664.0, 3856.0, 5132.0)),
    ("M5", 8.0, 38.0, 22.0, TWO, (517.0, 1861.0, 4221.0)),
    ("M4", 6.0, 37.0, 21.5, (*TWO, (0.0, -20.0), (20.0, -20.0)), (367.0, 1967.0, 3193.0)),
    ("M5", 6.0, 34.0, 22.0, ((10.0, 0.0),), (210.0, 434.0, 2482.0)),
]


@pytest.mark.parametrize(("screw", "thick", "wide", "arm", "holes", "elements"), PLATES)
def test_a_plate_between_washers_is_as_stiff_as_its_elements(
    screw: str,
    thick: float,
    wide: float,
    arm: float,
    holes: tuple[tuple[float, float], ...],
    elements: tuple[float, float, float],
) -> None:
    """Never much stiffer: then a frequency would be told too high."""
    found = plate_stiffness_n_mm(
        thick_mm=thick, wide_mm=wide, arm_mm=arm, held=row_of(screw, *holes),
        loaded=row_of("M4", (0.0, arm), (20.0, arm)), modulus_mpa=2000.0,
    )  # fmt: skip
    for one, other in zip(found, elements, strict=True):
        assert 0.7 <= one / other <= 1.07


def frequencies(mass_kg: float, each_n_mm: float) -> np.ndarray:
    """Four equal brackets round a block whose middle is at the feet's height."""
    return natural_frequencies_hz(
        FOUR, HOLD, (each_n_mm,) * 3, mass_kg=mass_kg, centre_z_mm=-11.0,
        size_mm=(160.0, 200.0, 90.0),
    )  # fmt: skip


def test_three_shifts_are_single_springs() -> None:
    """sqrt(k/m)/(2 pi) of 4 x 100 N/mm and 4 kg: 50.3 Hz, three times; and by the sag at 1 g."""
    found = frequencies(4.0, 100.0)
    alone = math.sqrt(400_000.0 / 4.0) / (2.0 * math.pi)
    assert sum(np.isclose(found, alone)) == 3
    sag_mm = 4.0 * GRAVITY_M_S2 / 400.0
    assert alone == pytest.approx(15.76 / math.sqrt(sag_mm), rel=1e-3)


def test_turning_about_the_upright_axis_by_hand() -> None:
    """k r^2 over m (a^2 + b^2)/12, points at x 100, y 80 +- 10."""
    found = frequencies(4.0, 100.0)
    springs = 50_000.0 * sum(4 * (0.1**2 + y**2) for y in (0.07, 0.09))
    inertia = 4.0 / 12.0 * (0.16**2 + 0.2**2)
    expected = math.sqrt(springs / inertia) / (2.0 * math.pi)
    assert any(np.isclose(found, expected))


def test_heavier_is_slower_and_stiffer_quicker() -> None:
    """With the square roots of mass and stiffness; a pack high above its feet rocks slower."""
    first = frequencies(4.0, 100.0)
    assert frequencies(16.0, 100.0) == pytest.approx(first / 2.0)
    assert frequencies(4.0, 400.0) == pytest.approx(first * 2.0)
    high = natural_frequencies_hz(
        FOUR, HOLD, (100.0,) * 3, mass_kg=4.0, centre_z_mm=60.0, size_mm=(160.0, 200.0, 90.0)
    )
    assert high[0] < first[0]
    turned = tuple(replace(pad, side=Side.PLUS_Y if pad.side is Side.PLUS_X else Side.MINUS_Y)
                   for pad in FOUR)  # fmt: skip
    assert natural_frequencies_hz(
        turned, HOLD, (100.0,) * 3, mass_kg=4.0, centre_z_mm=60.0, size_mm=(200.0, 160.0, 90.0)
    ) == pytest.approx(high)
