"""Nickel strip against a maker's bulletin on nickel 200 and 201, table 3 (its units converted)."""

from __future__ import annotations

import math

import pytest

from layouts.formats import conductors
from layouts.heat.paths import metal_w_mk

# ohm of a wire of one circular mil (a round of 0.001 in) and one foot, in ohm m
OHM_CMIL_FT = math.pi / 4 * 0.0254e-3**2 / 0.3048
BTU_IN = 0.144228  # 1 BTU in/(ft2 h F) in W/(m K)


@pytest.mark.parametrize(("celsius", "ohm_cmil_ft"), [(21.1, 58.0), (93.3, 76.0)])
def test_resistivity_of_commercially_pure_nickel(celsius: float, ohm_cmil_ft: float) -> None:
    """70 F and 200 F, to the last digit printed (half of 1 in 58)."""
    nickel = conductors()["nickel"]
    ohm_m = nickel.ohm_m * (1.0 + nickel.per_kelvin * (celsius - 20.0))
    assert ohm_m == pytest.approx(ohm_cmil_ft * OHM_CMIL_FT, rel=0.5 / 58)


def test_heat_conducted_follows_from_the_resistivity() -> None:
    """487 BTU in/(ft2 h F) at 70 F; Wiedemann and Franz's relation holds within 10 % of it."""
    assert metal_w_mk(conductors()["nickel"].ohm_m) == pytest.approx(487 * BTU_IN, rel=0.1)
