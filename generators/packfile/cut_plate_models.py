"""The form of flat metal plates for a motor or a controller, cut by a shop.

The models check each value alone; ``cut_plate_rules`` checks them against each other.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from generators.packfile.machine_models import MetalWord
from generators.packfile.section import PlaceMm, Section

__all__ = ["CutPlateEntry", "HoleCircleEntry", "PlateHoleEntry", "PlateSlotEntry"]

ScrewWord = Literal["M3", "M4", "M5", "M6", "M8"]
PointMm = tuple[PlaceMm, PlaceMm]
SideMm = Annotated[float, Field(gt=0, le=2000)]
FROM_CORNER = "from the plate's lower left corner, mm. Required."


class HoleCircleEntry(Section):
    """Screw holes evenly round a middle, as on the face of a motor."""

    at_mm: PointMm = Field(description=f"Middle of the circle as [x, y] {FROM_CORNER}")
    diameter_mm: float = Field(
        gt=0, le=1000, description="Diameter of the circle that the holes lie on, mm. Required."
    )
    holes: int = Field(ge=2, le=24, description="Number of holes. Required.")
    screw: ScrewWord = Field(description="Screw of the holes. Required.")
    pilot_mm: float = Field(
        default=0.0, ge=0, le=500,
        description="Diameter of the hole in the middle, for a motor's spigot or shaft, mm: "
        "measure that, and add what it needs to go in. Default 0: none.",
    )  # fmt: skip
    first_deg: float = Field(
        default=0.0, ge=-360, le=360,
        description="Direction of the first hole, degrees from x towards y. Default 0.",
    )  # fmt: skip


class PlateHoleEntry(Section):
    """A screw hole."""

    at_mm: PointMm = Field(description=f"Its middle as [x, y] {FROM_CORNER}")
    screw: ScrewWord = Field(description="Its screw. Required.")


class PlateSlotEntry(Section):
    """A slot in which a screw travels, to tighten a belt or chain."""

    at_mm: PointMm = Field(description=f"Its middle as [x, y] {FROM_CORNER}")
    screw: ScrewWord = Field(description="Its screw. Required.")
    travel_mm: float = Field(
        default=15.0, ge=15, le=300,
        description="How far the screw can travel, mm. Default 15, which is the least: a belt or "
        "chain goes on and is tightened.",
    )  # fmt: skip
    along_deg: float = Field(
        default=0.0, ge=-360, le=360,
        description="Direction of the belt or chain, degrees from x towards y. Default 0.",
    )  # fmt: skip


class CutPlateEntry(Section):
    """A flat plate of the machine's, such as a motor's or a controller's, for a shop to cut."""

    name: str = Field(
        pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$",
        description="Name of its files: letters, digits, - and _. Required.",
    )
    metal: MetalWord = Field(
        default="steel-S235", description="The metal, by its designation. Default steel-S235."
    )
    thickness_mm: float = Field(
        ge=1, le=12, description="One that the metal is sold in, mm. Required."
    )
    size_mm: tuple[SideMm, SideMm] = Field(description="Length and width, mm. Required.")
    corner_mm: float = Field(
        default=5.0, ge=1, le=200,
        description="Radius of the corners, mm. Default 5: a sharp one cuts hands and wires.",
    )  # fmt: skip
    circles: Annotated[tuple[HoleCircleEntry, ...], Field(max_length=20)] = Field(
        default=(), description="Circles of screw holes. No default: then there are none."
    )
    holes: Annotated[tuple[PlateHoleEntry, ...], Field(max_length=100)] = Field(
        default=(), description="Single screw holes. No default: then there are none."
    )
    slots: Annotated[tuple[PlateSlotEntry, ...], Field(max_length=40)] = Field(
        default=(), description="Slots along a belt or chain. No default: then there are none."
    )
    kerf_mm: float = Field(
        default=0.0, ge=0, le=2,
        description="Width that the cut takes, mm; the DXF then counts half of it on each side. "
        "Default 0: true size, the shop allows for it.",
    )  # fmt: skip
