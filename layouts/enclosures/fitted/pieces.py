"""Pieces that tub and lid are printed in where the bed is small, and the straps that join them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.cut_sites import CutSite, lid_site, tub_site
from layouts.enclosures.fitted.lid import lid_features
from layouts.enclosures.fitted.seam_path import kept_half, kept_loop
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.splices import NUT_POCKET_MM, BedSeam, Strap
from layouts.enclosures.fitted.straps import RECESS_PLAY_MM
from layouts.enclosures.fitted.tub import tub_bores, tub_features
from layouts.enclosures.laps import lap_levels
from layouts.enclosures.printed import (
    FIELD,
    LEVEL_DIGITS,
    LID_COLOUR,
    TUB_COLOUR,
    lid_placed,
    loop_of,
)
from layouts.formats import low_heads, screws
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.parts.part import Part
from layouts.slabs.bore import Bore
from layouts.slabs.profile import Loop, circle, mirrored_x, polygon

__all__ = ["lid_pieces", "strap_parts", "tub_pieces"]

CORNER_MM = 3.0  # of a strap, rounded
DRAIN_PLAY_MM = 0.5  # of a floor's drain in its strap, on the radius
NEAR_MM = 1.0  # a bore belongs to the piece so far behind its start


def tub_pieces(sizes: FittedSizes) -> Iterator[Drawing]:
    """Drawings of the tub's pieces, floor's underside on z = 0."""
    site, seams = tub_site(sizes), sizes.splices.tub.seams
    levels = sizes.shell.levels
    thick, high = levels.floor_mm - levels.under_mm, levels.rim_mm - levels.under_mm
    walls = {axis: site.walls(axis) for axis in (0, 1)} if site.walls else {}

    def kept(seam: BedSeam, behind: bool, off_mm: float) -> Loop:
        return kept_loop(seam, walls[seam.axis], behind=behind, off_mm=off_mm)

    features = (*tub_features(sizes), *_holes(sizes.splices.tub.straps, thick, sizes))
    for cell, region in _cells(site, seams):
        masks = _masks(seams, cell, thick, high, sizes.splices.layer_mm, kept)
        bores = tuple(one for one in tub_bores(sizes) if _begins_in(one, region))
        yield drawing_of((*features, *masks), part="tub", field=FIELD, bores=bores)


def lid_pieces(sizes: FittedSizes) -> Iterator[Drawing]:
    """Drawings of the lid's pieces, outer face on z = 0, plan with x mirrored."""
    site, seams = lid_site(sizes), sizes.splices.lid.seams
    levels = sizes.shell.levels
    thick = levels.lid_mm - levels.rim_mm
    whole = lid_features(sizes)
    high = max(feature.z1_mm for feature in whole)

    def kept(seam: BedSeam, behind: bool, off_mm: float) -> Loop:
        half = kept_half(seam, site.whole.bounds, behind=behind, off_mm=off_mm)
        return mirrored_x(half)

    features = (*whole, *_holes(sizes.splices.lid.straps, thick, sizes, mirrored=True))
    for cell, _ in _cells(site, seams):
        masks = _masks(seams, cell, thick, high, sizes.splices.layer_mm, kept)
        yield drawing_of((*features, *masks), part="lid", field=FIELD)


Cell = tuple[tuple[int, int], Loop | None]


def _cells(site: CutSite, seams: Sequence[BedSeam]) -> Iterator[tuple[Cell, BaseGeometry]]:
    """Each piece: its number among the bands of x and of y, the outline that keeps it where its
    band holds several pieces, and its plan; row by row from -y, each row from -x."""
    x0, y0, x1, y1 = site.whole.bounds
    ends = [
        [low - 1.0, *sorted(seam.at_mm for seam in seams if seam.axis == axis), high + 1.0]
        for axis, low, high in ((0, x0, x1), (1, y0, y1))
    ]
    for j, i in itertools.product(range(len(ends[1]) - 1), range(len(ends[0]) - 1)):
        band = shapely.box(ends[0][i], ends[1][j], ends[0][i + 1], ends[1][j + 1])
        left = [p for p in shapely.get_parts(site.whole.intersection(band)) if p.area > 1.0]
        for piece in left:
            yield ((i, j), _apart(piece, left)), piece


def _apart(piece: BaseGeometry, others: Sequence[BaseGeometry]) -> Loop | None:
    """An outline round a piece that no other of its band meets; None where it is alone."""
    rest = [one for one in others if one is not piece]
    if not rest:
        return None
    by = min(shapely.distance(piece, one) for one in rest) / 3
    hull = piece.buffer(by, join_style="mitre").simplify(by / 4)
    return polygon([(float(x), float(y)) for x, y in hull.exterior.coords[:-1]])


def _masks(
    seams: Sequence[BedSeam], cell: Cell, thick_mm: float, high_mm: float, layer_mm: float,
    kept: Callable[[BedSeam, bool, float], Loop],
) -> Iterator[Feature]:  # fmt: skip
    """What a piece keeps, from the bed up: laps in floor or plate, then walls."""
    (i, j), apart = cell
    steps = lap_levels(thick_mm, layer_mm)
    # what stands on floor or plate is parted over its uppermost step, so that none of it overhangs
    levels = (*steps, (thick_mm, high_mm, steps[-1][2]))
    for axis, number in ((0, i), (1, j)):
        mine = sorted((s for s in seams if s.axis == axis), key=lambda s: s.at_mm)
        sides = [(mine[number], False)] if number < len(mine) else []
        sides += [(mine[number - 1], True)] if number else []
        for seam, behind in sides:
            for z0, z1, offsets in levels:
                off = offsets[1 if behind else 0]
                yield Feature(
                    name=f"piece {seam.told} {behind} {off:g}",
                    loops=(kept(seam, behind, off),),
                    z0_mm=round(z0, LEVEL_DIGITS), z1_mm=round(z1, LEVEL_DIGITS),
                    effect=Effect.KEEP,
                )  # fmt: skip
    if apart is not None:
        yield Feature(
            name="piece apart", loops=(apart,), z0_mm=0.0, z1_mm=round(high_mm, LEVEL_DIGITS),
            effect=Effect.KEEP,
        )  # fmt: skip


def _holes(
    straps: Sequence[Strap], thick_mm: float, sizes: FittedSizes, *, mirrored: bool = False
) -> Iterator[Feature]:
    """Screw holes and nuts' pockets in floor or lid, from the outer face on the bed up."""
    size = screws()[sizes.splices.screw]
    for k, strap in enumerate(straps):
        places = [(one.x_mm, one.y_mm) for one in strap.screws]
        found = [("strap hole", [circle(at, size.clearance_diameter_mm / 2) for at in places], 0.0)]
        if strap.nut_deep_mm > 0.0:
            pockets = [_hexagon(at) for at in places]
            found.append(("nut pocket", pockets, thick_mm - strap.nut_deep_mm))
        for name, loops, z0 in found:
            yield Feature(
                name=f"{name} {k}",
                loops=tuple(mirrored_x(loop) if mirrored else loop for loop in loops),
                z0_mm=round(z0, LEVEL_DIGITS), z1_mm=round(thick_mm, LEVEL_DIGITS),
                effect=Effect.CUT,
            )  # fmt: skip


def _hexagon(at: tuple[float, float]) -> Loop:
    """A nut's pocket."""
    corner = NUT_POCKET_MM / math.sqrt(3.0)
    turns = [math.radians(60.0 * k) for k in range(6)]
    return polygon([(at[0] + corner * math.cos(t), at[1] + corner * math.sin(t)) for t in turns])


def _begins_in(bore: Bore, region: BaseGeometry) -> bool:
    """Whether a bore begins in a piece."""
    (x, y, _), (u, v, _) = bore.start, bore.direction
    return bool(region.contains(shapely.Point(x + NEAR_MM * u, y + NEAR_MM * v)))


def strap_parts(sizes: FittedSizes) -> Iterator[Part]:
    """Straps beneath the tub and on the lid, each printed flat, its screws' recesses on top."""
    levels, splices = sizes.shell.levels, sizes.splices
    for where, straps, placed, colour in (
        ("floor", splices.tub.straps, lid_placed(levels.under_mm), TUB_COLOUR),
        ("lid", splices.lid.straps, _up(levels.lid_mm), LID_COLOUR),
    ):
        for number, strap in enumerate(straps, start=1):
            name = f"{where}-strap" + (f"-{number}" if len(straps) > 1 else "")
            face = "on the underside of the tub" if where == "floor" else "on top of the lid"
            yield Part(
                name=name, role=f"{where}_strap", field=FIELD,
                drawing=_strap_drawing(sizes, strap, name, mirrored=where == "floor"),
                placed=(placed,), colour=colour,
                print_note=f"flat, recesses up, solid; screwed {face} across the seam at "
                f"{strap.seam.told} mm",
            )  # fmt: skip


def _up(z_mm: float) -> np.ndarray:
    placed = np.eye(4)
    placed[2, 3] = z_mm
    return placed


def _strap_drawing(sizes: FittedSizes, strap: Strap, name: str, *, mirrored: bool) -> Drawing:
    """A strap, the face that lies against floor or lid on z = 0."""
    size = screws()[sizes.splices.screw]
    head = low_heads()[sizes.splices.screw].head_diameter_mm / 2 + RECESS_PLAY_MM
    places = [(one.x_mm, one.y_mm) for one in strap.screws]
    drains = [
        circle((d.x_mm, d.y_mm), d.radius_mm + DRAIN_PLAY_MM)
        for d in (sizes.drains if mirrored else ())
        if loop_box(strap).buffer(d.radius_mm + DRAIN_PLAY_MM).contains(
            shapely.Point(d.x_mm, d.y_mm)
        )
    ]  # fmt: skip

    def one(name: str, loops: Sequence[Loop], z0: float, effect: Effect) -> Feature:
        return Feature(
            name=name, loops=tuple(mirrored_x(loop) if mirrored else loop for loop in loops),
            z0_mm=round(z0, LEVEL_DIGITS), z1_mm=round(strap.thick_mm, LEVEL_DIGITS),
            effect=effect,
        )  # fmt: skip

    return drawing_of(
        (
            one("strap", [loop_of(strap.plan, CORNER_MM)], 0.0, Effect.ADD),
            one("hole", [circle(at, size.clearance_diameter_mm / 2) for at in places], 0.0,
                Effect.CUT),
            one("recess", [circle(at, head) for at in places], strap.under_head_mm, Effect.CUT),
            one("drain", drains, 0.0, Effect.CUT),
        ),
        part=name, field=FIELD,
    )  # fmt: skip


def loop_box(strap: Strap) -> BaseGeometry:
    """A strap's plan as a shape."""
    return shapely.box(*strap.plan.bounds)
