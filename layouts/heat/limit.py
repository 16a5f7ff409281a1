"""The thermal current limit: cells and printed plastic both within their limits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layouts.heat.model import HeatModel, at_load
from layouts.heat.steady import rises, soaked_c, steady_at
from layouts.heat.temperature_limits import TemperatureLimits
from layouts.heat.warming import warmed

__all__ = ["HeatLimit", "TemperatureLimits", "continuous_limit", "discharge_limit"]

NEAR = 1e-12  # of a current: far below any meaning
NEARLY = 5e-5  # where each trial is a warming
TRIALS = 100  # 6 to 12 do
LEAST_SHARE = 1e-13
DOUBLINGS = 40  # until a current is too much


@dataclass(frozen=True, kw_only=True, slots=True)
class HeatLimit:
    """The largest current [A], and what limits it: "cells" or the printing material's name.

    0 A where it is too warm without a load.
    """

    amps: float
    limited_by: str
    limit_c: float


def continuous_limit(model: HeatModel, limits: TemperatureLimits) -> HeatLimit:
    """The steady-state current limit, each cell keeping its share of the current.

    Raises ValueError where the model's own current is 0, or it makes no heat at all.
    """
    if model.load_a <= 0:
        raise ValueError("the model's own current must be above zero")
    solved = rises(model)

    def hottest_c(amps: float) -> float:
        return steady_at(model, solved, (amps / model.load_a) ** 2).hottest_c

    return _largest(model, limits, hottest_c, NEAR)


def discharge_limit(model: HeatModel, limits: TemperatureLimits, *, charge_ah: float) -> HeatLimit:
    """The current at which the pack, full and at ambient, is just within its limits when empty.

    More than the continuous one where a pack is empty long before it is as warm as it gets.
    """

    def hottest_c(amps: float) -> float:
        if amps <= 0:
            return soaked_c(model)
        return warmed(at_load(model, amps), 3600.0 * charge_ah / amps).hottest_c

    return _largest(model, limits, hottest_c, NEARLY)


def _largest(
    model: HeatModel, limits: TemperatureLimits, hottest_c: Callable[[float], float], near: float
) -> HeatLimit:
    """The largest current within the limit, never above it, to ``near`` of itself.

    Temperatures rise about with the current squared: on that scale by false position, the end that
    stays being counted for half each time (the Illinois rule; any textbook of numerical methods).
    """
    if model.watts <= 0:
        raise ValueError("a pack without losses has no thermal limit")
    most = limits.lowest_c
    if soaked_c(model) >= most:
        return HeatLimit(amps=0.0, limited_by=limits.named, limit_c=most)
    low, high = 0.0, model.load_a**2
    under, over = soaked_c(model) - most, hottest_c(model.load_a) - most
    for _ in range(DOUBLINGS):
        if over > 0:
            break
        low, under, high = high, over, 4.0 * high
        over = hottest_c(high**0.5) - most
    kept = 0
    for _ in range(TRIALS):
        if high - low <= 2.0 * near * high:
            break
        # never so near to an end that rounding takes it there
        share = min(max(-under / (over - under), LEAST_SHARE), 1.0 - LEAST_SHARE)
        middle = low + (high - low) * share
        beyond = hottest_c(middle**0.5) - most
        if beyond > 0:
            high, over = middle, beyond
            under, kept = (under / 2.0 if kept < 0 else under), -1
        else:
            low, under = middle, beyond
            over, kept = (over / 2.0 if kept > 0 else over), 1
    return HeatLimit(amps=low**0.5, limited_by=limits.named, limit_c=most)
