"""A picture on paper with its balloons drawn in: what a file shows by itself."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from generators.shaded.painted import BESIDE_PX, RADIUS_PX, Balloon
from generators.shaded.palette import INK, PAPER, rgb
from layouts.slabs.digits import DigitPen, figure_loops
from layouts.slabs.profile import Arc, Loop

__all__ = ["framed_picture"]

FIGURE = DigitPen(13.0, 2.1)  # pixels here
ADVANCE_PX = 9.0  # from one figure to the next
FINER = 4  # samples a side of a pixel
LEADER_PX, HALO_PX, RIM_PX, DOT_PX = 1.5, 4.5, 1.7, 3.4
KNEE_PX = 16.0
HALO_ALPHA = 0.75
TOP_PX = 10  # of paper above and below


def framed_picture(image: NDArray[np.uint8], balloons: Sequence[Balloon]) -> NDArray[np.uint8]:
    """(h, w, 4) on paper, a column of balloons at either side: (h + 20, w + 124, 3)."""
    high, wide = image.shape[:2]
    paper, ink = np.array(rgb(PAPER)), np.array(rgb(INK))
    canvas = np.empty((high + 2 * TOP_PX, wide + 2 * BESIDE_PX, 3))
    canvas[:] = paper
    alpha = image[..., 3:] / 255.0
    inner = canvas[TOP_PX : TOP_PX + high, BESIDE_PX : BESIDE_PX + wide]
    inner[:] = image[..., :3] / 255.0 * alpha + inner * (1 - alpha)
    for one in balloons:
        for points in _leader(one):
            _stroke(canvas, points, HALO_PX, paper, HALO_ALPHA)
    for one in balloons:
        for points in _leader(one):
            _stroke(canvas, points, LEADER_PX, ink, 1.0)
        _disc(canvas, _moved(*one.anchor_px), DOT_PX + 1.0, paper)
        _disc(canvas, _moved(*one.anchor_px), DOT_PX, ink)
    for one in balloons:
        middle = _moved(*one.middle_px)
        _disc(canvas, middle, RADIUS_PX, ink)
        _disc(canvas, middle, RADIUS_PX - RIM_PX, np.array((1.0, 1.0, 1.0)))
        _number(canvas, middle, one.row, ink)
    found: NDArray[np.uint8] = (np.clip(canvas, 0, 1) * 255 + 0.5).astype(np.uint8)
    return found


def _moved(x: float, y: float) -> tuple[float, float]:
    return x + BESIDE_PX + 0.5, y + TOP_PX + 0.5


def _leader(one: Balloon) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """A short level piece beside the balloon, then straight to the anchor."""
    x, y = one.middle_px
    start = x - one.side * RADIUS_PX
    knee = start - one.side * KNEE_PX
    a, b, c = _moved(start, y), _moved(knee, y), _moved(*one.anchor_px)
    return [(a, b), (b, c)]


def _window(
    canvas: NDArray[np.float64], x0: float, y0: float, x1: float, y1: float
) -> tuple[slice, slice, NDArray[np.float64], NDArray[np.float64]]:
    high, wide = canvas.shape[:2]
    rows = slice(max(0, int(y0)), min(high, int(np.ceil(y1)) + 1))
    columns = slice(max(0, int(x0)), min(wide, int(np.ceil(x1)) + 1))
    y, x = np.mgrid[rows, columns] + 0.5
    return rows, columns, x, y


def _stroke(
    canvas: NDArray[np.float64],
    ends: tuple[tuple[float, float], tuple[float, float]],
    width: float,
    colour: NDArray[np.float64],
    alpha: float,
) -> None:
    (ax, ay), (bx, by) = ends
    reach = width / 2 + 1.0
    rows, columns, x, y = _window(
        canvas, min(ax, bx) - reach, min(ay, by) - reach, max(ax, bx) + reach, max(ay, by) + reach
    )
    dx, dy = bx - ax, by - ay
    long = max(dx * dx + dy * dy, 1e-9)
    t = np.clip(((x - ax) * dx + (y - ay) * dy) / long, 0.0, 1.0)
    off = np.hypot(x - ax - t * dx, y - ay - t * dy)
    _blend(canvas[rows, columns], np.clip(width / 2 + 0.5 - off, 0, 1) * alpha, colour)


def _disc(
    canvas: NDArray[np.float64],
    middle: tuple[float, float],
    radius: float,
    colour: NDArray[np.float64],
) -> None:
    mx, my = middle
    reach = radius + 1.0
    rows, columns, x, y = _window(canvas, mx - reach, my - reach, mx + reach, my + reach)
    off = np.hypot(x - mx, y - my)
    _blend(canvas[rows, columns], np.clip(radius + 0.5 - off, 0, 1), colour)


def _number(
    canvas: NDArray[np.float64],
    middle: tuple[float, float],
    number: int,
    colour: NDArray[np.float64],
) -> None:
    figures = str(number)
    size = RADIUS_PX
    left, top = round(middle[0]) - size, round(middle[1]) - size
    cover = np.zeros((2 * size, 2 * size))
    for k, figure in enumerate(figures):
        off = (k - (len(figures) - 1) / 2) * ADVANCE_PX
        cover = np.maximum(cover, _figure(figure, off, size))
    _blend(canvas[top : top + 2 * size, left : left + 2 * size], cover, colour)


@lru_cache(maxsize=64)
def _figure(figure: str, off_px: float, half: int) -> NDArray[np.float64]:
    """(2 half, 2 half) share of each pixel that a figure covers."""
    shape: shapely.Geometry = shapely.Polygon()
    for loop in figure_loops(figure, FIGURE):
        shape = shape.symmetric_difference(shapely.Polygon(_points(loop)).buffer(0))
    steps = (np.arange(2 * half * FINER) + 0.5) / FINER - half
    x, y = np.meshgrid(steps - off_px, -steps)
    inside = shapely.contains_xy(shape, x, y).reshape(2 * half, FINER, 2 * half, FINER)
    cover: NDArray[np.float64] = inside.mean(axis=(1, 3))
    return cover


def _points(loop: Loop) -> list[tuple[float, float]]:
    points: list[tuple[float, float]] = []
    for way in loop:
        if isinstance(way, Arc):
            turns = np.linspace(0.0, way.sweep_rad, 17)
            points += [way.at(way.start_rad + float(turn)) for turn in turns]
        else:
            points.append(way.start)
    return points


def _blend(
    part: NDArray[np.float64], cover: NDArray[np.float64], colour: NDArray[np.float64]
) -> None:
    share = cover[: part.shape[0], : part.shape[1], None]
    part[:] = part * (1 - share) + colour * share
