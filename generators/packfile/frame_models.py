"""The form of a machine's frame: features that may hold the pack, in the space's coordinates.

The models check each value alone; ``generators.packfile.frame_rules`` checks them against each
other and against the space."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from generators.packfile.section import PlaceMm, Section
from layouts.frame_spec import FACES

__all__ = ["FrameEntry", "FrameHoleEntry", "HoldSection", "PlateSection"]

MOST_CORNERS = 200

# the words of a table; to the type checker plain text
if TYPE_CHECKING:
    FaceWord = str
else:
    FaceWord = Literal[FACES]

FrameScrew = Literal["M3", "M4", "M5", "M6", "M8"]
PlanPlace = tuple[PlaceMm, PlaceMm]
Place = tuple[PlaceMm, PlaceMm, PlaceMm]
Corners = Annotated[tuple[PlanPlace, ...], Field(min_length=3, max_length=MOST_CORNERS)]


class FrameHoleEntry(Section):
    """A hole that is there already."""

    at_mm: PlanPlace = Field(
        description="Its middle, mm, counted as the corners of outline_mm. Required."
    )
    screw: FrameScrew = Field(description="Largest screw that goes through it. Required.")
    thread: bool = Field(
        default=False,
        description="true where it is tapped for that screw. Default false: a nut goes behind it.",
    )


class PlateSection(Section):
    """A flat face of the frame."""

    at_mm: Place = Field(
        description="Point of the space from which its outline counts, mm. Required."
    )
    normal: FaceWord = Field(
        description="The way that the face looks, towards the pack: +z for a floor, by which alone "
        "angle brackets hold; others are only drawn. Required."
    )
    outline_mm: Corners = Field(
        description="Its corners in order along the two other axes, x before y before z, from "
        "at_mm, mm. Required."
    )
    thick_mm: float = Field(gt=0, le=100, description="Its thickness, mm. Required.")
    drill: bool = Field(
        default=False,
        description="true where new holes may be drilled. Default false: only holes are used.",
    )
    holes: Annotated[tuple[FrameHoleEntry, ...], Field(max_length=200)] = Field(
        default=(), description="Holes that are there. Default none: it must be drilled."
    )


class FrameEntry(Section):
    """A feature of the frame by which brackets may hold the pack."""

    name: str = Field(
        pattern=r"^\S(.{0,58}\S)?$",
        description="Name of the feature in messages, such as floor. Required.",
    )
    plate: PlateSection = Field(description="A flat face. Required.")


class HoldSection(Section):
    """By what the pack may be held on the frame; the word none instead of the section: by nothing,
    so that it has no mounting pads and no brackets."""

    faces: Annotated[tuple[FaceWord, ...], Field(min_length=1, max_length=6)] = Field(
        default=("+x", "-x", "+y", "-y", "-z"),
        description="Faces of the pack, as the space names them, that brackets may hold. Default "
        "[+x, -x, +y, -y, -z]: the lid stays free.",
    )
    most: int = Field(
        default=6,
        ge=0,
        le=12,
        description="Brackets at most. Default 6: more seldom help (judgement); 0 is none.",
    )
