"""What a wheeled machine draws: forces on it, watts at the battery, energy a kilometre.

Mechanics of a point mass on a slope: rolling m g c cos a, climbing m g sin a, drag rho cd A v^2/2,
speeding up m a; P = F v / efficiency. The slope's angle is atan(percent / 100).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cache
from math import atan, cos, sin

from layouts.physics import GRAVITY_M_S2
from layouts.ratings.gearing import KM_H, Gearing
from layouts.ratings.given import above_zero, not_negative
from layouts.ratings.tables import table_rows

__all__ = [
    "AIR_KG_M3",
    "ROTATING_RATIO",
    "DragBody",
    "DriveDemand",
    "DrivePoint",
    "DrivenMachine",
    "Ground",
    "drag_area_m2",
    "drive_demand",
    "drive_point",
    "rolling_ratio",
]

AIR_KG_M3 = 1.225  # ideal gas at 101,325 Pa and 15 C; a tenth denser in frost
ROTATING_RATIO = 1.05  # wheels and motor are turned faster too; common practice, no source


class Ground(Enum):
    """What the wheels roll on."""

    ASPHALT = "asphalt"
    GRAVEL = "gravel"
    GRASS = "grass"
    SOIL = "soil"
    SAND = "sand"


class DragBody(Enum):
    """What the air flows round."""

    RIDER = "rider"
    CARGO = "cargo"
    TROLLEY = "trolley"
    CART = "cart"


@cache
def _column(table: str, key: str, value: str) -> dict[str, float]:
    return {row[key]: float(row[value]) for row in table_rows(table)}


def rolling_ratio(ground: Ground) -> float:
    """Rolling resistance over the wheels' load, a ratio (table rolling_resistance)."""
    return _column("rolling_resistance", "ground", "rolling_ratio")[ground.value]


def drag_area_m2(body: DragBody) -> float:
    """Drag coefficient times frontal area [m2] (table drag_area)."""
    return _column("drag_area", "body", "drag_area_m2")[body.value]


@dataclass(frozen=True, kw_only=True, slots=True)
class DrivenMachine:
    """A wheeled machine and what is wanted of it.

    ``mass_kg``: of all that moves, load and riders too. It is to hold ``speed_km_h`` on
    ``slope_percent`` for as long as the pack lasts, and to reach ``start_km_h`` from rest on
    ``start_slope_percent`` within ``start_s``. ``efficiency``: watts at the wheels over watts from
    the battery. ``gearing``: None where it is not known.
    """

    mass_kg: float
    speed_km_h: float
    slope_percent: float
    rolling_ratio: float
    drag_area_m2: float
    efficiency: float
    start_slope_percent: float
    start_km_h: float
    start_s: float
    gearing: Gearing | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class DrivePoint:
    """A machine at one speed: forces along the slope, their sum, watts from the battery."""

    speed_km_h: float
    slope_percent: float
    acceleration_m_s2: float
    rolling_n: float
    slope_n: float
    drag_n: float
    inertia_n: float
    force_n: float
    battery_w: float


@dataclass(frozen=True, kw_only=True, slots=True)
class DriveDemand:
    """What a machine asks of its battery.

    ``level``: its speed on level ground; ``steady``: on its slope; ``start``: the end of speeding
    up, where the watts are highest. ``continuous_w``, ``peak_w`` for ``peak_s``;
    ``level_wh_km``, ``steady_wh_km``: energy from the battery a kilometre.
    """

    level: DrivePoint
    steady: DrivePoint
    start: DrivePoint
    continuous_w: float
    peak_w: float
    peak_s: float
    level_wh_km: float
    steady_wh_km: float


def drive_point(
    of: DrivenMachine,
    *,
    speed_km_h: float,
    slope_percent: float,
    acceleration_m_s2: float = 0.0,
) -> DrivePoint:
    """Forces and watts at one speed; no wind. Raises ValueError for values below zero."""
    angle = atan(not_negative(slope_percent, "slope_percent") / 100.0)
    speed = not_negative(speed_km_h, "speed_km_h") / KM_H
    weight = above_zero(of.mass_kg, "mass_kg") * GRAVITY_M_S2
    rolling = weight * of.rolling_ratio * cos(angle)
    climbing = weight * sin(angle)
    drag = 0.5 * AIR_KG_M3 * of.drag_area_m2 * speed**2
    inertia = ROTATING_RATIO * of.mass_kg * not_negative(acceleration_m_s2, "acceleration_m_s2")
    force = rolling + climbing + drag + inertia
    return DrivePoint(
        speed_km_h=speed_km_h,
        slope_percent=slope_percent,
        acceleration_m_s2=acceleration_m_s2,
        rolling_n=rolling,
        slope_n=climbing,
        drag_n=drag,
        inertia_n=inertia,
        force_n=force,
        battery_w=force * speed / above_zero(of.efficiency, "efficiency"),
    )


def drive_demand(of: DrivenMachine) -> DriveDemand:
    """What the machine asks: its speed held, and the start at a constant acceleration.

    The peak is never less than the steady watts."""
    speed = above_zero(of.speed_km_h, "speed_km_h")
    level = drive_point(of, speed_km_h=speed, slope_percent=0.0)
    steady = drive_point(of, speed_km_h=speed, slope_percent=of.slope_percent)
    start = drive_point(
        of,
        speed_km_h=above_zero(of.start_km_h, "start_km_h"),
        slope_percent=of.start_slope_percent,
        acceleration_m_s2=of.start_km_h / KM_H / above_zero(of.start_s, "start_s"),
    )
    return DriveDemand(
        level=level,
        steady=steady,
        start=start,
        continuous_w=steady.battery_w,
        peak_w=max(start.battery_w, steady.battery_w),
        peak_s=of.start_s,
        level_wh_km=level.battery_w / speed,
        steady_wh_km=steady.battery_w / speed,
    )
