"""The bare parts at one face: where they lie at worst, and at which potential.

Potentials count groups from pack minus: the can of a cell of group g lies at g - 1, its cap at
g, and the strips of a node at the number of the group whose caps they join. Every part is a
shape and a radius round it, so that tolerances and round parts are one and the same.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.holders.outline import Outline, outline_points_mm
from layouts.holders.shape import CHORD_RAD
from layouts.pack import Face, Pack
from layouts.shorts.values import PRINT_MM, WELD_PLACING_MM
from layouts.strips.joining import Interconnect, LaidMetal
from layouts.strips.joints import net_of_group
from layouts.strips.lip import positive_end

__all__ = [
    "ANYWHERE",
    "FLOATING",
    "Bare",
    "bare_strips",
    "can_reach_mm",
    "can_shapes",
    "cans",
    "channel_openings",
    "node_potential",
    "placing_mm",
    "strip_shapes",
    "window_openings",
]

FLOATING = -1  # potential of metal that hangs on nothing: it may take on any
CRUMB_MM2 = 1e-3  # slivers that chords leave
ANYWHERE = -1  # node of what belongs to none; tile of what lies in several


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Bare:
    """n bare parts of one face; each field (n,).

    ``shapes``: polygons, or points of round parts, with ``radius_mm`` round each. ``potential``:
    in groups from pack minus, or ``FLOATING``. ``node``: parts of one node need no distance.
    ``wall_mm``: what a way along the plastic gains from this part up to the outer face.
    ``tile`` of the holder, ``ANYWHERE`` for several. ``low_mm``, ``high_mm``: its heights, z in
    pack coordinates. ``name``: of the part with that number.
    """

    shapes: NDArray[np.object_]
    radius_mm: NDArray[np.float64]
    potential: NDArray[np.int64]
    node: NDArray[np.int64]
    wall_mm: NDArray[np.float64]
    tile: NDArray[np.int64]
    low_mm: NDArray[np.float64]
    high_mm: NDArray[np.float64]
    name: Callable[[int], str]


def placing_mm(pack: Pack) -> float:
    """How far a strip may lie off its drawing: play, welding, print."""
    return pack.holder.channel_play_mm / 2 + WELD_PLACING_MM + PRINT_MM


def can_reach_mm(pack: Pack) -> float:
    """Radius of all that the largest can may stand on, leaning to any side of its pocket."""
    return pack.pocket_mm / 2 + PRINT_MM


def node_potential(node: NDArray[np.int64], face: Face) -> NDArray[np.int64]:
    """Potential of a face's nodes: that of the caps of their lower group."""
    return np.asarray(2 * node + (1 if face is Face.UPPER else 0), dtype=np.int64)


def strip_shapes(strips: Sequence[LaidMetal], *, grown_mm: float = 0.0) -> NDArray[np.object_]:
    """(m,) their outlines, grown on all sides, corners kept; the metal of a node is their union."""
    shapes = np.array([strip.shape for strip in strips], dtype=np.object_)
    if not len(shapes) or not grown_mm:
        return shapes
    return np.asarray(shapely.buffer(shapes, grown_mm, join_style="mitre"), dtype=np.object_)


def _strip_nodes(
    cell_layout: CellLayout, strips: Sequence[LaidMetal], face: Face
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Node of each strip by its first cell, and the one tile that it lies in."""
    if not strips:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    cells, begin = _cells_of(strips)
    node = net_of_group(cell_layout.group[cells[begin]], face)
    tile = np.minimum.reduceat(cell_layout.tile[cells], begin)
    several = tile != np.maximum.reduceat(cell_layout.tile[cells], begin)
    out = np.array([strip.runs_out for strip in strips])
    return node, np.where(several | out, ANYWHERE, tile).astype(np.int64)


def _cells_of(strips: Sequence[LaidMetal]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The cells of all strips one after the other, and where each strip's begin."""
    count = np.array([len(strip.cells) for strip in strips], dtype=np.int64)
    cells = np.array([cell for strip in strips for cell in strip.cells], dtype=np.int64)
    return cells, np.cumsum(count) - count


def _heights_mm(pack: Pack, face: Face, count: int) -> tuple[NDArray[np.float64], ...]:
    """Lowest and highest z of what lies in the lip of a face."""
    if face is Face.UPPER:
        low = pack.lip_to_lip_mm - pack.holder.web_recess_mm
        high = pack.lip_to_lip_mm + pack.holder.lip_mm
    else:
        low, high = -pack.holder.lip_mm, pack.holder.web_recess_mm
    return np.full(count, low), np.full(count, high)


def _strips(
    pack: Pack,
    cell_layout: CellLayout,
    strips: Sequence[LaidMetal],
    face: Face,
    shapes: NDArray[np.object_],
    radius_mm: float,
    wall_mm: NDArray[np.float64],
) -> Bare:
    node, tile = _strip_nodes(cell_layout, strips, face)
    low, high = _heights_mm(pack, face, len(strips))
    return Bare(
        shapes=shapes,
        radius_mm=np.full(len(strips), radius_mm),
        potential=node_potential(node, face),
        node=node,
        wall_mm=wall_mm,
        tile=tile,
        low_mm=low,
        high_mm=high,
        name=lambda k: f"strip {strips[k].name}",
    )


def can_shapes(cell_layout: CellLayout) -> NDArray[np.object_]:
    """(N,) the cells' centres."""
    points: NDArray[np.object_] = shapely.points(cell_layout.xy_mm)
    return points


def bare_strips(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face
) -> Bare:
    """The strips themselves at their worst: for ways through air."""
    strips = interconnect.laid(face)
    nothing = np.zeros(len(strips))
    return _strips(pack, cell_layout, strips, face, strip_shapes(strips), placing_mm(pack), nothing)


def channel_openings(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face, outline: Outline
) -> Bare:
    """The channels that strips lie in, for ways along the plastic; tails outside after them.

    The way leads from the strip's upper edge up the channel's side. A tail that runs out may
    bend: it gains nothing.
    """
    strips = interconnect.laid(face)
    row = 1 if face is Face.UPPER else 0
    ring = np.where(positive_end(cell_layout, face), pack.holder.ring_mm, 0.0)
    left = np.maximum(pack.holder.lip_mm - ring - interconnect.stack_mm[row], 0.0)
    play = pack.holder.channel_play_mm / 2
    block = shapely.Polygon(outline_points_mm(outline, CHORD_RAD))
    inside: list[LaidMetal] = []
    tails: list[LaidMetal] = []
    for strip in strips:
        within, beyond = _parted(strip, block)
        inside.append(within)
        tails += beyond
    wall = np.zeros(len(strips) + len(tails))
    if strips:
        cells, begin = _cells_of(strips)
        wall[: len(strips)] = np.minimum.reduceat(left[cells], begin)
    every = [*inside, *tails]
    shapes = strip_shapes(every, grown_mm=play)
    return _strips(pack, cell_layout, every, face, shapes, PRINT_MM, wall)


def _parted(strip: LaidMetal, block: shapely.Polygon) -> tuple[LaidMetal, list[LaidMetal]]:
    """What of a strip that runs out lies in the holder, and its tails outside."""
    if not strip.runs_out or block.contains(strip.shape):
        return strip, []
    within = shapely.intersection(strip.shape, block)
    tails = [
        replace(strip, shape=part, runs_out=True)
        for part in shapely.get_parts(shapely.difference(strip.shape, block)).tolist()
        if part.geom_type == "Polygon" and part.area > CRUMB_MM2
    ]
    return replace(strip, shape=within, runs_out=False), tails


def _ends(
    pack: Pack,
    cell_layout: CellLayout,
    face: Face,
    radius_mm: float,
    potential: NDArray[np.int64],
    wall_mm: NDArray[np.float64],
    word: str,
) -> Bare:
    count = len(cell_layout.xy_mm)
    low, high = _heights_mm(pack, face, count)
    return Bare(
        shapes=can_shapes(cell_layout),
        radius_mm=np.full(count, radius_mm),
        potential=potential,
        node=net_of_group(cell_layout.group, face),
        wall_mm=wall_mm,
        tile=cell_layout.tile,
        low_mm=low,
        high_mm=high,
        name=lambda k: f"{word} of cell {k + 1}, group {int(cell_layout.group[k])}",
    )


def cans(pack: Pack, cell_layout: CellLayout, face: Face) -> Bare:
    """The cells' cans, sides and rims: the negative pole, also round a positive cap."""
    none = np.zeros(len(cell_layout.xy_mm))
    return _ends(
        pack, cell_layout, face, can_reach_mm(pack), cell_layout.group - 1, none, "the can"
    )


def window_openings(pack: Pack, cell_layout: CellLayout, face: Face) -> Bare:
    """The can ends that lie bare in their weld windows, caps and bottoms.

    Along the plastic the way leads up the window's side: the lip, less the seat at caps.
    """
    positive = positive_end(cell_layout, face)
    node = net_of_group(cell_layout.group, face)
    wall = pack.holder.lip_mm - np.where(positive, pack.holder.seat_mm, 0.0)
    return _ends(
        pack,
        cell_layout,
        face,
        pack.holder.window_mm / 2 + PRINT_MM,
        node_potential(node, face),
        np.maximum(wall, 0.0),
        "the end",
    )
