"""The holder's design: everything that a holder part is made from, in its own plan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.holders.outline import Outline
from layouts.pack import Face
from layouts.slabs.areas import union_of_quads


@dataclass(frozen=True, kw_only=True, slots=True)
class Post:
    """A tie post; centre in the tile's plan."""

    x_mm: float
    y_mm: float
    radius_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SupportPin:
    """A loose column from the bed to ``high_mm``, thrown away after printing; centre in the tile's
    plan."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    high_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class InterlockTab:
    """A round bulb on a neck that locks two tiles in their plane.

    The neck runs from (``x0_mm``, ``y0_mm``), inside the tile that carries the interlock tab, to
    the bulb's centre (``x_mm``, ``y_mm``). ``is_tab``: this tile carries it; else it is cut as a
    socket (sizes already with play)."""

    x0_mm: float
    y0_mm: float
    x_mm: float
    y_mm: float
    radius_mm: float
    neck_mm: float
    is_tab: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class HolderTile:
    """One printed piece of a lower or upper holder, in the plan of its part file.

    The upper holder's plan is the pack's with x mirrored. ``cells`` (n,) indices into the
    arrangement; ``xy_mm`` (n, 2); ``positive_end`` (n,): this face's end is positive (ring seat);
    ``group`` (n,). ``outline``: the whole cell block's outline; ``mask_mm``: (k, 2) polygon that
    cuts this tile out of it, None when the holder is one piece. ``channels`` (m, 4, 2) strip
    channels, play included; ``bars`` (b, 4, 2) straight bars under webs over a channel; ``grooves``
    (g, 4, 2) rectangles 1 mm deep in the inner face that hold a barrier. ``number_cells``: cells
    (positions in ``cells``) whose group number is to be cut beside the sign. ``plate_channels``:
    (k, 2) outer edges of plates' channels, play included; ``pegs`` (k, 2) edges of the lip that
    stands in their holes. ``support_pins``: printed beside it, no part of the finished holder;
    ``hanging_mm``: middles of webs that hang too far all the same as it is printed."""

    name: str
    face: Face
    index: int
    cells: NDArray[np.int64]
    xy_mm: NDArray[np.float64]
    positive_end: NDArray[np.bool_]
    group: NDArray[np.int64]
    number_cells: NDArray[np.bool_]
    outline: Outline
    mask_mm: NDArray[np.float64] | None
    channels: NDArray[np.float64]
    bars: NDArray[np.float64]
    grooves: NDArray[np.float64]
    posts: tuple[Post, ...]
    tabs: tuple[InterlockTab, ...]
    pocket_mm: float
    window_mm: float
    lip_mm: float
    seat_mm: float
    depth_mm: float
    web_recess_mm: float
    bar_mm: float
    lead_in_mm: float
    lead_in_deep_mm: float
    post_high_mm: float
    screw_hole_diameter_mm: float
    recess_mm: (
        float  # counterbore diameter (upper) or nut's width across flats (lower), play included
    )
    recess_deep_mm: float
    sign_deep_mm: float
    line_mm: float
    layer_mm: float
    plate_channels: tuple[NDArray[np.float64], ...] = ()
    pegs: tuple[NDArray[np.float64], ...] = ()
    support_pins: tuple[SupportPin, ...] = ()
    hanging_mm: tuple[tuple[float, float], ...] = ()

    @property
    def channel_shape(self) -> BaseGeometry:
        """All channels through the lip, as one shape: strips' and plates', less the pegs."""
        plates = [shapely.Polygon(ring) for ring in self.plate_channels]
        whole = shapely.union_all([union_of_quads(self.channels), *plates])
        return whole.difference(shapely.union_all([shapely.Polygon(ring) for ring in self.pegs]))
