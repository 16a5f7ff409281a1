"""What heat says of a pack: figures that belong together, checks that fail, cautions."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.heat.limit import TemperatureLimits
from layouts.heat.model import HeatModel
from layouts.heat.polymers import polymer_heats
from layouts.heat.rating import HeatRating, heat_cautions, heat_checks, rate_heat
from tests.layouts.heat.models import honeycomb_model


def rating(
    *,
    material: str = "asa",
    max_c: float = 60.0,
    ambient_c: float = 25.0,
    charge_ah: float = 40.0,
    model: HeatModel | None = None,
) -> HeatRating:
    """Forty cells at 50 A, ten in parallel."""
    made = honeycomb_model(4, 10) if model is None else model
    return rate_heat(
        replace(made, ambient_c=ambient_c),
        TemperatureLimits(cells_c=max_c, polymer=polymer_heats()[material]),
        charge_ah=charge_ah,
        peak_a=120.0,
    )


def held(found: HeatRating, *, for_ever: bool = False) -> dict[str, bool]:
    """Which checks hold."""
    return {check.id: check.holds for check in heat_checks(found, for_ever=for_ever)}


def test_a_sound_pack_passes_both_checks() -> None:
    """Cells and plastic, judged by the end of a discharge; no caution of a near miss."""
    found = rating()
    assert held(found) == {"cell_temperature": True, "polymer_temperature": True}
    assert not any("may reach" in said for said in heat_cautions(found))


def test_cells_that_bear_little_fail_their_check_alone() -> None:
    """The same temperatures, a limit of 35 °C on the cells' sheet."""
    assert held(rating(max_c=35.0)) == {"cell_temperature": False, "polymer_temperature": True}


def test_plastic_that_softens_early_fails_its_check_alone() -> None:
    """pla in an ambient of 30 °C: 35 °C is its limit."""
    found = rating(material="pla", ambient_c=30.0)
    assert held(found) == {"cell_temperature": True, "polymer_temperature": False}


def test_for_ever_is_judged_by_the_steady_state() -> None:
    """A load that empties the pack in time may still be too much in steady state."""
    hot = honeycomb_model(4, 10, cell_w=0.8)
    found = rating(model=hot, charge_ah=10.0, max_c=55.0)
    assert held(found)["cell_temperature"]
    assert not held(found, for_ever=True)["cell_temperature"]
    assert any("not continuously" in said for said in heat_cautions(found))
    check = heat_checks(found, for_ever=True)[0]
    assert check.value == pytest.approx(found.steady.hottest_c, rel=1e-12)
    assert f"{found.continuous.amps:.3g} A" in check.remedy


def test_a_near_miss_is_cautioned() -> None:
    """Within the limit by the estimate, above it by the estimate's band."""
    reached = rating().empty.hottest_c
    found = rating(max_c=reached + 1.0)
    assert held(found)["cell_temperature"]
    assert any("too close to call" in said for said in heat_cautions(found))
    assert "too close to call" in heat_checks(found, for_ever=False)[0].about
    below = rating(max_c=reached - 1.0)
    assert not held(below)["cell_temperature"]
    assert "too close to call" in heat_checks(below, for_ever=False)[0].about
    far = rating(max_c=reached + 200.0)
    assert "too close to call" not in heat_checks(far, for_ever=False)[0].about


def test_times_and_currents_belong_together() -> None:
    """A peak is at the limit sooner than the load, and sooner when warm; more than the
    continuous current can be given until empty."""
    found = rating(material="petg", charge_ah=20.0)
    assert found.peak_to_limit_s is not None and found.warm_peak_to_limit_s is not None
    assert 0.0 < found.warm_peak_to_limit_s < found.peak_to_limit_s
    assert found.to_limit_s is None or found.to_limit_s > found.peak_to_limit_s
    assert found.discharge.amps > found.continuous.amps
    # the load never reaches the limit exactly where the continuous current is above it
    assert (found.to_limit_s is None) == (found.continuous.amps >= found.load_a)
    assert "30 %" in found.how_good


def test_the_same_pack_gives_the_same_figures() -> None:
    """Nothing depends on the clock or on chance."""
    assert str(heat_checks(rating(), for_ever=True)) == str(heat_checks(rating(), for_ever=True))
