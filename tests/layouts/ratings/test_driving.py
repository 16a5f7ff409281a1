"""Forces and watts of a wheeled machine: worked examples, limits, and another integrator."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import constants
from scipy.integrate import solve_ivp

from layouts.ratings.driving import (
    AIR_KG_M3,
    ROTATING_RATIO,
    DragBody,
    DrivenMachine,
    Ground,
    drag_area_m2,
    drive_demand,
    drive_point,
    rolling_ratio,
)
from layouts.ratings.gearing import (
    DriveSpeed,
    Gearing,
    loaded_km_h,
    machine_speed_check,
    motor_a,
    unloaded_km_h,
    volts_a_m_s,
)

# Invented: a loaded cart on gravel.
CART = DrivenMachine(
    mass_kg=200.0,
    speed_km_h=18.0,
    slope_percent=5.0,
    rolling_ratio=0.03,
    drag_area_m2=1.2,
    efficiency=0.7,
    start_slope_percent=10.0,
    start_km_h=9.0,
    start_s=5.0,
)
GEARING = Gearing(
    motor_rpm_per_v=60.0,
    wheel_circumference_mm=1500.0,
    motor_teeth=12.0,
    wheel_teeth=96.0,
    motor_mohm=80.0,
)


def force_n(speed_km_h: float) -> float:
    """Of the cart on its slope."""
    return drive_point(CART, speed_km_h=speed_km_h, slope_percent=5.0).force_n


def test_air_is_that_of_the_ideal_gas() -> None:
    """p M/(R T) at 101,325 Pa and 15 C; molar mass of dry air 28.964 g/mol, from memory."""
    kelvin = constants.zero_Celsius + 15.0
    assert pytest.approx(constants.atm * 0.028964 / (constants.R * kelvin), rel=2e-4) == AIR_KG_M3


def test_a_cart_on_a_slope_worked_by_hand() -> None:
    """200 kg at 5 m/s on 5 %: atan 0.05 = 2.8624 deg, cos 0.998752, sin 0.0499376."""
    found = drive_point(CART, speed_km_h=18.0, slope_percent=5.0)
    weight = 200.0 * 9.80665  # 1961.33 N
    assert found.rolling_n == pytest.approx(58.766, abs=2e-3)  # 1961.33 x 0.03 x 0.998752
    assert found.slope_n == pytest.approx(97.944, abs=2e-3)  # 1961.33 x 0.0499376
    assert found.drag_n == pytest.approx(18.375, abs=1e-9)  # 1.225 x 1.2 x 25 / 2
    assert found.inertia_n == 0.0
    assert found.battery_w == pytest.approx(175.085 * 5.0 / 0.7, rel=1e-5)  # 1250.6 W
    # the slope's share is weight times rise over the way, by Pythagoras
    assert found.slope_n == pytest.approx(weight * 5.0 / math.hypot(100.0, 5.0), rel=1e-12)


def test_watts_grow_as_mechanics_says() -> None:
    """Rolling and slope with mass and speed, drag with the cube, all with 1/efficiency."""

    def watts(of: DrivenMachine, speed_km_h: float) -> float:
        return drive_point(of, speed_km_h=speed_km_h, slope_percent=7.0).battery_w

    still_air = replace(CART, drag_area_m2=0.0)
    assert watts(still_air, 20.0) == pytest.approx(2.0 * watts(still_air, 10.0))
    heavy = replace(still_air, mass_kg=400.0)
    assert watts(heavy, 10.0) == pytest.approx(2.0 * watts(still_air, 10.0))
    drag = watts(CART, 10.0) - watts(still_air, 10.0)
    assert watts(CART, 20.0) - watts(still_air, 20.0) == pytest.approx(8.0 * drag)
    assert watts(replace(CART, efficiency=0.35), 10.0) == pytest.approx(2.0 * watts(CART, 10.0))
    assert drive_point(CART, speed_km_h=0.0, slope_percent=7.0).battery_w == 0.0


def test_the_start_gives_the_peak_and_its_energy() -> None:
    """From rest to 2.5 m/s in 5 s at 0.5 m/s2 on 10 %: the watts integrate to the energy stored."""
    demand = drive_demand(CART)
    assert demand.start.acceleration_m_s2 == pytest.approx(0.5)
    assert demand.start.inertia_n == pytest.approx(ROTATING_RATIO * 100.0)
    assert (demand.peak_w, demand.peak_s) == (demand.start.battery_w, 5.0)
    free = replace(CART, rolling_ratio=0.0, drag_area_m2=0.0, efficiency=1.0)
    seconds = np.linspace(0.0, 5.0, 2001)
    watts = [
        drive_point(
            free, speed_km_h=3.6 * 0.5 * t, slope_percent=10.0, acceleration_m_s2=0.5
        ).battery_w
        for t in seconds
    ]
    risen_m = 6.25 * math.sin(math.atan(0.1))  # way 0.5 a t^2 = 6.25 m
    stored = 0.5 * ROTATING_RATIO * 200.0 * 2.5**2 + 200.0 * 9.80665 * risen_m
    assert np.trapezoid(watts, seconds) == pytest.approx(stored, rel=1e-6)
    assert demand.level_wh_km == pytest.approx(demand.level.force_n / 0.7 / 3.6)  # J/m to Wh/km
    # a start that asks less than holding the speed is no peak
    easy = drive_demand(replace(CART, start_km_h=1.0, start_slope_percent=0.0))
    assert easy.peak_w == easy.continuous_w == easy.steady.battery_w


def test_tables_hold_a_value_for_every_word() -> None:
    """Harder going, more force; a larger body, more drag."""
    rolls = [rolling_ratio(one) for one in Ground]
    assert rolls == sorted(rolls) and rolls[0] > 0.0 and rolls[-1] < 1.0
    bodies = [drag_area_m2(one) for one in DragBody]
    assert bodies == sorted(bodies) and bodies[0] > 0.0


def test_unloaded_speed_worked_by_hand() -> None:
    """36 V x 60 rpm/V = 2160; x 12/96 = 270 turns a minute x 1.5 m = 405 m/min = 24.3 km/h."""
    assert unloaded_km_h(GEARING, volts=36.0) == pytest.approx(24.3)
    assert volts_a_m_s(GEARING) * 24.3 / 3.6 == pytest.approx(36.0)
    # power at the wheels over the efficiency is volts times current, at any speed
    amps = motor_a(GEARING, force_n=100.0, efficiency=0.8)
    assert amps * volts_a_m_s(GEARING) * 0.8 == pytest.approx(100.0)


@pytest.mark.parametrize("volts", [28.0, 42.0])
def test_another_integrator_reaches_the_same_speed(volts: float) -> None:
    """Motor equation and F = m a of the cart, from rest till nothing changes, by Runge-Kutta."""
    ohm, a_m_s = 0.05, 60.0 / 1.5 * 8.0 / 60.0  # V at 1 m/s: turns a minute, geared, by 60 rpm/V

    def rate(_: float, state: np.ndarray) -> list[float]:
        speed = float(state[0])
        amps = (volts - a_m_s * speed) / (ohm + 0.08)
        pull = 0.7 * a_m_s * amps
        slope, weight = math.atan(0.05), 200.0 * 9.80665
        drag = weight * (0.03 * math.cos(slope) + math.sin(slope)) + 0.5 * 1.225 * 1.2 * speed**2
        return [(pull - drag) / 210.0]

    other = solve_ivp(rate, (0.0, 300.0), [0.0], rtol=1e-10, atol=1e-10)
    found = loaded_km_h(GEARING, volts=volts, ohm=ohm, efficiency=0.7, force_n=force_n)
    assert found == pytest.approx(3.6 * float(other.y[0, -1]), rel=1e-6)
    assert found is not None and found < unloaded_km_h(GEARING, volts=volts)


def test_a_motor_too_weak_for_its_slope_stands() -> None:
    """More volts are needed at rest than there are: no speed, and the check fails by all of it."""
    assert loaded_km_h(GEARING, volts=1.0, ohm=0.05, efficiency=0.7, force_n=force_n) is None
    loose = replace(GEARING, motor_mohm=0.0)
    free = loaded_km_h(loose, volts=36.0, ohm=0.0, efficiency=0.7, force_n=force_n)
    assert free == pytest.approx(24.3, rel=1e-9)


@pytest.mark.parametrize(
    "changed",
    [{"mass_kg": 0.0}, {"mass_kg": -5.0}, {"efficiency": 0.0}, {"speed_km_h": 0.0}, {"start_s": 0}],
)
def test_values_that_say_nothing_are_refused(changed: dict[str, float]) -> None:
    """A pack file's form refuses them before."""
    with pytest.raises(ValueError, match=next(iter(changed))):
        drive_demand(replace(CART, **changed))  # type: ignore[arg-type]


def test_the_check_compares_speeds() -> None:
    """Reached at nominal voltage on the slope; where it stands, 0."""

    def speed(km_h: float | None) -> DriveSpeed:
        return DriveSpeed(volts=36.0, unloaded_km_h=24.3, level_km_h=20.0, slope_km_h=km_h)

    assert machine_speed_check(speed(18.0), wanted_km_h=18.0).holds
    assert not machine_speed_check(speed(17.9), wanted_km_h=18.0).holds
    assert machine_speed_check(speed(None), wanted_km_h=18.0).value == 0.0
