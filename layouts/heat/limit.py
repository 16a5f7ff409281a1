"""The thermal current limit: cells and printed plastic both within their limits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layouts.heat.model import HeatModel, at_load
from layouts.heat.steady import rises, soaked_c, steady_at
from layouts.heat.temperature_limits import TemperatureLimits
from layouts.heat.warming import warmed

__all__ = ["HeatLimit", "TemperatureLimits", "continuous_limit", "discharge_limit"]

HALVINGS = 50  # of the bracket: far below any meaning
FEW_HALVINGS = 14  # where each trial is a warming: 1/16,000 of the bracket
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

    return _largest(model, limits, hottest_c, HALVINGS)


def discharge_limit(model: HeatModel, limits: TemperatureLimits, *, charge_ah: float) -> HeatLimit:
    """The current at which the pack, full and at ambient, is just within its limits when empty.

    More than the continuous one where a pack is empty long before it is as warm as it gets.
    """

    def hottest_c(amps: float) -> float:
        if amps <= 0:
            return soaked_c(model)
        return warmed(at_load(model, amps), 3600.0 * charge_ah / amps).hottest_c

    return _largest(model, limits, hottest_c, FEW_HALVINGS)


def _largest(
    model: HeatModel, limits: TemperatureLimits, hottest_c: Callable[[float], float], halvings: int
) -> HeatLimit:
    """The largest current within the limit, by doubling, then by halving; never above it."""
    if model.watts <= 0:
        raise ValueError("a pack without losses has no thermal limit")
    most = limits.lowest_c
    if soaked_c(model) >= most:
        return HeatLimit(amps=0.0, limited_by=limits.named, limit_c=most)
    low, high = 0.0, model.load_a
    for _ in range(DOUBLINGS):
        if hottest_c(high) > most:
            break
        low, high = high, 2.0 * high
    for _ in range(halvings):
        middle = (low + high) / 2.0
        if hottest_c(middle) > most:
            high = middle
        else:
            low = middle
    return HeatLimit(amps=low, limited_by=limits.named, limit_c=most)
