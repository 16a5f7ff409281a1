"""Hidden-line drawings of triangle meshes: visible edges and outlines in a picture plane."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from generators.drawings.depth import DepthMap, depth_map, steps
from generators.drawings.edges import chained, drawn_edges
from layouts.parts.view import VIEW_FROM_ABOVE

__all__ = ["Polyline", "Triangles", "visible_lines"]

Polyline = NDArray[np.float64]  # (n, 2) points in the picture, x right, y up [mm]
Triangles = tuple[NDArray[np.float64], NDArray[np.int64]]  # (n, 3) points [mm], (m, 3) corners
FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


# Raster of the depth map: a line of 0.2 mm is three pixels wide.
PIXELS_A_MM = 15.0
# Along an edge one look a half pixel: ends of visible stretches are that exact.
LOOK_PIXELS = 0.5
# An edge counts as hidden when something is this much before it [pixels]: facets of a round
# stand off each other's planes by less.
HIDES_PIXELS = 0.5
# How far outside an outline to look for what hides it.
ASIDE_PIXELS = 1.0
# What is further before an outline than this is no facet of the round that it bounds [pixels].
ROUND_PIXELS = 40.0
# Empty rows and columns round the raster, so that the outermost lines have an outside too.
MARGIN_PIXELS = 2
# Shorter gaps and stretches are accidents of the raster [pixels].
GAP_PIXELS = 2.0
STRETCH_PIXELS = 2.0
# Points that lie this near the line through their neighbours are left out [mm, as printed].
# Points go in rounds, each at most this far off: 4/3 of it in all for a round line.
FLAT_MM = 0.02
FLAT_ROUNDS = 12


def visible_lines(
    meshes: Sequence[Triangles],
    *,
    within_mm: tuple[float, float],
    view: tuple[float, float, float] = VIEW_FROM_ABOVE,
    up: tuple[float, float, float] = (0.0, 0.0, 1.0),
) -> list[Polyline]:
    """Edges and outlines of closed meshes that an eye far away along ``view`` sees.

    ``view`` points from the object to the eye. ``within_mm``: printed width and height that
    the picture will be fitted into; it decides how fine visibility is looked at and which
    points are worth keeping. Returns lines in the picture plane, with ``up`` upright where it
    can be, true to size; no mesh or an empty one gives no lines.
    """
    meshes = [mesh for mesh in meshes if len(mesh[1])]
    if not meshes:
        return []
    frame = _frame(view, up)
    points, edges, outward, facets = _seen_sides(meshes, frame)
    low, high = points.min(axis=0), points.max(axis=0)
    scale = float((np.asarray(within_mm) / np.maximum(high - low, 1e-9)[:2]).min())
    pixels = scale * PIXELS_A_MM
    low = low - MARGIN_PIXELS / pixels
    raster = (points - (low[0], low[1], 0.0)) * pixels
    wide, tall = (int(v) + MARGIN_PIXELS + 1 for v in (high - low)[:2] * pixels)
    seen = depth_map(raster[facets], wide=wide, tall=tall)
    lines = _visible_runs(raster, edges, outward, seen)
    return [line / pixels + low[:2] for line in _without_flat_points(lines, FLAT_MM * PIXELS_A_MM)]


def _frame(view: tuple[float, float, float], up: tuple[float, float, float]) -> FloatArray:
    """(3, 3) rows: right and up in the picture, and towards the eye."""
    eye = np.asarray(view, float) / np.linalg.norm(view)
    right = np.cross(up, eye)
    if np.linalg.norm(right) < 1e-9:
        right = np.array([1.0, 0.0, 0.0])
    right = right / np.linalg.norm(right)
    return np.stack([right, np.cross(eye, right), eye])


def _seen_sides(
    meshes: Sequence[Triangles], frame: FloatArray
) -> tuple[FloatArray, IntArray, FloatArray, IntArray]:
    """Points in the frame, edges worth drawing, their outward ways and facets towards the eye."""
    points, edges, outward, facets = [], [], [], []
    first = 0
    for vertices, faces in meshes:
        drawn = drawn_edges(vertices, faces, frame[2])
        points.append(vertices @ frame.T)
        edges.append(drawn.ends + first)
        outward.append(drawn.outward @ frame[:2].T)
        facets.append(faces[drawn.front] + first)
        first += len(vertices)
    return np.vstack(points), np.vstack(edges), np.vstack(outward), np.vstack(facets)


def _visible_runs(
    raster: FloatArray, edges: IntArray, outward: FloatArray, seen: DepthMap
) -> list[FloatArray]:
    """Visible stretches of edges, joined end to end; (n, 2) each [pixels].

    Beside an outline the facets are seen nearly edge-on, many to a pixel: what hides it is
    looked for just outside the body as well.
    """
    start, end = raster[edges[:, 0]], raster[edges[:, 1]]
    length = np.hypot(*(end - start)[:, :2].T)
    kept = length > 1e-6  # an edge seen end-on is a point
    edges, start, end, length = edges[kept], start[kept], end[kept], length[kept]
    aside = _aside((end - start)[:, :2] / length[:, None], outward[kept])
    looks = np.maximum(np.ceil(length / LOOK_PIXELS), 1).astype(np.int64)
    owner, k = steps(looks)
    share = (k + 0.5) / looks[owner]
    at = start[owner] + share[:, None] * (end - start)[owner]
    ahead = seen.ahead(at)
    visible = ahead <= HIDES_PIXELS
    near = ~visible & (ahead <= ROUND_PIXELS)
    outline = np.flatnonzero((aside != 0.0).any(axis=1)[owner] & near)
    at = at[outline]
    at[:, :2] += aside[owner[outline]] * ASIDE_PIXELS
    visible[outline] = seen.ahead(at) <= HIDES_PIXELS
    any_seen = np.zeros(len(edges), bool)
    any_seen[owner[visible]] = True
    shown = np.flatnonzero(any_seen)
    first = np.cumsum(looks) - looks
    lines: list[FloatArray] = []
    if not len(shown):
        return lines
    runs = chained(edges[shown])
    flat = np.array([number for run in runs for number in run], np.int64)
    backward = flat < 0
    flat = shown[np.where(backward, ~flat, flat)]
    # all looks in the order of the runs
    count = looks[flat]
    who, k = steps(count)
    back = backward[who]
    number = first[flat][who] + np.where(back, count[who] - 1 - k, k)
    run_of = np.repeat(np.arange(len(runs)), [len(run) for run in runs])
    stretches = _stretches(visible[number], run_of[who], (length[flat] / count)[who])
    head = np.where(backward[:, None], end[flat], start[flat])[:, :2]
    tail = np.where(backward[:, None], start[flat], end[flat])[:, :2]
    for begin, stop in stretches:
        a, b = int(who[begin]), int(who[stop - 1])
        from_ = head[a] + (tail[a] - head[a]) * (k[begin] / count[a])
        to = head[b] + (tail[b] - head[b]) * ((k[stop - 1] + 1) / count[b])
        lines.append(np.vstack([from_[None], tail[a:b], to[None]]))
    return lines


def _aside(along: FloatArray, outward: FloatArray) -> FloatArray:
    """(n, 2) unit vectors square to edges, on the side of ``outward``; zero where that is zero."""
    left = np.column_stack([-along[:, 1], along[:, 0]])
    side = np.einsum("ij,ij->i", left, outward)
    aside: FloatArray = left * np.sign(side)[:, None]
    return aside


def _stretches(
    visible: NDArray[np.bool_], run: IntArray, length: FloatArray
) -> list[tuple[int, int]]:
    """(first, end) of visible looks in a row, none across two runs, artefacts removed.

    A short gap between two visible stretches is filled, a short stretch between hidden ones
    left out; an end of a run never counts as a gap's or stretch's end by itself.
    """
    state = visible.copy()
    for mended, most in ((False, GAP_PIXELS), (True, STRETCH_PIXELS)):
        begin, stop = _rows(state, run)
        size = np.add.reduceat(length, begin)
        at_start = np.ones(len(begin), bool)
        at_start[1:] = run[begin[1:]] != run[begin[:-1]]
        at_end = np.roll(at_start, -1)
        at_end[-1] = True
        alone = at_start & at_end
        wrong = (state[begin] == mended) & (size < most) & ~alone
        for a, b in zip(begin[wrong].tolist(), stop[wrong].tolist(), strict=True):
            state[a:b] = not mended
    begin, stop = _rows(state, run)
    shown = state[begin]
    return list(zip(begin[shown].tolist(), stop[shown].tolist(), strict=True))


def _rows(state: NDArray[np.bool_], run: IntArray) -> tuple[IntArray, IntArray]:
    """First and end of each row of equal looks."""
    new = np.ones(len(state), bool)
    new[1:] = (state[1:] != state[:-1]) | (run[1:] != run[:-1])
    begin = np.flatnonzero(new)
    return begin, np.append(begin[1:], len(state))


def _without_flat_points(lines: list[FloatArray], flat: float) -> list[FloatArray]:
    """Lines without inner points that lie within ``flat`` of the line through their neighbours.

    Every other point is tried in each round, so no two neighbours go at once.
    """
    if not lines:
        return []
    points = np.vstack(lines)
    line = np.repeat(np.arange(len(lines)), [len(one) for one in lines])
    for turn in range(FLAT_ROUNDS):
        new = np.ones(len(line), bool)
        new[1:] = line[1:] != line[:-1]
        last = np.append(new[1:], True)
        place = np.arange(len(line)) - np.flatnonzero(new)[np.cumsum(new) - 1]
        tried = np.flatnonzero((place % 2 == 1 - turn % 2) & ~new & ~last)
        a, p, b = points[tried - 1], points[tried], points[tried + 1]
        along = b - a
        size = np.maximum(np.einsum("ij,ij->i", along, along), 1e-12)
        share = np.clip(np.einsum("ij,ij->i", p - a, along) / size, 0.0, 1.0)
        gone = tried[np.hypot(*(a + share[:, None] * along - p).T) <= flat]
        if not len(gone) and turn % 2:
            break
        kept = np.ones(len(line), bool)
        kept[gone] = False
        points, line = points[kept], line[kept]
    cuts = np.flatnonzero(line[1:] != line[:-1]) + 1
    return np.split(points, cuts)
