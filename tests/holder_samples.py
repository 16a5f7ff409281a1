"""Small holder tiles made by hand, without the planner: fields of rows, links, posts."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from layouts.holders.holder import HolderTile, InterlockTab, Post
from layouts.holders.outline import BALL_MM, rolling_outline
from layouts.pack import Face


@dataclass(frozen=True)
class Sizes:
    """Sizes of an invented holder [mm]."""

    can: float
    pocket: float
    pitch: float
    window: float
    row: float
    link: float
    length: float
    wall: float = 2.2


S21700 = Sizes(21.30, 21.55, 23.0, 16.5, 6.5, 8.5, 70.3)
S18650 = Sizes(18.45, 18.70, 20.2, 14.5, 6.5, 6.5, 65.3)
S26650 = Sizes(26.4, 26.7, 28.3, 20.0, 10.5, 10.5, 65.6)


def strip_quad(a, b, width: float) -> np.ndarray:
    """(4, 2) corners of a strip from a to b, counter-clockwise."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    along = (b - a) / np.hypot(*(b - a))
    across = np.array([-along[1], along[0]]) * width / 2
    return np.array([a - across, b - across, b + across, a + across])


def bar_quad(a, b, width: float, web: float) -> np.ndarray:
    """(4, 2) straight bar across a strip's channel, midway between two centres."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    middle, along = (a + b) / 2, (b - a) / np.hypot(*(b - a))
    return strip_quad(
        middle - along * (web / 2 - 0.05), middle + along * (web / 2 - 0.05), width + 1.6
    )


def _field(nx: int, ny: int, pitch: float, honeycomb: bool) -> np.ndarray:
    """(nx*ny, 2) centres row by row about the middle of their box."""
    rise = pitch * (math.sqrt(3) / 2 if honeycomb else 1.0)
    shift = pitch / 2 if honeycomb else 0.0
    xy = np.array([(pitch * i + shift * (j % 2), rise * j) for j in range(ny) for i in range(nx)])
    return xy - (xy.min(axis=0) + xy.max(axis=0)) / 2


def sample_tile(
    nx: int = 3,
    ny: int = 4,
    *,
    sizes: Sizes = S21700,
    honeycomb: bool = True,
    links: int = 1,
    face: Face = Face.LOWER,
    posts: bool = True,
    lead: bool = True,
    number_all: bool = True,
    mask_mm: np.ndarray | None = None,
    tabs: tuple[InterlockTab, ...] = (),
    keep: np.ndarray | None = None,
    grooves: np.ndarray | None = None,
    **changes: object,
) -> HolderTile:
    """A tile of rows: groups are rows, links join rows 2-3, 4-5, ...; a lead leaves by +x.

    ``links``: 0 none, 1 one a cell, 2 both slants (honeycomb). ``keep`` (n,): cells that
    this tile carries (with ``mask_mm``). Posts stand in gaps of the lowest and highest row.
    """
    s = sizes
    xy = _field(nx, ny, s.pitch, honeycomb)
    radius = s.pocket / 2 + s.wall
    discs = [(float(x), float(y), radius) for x, y in xy]
    stands: list[Post] = []
    if posts and nx > 1 and ny > 1:
        away = s.pocket / 2 + 0.5 + 0.1 + 4.0
        out = math.sqrt(away**2 - s.pitch**2 / 4)
        for row, side in ((0, -1.0), (ny - 1, 1.0)):
            for i in {0, nx - 2}:
                a, b = xy[nx * row + i], xy[nx * row + i + 1]
                x, y = (a + b) / 2 + (0.0, side * out)
                stands.append(Post(x_mm=float(x), y_mm=float(y), radius_mm=4.0))
                discs.append((float(x), float(y), 5.2))
    web = s.pitch - s.pocket
    channels, bars = [], []
    for j in range(ny):
        a, b = xy[nx * j], xy[nx * j + nx - 1]
        runs = lead and j in (0, ny - 1)
        start = a - (5.0, 0.0)
        end = b + np.array([radius + BALL_MM + 9.0 if runs else 5.0, 0.0])
        channels.append(strip_quad(start, end, s.row))
        bars += [bar_quad(xy[nx * j + i], xy[nx * j + i + 1], s.row, web) for i in range(nx - 1)]
        if runs:
            start = b + np.array([s.pocket / 2 + 0.05, 0.0])
            bars.append(strip_quad(start, b + np.array([radius + BALL_MM + 12, 0.0]), s.row + 1.6))
        if j % 2 == 1 and j + 1 < ny and links:
            for i in range(nx):
                ends = [nx * (j + 1) + i]
                if honeycomb and links == 2 and i + 1 < nx:
                    ends.append(nx * (j + 1) + i + 1)
                for end_cell in ends:
                    p, q = xy[nx * j + i], xy[end_cell]
                    u = (q - p) / np.hypot(*(q - p)) * 3.0
                    channels.append(strip_quad(p - u, q + u, s.link))
                    bars.append(bar_quad(p, q, s.link, web))
    row = np.arange(nx * ny) // nx
    chosen = np.ones(nx * ny, bool) if keep is None else keep
    values: dict[str, object] = {
        "name": "holder_" + face.value,
        "face": face,
        "index": 0,
        "cells": np.flatnonzero(chosen),
        "xy_mm": xy[chosen],
        "positive_end": (row % 2 == 1)[chosen],
        "group": (row + 1)[chosen],
        "number_cells": np.full(int(chosen.sum()), number_all),
        "outline": rolling_outline(discs),
        "mask_mm": mask_mm,
        "channels": np.array(channels).reshape(-1, 4, 2),
        "bars": np.array(bars).reshape(-1, 4, 2),
        "grooves": np.zeros((0, 4, 2)) if grooves is None else grooves,
        "posts": tuple(stands),
        "tabs": tabs,
        "pocket_mm": s.pocket,
        "window_mm": s.window,
        "lip_mm": 1.6,
        "seat_mm": 0.4,
        "depth_mm": 10.0,
        "web_recess_mm": 0.4,
        "bar_mm": 0.6,
        "lead_in_mm": 0.5,
        "lead_in_deep_mm": 0.8,
        "post_high_mm": 1.6 + (s.length + 0.2) / 2,
        "screw_hole_diameter_mm": 3.4,
        "recess_mm": 6.0 if face is Face.UPPER else 5.7,
        "recess_deep_mm": 3.4,
        "sign_deep_mm": 0.4,
        "line_mm": 0.45,
        "layer_mm": 0.2,
    }
    values.update(changes)
    return HolderTile(**values)  # type: ignore[arg-type]
