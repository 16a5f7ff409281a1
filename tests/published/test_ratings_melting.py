"""Melting wires against published constants and worked values."""

from __future__ import annotations

import pytest

from layouts.ratings.melting import (
    adiabatic_k,
    preece_a,
)
from layouts.ratings.wire import awg_diameter_mm

# Preece's constants, A for d in inches: public page of fuse equations (Ness Engineering);
# D. Brooks and J. Adam, PCD&F
PREECE = {
    "copper": 10244,
    "aluminium": 7585,
    "platinum": 5172,
    "german_silver": 5230,
    "platinoid": 4750,
    "iron": 3148,
    "tin": 1642,
    "tin_lead": 1318,
    "lead": 1379,
}
# The same for d in mm, divided by 25.4^1.5; the copper of 80 A for 1 mm is the usual round figure
PREECE_1MM = {"copper": 80.02, "aluminium": 59.25, "iron": 24.59, "tin": 12.83, "lead": 10.77}
# Worked by hand from the constant, A by gauge
PREECE_GAUGE = {10: 333.2, 16: 117.36, 20: 58.53, 24: 29.19}
# Factor k as IEC 60364 tables print it; from memory, not confirmed
ADIABATIC = {
    ("copper", 70.0, 160.0): 115.0,
    ("copper", 30.0, 160.0): 143.0,
    ("copper", 90.0, 250.0): 143.0,
    ("aluminium", 70.0, 160.0): 76.0,
}


@pytest.mark.parametrize(("metal", "constant"), PREECE.items())
def test_an_inch_of_wire_melts_at_the_constant(metal: str, constant: float) -> None:
    """Each published constant, by its own meaning."""
    assert preece_a(diameter_mm=25.4, metal=metal) == pytest.approx(constant, rel=1e-12)


@pytest.mark.parametrize(("metal", "ampere"), PREECE_1MM.items())
def test_a_millimetre_of_wire(metal: str, ampere: float) -> None:
    """Constants for millimetres."""
    assert preece_a(diameter_mm=1.0, metal=metal) == pytest.approx(ampere, rel=1e-3)


@pytest.mark.parametrize(("gauge", "ampere"), PREECE_GAUGE.items())
def test_preece_by_gauge(gauge: int, ampere: float) -> None:
    """Copper wires of four gauges, worked by hand."""
    assert preece_a(diameter_mm=awg_diameter_mm(gauge)) == pytest.approx(ampere, rel=1e-3)


@pytest.mark.parametrize(("case", "printed"), ADIABATIC.items())
def test_heating_without_losses(case: tuple[str, float, float], printed: float) -> None:
    """k by the formula within half a per cent of the remembered tables."""
    metal, from_c, to_c = case
    assert adiabatic_k(metal=metal, from_c=from_c, to_c=to_c) == pytest.approx(printed, rel=0.005)
