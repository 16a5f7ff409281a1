"""The load of a form: what the file gives wins, the rest follows from cycle or machine."""

from __future__ import annotations

from dataclasses import replace

from generators.packfile.driving_models import DrivenSection
from generators.packfile.machine_models import LoadSection
from layouts.pack import Load
from layouts.ratings.cycle import DutyCycle
from layouts.ratings.driving import (
    DrivenMachine,
    drag_area_m2,
    drive_demand,
    rolling_ratio,
)
from layouts.ratings.gearing import Gearing
from layouts.ratings.profile import Profile

__all__ = ["load_of", "peak_duration_s"]

PEAK_S = 10.0  # what most data sheets mean by a peak; common practice, no source


def peak_duration_s(peak: float | None, peak_s: float | None) -> float | None:
    """A peak that is given without its duration lasts the usual time [s]."""
    return PEAK_S if peak is not None and peak_s is None else peak_s


def load_of(section: LoadSection | None, profile: Profile | None, *, full_v: float) -> Load | None:
    """The load; ``profile``: what the file holds that it names, ``full_v``: of the full pack."""
    if section is None:
        return None
    given = Load(
        continuous_a=section.continuous_a,
        continuous_w=section.continuous_w,
        peak_a=section.peak_a,
        peak_w=section.peak_w,
        peak_s=peak_duration_s(
            section.peak_w if section.peak_a is None else section.peak_a, section.peak_s
        ),
        regeneration_a=section.regeneration_a,
        profile=profile,
        discharge_cutoff_v=section.discharge_cutoff_v,
        ambient_c=section.ambient_c,
        acceleration_g=section.acceleration_g,
        machine=None if section.machine is None else _driven(section.machine),
        cycle=_cycle(section),
    )
    return _by_machine(_by_cycle(given, full_v=full_v), full_v=full_v)


def _cycle(section: LoadSection) -> DutyCycle | None:
    """None also where no row takes current, which a rule reports."""
    rows = section.cycle
    if rows is None or max(amps for amps, _ in rows) == 0:
        return None
    return DutyCycle(amps=tuple(a for a, _ in rows), seconds=tuple(s for _, s in rows))


def _by_cycle(load: Load, *, full_v: float) -> Load:
    """The cycle's heat as the continuous load, its highest pulse as the peak, where none is given.

    A given continuous load that covers the pulse leaves no peak."""
    cycle = load.cycle
    if cycle is None:
        return load
    derived: list[str] = []
    if load.continuous_a is None and load.continuous_w is None:
        load = replace(load, continuous_a=cycle.rms_a)
        derived.append("continuous")
    pulses = cycle.pulses
    if load.peak_a is None and load.peak_w is None and pulses:
        held_a = load.continuous_a or (load.continuous_w or 0.0) / full_v
        if pulses[0].amps > held_a:
            load = replace(load, peak_a=pulses[0].amps, peak_s=load.peak_s or pulses[0].seconds)
            derived.append("peak")
    return replace(load, derived=tuple(derived) or None)


def _by_machine(load: Load, *, full_v: float) -> Load:
    """The machine's watts where no continuous load, no peak is given.

    No peak is added that a given continuous load covers even at the full pack's volts."""
    if load.machine is None:
        return load
    demand = drive_demand(load.machine)
    derived = list(load.derived or ())
    if load.continuous_a is None and load.continuous_w is None:
        load = replace(load, continuous_w=demand.continuous_w)
        derived.append("continuous")
    if load.peak_a is None and load.peak_w is None:
        held_w = load.continuous_w or (load.continuous_a or 0.0) * full_v
        if demand.peak_w > held_w:
            load = replace(load, peak_w=demand.peak_w, peak_s=load.peak_s or demand.peak_s)
            derived.append("peak")
    return replace(load, derived=tuple(derived) or None)


def _driven(section: DrivenSection) -> DrivenMachine:
    gearing, slope = section.gearing, section.start_slope_percent
    rolling, drag = section.rolling_ratio, section.drag_area_m2
    return DrivenMachine(
        mass_kg=section.mass_kg,
        speed_km_h=section.speed_km_h,
        slope_percent=section.slope_percent,
        rolling_ratio=rolling_ratio(section.ground) if rolling is None else rolling,
        drag_area_m2=drag_area_m2(section.body) if drag is None else drag,
        efficiency=section.efficiency,
        start_slope_percent=section.slope_percent if slope is None else slope,
        start_km_h=section.start_km_h or section.speed_km_h,
        start_s=section.start_s,
        gearing=None
        if gearing is None
        else Gearing(
            motor_rpm_per_v=gearing.motor_rpm_per_v,
            wheel_circumference_mm=gearing.wheel_circumference_mm,
            motor_teeth=gearing.motor_teeth,
            wheel_teeth=gearing.wheel_teeth,
            motor_mohm=gearing.motor_mohm or 0.0,
        ),
    )
