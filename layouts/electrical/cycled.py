"""A duty cycle on a planned pack: its run time, its hottest cell, its pulses on every part."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from layouts.checks import Check, worst_of
from layouts.electrical.thermal_state import ThermalState
from layouts.heat.cycling import CycleHeat, cycle_heat, cycle_temperature_check
from layouts.pack import Load, Pack
from layouts.ratings.cycle import Pulse
from layouts.ratings.given import at_most
from layouts.ratings.load import AskedCurrents
from layouts.ratings.run_time import RunTime, cycle_time
from layouts.ratings.windows import StringVolts

__all__ = [
    "Cycled",
    "at_worst",
    "cycle_cautions",
    "cycle_checks",
    "cycled",
    "own_peak_a",
    "peaks_of",
    "pulses_of",
]


@dataclass(frozen=True, kw_only=True, slots=True)
class Cycled:
    """A cycle's means, its pulses above them, how long a full pack lasts and how warm it gets."""

    period_s: float
    mean_a: float
    rms_a: float
    pulses: tuple[Pulse, ...]
    run: RunTime
    heat: CycleHeat


def cycled(pack: Pack, volts: StringVolts, warm: ThermalState, *, ohm: float) -> Cycled | None:
    """``ohm``: of cells, strips and main leads. None where the file has no cycle.

    Raises PlanError where the cycle has too many rows until the pack is empty."""
    cycle = None if pack.load is None else pack.load.cycle
    if cycle is None or pack.load is None:
        return None
    stops = None if pack.controller is None else pack.controller.cutoff_v
    run = cycle_time(
        cycle,
        volts=volts,
        capacity_ah=warm.charge_ah,
        ohm=ohm,
        cutoff_v=stops if pack.load.discharge_cutoff_v is None else pack.load.discharge_cutoff_v,
    )
    return Cycled(
        period_s=cycle.period_s,
        mean_a=cycle.mean_a,
        rms_a=cycle.rms_a,
        pulses=cycle.pulses,
        run=run,
        heat=cycle_heat(warm.model, cycle, charge_ah=warm.charge_ah),
    )


def pulses_of(load: Load | None) -> tuple[Pulse, ...]:
    """Pulses of the load's cycle; none without one."""
    return () if load is None or load.cycle is None else load.cycle.pulses


def own_peak_a(load: Load | None, peak_a: float | None) -> float | None:
    """The peak, where it is not one of the cycle's pulses [A]."""
    by_cycle = load is not None and load.cycle is not None and "peak" in (load.derived or ())
    return None if by_cycle else peak_a


def peaks_of(load: Load, *, peak_a: float | None) -> tuple[tuple[float, float | None], ...]:
    """(amps, seconds) that parts are checked at: the peak, and every pulse of a cycle."""
    if peak_a is None:
        return ()
    own = () if own_peak_a(load, peak_a) is None else ((peak_a, load.peak_s),)
    return (*own, *((one.amps, one.seconds) for one in pulses_of(load)))


def at_worst(
    peaks: Sequence[tuple[float, float | None]],
    check: Callable[[float, float | None], Check | None],
) -> Check | None:
    """A part's check at the peak that is nearest to its limit; None where none is checked."""
    found = [check(amps, seconds) for amps, seconds in peaks]
    return next(iter(worst_of(one for one in found if one is not None)), None)


def cycle_checks(of: Cycled | None, warm: ThermalState) -> tuple[Check, ...]:
    """The hottest cell; nothing without a cycle."""
    return () if of is None else (cycle_temperature_check(of.heat, warm.limits),)


def cycle_cautions(
    of: Cycled | None, load: Load | None, asked: AskedCurrents | None
) -> tuple[str, ...]:
    """Where the file's own load is less than its cycle, which is kept."""
    if of is None or load is None or asked is None:
        return ()
    derived = load.derived or ()
    pairs = [("continuous", of.rms_a, asked.continuous_a)]
    pairs += [("peak", one.amps, asked.peak_a) for one in of.pulses[:1]]
    words = {"continuous": "root mean square", "peak": "highest pulse"}
    return tuple(
        f"load: the {words[name]} of load.cycle is {amps:.1f} A, more than the {told:.1f} A of "
        f"{name}_a or {name}_w, which are kept"
        for name, amps, told in pairs
        if name not in derived and told is not None and not at_most(amps, told)
    )
