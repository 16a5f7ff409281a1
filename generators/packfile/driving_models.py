"""The form of a wheeled machine whose current is not known: mass, speed, slope, motor, gearing.

The models check each value alone; ``electrical_rules`` checks them against each other.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from generators.packfile.section import Section
from layouts.ratings.driving import DragBody, Ground

__all__ = ["DrivenSection", "GearingSection"]

GroundWord = Annotated[Ground, Field(strict=False)]
DragWord = Annotated[DragBody, Field(strict=False)]


class GearingSection(Section):
    """Motor, sprockets and wheel of the machine: the speed that its voltage gives."""

    motor_rpm_per_v: float = Field(
        gt=0,
        le=10_000,
        description="Turns a minute of the motor a volt without load, by its data sheet, or turns "
        "of the wheel held in the air over the pack's voltage. Required in this section.",
    )
    wheel_circumference_mm: float = Field(
        gt=0,
        le=10_000,
        description="Way that the driven wheel rolls in one turn under load, mm. Required in this "
        "section.",
    )
    motor_teeth: float = Field(
        default=1.0,
        ge=1,
        le=1000,
        description="Teeth of the sprocket on the motor. Default 1, with wheel_teeth 1: the motor "
        "turns with the wheel.",
    )
    wheel_teeth: float = Field(
        default=1.0,
        ge=1,
        le=10_000,
        description="Teeth of the sprocket on the wheel; times the ratio of a gearbox between. "
        "Default 1.",
    )
    motor_mohm: float | None = Field(
        default=None,
        gt=0,
        le=100_000,
        description="Resistance of the motor between two of its leads, mohm. No default: then the "
        "volts that its current takes there are not counted, and real speeds under load are lower.",
    )


class DrivenSection(Section):
    """A wheeled machine whose current is not known: its mass, speed and slopes give watts and
    amps. They stand in for a continuous load and a peak that the file leaves out. Measure the
    current on the machine as soon as it runs."""

    mass_kg: float = Field(
        gt=0,
        le=20_000,
        description="Mass of all that moves: machine, pack, load and riders, kg. Required in this "
        "section.",
    )
    speed_km_h: float = Field(
        gt=0,
        le=150,
        description="Speed that it is to hold, km/h. Required in this section.",
    )
    slope_percent: float = Field(
        default=0.0,
        ge=0,
        le=100,
        description="Slope on which it is to hold that speed, rise over level length, %. Default "
        "0: level ground.",
    )
    ground: GroundWord = Field(
        default=Ground.GRAVEL,
        description="Ground under inflated tyres: asphalt, gravel, grass, soil or sand, with "
        "rolling resistance 0.015, 0.03, 0.06, 0.1, 0.25 of the weight (from memory, no source). "
        "Default gravel: between road and field.",
    )
    rolling_ratio: float | None = Field(
        default=None,
        gt=0,
        le=1,
        description="Rolling resistance over weight: what a spring scale shows that tows the "
        "machine on level ground, in kg, over its mass. Default: that of ground.",
    )
    body: DragWord = Field(
        default=DragBody.TROLLEY,
        description="What the air flows round: rider (upright on a cycle), cargo (with a box), "
        "trolley or cart, with drag coefficient times frontal area 0.6, 1.0, 1.2, 1.8 m2 (from "
        "memory, no source). Default trolley.",
    )
    drag_area_m2: float | None = Field(
        default=None,
        ge=0,
        le=20,
        description="Drag coefficient times frontal area, m2. Default: that of body.",
    )
    efficiency: float = Field(
        default=0.7,
        gt=0.05,
        le=1,
        description="Watts at the wheels over watts from the battery: controller, motor and "
        "gearing together. Default 0.7: 0.95, 0.8 and 0.93 (common practice, no source).",
    )
    start_slope_percent: float | None = Field(
        default=None,
        ge=0,
        le=100,
        description="Steepest slope on which it must start, %: gives the peak. Default: "
        "slope_percent.",
    )
    start_km_h: float | None = Field(
        default=None,
        gt=0,
        le=150,
        description="Speed that it is to reach there, km/h. Default: speed_km_h.",
    )
    start_s: float = Field(
        default=10.0,
        gt=0,
        le=3600,
        description="Time in which it reaches that speed from rest, s: sets peak_s. Default 10: "
        "brisk for small machines.",
    )
    gearing: GearingSection | None = Field(
        default=None,
        description="Motor, sprockets and wheel. No default: then whether the voltage gives the "
        "speed is not checked.",
    )
