"""Film coefficients: edges and the way they change."""

from __future__ import annotations

import pytest

from layouts.heat.convection import (
    KELVIN,
    UPWARD_CHANGE_RA,
    air,
    horizontal_up_nusselt,
    plate_films_w_m2k,
    radiation_w_m2k,
)


def test_air_between_two_rows_lies_on_a_straight_line() -> None:
    """Half way from 300 to 350 K: the mean of both rows."""
    middle = air(325.0 - KELVIN)
    assert middle.conductivity_w_mk == pytest.approx((0.0263 + 0.0300) / 2.0, rel=1e-12)
    assert middle.viscosity_m2_s == pytest.approx((15.89e-6 + 20.92e-6) / 2.0, rel=1e-12)
    assert middle.expansion_k == pytest.approx(1.0 / 325.0, rel=1e-12)


def test_air_beyond_the_table_keeps_its_ends() -> None:
    """Very cold and very hot air take the first and the last row."""
    assert air(-200.0).conductivity_w_mk == 0.0223
    assert air(900.0).conductivity_w_mk == 0.0338


def test_the_upward_face_has_no_step() -> None:
    """Both correlations meet where one takes over, within the digits of a float."""
    below = horizontal_up_nusselt(UPWARD_CHANGE_RA * (1.0 - 1e-12))
    assert horizontal_up_nusselt(UPWARD_CHANGE_RA) == pytest.approx(below, rel=1e-10)


def test_a_face_as_warm_as_the_air_only_radiates() -> None:
    """No rise, no flow: top and bottom keep radiation, the side its conduction besides."""
    sides, top, bottom = plate_films_w_m2k(0.0, 25.0, high_mm=100.0, plate_mm=40.0)
    shine = radiation_w_m2k(25.0, 25.0)
    assert top == pytest.approx(shine, rel=1e-12)
    assert bottom == pytest.approx(shine, rel=1e-12)
    # Nu = 0.825^2 in still air
    assert sides - shine == pytest.approx(0.825**2 * air(25.0).conductivity_w_mk / 0.1, rel=1e-9)


def test_films_grow_with_the_rise_and_the_top_gives_more_than_the_bottom() -> None:
    """Which keeps the balance's solution a single one."""
    last = (0.0, 0.0, 0.0)
    for warmer in (1.0, 5.0, 20.0, 60.0):
        films = plate_films_w_m2k(warmer, 25.0, high_mm=85.0, plate_mm=42.0)
        assert all(now > before for now, before in zip(films, last, strict=True))
        assert films[1] > films[2]
        last = films
