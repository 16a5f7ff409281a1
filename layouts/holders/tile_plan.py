"""A holder tile's plan: its area, and the lip's pieces on the first layer, loose ones dropped.

Straight-edged shapes (channels, mask, dropped pieces) are ``shapely`` polygons and exact; the
tile's round edges enter areas as closed forms (``layouts.slabs.areas``). Where a shape is only
looked for (which pieces are there), arcs are chords.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.holders.holder import HolderTile, InterlockTab
from layouts.holders.outline import outline_points_mm
from layouts.slabs.areas import (
    polygon_disc_area_mm2,
    polygon_discs_area_mm2,
    polygon_outline_area_mm2,
)

__all__ = [
    "GROOVE_DEEP_MM",
    "ISLAND_MM2",
    "LipPiece",
    "lip_pieces",
    "open_shape",
    "plan_area_mm2",
    "plan_polygon",
    "tab_neck_mm",
]

ISLAND_MM2 = 15.0  # a smaller piece may come off the bed; common practice, no source
GROOVE_DEEP_MM = 1.0  # barrier's groove in the inner face
CHORD_MM = 0.01  # chords in place of arcs stand off by no more where pieces are looked for
GROW_MM = 0.05  # a dropped piece is removed with this overlap: more than CHORD_MM, far below a line
NEAR_MM2 = 1.0  # chords hide less than this of a small piece
CRUMB_MM2 = 1e-3  # slivers that chords leave between shapes: nothing that is there


@dataclass(frozen=True, kw_only=True, slots=True)
class LipPiece:
    """One piece of the lip on the first layer.

    ``shape``: its straight-edged stand-in, grown by ``GROW_MM``; ``area_mm2``: exact up to the
    limit for dropping, above it within ``CHORD_MM`` times its rim; screw holes not taken off.
    ``dropped``: too small to stay, and cut away like a channel.
    """

    shape: shapely.Polygon
    area_mm2: float
    dropped: bool


def tab_neck_mm(tab: InterlockTab) -> NDArray[np.float64]:
    """(4, 2) corners of an interlock tab's neck, counter-clockwise, ending at the bulb's centre."""
    start, end = np.array([tab.x0_mm, tab.y0_mm]), np.array([tab.x_mm, tab.y_mm])
    along = (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]]) * tab.neck_mm / 2
    return np.array([start - across, end - across, end + across, start + across])


def _tab_area_mm2(shape: BaseGeometry, tab: InterlockTab) -> float:
    """Area that a straight-edged shape shares with a tab: neck and bulb, their overlap once."""
    neck = shapely.intersection(shape, shapely.polygons(tab_neck_mm(tab)))
    bulb = (tab.x_mm, tab.y_mm)
    return (
        float(neck.area)
        + polygon_disc_area_mm2(shape, bulb, tab.radius_mm)
        - polygon_disc_area_mm2(neck, bulb, tab.radius_mm)
    )


def plan_area_mm2(tile: HolderTile, shape: BaseGeometry | None = None) -> float:
    """Area of the tile's plan, pockets and windows not taken off, that lies in a shape [mm2].

    The plan is the cell block's outline within the mask, with interlock tabs, less sockets. Both
    lie within the outline, tabs beyond the mask clear of sockets. None: the whole plan. Exact."""
    if shape is None:
        x, y, r = np.array(tile.outline.discs).T
        shape = shapely.box(
            float((x - r).min()) - 1,
            float((y - r).min()) - 1,
            float((x + r).max()) + 1,
            float((y + r).max()) + 1,
        )
    if tile.mask_mm is None:
        within, beyond = shape, shapely.Polygon()
    else:
        mask = shapely.Polygon(tile.mask_mm)
        within, beyond = shapely.intersection(shape, mask), shapely.difference(shape, mask)
    total = polygon_outline_area_mm2(within, tile.outline)
    for tab in tile.tabs:
        total += _tab_area_mm2(beyond, tab) if tab.is_tab else -_tab_area_mm2(within, tab)
    return total


def plan_polygon(tile: HolderTile) -> BaseGeometry:
    """The plan with chords for arcs, for looking only."""
    plan = shapely.make_valid(shapely.Polygon(outline_points_mm(tile.outline)))
    if tile.mask_mm is not None:
        plan = shapely.intersection(plan, shapely.Polygon(tile.mask_mm))
    for is_tab in (True, False):
        tabs = [tab for tab in tile.tabs if tab.is_tab is is_tab]
        if tabs:
            shapes = shapely.union_all(
                [shapely.polygons(tab_neck_mm(tab)) for tab in tabs]
                + [_disc(tab.x_mm, tab.y_mm, tab.radius_mm) for tab in tabs]
            )
            plan = shapely.union(plan, shapes) if is_tab else shapely.difference(plan, shapes)
    return plan


def _disc(x: float, y: float, radius: float) -> BaseGeometry:
    """A disc with chords for its rim."""
    quarter = max(4, math.ceil(math.pi / 4 / math.acos(1 - min(0.5, CHORD_MM / radius))))
    return shapely.buffer(shapely.Point(x, y), radius, quad_segs=quarter)


def lip_pieces(tile: HolderTile, *, drop_below_mm2: float = ISLAND_MM2) -> tuple[LipPiece, ...]:
    """The pieces into which windows and channels part the lip on the first layer.

    In order of x, then y of their boxes' corners. Pieces below ``drop_below_mm2`` are dropped,
    unless they carry a post.
    """
    channels = tile.channel_shape
    x, y = tile.xy_mm.T
    quarter = max(4, math.ceil(math.pi / 4 / math.acos(1 - CHORD_MM / (tile.window_mm / 2))))
    windows = shapely.buffer(shapely.points(x, y), tile.window_mm / 2, quad_segs=quarter)
    rest = shapely.difference(
        shapely.difference(plan_polygon(tile), channels), shapely.union_all(windows)
    )
    stands = np.array([(post.x_mm, post.y_mm) for post in tile.posts]).reshape(-1, 2)
    posts = shapely.points(stands)
    found: list[LipPiece] = []
    for part in shapely.get_parts(rest):
        if part.geom_type != "Polygon" or part.area < CRUMB_MM2:
            continue
        grown = shapely.buffer(part, GROW_MM, join_style="mitre", mitre_limit=2.0)
        small = part.area < drop_below_mm2 + NEAR_MM2
        area = _piece_area(tile, shapely.difference(grown, channels)) if small else part.area
        loose = area < drop_below_mm2 and not shapely.intersects(part, posts).any()
        found.append(LipPiece(shape=grown, area_mm2=float(area), dropped=bool(loose)))
    return tuple(sorted(found, key=lambda piece: piece.shape.bounds))


def _piece_area(tile: HolderTile, shape: BaseGeometry) -> float:
    """Exact area of the lip within a shape that no channel enters [mm2]."""
    windows = polygon_discs_area_mm2(shape, tile.xy_mm, tile.window_mm / 2)
    return plan_area_mm2(tile, shape) - float(windows.sum())


def open_shape(tile: HolderTile, pieces: tuple[LipPiece, ...]) -> BaseGeometry:
    """Channels and dropped pieces together: where the lip is open down to the webs' floors."""
    dropped = [piece.shape for piece in pieces if piece.dropped]
    return shapely.union_all([tile.channel_shape, *dropped])
