"""All plates of a pack: outlines clear of each other, lip left at every can end, tails."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack
from layouts.plates.cell_fuses import FusedRest, fused_rest, with_necks
from layouts.plates.outline import NeckedShape, PlateBody, largest_part, pads_of, plate_body
from layouts.plates.seams import SEAM_HOLES_MM, seam_gaps
from layouts.plates.sizes import (
    CHANNEL_PLAY_MM,
    HOLES_MM,
    LEAST_WIDE_MM,
    NECK_MM,
    PlateSizes,
    plate_sizes,
)
from layouts.plates.tails import with_tails
from layouts.plates.touching import nets_of, touching
from layouts.plates.whole import kept_clear, whole_plate, without_points
from layouts.strips.lip import positive_end
from layouts.strips.lip_left import lips_left
from layouts.strips.plate import BusPlate

__all__ = ["lay_plates"]

SAME_MM = 0.1  # chords, and corners that a difference moves
Seams = list[tuple[int, tuple[tuple[int, ...], ...]]]  # as ``seam_gaps`` gives them

HOLE_CURVE = 32  # chords a quarter turn of a round hole: 0.002 mm off


def lay_plates(
    pack: Pack, cell_layout: CellLayout, posts_mm: NDArray[np.float64], outline: BaseGeometry
) -> tuple[BusPlate, ...]:
    """The plates of both faces, the lower face's first, their layers still to be chosen.

    ``posts_mm`` (p, 3): x, y and radius of each tie post with its clearance; ``outline``: the
    holders' outline.
    """
    sizes = plate_sizes(pack)
    plates: list[BusPlate] = []
    for face in (Face.LOWER, Face.UPPER):
        made = _face_plates(pack, cell_layout, posts_mm, sizes, face)
        plates += with_tails(pack, cell_layout, made, posts_mm, outline, face)
    return tuple(plates)


def _face_plates(
    pack: Pack,
    cell_layout: CellLayout,
    posts_mm: NDArray[np.float64],
    sizes: PlateSizes,
    face: Face,
) -> list[BusPlate]:
    """The plates of one face, without tails."""
    xy, positive = cell_layout.xy_mm, positive_end(cell_layout, face)
    nets = nets_of(cell_layout, face)
    columns = shapely.union_all(shapely.buffer(shapely.points(posts_mm[:, :2]), posts_mm[:, 2]))
    bodies = [
        plate_body(pack, cell_layout, net, sizes, positive=positive, columns=columns)
        for net in nets
    ]
    seams: Seams = []
    if int(cell_layout.tile.max()) > 0:
        gaps = [gap for net in nets for gap in touching(cell_layout, net, pack.lattice).gaps]
        seams = seam_gaps(cell_layout, gaps)
    made: list[BusPlate] = []
    for net, body in zip(nets, bodies, strict=True):
        away = kept_clear(pack, cell_layout, net, [other.body for other in made], columns)
        pads = pads_of(xy, net, positive, sizes)
        shape = whole_plate(
            pack, cell_layout, net, body.shape, pads, away, sizes, positive=positive
        )
        rest = fused_rest(pack, cell_layout, face, net, shape)
        whole = replace(body, shape=shape if rest is None else rest.shape)
        plate = _holed(pack, cell_layout, face, net, whole, sizes, seams, rest)
        made.append(with_necks(pack, cell_layout, plate, rest))
    return made


def _holed(
    pack: Pack,
    cell_layout: CellLayout,
    face: Face,
    net: NDArray[np.int64],
    body: PlateBody,
    sizes: PlateSizes,
    seams: Seams,
    rest: FusedRest | None,
) -> BusPlate:
    """The plate with round holes where lip must stand between cans, then where webs want it.

    First on seams between two tiles, for the tabs that lock these to each other; then at the gaps
    whose holes hold most cans that are not held yet, with the largest punch that stays clear of the
    windows; then the smallest punch at the other gaps where a neck remains. With fusible necks
    the ``rest`` of the plate must go on leading to all of them.
    """
    xy = cell_layout.xy_mm
    joined = xy[net] if rest is None else rest.places_mm
    least_mm, neck_mm = (LEAST_WIDE_MM, NECK_MM) if rest is None else (rest.least_mm,) * 2
    shape, locked = _seam_holes(xy, net, body.shape, seams, joined)
    holes = list(locked.values())
    free = sorted(set(body.open_gaps) - set(locked))
    punches_mm = _punches_mm(sizes, rest)
    whole, more = _lip_holes(
        pack, cell_layout, face, net, NeckedShape(shape, least_mm), free, joined, punches_mm
    )
    holes += more
    whole = NeckedShape(whole.shape, neck_mm)
    for gap in free:
        cut, hole = _punch(xy, gap, HOLES_MM[-1])
        tried = whole.without(cut)
        if tried.joins(joined):
            whole = tried
            holes.append(hole)
    punched = _blunted(body.shape, whole.shape, len(holes))
    groups = tuple(int(group) for group in np.unique(cell_layout.group[net]))
    return BusPlate(
        name=f"{face.value}-{'-'.join(str(group) for group in groups)}",
        face=face,
        groups=groups,
        cells=tuple(net.tolist()),
        body=punched,
        tail=None,
        folded=None,
        tail_end_mm=None,
        holes=_round_holes(punched, holes),
        slots=body.slots,
    )


def _lip_holes(
    pack: Pack,
    cell_layout: CellLayout,
    face: Face,
    net: NDArray[np.int64],
    whole: NeckedShape,
    free: list[tuple[int, ...]],
    joined_mm: NDArray[np.float64],
    punches_mm: tuple[float, ...],
) -> tuple[NeckedShape, list[tuple[float, float, float]]]:
    """The plate with holes at gaps until the lip holds all cans, and these; takes what was tried
    out of the ``free`` gaps."""
    xy, holes = cell_layout.xy_mm, []
    failing = _loose(pack, cell_layout, net, whole.shape, face)
    while failing and free:
        best = max(free, key=lambda gap: sum(cell in gap for cell in failing))
        if not any(cell in best for cell in failing):
            break
        free.remove(best)
        for diameter_mm in punches_mm:
            cut, hole = _punch(xy, best, diameter_mm)
            tried = whole.without(cut)
            if tried.joins(joined_mm):
                whole = tried
                holes.append(hole)
                # lip appears beside the cells round the hole alone
                mine = np.array(sorted(set(best) & set(net.tolist())))
                failing = [cell for cell in failing if cell not in best]
                failing += _loose(pack, cell_layout, mine, whole.shape, face)
                break
    return whole, holes


def _punches_mm(sizes: PlateSizes, rest: FusedRest | None) -> tuple[float, ...]:
    """Of holes for lip, largest first: smaller ones beside the rings round pads alone."""
    if rest is None:
        return (sizes.hole_mm,)
    return (sizes.hole_mm, *(one for one in HOLES_MM if one < sizes.hole_mm))


def _blunted(before: BaseGeometry, punched: BaseGeometry, holes: int) -> BaseGeometry:
    """A punched plate without the points that stay where a hole opens into a slot or another."""
    if len(punched.interiors) == len(before.interiors) + holes:
        return punched
    return largest_part(without_points(punched))


def _seam_holes(
    xy: NDArray[np.float64],
    net: NDArray[np.int64],
    shape: BaseGeometry,
    seams: Seams,
    joined_mm: NDArray[np.float64],
) -> tuple[BaseGeometry, dict[tuple[int, ...], tuple[float, float, float]]]:
    """The plate with holes for interlock tabs where tiles meet under it, and each gap's hole.

    As many as the plate has of the gaps that come first on a seam; others of its own where a neck
    would be too narrow."""
    found: dict[tuple[int, ...], tuple[float, float, float]] = {}
    mine, whole = set(net.tolist()), NeckedShape(shape, NECK_MM)
    for many, gaps in seams:
        own = [mine.issuperset(gap) for gap in gaps]
        wanted, done = sum(own[:many]), 0
        for gap in (gap for gap, here in zip(gaps, own, strict=True) if here):
            if done == wanted:
                break
            for diameter_mm in SEAM_HOLES_MM:
                cut, hole = _punch(xy, gap, diameter_mm)
                tried = whole.without(cut)
                if tried.joins(joined_mm):
                    whole, found[gap], done = tried, hole, done + 1
                    break
    return whole.shape, found


def _loose(
    pack: Pack, cell_layout: CellLayout, net: NDArray[np.int64], shape: BaseGeometry, face: Face
) -> list[int]:
    """The cells that the lip beside a plate does not hold."""
    left = lips_left(pack, cell_layout, net.tolist(), shape, face, play_mm=CHANNEL_PLAY_MM)
    return [cell for cell, lip in left.items() if not lip.holds]


def _punch(
    xy: NDArray[np.float64], gap: tuple[int, ...], diameter_mm: float
) -> tuple[shapely.Polygon, tuple[float, float, float]]:
    """A round hole at a gap's middle: its shape, and (x, y, diameter)."""
    x, y = xy[list(gap)].mean(axis=0).tolist()
    cut = shapely.Point(x, y).buffer(diameter_mm / 2.0, quad_segs=HOLE_CURVE)
    return cut, (x, y, diameter_mm)


def _round_holes(
    shape: shapely.Polygon, punched: list[tuple[float, float, float]]
) -> tuple[tuple[float, float, float], ...]:
    """Every hole in a plate: those punched as they are, others as round ones of the same area.

    A punched one that opens into a slot, or into another hole, is none by itself."""
    found = []
    for ring in (shapely.Polygon(one) for one in shape.interiors):
        whole_mm = 2.0 * math.sqrt(ring.area / math.pi)
        at = ring.centroid
        same = (
            (x, y, diameter)
            for x, y, diameter in punched
            if abs(diameter - whole_mm) < SAME_MM and math.dist((x, y), (at.x, at.y)) < SAME_MM
        )
        found.append(next(same, (at.x, at.y, whole_mm)))
    return tuple(found)
