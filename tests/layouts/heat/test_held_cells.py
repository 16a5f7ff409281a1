"""Heat from can to can where holders hold them, worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from layouts.heat.model import network_of
from tests.layouts.heat.models import honeycomb_model


def between_k_w(w_mk: float, depth_mm: float) -> float:
    """Thermal resistance between two cells of one row, K/W."""
    model = honeycomb_model(1, 2)
    held = replace(model.held, w_mk=w_mk, depth_mm=depth_mm)
    (pair,) = network_of(replace(model, held=held)).pair_w_k.tolist()
    return 1.0 / pair


def test_pocket_air_of_both_cells_and_the_web_are_in_series() -> None:
    """Held over all of their 70 mm: a sixth of a tube of air round each can, the web between.

    Through plastic without resistance the air alone counts; twice the plastic's resistance adds
    once more what it added before."""
    still_w_mk = 0.0263 - (300.0 - 298.15) / 50.0 * (0.0263 - 0.0223)  # air at 25 C
    tube = math.log(21.45 / 21.2) / (still_w_mk * math.pi / 3 * 0.070)
    air = between_k_w(1e9, 35.0)
    assert air == pytest.approx(2.0 * tube, rel=1e-6)
    once, twice = (between_k_w(w_mk, 35.0) - air for w_mk in (0.4, 0.2))
    assert once > 0.05 * air and twice == pytest.approx(2.0 * once, rel=1e-6)


def test_open_and_held_lengths_carry_side_by_side() -> None:
    """Half of the way between bare and wholly held cells, at half of the depth."""
    bare, half, whole = (1.0 / between_k_w(0.2, depth) for depth in (0.0, 17.5, 35.0))
    assert half == pytest.approx((bare + whole) / 2, rel=1e-9) and bare != pytest.approx(whole)
