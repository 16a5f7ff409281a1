"""What goes through, or stands beside, the first layer of each part: screws, nuts, strips, the
next piece of the same part."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from layouts.formats import screws
from layouts.holders.holder import HolderTile
from layouts.holders.levels import hexagon_mm
from layouts.pack import Face
from layouts.parts.fasteners import Into
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.planning.steps import HolderPlan
from layouts.printable.bed_item import BedItem
from layouts.printing.sections import section_at

__all__ = ["bed_items"]

UPRIGHT = 0.99  # of a unit axis
LEVEL_MM = 0.05  # heights nearer than this are one
NEXT_MM = 3.0  # of a part, within which the next piece is looked at
QUARTER_SEGMENTS = 64  # of a screw's circle: its chords stray by less than 0.001 mm


def bed_items(plan: HolderPlan, parts: Sequence[Part]) -> Mapping[str, tuple[BedItem, ...]]:
    """By name of the part, of its first copy. Parts whose bed face stands upright in the pack
    have none."""
    level = [one for one in parts if abs(one.placed[0][2, 2]) > UPRIGHT]
    found: dict[str, list[BedItem]] = {one.name: [] for one in parts}
    tiles = {tile.name: tile for tile in plan.tiles}
    placed: tuple[PlacedScrew, ...] = ()
    if plan.enclosure_set is not None:
        placed = (*plan.enclosure.screws, *plan.bracket.screws)
    for part in level:
        if part.name in tiles:
            found[part.name] += _tie_items(plan, tiles[part.name])
            found[part.name] += _metal(plan, tiles[part.name].face, part)
        else:
            found[part.name] += _screws(part, placed)
    for part, other in _pairs(plan, level):
        found[part.name].append(_next_piece(part, other, plan.pack.printer.layer_mm))
    return {name: tuple(items) for name, items in found.items()}


def _tie_items(plan: HolderPlan, tile: HolderTile) -> Iterable[BedItem]:
    """Heads above, nuts below; where they do not sink in, the screws themselves."""
    if tile.screw_hole_diameter_mm <= 0.0:
        return
    size = screws()[plan.pack.holder.screw]
    for post in tile.posts:
        at = np.array([post.x_mm, post.y_mm])
        if tile.recess_mm <= 0.0 or tile.recess_deep_mm <= 0.0:
            yield BedItem(what=f"tie screw {size.screw}", region=_disc(at, _thread_mm(size.screw)))
        elif tile.face is Face.UPPER:
            yield BedItem(
                what=f"head of the tie screw {size.screw}", region=_disc(at, size.head_diameter_mm)
            )
        else:
            yield BedItem(
                what=f"nut {size.screw}",
                region=shapely.Polygon(hexagon_mm(size.nut_flats_mm) + at),
            )


def _metal(plan: HolderPlan, face: Face, part: Part) -> Iterable[BedItem]:
    """Strips or plates in their channels."""
    into = _into(part)
    for one in plan.interconnect.laid(face):
        yield BedItem(what=f"metal {one.name}", region=_moved(one.shape, into))


def _screws(part: Part, placed: Iterable[PlacedScrew]) -> Iterable[BedItem]:
    """Shanks and heads where they pass the bed's face; inserts are melted in."""
    into, bed_mm = _into(part), float(part.placed[0][2, 3])
    first = section_at(part.drawing, LEVEL_MM)
    for one in placed:
        if not one.upright:
            continue
        outside_mm = (bed_mm - float(one.at_mm[2])) * float(one.out[2])
        deep_mm = one.through_mm + (0.0 if one.into is Into.INSERT else one.gap_mm)
        at = (into @ np.append(one.at_mm, 1.0))[:2]
        if shapely.intersects_xy(first, *at):  # it ends short of this face
            continue
        if -deep_mm - LEVEL_MM <= outside_mm <= LEVEL_MM:
            region = _disc(at, _thread_mm(one.screw))
            yield BedItem(what=f"screw {one.screw}", region=region)
        elif LEVEL_MM < outside_mm <= one.top_mm + LEVEL_MM:
            region = _disc(at, one.size.head_diameter_mm)
            yield BedItem(what=f"head of a screw {one.screw}", region=region)


def _pairs(plan: HolderPlan, parts: Sequence[Part]) -> Iterable[tuple[Part, Part]]:
    """Pieces of one part whose bed faces lie in one plane of the pack."""
    for k, part in enumerate(parts):
        for other in parts[k + 1 :]:
            level = abs(part.placed[0][2, 3] - other.placed[0][2, 3]) < LEVEL_MM
            if (
                part.role == other.role
                and level
                and _first_in_pack(part).intersects(_first_in_pack(other))
            ):
                yield part, other


def _first_in_pack(part: Part) -> BaseGeometry:
    """The box of a part in the pack's plan, grown."""
    (x0, y0, _), (x1, y1, _) = part.drawing.box_mm()
    return _moved(shapely.box(x0, y0, x1, y1), part.placed[0]).buffer(NEXT_MM)


def _next_piece(part: Part, other: Part, layer_mm: float) -> BedItem:
    into = _into(part) @ other.placed[0]
    (x0, y0, _), (x1, y1, _) = part.drawing.box_mm()
    near = shapely.box(x0, y0, x1, y1).buffer(NEXT_MM)
    first = _moved(section_at(other.drawing, layer_mm / 2.0), into)
    return BedItem(what=f"the next piece, {other.name}", region=first & near, is_printed=True)


def _into(part: Part) -> NDArray[np.float64]:
    """(4, 4) from the pack's coordinates to the part's."""
    return np.asarray(np.linalg.inv(part.placed[0]), np.float64)


def _moved(region: BaseGeometry, matrix: NDArray[np.float64]) -> BaseGeometry:
    """A plan put in place by a matrix that turns about z, or over, and shifts."""
    m = matrix
    coefficients = [m[0, 0], m[0, 1], m[1, 0], m[1, 1], m[0, 3], m[1, 3]]
    return affinity.affine_transform(region, [float(one) for one in coefficients])


def _disc(at: NDArray[np.float64], diameter_mm: float) -> BaseGeometry:
    disc: BaseGeometry = shapely.Point(*at).buffer(diameter_mm / 2.0, quad_segs=QUARTER_SEGMENTS)
    return disc


def _thread_mm(screw: str) -> float:
    return float(screw.removeprefix("M"))
