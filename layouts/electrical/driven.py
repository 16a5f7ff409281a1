"""What a wheeled machine asks of a planned pack: watts, amps, speeds and range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layouts.checks import Check
from layouts.ratings.driving import DriveDemand, DrivenMachine, drive_demand, drive_point
from layouts.ratings.gearing import DriveSpeed, drive_speed, machine_speed_check, motor_a
from layouts.ratings.given import at_most
from layouts.ratings.load import AskedCurrents, asked_currents
from layouts.ratings.profile import Profile
from layouts.ratings.run_time import RunTime, run_time
from layouts.ratings.windows import StringVolts

__all__ = ["Driven", "driven", "driven_cautions", "driven_checks"]

PASS_S = 1e6  # of a run at constant speed; longer than any pack lasts


@dataclass(frozen=True, kw_only=True, slots=True)
class Driven:
    """A machine on its pack.

    ``asked``: currents at the empty pack, where they are highest; ``nominal``: at nominal volts.
    ``level_run``, ``slope_run``: from full to empty at the wanted speed. ``speeds``: at full,
    nominal and empty volts, and ``start_motor_a`` in the motor at the start; None without gearing.
    """

    of: DrivenMachine
    demand: DriveDemand
    asked: AskedCurrents
    nominal: AskedCurrents
    level_run: RunTime
    slope_run: RunTime
    speeds: tuple[DriveSpeed, DriveSpeed, DriveSpeed] | None
    start_motor_a: float | None


def driven(
    of: DrivenMachine,
    volts: StringVolts,
    *,
    ohm: float,
    capacity_ah: float,
    cutoff_v: float | None,
) -> Driven:
    """``ohm``: of cells, strips and main leads; ``cutoff_v`` as in ``run_time``.

    Raises PlanError as ``run_time`` does."""
    demand = drive_demand(of)
    empty, nominal = (
        asked_currents(
            open_v=open_v, ohm=ohm, continuous_w=demand.continuous_w, peak_w=demand.peak_w
        )
        for open_v in (volts.empty_v, volts.nominal_v)
    )
    level, slope = (
        run_time(
            Profile(seconds=(0.0, PASS_S), watts=(watts, 0.0), speed_km_h=(of.speed_km_h, 0.0)),
            volts=volts,
            capacity_ah=capacity_ah,
            ohm=ohm,
            cutoff_v=cutoff_v,
        )
        for watts in (demand.level.battery_w, demand.steady.battery_w)
    )
    gearing = of.gearing
    return Driven(
        of=of,
        demand=demand,
        asked=empty,
        nominal=nominal,
        level_run=level,
        slope_run=slope,
        speeds=None if gearing is None else _speeds(of, volts, ohm=ohm),
        start_motor_a=None
        if gearing is None
        else motor_a(gearing, force_n=demand.start.force_n, efficiency=of.efficiency),
    )


def _speeds(
    of: DrivenMachine, volts: StringVolts, *, ohm: float
) -> tuple[DriveSpeed, DriveSpeed, DriveSpeed]:
    gearing = of.gearing
    assert gearing is not None  # asked for only then

    def force_on(slope_percent: float) -> Callable[[float], float]:
        return lambda km_h: drive_point(of, speed_km_h=km_h, slope_percent=slope_percent).force_n

    full, nominal, empty = (
        drive_speed(
            gearing,
            volts=open_v,
            ohm=ohm,
            efficiency=of.efficiency,
            level_n=force_on(0.0),
            slope_n=force_on(of.slope_percent),
        )
        for open_v in (volts.full_v, volts.nominal_v, volts.empty_v)
    )
    return full, nominal, empty


def driven_checks(of: Driven) -> tuple[Check, ...]:
    """Whether the gearing gives the speed; nothing without it."""
    if of.speeds is None:
        return ()
    return (machine_speed_check(of.speeds[1], wanted_km_h=of.of.speed_km_h),)


def driven_cautions(of: Driven, given: AskedCurrents | None) -> tuple[str, ...]:
    """More current than the file gives, and a speed that fades. ``given``: by the file's load."""
    said = []
    for name in ("continuous", "peak"):
        asks = getattr(of.asked, f"{name}_a")
        told = None if given is None else getattr(given, f"{name}_a")
        if asks is not None and told is not None and not at_most(asks, told):
            said.append(
                f"load: by load.machine the machine draws {asks:.1f} A "
                f"{'at its speed' if name == 'continuous' else 'at its start'} when the pack is "
                f"empty, more than the {told:.1f} A of {name}_a or {name}_w, which are kept: "
                "measure the current on the machine"
            )
    if not of.asked.operates:
        said.append(
            "load: by load.machine the machine needs more watts than the empty pack delivers: at "
            f"most {of.asked.largest_w:.0f} W of {of.asked.demand_w:.0f} W"
        )
    if of.speeds is not None:
        _, nominal, empty = of.speeds
        wanted, low = of.of.speed_km_h, empty.slope_km_h or 0.0
        if at_most(wanted, nominal.slope_km_h or 0.0) and not at_most(wanted, low):
            said.append(
                f"load: the machine reaches {low:.1f} km/h on its slope when the pack is empty, "
                f"less than the {wanted:g} km/h wanted"
            )
    return tuple(said)
