"""Speed of a machine by its motor and gearing, unloaded and under load.

A direct-current motor, or one that its controller runs like one: its volts without current are in
proportion to its turns (motor constant); the rest of the volts drives its current through the
resistance of pack, leads and motor (Ohm's law). Under load, volts times current are the power at
the wheels over the efficiency.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from layouts.checks import Check
from layouts.ratings.given import above_zero, at_most

__all__ = [
    "KM_H",
    "DriveSpeed",
    "Gearing",
    "drive_speed",
    "loaded_km_h",
    "machine_speed_check",
    "motor_a",
    "unloaded_km_h",
    "volts_a_m_s",
]

HALVINGS = 60  # of the range of speeds: to the last digit
KM_H = 3.6  # km/h of 1 m/s


@dataclass(frozen=True, kw_only=True, slots=True)
class Gearing:
    """Motor, sprockets and wheel.

    ``motor_rpm_per_v``: turns a minute a volt, unloaded; ``motor_teeth``, ``wheel_teeth``: of the
    sprockets, 1 and 1 where the motor drives the wheel at its own turns; ``motor_mohm``: of its
    winding, two phases in series where it has three, 0 where not known."""

    motor_rpm_per_v: float
    wheel_circumference_mm: float
    motor_teeth: float = 1.0
    wheel_teeth: float = 1.0
    motor_mohm: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class DriveSpeed:
    """Speeds at one resting voltage of the pack: without load, on level ground, on the slope.

    None: the pack's voltage cannot drive it there at all."""

    volts: float
    unloaded_km_h: float
    level_km_h: float | None
    slope_km_h: float | None


def volts_a_m_s(of: Gearing) -> float:
    """Motor volts without current at 1 m/s: 60/circumference wheel turns a minute, geared [V]."""
    turns = 60.0 / (above_zero(of.wheel_circumference_mm, "wheel_circumference_mm") / 1000.0)
    motor = turns * above_zero(of.wheel_teeth, "wheel_teeth") / above_zero(of.motor_teeth, "teeth")
    return motor / above_zero(of.motor_rpm_per_v, "motor_rpm_per_v")


def unloaded_km_h(of: Gearing, *, volts: float) -> float:
    """Wheel's speed in the air, V / (volts a m/s)."""
    return KM_H * above_zero(volts, "volts") / volts_a_m_s(of)


def motor_a(of: Gearing, *, force_n: float, efficiency: float) -> float:
    """Motor current at a force on the wheels: F v = efficiency x E I, at any speed [A]."""
    return force_n / (above_zero(efficiency, "efficiency") * volts_a_m_s(of))


def loaded_km_h(
    of: Gearing,
    *,
    volts: float,
    ohm: float,
    efficiency: float,
    force_n: Callable[[float], float],
) -> float | None:
    """The highest speed at which what is left of the volts still drives the current; None at none.

    ``force_n``: force on the wheels at a speed in km/h, rising with it; ``ohm`` of pack and leads.
    Solves k v + R I(v) = V, whose left side rises with v, by halving."""
    above_zero(volts, "volts")
    a_m_s, resistance = volts_a_m_s(of), ohm + of.motor_mohm / 1000.0

    def needed_v(speed_km_h: float) -> float:
        amps = motor_a(of, force_n=force_n(speed_km_h), efficiency=efficiency)
        return a_m_s * speed_km_h / KM_H + resistance * amps

    low, high = 0.0, unloaded_km_h(of, volts=volts)
    if needed_v(low) >= volts:
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if needed_v(middle) <= volts else (low, middle)
    return low


def drive_speed(
    of: Gearing,
    *,
    volts: float,
    ohm: float,
    efficiency: float,
    level_n: Callable[[float], float],
    slope_n: Callable[[float], float],
) -> DriveSpeed:
    """All three speeds at one voltage."""
    level, slope = (
        loaded_km_h(of, volts=volts, ohm=ohm, efficiency=efficiency, force_n=force)
        for force in (level_n, slope_n)
    )
    return DriveSpeed(
        volts=volts,
        unloaded_km_h=unloaded_km_h(of, volts=volts),
        level_km_h=level,
        slope_km_h=slope,
    )


def machine_speed_check(nominal: DriveSpeed, *, wanted_km_h: float) -> Check:
    """The gearing reaches the wanted speed on the slope at the pack's nominal voltage."""
    reached = 0.0 if nominal.slope_km_h is None else nominal.slope_km_h
    return Check(
        id="machine_speed",
        about="the machine reaches the wanted speed on its slope at nominal voltage",
        holds=at_most(above_zero(wanted_km_h, "wanted_km_h"), reached),
        value=reached,
        limit=wanted_km_h,
        unit="km/h",
        source="motor constant and Ohm's law, without weakening of the field",
        remedy="a larger sprocket on the motor or a smaller one on the wheel, more cells in "
        "series, or a lower speed (load.machine)",
    )
