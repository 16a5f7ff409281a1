"""Temperatures while charging: ambient and warming against the cells' charge range."""

from __future__ import annotations

from layouts.checks import Check
from layouts.electrical.charging import Charging
from layouts.electrical.thermal_state import ThermalState
from layouts.heat.model import at_load
from layouts.heat.rating import SOURCE
from layouts.heat.warming import warmed

__all__ = ["charge_ambient_caution", "charge_temperature_check"]


def charge_temperature_check(warm: ThermalState, of: Charging) -> Check | None:
    """The hottest cell when an empty pack has just been charged at the ambient temperature.

    None without a charger, and where the ambient itself lies outside the charge range: a pack can
    be charged elsewhere than it is used, see ``charge_ambient_caution``."""
    low, high = of.window.charge_c
    if not of.charger_given or not low <= warm.model.ambient_c <= high:
        return None
    seconds = 3600.0 * warm.charge_ah / of.charge_a
    hottest_c = warmed(at_load(warm.model, of.charge_a), seconds).hottest_c
    return Check(
        id="charge_temperature",
        about=f"maximum cell temperature after charge at {of.charge_a:g} A "
        f"({seconds / 3600.0:.1f} h), against the cells' charge range",
        holds=hottest_c <= high,
        value=hottest_c,
        limit=high,
        unit="°C",
        source=f"{SOURCE}; limit: {of.window.source}",
        remedy="a charger of less current (charger.amps_a), or charge where it is cooler",
        at_least=False,
    )


def charge_ambient_caution(of: Charging, *, ambient_c: float) -> str | None:
    """What to say where the pack must not be charged at the ambient temperature of its use."""
    low, high = of.window.charge_c
    if low <= ambient_c <= high:
        return None
    return (
        f"charge: the ambient temperature of {ambient_c:g} °C is outside the cells' charge range "
        f"of {low:g} to {high:g} °C ({of.window.source}): charge elsewhere, and let the cells "
        "reach that temperature first"
    )
