"""The form of a space: in the pack file's section ``space``, or at the top of a file of its own.

The models check each value alone; ``generators.packfile.space_building`` checks them against
each other.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from generators.packfile.section import FileText, PlaceMm, Section

__all__ = ["CylinderSection", "KeepOutEntry", "PlaceSection", "SpaceSection"]

MOST_CORNERS = 1500  # a drawing holds more

BoxMm = Annotated[float, Field(ge=20, le=5000)]
PlanPoint = tuple[PlaceMm, PlaceMm]
Place = tuple[PlaceMm, PlaceMm, PlaceMm]
Ring = Annotated[tuple[PlanPoint, ...], Field(min_length=3, max_length=MOST_CORNERS)]
OpenSide = Literal["+x", "-x", "+y", "-y", "+z", "-z"]
Units = Literal["mm", "cm", "m", "in"]
Turn = Literal[-270, -180, -90, 0, 90, 180, 270]


class CylinderSection(Section):
    """A cylindrical keep-out, such as a wheel's sweep; modelled with 96 sides, never smaller."""

    from_mm: Place = Field(description="Centre of one end, mm. Required.")
    to_mm: Place = Field(description="Centre of the other end, mm. Required.")
    radius_mm: float = Field(gt=0, le=10_000, description="Radius, mm. Required.")


class KeepOutEntry(Section):
    """A body that the pack must stay out of: exactly one of box_mm, cylinder and file."""

    name: str = Field(
        pattern=r"^\S(.{0,58}\S)?$",
        description="Name of the body in messages, such as chain line. Required.",
    )
    box_mm: tuple[Place, Place] | None = Field(
        default=None,
        description="Two opposite corners of a box parallel to the axes, mm. No default: give "
        "box_mm, cylinder or file.",
    )
    cylinder: CylinderSection | None = Field(
        default=None,
        description="A cylinder by its two ends and radius. No default: give box_mm, cylinder or "
        "file.",
    )
    file: FileText | None = Field(
        default=None,
        description="A closed body: STL, OBJ, 3MF or STEP, in the coordinates of the space; the "
        "path is relative to this file's folder. No default: give box_mm, cylinder or file.",
    )
    units: Units | None = Field(
        default=None,
        description="Unit of length in file: mm, cm, m or in. Default mm for STL and OBJ, which "
        "have none; 3MF and STEP have their own.",
    )
    mend: bool = Field(
        default=False,
        description="true closes holes in the mesh and reports them. Default false: a leak is "
        "reported with its position, since the missing surface is not known.",
    )


class PlaceSection(Section):
    """How the pack stands in the space: turned about its axes, then moved. Left out: a place is
    looked for."""

    turns_deg: tuple[Turn, Turn, Turn] = Field(
        default=(0, 0, 0),
        description="Turns about the space's x, then y, then z axis, quarter turns, degrees. "
        "Default [0, 0, 0]: the lid looks up, and the pack's main leads leave as it is planned.",
    )
    at_mm: Place | None = Field(
        default=None,
        description="Where the least corner of the box round walls, floor and lid lies after these "
        "turns, mm. Pads, brackets and the lid's lip reach past it. No default: a fitted enclosure "
        "finds its place; a tub needs it.",
    )


class SpaceSection(Section):
    """The space in the machine: exactly one of box_mm, outline_mm and file. Left out: nothing
    checks whether the pack fits."""

    box_mm: tuple[BoxMm, BoxMm, BoxMm] | None = Field(
        default=None,
        description="Clear inside dimensions of a box-shaped space along x, y and z, mm. No "
        "default: give box_mm, outline_mm or file.",
    )
    outline_mm: Ring | None = Field(
        default=None,
        description="Corners of the space's plan in order, [[x, y], ...], mm, any straight-sided "
        "shape; requires height_mm. No default: give box_mm, outline_mm or file.",
    )
    holes_mm: Annotated[tuple[Ring, ...], Field(max_length=100)] = Field(
        default=(),
        description="Plans of obstacles in that outline over its whole height, each as its "
        "corners, mm. Default none: a plain outline.",
    )
    height_mm: BoxMm | None = Field(
        default=None,
        description="Height of the space over the outline, which lies at z = 0, mm. No default: "
        "required with outline_mm, and with a drawing.",
    )
    file: FileText | None = Field(
        default=None,
        description="Drawing of the space: a closed outline in DXF or SVG, with height_mm; or a "
        "closed body in STL, OBJ, 3MF or STEP. The path is relative to this file's folder. No "
        "default: give box_mm, outline_mm or file.",
    )
    is_: Literal["room", "surroundings"] = Field(
        default="room",
        alias="is",
        description="What the body in file is: room, the free space itself, or surroundings, the "
        "parts around it that the pack must stay out of. Default room: a closed body leaves "
        "nothing open by mistake.",
    )
    units: Units | None = Field(
        default=None,
        description="Unit of length in file: mm, cm, m or in. Default mm where the format has none "
        "(STL, OBJ); 3MF, STEP, DXF and SVG have their own.",
    )
    mend: bool = Field(
        default=False,
        description="true closes holes in the mesh and reports them. Default false: a leak is "
        "reported with its position, since the missing surface is not known.",
    )
    open_sides: Annotated[tuple[OpenSide, ...], Field(max_length=6)] | None = Field(
        default=None,
        description="Sides of the space that are open to the air: gas that an enclosure vents "
        "leaves through them; [] for a space that is closed all round. No default: then a caution "
        "says that this way is not checked.",
    )
    keep_out: Annotated[tuple[KeepOutEntry, ...], Field(max_length=200)] = Field(
        default=(),
        description="Bodies in the space that the pack must stay out of. Default none: all of the "
        "space is free.",
    )
    place: PlaceSection | None = Field(
        default=None,
        description="How the pack must stand in the space. No default: a pose is looked for.",
    )
