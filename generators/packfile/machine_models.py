"""The form of the machine: where brackets bolt to its frame, and what it draws.

The models check each value alone; ``rules`` checks them against each other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, field_validator

from generators.packfile.driving_models import DrivenSection
from generators.packfile.frame_models import FrameEntry, HoldSection
from generators.packfile.section import FileText, Section
from layouts.brackets.registry import KINDS
from layouts.formats import sheet_metals
from layouts.mount_spec import USES
from layouts.pack import Bay, Sun

__all__ = ["CoolingSection", "LoadSection", "MountSection", "ShockSection"]

# the words of the registry, so that a new kind needs no edit here; to the type checker plain text
if TYPE_CHECKING:
    BracketWord = str
    MetalWord = str
    UseWord = str
else:
    BracketWord, UseWord = Literal[tuple(KINDS)], Literal[tuple(USES)]
    MetalWord = Literal[tuple(sheet_metals())]

BayWord = Annotated[Bay, Field(strict=False)]
SunWord = Annotated[Sun, Field(strict=False)]
AccelerationG = Annotated[float, Field(ge=0, le=50)]
ScriptText = Annotated[str, Field(pattern=r"^\S.{0,395}\.py$")]
CycleA = Annotated[float, Field(ge=0, le=5000)]
CycleS = Annotated[float, Field(gt=0, le=86_400)]
CycleRow = tuple[CycleA, CycleS]
OffsetMm = Annotated[float, Field(ge=-300, le=300)]


class ShockSection(Section):
    """A half-sine shock of the frame, once along each axis: a kerb, a pothole, a landing."""

    g: float = Field(
        gt=0,
        le=500,
        description="Peak acceleration of the frame, in g. Required in this section: 10 for "
        "trolleys, 15 off the road (common practice, no source).",
    )
    ms: float = Field(
        gt=0,
        le=1000,
        description="Duration of the half sine, ms. Required in this section: 11 is usual.",
    )


class MountSection(Section):
    """The brackets and the frame that they bolt to."""

    kind: BracketWord | None = Field(
        default=None,
        description="Kind of bracket. Default {default}: an L whose foot bolts to a level face of "
        "the frame. flat: a plate that hangs below the tub, for an upright face. sheet: an L of "
        "sheet metal that a shop cuts and bends, for a level face. round_clamp, square_clamp: a "
        "block and its cap round a tube below the tub's edge, along its wall. script: drawn by a "
        "script of your own, for a level face.",
    )
    script: ScriptText | None = Field(
        default=None,
        description="Python file with a function bracket(sizes) that returns one bracket as a "
        "CadQuery Workplane, relative to the folder of this file. Run only with --allow-scripts. "
        "No default: required where kind is script.",
    )
    screw: Literal["M3", "M4", "M5", "M6", "M8"] | None = Field(
        default=None,
        description="Screw through a bracket's foot into the frame. Default {default}: usual on "
        "small frames.",
    )
    holes_mm: (
        Annotated[tuple[tuple[OffsetMm, OffsetMm], ...], Field(min_length=1, max_length=8)] | None
    ) = Field(
        default=None,
        description="Frame holes under one bracket's foot as [along the enclosure, away from it], "
        "mm, from the first hole, which is [0, 0]. Default [[0, 0], [20, 0]]: two, so that the "
        "foot cannot turn.",
    )
    tube_mm: float | None = Field(
        default=None,
        ge=8,
        le=80,
        description="Of kind round_clamp and square_clamp: outside diameter or side of the frame's "
        "tube, mm. No default: required there.",
    )
    liner_mm: float | None = Field(
        default=None,
        ge=0,
        le=4,
        description="Of the same kinds: thickness of the rubber between tube and clamp. Default "
        "{default}; 0: none.",
    )
    cross_bolt: bool | None = Field(
        default=None,
        description="Of the same kinds: a screw goes through the tube too. Default true: "
        "friction alone should not hold a pack along its tubes.",
    )
    slot_mm: float | None = Field(
        default=None,
        ge=0,
        le=4,
        description="Of kind angle: slots instead of round holes, in which the foot's screws can "
        "be moved so far away from the wall and as far towards it. A smaller screw "
        "between them, drilled through the foot once all is adjusted, locks it. Default {default}: "
        "round holes.",
    )
    shock: ShockSection | None = Field(
        default=None,
        description="A shock that the mounting must withstand beside load.acceleration_g. No "
        "default: that of use, else none is checked.",
    )
    metal: MetalWord | None = Field(
        default=None,
        description="Of brackets of kind sheet: the metal, by its designation. Default steel-S235: "
        "every shop has it and bends it to a radius of its thickness.",
    )
    thickness_mm: float | None = Field(
        default=None,
        ge=1,
        le=6,
        description="Of brackets of kind sheet: thickness of the sheet, one that the metal is sold "
        "in, mm. Default: the least from 1.5 that can be bent and bears the load.",
    )
    bend_radius_mm: float | None = Field(
        default=None,
        gt=0,
        le=20,
        description="Of brackets of kind sheet: inside radius of the bend, mm; ask your bender. "
        "Default: the thickness, more where the metal needs it, in steps of 0.5.",
    )
    k_factor: float | None = Field(
        default=None,
        ge=0.25,
        le=0.55,
        description="Of brackets of kind sheet: from the inside of the bend to the line that keeps "
        "its length, over the thickness; your bender's value wins. Default 0.44 steel, 0.46 "
        "stainless, 0.40 aluminium.",
    )
    kerf_mm: float | None = Field(
        default=None,
        ge=0,
        le=2,
        description="Of brackets of kind sheet: width that the cut takes, mm; outlines in the DXF "
        "are then drawn half of it larger, holes half of it smaller. Default 0: true size, the "
        "shop allows for it.",
    )
    use: UseWord | None = Field(
        default=None,
        description="Use of the machine: gives load.acceleration_g and shock where they are left "
        "out. No default: then load.acceleration_g has its own.",
    )
    frame: Annotated[tuple[FrameEntry, ...], Field(max_length=50)] = Field(
        default=(),
        description="Features of the real frame, in the coordinates of the space: brackets and "
        "mounting pads are then placed so that they hold. For enclosure.style fitted. Default "
        "none: each bracket's foot lies on holes_mm.",
    )
    hold: HoldSection | None = Field(
        default=None,
        description="By what the pack may be held on the frame; or the word none: no mounting pads "
        "and no brackets. Default: by all but its upper face.",
    )

    @field_validator("hold", mode="before")
    @classmethod
    def _none_is_no_bracket(cls, value: object) -> object:
        """The word none stands for no bracket at all."""
        return {"most": 0} if value == "none" else value


class LoadSection(Section):
    """The load of the machine. Left out: ratings are reported, and no current is checked."""

    continuous_a: float | None = Field(
        default=None,
        gt=0,
        le=2000,
        description="Continuous current that the machine draws, A. No default: this, "
        "continuous_w, cycle or machine is required in this section.",
    )
    continuous_w: float | None = Field(
        default=None,
        gt=0,
        le=200_000,
        description="Continuous power that the machine draws, W; the current is highest when the "
        "pack is empty. No default: give it instead of continuous_a.",
    )
    peak_a: float | None = Field(
        default=None,
        gt=0,
        le=5000,
        description="Peak current that the machine draws, A. No default: then no peak is checked.",
    )
    peak_w: float | None = Field(
        default=None,
        gt=0,
        le=500_000,
        description="Peak power that the machine draws, W. No default: give it instead of peak_a.",
    )
    peak_s: float | None = Field(
        default=None,
        gt=0,
        le=3600,
        description="Duration of a peak, s. Default 10 where a peak is given: a start or a short "
        "slope.",
    )
    regeneration_a: float | None = Field(
        default=None,
        gt=0,
        le=2000,
        description="Current that the motor returns when it brakes, A. No default: then there is "
        "none.",
    )
    profile: FileText | None = Field(
        default=None,
        description="CSV file of the load over time, its first line seconds,watts or "
        "seconds,watts,km_h; the watts of a row apply until the next row. The path is relative to "
        "this file's folder. No default: then no run time is calculated.",
    )
    discharge_cutoff_v: float | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="Pack voltage under load at which the machine stops, V: ends the run time. "
        "Default: controller.cutoff_v, else none.",
    )
    ambient_c: float = Field(
        default=25.0,
        ge=-40,
        le=70,
        description="Highest ambient temperature in use, C. Default 25: a mild day.",
    )
    acceleration_g: tuple[AccelerationG, AccelerationG, AccelerationG] = Field(
        default=(4.0, 4.0, 6.0),
        description="Shock along x, y and z that the mounting must withstand, in g. Default [4, 4, "
        "6]: small wheeled machines on rough ground; mount.use gives others.",
    )
    cycle: Annotated[tuple[CycleRow, ...], Field(min_length=1, max_length=200)] | None = Field(
        default=None,
        description="Duty cycle as [A, s]: amps held for seconds, again and again, a rest as 0 A. "
        "Its root mean square stands in for a continuous load, its highest pulse for a peak, where "
        "those are left out; heat, fuse, wire, BMS and run time follow its rows. No default: then "
        "there is none.",
    )
    machine: DrivenSection | None = Field(
        default=None,
        description="A wheeled machine whose current is not known: its mass, speed and slopes. "
        "No default: then nothing follows from them.",
    )


class CoolingSection(Section):
    """How the heat of the pack gets away."""

    bay: BayWord | None = Field(
        default=None,
        description="open: outside air flows round the enclosure; closed: the air between the "
        "enclosure and the walls of the space stands still, and those walls dissipate the heat. "
        "Default closed where space gives walls, else open.",
    )
    below_free: bool = Field(
        default=False,
        description="true where air reaches the lower face of the enclosure, or of the closed bay. "
        "Default false: it lies on something that takes no heat.",
    )
    sun: SunWord = Field(
        default=Sun.NONE,
        description="Sun on the face that looks up, at noon: none, light (a light or reflecting "
        "face) or dark. Default none.",
    )
