"""A frame's features checked against each other, the space and the rest of the pack file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations
from math import dist

from generators.packfile.faults import Path
from generators.packfile.rules import Finding
from layouts.formats import CellFormat, screws
from layouts.frame_spec import FramePlate
from layouts.pack import EnclosureStyle, Pack

__all__ = ["FRAME_RULES"]

FRAME: Path = ("mount", "frame")
SPACE_PLAY_MM = 0.5  # a face that bounds the space may lie so far outside it


def used(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """A use says what the load is: without one nothing is checked."""
    if pack.mount.use is not None and pack.load is None:
        yield Finding(
            field=("mount", "use"),
            reads=(("load",),),
            why="gives the accelerations of a load, and there is none",
            remedy="add load: with the current of the machine, or delete it",
        )


def framed(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Only the fitted form is planned for its place in a space; names differ."""
    frame = pack.mount.frame
    if not frame:
        return
    if pack.enclosure.style is not EnclosureStyle.FITTED:
        yield Finding(
            field=FRAME,
            reads=(("enclosure", "style"),),
            value=f"with enclosure.style {pack.enclosure.style.value}",
            why="needs an enclosure that is planned for its place in the space",
            remedy="write enclosure: {style: fitted}",
        )
    if pack.space is None:
        yield Finding(
            field=FRAME,
            reads=(("space",),),
            why="is in the coordinates of the space, and there is none",
            remedy="add space:",
        )
    if pack.mount.kind != "angle" or pack.mount.slot_mm:
        what = f"kind: {pack.mount.kind}" if pack.mount.kind != "angle" else "slot_mm"
        yield Finding(
            field=FRAME,
            reads=(("mount", "kind"), ("mount", "slot_mm")),
            value=f"with mount.{what}",
            why="places brackets of its own",
            remedy="delete that key: angle brackets are placed, each for its own holes",
        )
    if pack.load is None and not pack.mount.hold.none:
        yield Finding(
            field=FRAME,
            reads=(("load",),),
            why="has brackets placed for a load, and there is none",
            remedy="add load:, or write hold: none",
        )
    if all(face[1] == "z" for face in pack.mount.hold.faces) and not pack.mount.hold.none:
        yield Finding(
            field=("mount", "hold", "faces"),
            reads=(FRAME,),
            why="names no side wall, and brackets stand before those alone",
            remedy="add +x, -x, +y or -y, or write hold: none",
        )
    for name, count in Counter(feature.name for feature in frame).items():
        if count > 1:
            why = "is the name of two features"
            yield Finding(field=FRAME, reads=(), value=name, why=why, remedy="give each its own")


def plates(pack: Pack, size: CellFormat) -> Iterator[Finding]:
    """Outlines that enclose an area, holes within them and clear of each other, features within
    the space."""
    if not pack.mount.frame:
        return  # nothing heavy is loaded for it
    import shapely

    for number, plate in enumerate(pack.mount.frame):
        if not isinstance(plate, FramePlate):
            continue
        here: Path = (*FRAME, number, "plate")
        outline = shapely.Polygon(plate.outline_mm)
        if not outline.is_valid or outline.area < 1.0:
            yield Finding(
                field=(*here, "outline_mm"), reads=(), value=plate.name,
                why="crosses itself or encloses no area",
                remedy="give its corners in order, each once",
            )  # fmt: skip
            continue
        yield from _holes(plate, here, outline)
        yield from _outside(pack, plate, here)


def _holes(plate: FramePlate, here: Path, outline: object) -> Iterator[Finding]:
    import shapely

    for k, hole in enumerate(plate.holes):
        radius = screws()[hole.screw].clearance_diameter_mm / 2.0
        if not shapely.covers(outline, shapely.Point(hole.at_mm).buffer(radius)):
            yield Finding(
                field=(*here, "holes", k, "at_mm"), reads=(),
                value=f"[{hole.at_mm[0]:g}, {hole.at_mm[1]:g}]",
                why=f"does not lie within the outline of {plate.name} with all of its {hole.screw} "
                "hole",
                remedy="count it from at_mm as the corners, or correct the outline",
            )  # fmt: skip
    for (i, one), (k, two) in combinations(enumerate(plate.holes), 2):
        apart = (screws()[one.screw].clearance_diameter_mm
                 + screws()[two.screw].clearance_diameter_mm) / 2.0  # fmt: skip
        if dist(one.at_mm, two.at_mm) < apart:
            yield Finding(
                field=(*here, "holes", k, "at_mm"), reads=(),
                value=f"[{two.at_mm[0]:g}, {two.at_mm[1]:g}]",
                why=f"runs into hole {i + 1} of {plate.name}",
                remedy="give each hole once, in its place",
            )  # fmt: skip


def _outside(pack: Pack, plate: FramePlate, here: Path) -> Iterator[Finding]:
    if pack.space is None:
        return
    low, size = pack.space.low_mm, pack.space.box_mm
    for axis in range(3):
        along = [plate.in_space_mm(at)[axis] for at in plate.outline_mm]
        least, most = low[axis] - SPACE_PLAY_MM, low[axis] + size[axis] + SPACE_PLAY_MM
        if max(along) < least or min(along) > most:
            yield Finding(
                field=(*here, "at_mm"), reads=(("space",),),
                value=f"{'xyz'[axis]} {min(along):g} to {max(along):g}",
                why=f"lies outside the space, whose {'xyz'[axis]} runs from {low[axis]:g} to "
                f"{low[axis] + size[axis]:g}",
                remedy="give it in the coordinates of the space",
            )  # fmt: skip
            return


FRAME_RULES = (used, framed, plates)
