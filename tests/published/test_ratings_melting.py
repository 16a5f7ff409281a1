"""Melting wires against published constants and worked values."""

from __future__ import annotations

import math

import pytest

from layouts.formats import conductors
from layouts.planning.mass import STRIP_DENSITY_G_CM3
from layouts.ratings.melting import (
    adiabatic_end_c,
    adiabatic_k,
    preece_a,
)
from layouts.ratings.tables import adiabatic
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
CIRCULAR_MIL_MM2 = math.pi / 4 * 0.0254**2


@pytest.mark.parametrize(("metal", "constant"), PREECE.items())
def test_an_inch_of_wire_melts_at_the_constant(metal: str, constant: float) -> None:
    """Each published constant, typed a second time: detects a change, and d^1.5 at one inch."""
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


@pytest.mark.parametrize("seconds", [0.1, 1.0, 5.0])
def test_copper_melts_when_onderdonk_says(seconds: float) -> None:
    """I = A sqrt(lg(1 + (Tm - Ta)/(234 + Ta)) / (33 t)), A in circular mils (I. M. Onderdonk, as
    discussed by D. Brooks and J. Adam, PCD&F; form from memory): constants of its own, 25 C to
    1083 C; 168.9 A for 2581 mils and 5 s."""
    share = math.log10(1.0 + (1083.0 - 25.0) / (234.0 + 25.0)) / (33.0 * seconds)
    printed_a = 2581.0 * math.sqrt(share)
    if seconds == 5.0:
        assert printed_a == pytest.approx(168.86, abs=0.01)
    k = adiabatic_k(from_c=25.0, to_c=1083.0)
    found_a = k * 2581.0 * CIRCULAR_MIL_MM2 / math.sqrt(seconds)
    assert found_a == pytest.approx(printed_a, rel=0.01)


@pytest.mark.parametrize("metal", ["copper", "aluminium"])
def test_the_constants_of_heating_agree_with_the_conductors(metal: str) -> None:
    """Resistance falls on its straight line to nothing at -beta: beta = 1/alpha20 - 20, with
    alpha20 of 0.00393 (IEC 60028) and 0.00403 as tabulated in a handbook, p. 970. Resistivity
    within 2 %: the two grades of aluminium differ by as much."""
    of_wire, of_strip = adiabatic()[metal], conductors()[metal]
    assert of_wire.beta_c == pytest.approx(1.0 / of_strip.per_kelvin - 20.0, abs=0.2)
    assert of_wire.ohm_mm == pytest.approx(of_strip.ohm_m * 1e3, rel=0.02)


def test_copper_takes_up_heat_like_every_solid_metal() -> None:
    """Dulong and Petit: three times the gas constant a mole, 24.94 J/K, reached within 2 % by
    copper and aluminium at 20 C; molar masses 63.546 and 26.982 g, densities of the strips."""
    for metal, gram_mol in (("copper", 63.546), ("aluminium", 26.982)):
        mole_mm3 = gram_mol / STRIP_DENSITY_G_CM3[metal] * 1000.0
        assert adiabatic()[metal].heat_j_k_mm3 * mole_mm3 == pytest.approx(24.94, rel=0.02)


def test_a_heated_wire_step_by_step() -> None:
    """20 A/mm2 in copper for 60 s, heated in 6,000 steps by its resistance at the moment."""
    celsius, heat = 30.0, adiabatic()["copper"].heat_j_k_mm3
    for _ in range(6000):
        ohm_mm = 1.7241e-5 * (1.0 + 0.00393 * (celsius - 20.0))
        celsius += 20.0**2 * ohm_mm * 0.01 / heat
    end_c = adiabatic_end_c(from_c=30.0, current_a=20.0, area_mm2=1.0, seconds=60.0)
    assert end_c == pytest.approx(celsius, rel=1e-3)
