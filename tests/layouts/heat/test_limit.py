"""Currents that heat allows, and the table of printed materials."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.formats import materials
from layouts.heat.limit import TemperatureLimits, continuous_limit, discharge_limit
from layouts.heat.model import at_load
from layouts.heat.polymers import MARGIN_K, polymer_heats
from layouts.heat.steady import steady
from layouts.heat.warming import warmed
from tests.layouts.heat.models import honeycomb_model


def limits(cells_c: float = 60.0, material: str = "petg") -> TemperatureLimits:
    """Limits of an invented pack."""
    return TemperatureLimits(cells_c=cells_c, polymer=polymer_heats()[material])


def test_every_printing_material_has_its_heat() -> None:
    """The two tables name the same materials; figures are those of polymers."""
    assert set(polymer_heats()) == set(materials())
    for polymer in polymer_heats().values():
        assert 50.0 <= polymer.softens_c <= 150.0
        assert polymer.most_c == polymer.softens_c - MARGIN_K
        assert 0.1 <= polymer.conductivity_w_mk <= 0.3
        assert 1000.0 <= polymer.heat_j_kgk <= 2000.0


def test_the_lower_limit_counts_and_is_named() -> None:
    """petg softens at 75: 55 is below 60 of the cells; asa lets the cells decide."""
    assert (limits().lowest_c, limits().named) == (55.0, "petg")
    assert (limits(material="asa").lowest_c, limits(material="asa").named) == (60.0, "cells")


@pytest.mark.parametrize(("material", "named"), [("petg", "petg"), ("asa", "cells")])
def test_at_the_continuous_limit_the_hottest_can_is_at_its_limit(material: str, named: str) -> None:
    """Steady there, and above it with one per mille more."""
    model = replace(honeycomb_model(4, 10), cell_w=np.linspace(0.2, 0.5, 40))
    asked = limits(material=material)
    found = continuous_limit(model, asked)
    assert found.limited_by == named
    assert steady(at_load(model, found.amps)).hottest_c == pytest.approx(asked.lowest_c, abs=1e-6)
    assert steady(at_load(model, found.amps * 1.001)).hottest_c > asked.lowest_c


def test_a_bare_packs_limit_by_hand() -> None:
    """One cell in still air: its rise goes with the square of the current."""
    model = honeycomb_model(1, 1, cell_w=0.5, cased=False)
    rise = steady(model).rise_k
    found = continuous_limit(model, limits())
    assert found.amps == pytest.approx(5.0 * (30.0 / rise) ** 0.5, rel=1e-9)


def test_a_full_pack_can_give_more_until_it_is_empty() -> None:
    """At that current it is just within the limit when it has given its charge."""
    model = honeycomb_model(4, 10)
    found = discharge_limit(model, limits(), charge_ah=40.0)
    assert found.amps > continuous_limit(model, limits()).amps
    end = warmed(at_load(model, found.amps), 3600.0 * 40.0 / found.amps).hottest_c
    assert end == pytest.approx(55.0, abs=0.05)
    assert end <= 55.0


def test_air_that_is_too_warm_leaves_no_current() -> None:
    """Ambient at the limit: 0 A, and what limits it."""
    model = replace(honeycomb_model(2, 2), ambient_c=56.0)
    assert continuous_limit(model, limits()).amps == 0.0
    assert discharge_limit(model, limits(), charge_ah=8.0).amps == 0.0
    assert continuous_limit(model, limits()).limited_by == "petg"


def test_a_pack_without_heat_has_no_limit() -> None:
    """Zero watts or zero current: refused, not divided by."""
    with pytest.raises(ValueError, match="without losses"):
        continuous_limit(honeycomb_model(2, 2, cell_w=0.0), limits())
    with pytest.raises(ValueError, match="above zero"):
        continuous_limit(replace(honeycomb_model(2, 2), load_a=0.0), limits())
