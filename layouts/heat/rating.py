"""Thermal results of a pack at its load: temperatures, times, currents, checks and cautions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.checks import Check
from layouts.heat.limit import HeatLimit, TemperatureLimits, continuous_limit, discharge_limit
from layouts.heat.model import HeatModel, at_load
from layouts.heat.steady import HOW_GOOD, RISE_BAND_RATIO, Temperatures, steady
from layouts.heat.warming import Warm, state_of, time_to_c, warmed

__all__ = ["SOURCE", "HeatRating", "heat_cautions", "heat_checks", "rate_heat"]

SOURCE = (
    "thermal network; Churchill and Chu for the sides, McAdams for top and bottom, "
    "Stefan-Boltzmann radiation; an estimate, +-30 % of the rise (judgement, no source)"
)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class HeatRating:
    """All thermal results at ``load_a``.

    ``steady``: steady state under the load. ``empty``: when a full pack at ambient has just given
    its charge. ``to_limit_s``: until the lower limit at the load, ``peak_to_limit_s`` at the peak,
    both from ambient; ``warm_peak_to_limit_s``: at the peak when the pack has just given its charge
    at the load. None: never, or no peak is given. ``continuous``: the steady-state current limit;
    ``discharge``: what a full pack can give until it is empty. ``model``: at ``load_a``.
    ``how_good``: how far to trust it.
    """

    load_a: float
    peak_a: float | None
    limits: TemperatureLimits
    steady: Temperatures
    empty: Warm
    to_limit_s: float | None
    peak_to_limit_s: float | None
    warm_peak_to_limit_s: float | None
    continuous: HeatLimit
    discharge: HeatLimit
    model: HeatModel
    how_good: str = HOW_GOOD


def rate_heat(
    model: HeatModel,
    limits: TemperatureLimits,
    *,
    charge_ah: float,
    peak_a: float | None = None,
    discharge: HeatLimit | None = None,
) -> HeatRating:
    """Rate a pack at the model's load.

    ``charge_ah``: the whole pack's; ``discharge``: its limit, where that is known already.
    Raises ValueError where the load or the heat is 0.
    """
    most = limits.lowest_c
    empty = warmed(model, 3600.0 * charge_ah / model.load_a)
    cold_s = warm_s = None
    if peak_a is not None:
        peak = at_load(model, peak_a)
        cold_s = time_to_c(peak, most)
        warm_s = time_to_c(peak, most, start=state_of(model, empty))
    return HeatRating(
        load_a=model.load_a,
        peak_a=peak_a,
        limits=limits,
        steady=steady(model),
        empty=empty,
        to_limit_s=time_to_c(model, most),
        peak_to_limit_s=cold_s,
        warm_peak_to_limit_s=warm_s,
        continuous=continuous_limit(model, limits),
        discharge=discharge or discharge_limit(model, limits, charge_ah=charge_ah),
        model=model,
    )


def heat_checks(rating: HeatRating, *, for_ever: bool) -> tuple[Check, ...]:
    """Whether cells and printed plastic withstand the load.

    ``for_ever``: judged by the steady state; else by what is reached when a full pack at
    ambient has given its charge, which no battery can go beyond in one run.
    """
    cell_c: NDArray[np.float64] = rating.steady.cell_c if for_ever else rating.empty.cell_c
    hottest = int(np.argmax(cell_c))
    value = float(cell_c[hottest])
    when = "steady state" if for_ever else f"until empty ({rating.empty.seconds / 60:.0f} min)"
    limit = rating.continuous if for_ever else rating.discharge
    polymer = rating.limits.polymer
    about = f"maximum cell temperature at {rating.load_a:g} A {when}"
    amps = f"at most {limit.amps:.3g} A"
    return (
        Check(
            id="cell_temperature",
            about=f"{about}, against the cell's limit"
            f"{_close(rating, value, rating.limits.cells_c)}",
            holds=value <= rating.limits.cells_c,
            value=value,
            limit=rating.limits.cells_c,
            unit="°C",
            source=SOURCE,
            remedy=f"draw {amps}, more cells in parallel, or cells of lower resistance",
            at_least=False,
            where=f"cell {hottest + 1}",
        ),
        Check(
            id="polymer_temperature",
            about=f"{about}, against {polymer.material} ({polymer.softens_by} "
            f"{polymer.softens_c:g} °C, less a margin){_close(rating, value, polymer.most_c)}",
            holds=value <= polymer.most_c,
            value=value,
            limit=polymer.most_c,
            unit="°C",
            source=f"{SOURCE}; softening from the polymer_heat table; margin of "
            f"{polymer.softens_c - polymer.most_c:g} K: common practice, from memory, no source",
            remedy=f"draw {amps}, or print in a material with a higher softening temperature",
            at_least=False,
            where=f"holder round cell {hottest + 1}",
        ),
    )


def _close(rating: HeatRating, value_c: float, limit_c: float) -> str:
    """That the limit lies within what the estimate of the rise can be off."""
    ambient_c = float(rating.steady.cell_c.max()) - rating.steady.rise_k
    rise_k = value_c - ambient_c
    if abs(limit_c - value_c) > RISE_BAND_RATIO * rise_k:
        return ""
    return f"; too close to call: the estimate is good to {RISE_BAND_RATIO:.0%} of the rise"


def heat_cautions(rating: HeatRating) -> tuple[str, ...]:
    """What passes without margin, and what passes only because the discharge ends."""
    most, ambient = rating.limits.lowest_c, rating.steady.cell_c.max() - rating.steady.rise_k
    said: list[str] = []
    reached = rating.empty.hottest_c
    worst = ambient + (1.0 + RISE_BAND_RATIO) * (reached - ambient)
    if reached <= most < worst:
        said.append(
            f"heat: too close to call: the hottest cell is estimated to reach {reached:.0f} °C "
            f"when the pack is empty, but may reach {worst:.0f} °C, above the {most:.0f} °C of the "
            f"{rating.limits.named}: measure it on the first runs"
        )
    if reached <= most < rating.steady.hottest_c:
        said.append(
            f"heat: {rating.load_a:g} A is allowed until the pack is empty, not continuously: in "
            f"steady state (or when recharged at once) cells reach {rating.steady.hottest_c:.0f} "
            f"°C; the steady-state limit is {rating.continuous.amps:.3g} A"
        )
    return tuple(said)
