"""Flat faces of a mesh cut into compact triangles: long thin ones make distances slow.

A mesh of a drawn part covers a flat face with thin triangles between far corners. For
distances only the face counts, so each flat face is cut anew along a grid. Its rim keeps every
corner; neighbouring faces need not meet corner to corner any more.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

__all__ = ["patched", "small_triangles"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

LEAST_FACES = 6  # of a flat face that is worth cutting anew
WASTE = 2.0  # and how many times too many small triangles it would make
NORMAL_DIGITS, OFFSET_DIGITS = 6, 5  # triangles whose planes agree so far are one flat face
NO_AREA_MM2 = 1e-9
WIDE = 40.0  # a face of more small triangles than this is cut into squares in any case
STRIP_SHARE = 0.6  # a strip is so much of the longest side wide, so that its halves keep below it


def patched(corners: FloatArray, spacing_mm: float) -> FloatArray:
    """Triangles (m, 3, 3) with flat faces cut anew.

    Triangles without area are left out: their neighbours hold the same points.
    """
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice = np.linalg.norm(cross, axis=1)
    real = np.flatnonzero(twice > 2 * NO_AREA_MM2)
    normal = cross[real] / twice[real, None]
    offset = np.einsum("ij,ij->i", normal, corners[real, 0])
    key = np.column_stack([np.round(normal, NORMAL_DIGITS), np.round(offset, OFFSET_DIGITS)])
    _, group, count = np.unique(key + 0.0, axis=0, return_inverse=True, return_counts=True)
    group = group.reshape(-1)
    sides = np.linalg.norm(np.roll(corners[real], -1, axis=1) - corners[real], axis=2)
    # a strip of each triangle makes two, each needs about a quarter of the spacing squared
    strips = 2.0 * np.ceil(sides.max(axis=1) / (STRIP_SHARE * spacing_mm))
    wanted = np.bincount(group, twice[real] / 2) * 4.0 / spacing_mm**2
    wasteful = (count >= LEAST_FACES) & (np.bincount(group, strips) > WASTE * wanted)
    wasteful |= wanted > WIDE
    left = ~wasteful[group]
    out = [corners[real[left]]]
    order = np.argsort(group, kind="stable")
    starts = np.searchsorted(group[order], np.flatnonzero(wasteful))
    for number, start in zip(np.flatnonzero(wasteful).tolist(), starts.tolist(), strict=True):
        members = real[order[start : start + count[number]]]
        out.append(_cut_face(corners[members], normal[order[start]], spacing_mm))
    return np.concatenate(out)


def _cut_face(corners: FloatArray, normal: FloatArray, spacing: float) -> FloatArray:
    """One flat face, given as triangles, cut into squares and what is left along its rim."""
    other = np.eye(3)[int(np.abs(normal).argmin())]
    first = np.cross(other, normal)
    first /= np.linalg.norm(first)
    frame = np.stack([first, np.cross(normal, first), normal])
    there = corners @ frame.T
    level = float(there[:, :, 2].mean())
    triangles = shapely.polygons(there[:, :, :2])
    shape = shapely.union_all(triangles)
    low, high = there[:, :, :2].min(axis=(0, 1)), there[:, :, :2].max(axis=(0, 1))
    # squares whose halves' longest side is the spacing
    size = spacing / np.sqrt(2.0)
    nx, ny = (int(n) for n in np.maximum(np.ceil((high - low) / size), 1))
    x, y = (g.ravel() for g in np.meshgrid(np.arange(nx), np.arange(ny)))
    x0, y0 = low[0] + x * size, low[1] + y * size
    squares = shapely.box(x0, y0, x0 + size, y0 + size)
    shapely.prepare(shape)
    whole = shapely.contains_properly(shape, squares)
    rim = np.flatnonzero(~whole & shapely.intersects(shape, squares))
    pieces: list[BaseGeometry] = shapely.get_parts(
        shapely.constrained_delaunay_triangles(shapely.intersection(shape, squares[rim]))
    ).tolist()
    a, b = x0[whole], y0[whole]
    c, d = a + size, b + size
    flat = [
        np.stack([np.stack([p, q], axis=1) for p, q in ring], axis=1)
        for ring in (((a, b), (c, b), (c, d)), ((a, b), (c, d), (a, d)))
    ]
    if pieces:
        flat.append(_rings(pieces))
    plan = np.concatenate(flat)
    # counter-clockwise seen against the normal
    e, f = plan[:, 1] - plan[:, 0], plan[:, 2] - plan[:, 0]
    area = e[:, 0] * f[:, 1] - e[:, 1] * f[:, 0]
    plan[area < 0] = plan[area < 0][:, ::-1]
    plan = plan[np.abs(area) > 0]
    full = np.concatenate([plan, np.full((*plan.shape[:2], 1), level)], axis=2)
    back: FloatArray = full @ frame
    return back


def _rings(pieces: list[BaseGeometry]) -> FloatArray:
    """(n, 3, 2) corners of triangles."""
    coords = shapely.get_coordinates(pieces)
    return np.asarray(coords.reshape(-1, 4, 2)[:, :3])


def small_triangles(corners: FloatArray, longest_mm: float) -> tuple[FloatArray, IntArray]:
    """Triangles cut until no side is longer than ``longest_mm``.

    Returns (k, 3, 3) and the number (k,) of the triangle each comes from. Each is cut into
    strips along its shortest side, and these again where that is still too long.
    """
    parent = np.arange(len(corners), dtype=np.int64)
    done, done_parent = [], []
    here = corners
    while len(here):
        sides = np.linalg.norm(np.roll(here, -1, axis=1) - here, axis=2)
        longest = sides.max(axis=1)
        long = longest > longest_mm
        done.append(here[~long])
        done_parent.append(parent[~long])
        here, parent = here[long], parent[long]
        strips = np.ceil(longest[long] / (STRIP_SHARE * longest_mm)).astype(np.int64)
        here, parent = _strips(here, parent, sides[long].argmin(axis=1), strips)
    return np.concatenate(done), np.concatenate(done_parent)


def _strips(
    corners: FloatArray, parent: IntArray, shortest: IntArray, count: IntArray
) -> tuple[FloatArray, IntArray]:
    """Each triangle cut into ``count`` strips along its shortest side, two triangles a strip."""
    row = np.arange(len(corners))
    left, right = corners[row, shortest], corners[row, (shortest + 1) % 3]
    tip = corners[row, (shortest + 2) % 3]
    owner = np.repeat(row, count)
    k = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
    near, far = (k / count[owner])[:, None], ((k + 1) / count[owner])[:, None]
    to_left, to_right = (left - tip)[owner], (right - tip)[owner]
    start = tip[owner]
    a, b = start + far * to_left, start + far * to_right
    c, d = start + near * to_right, start + near * to_left
    first, wide = np.stack([a, b, c], axis=1), k > 0
    second = np.stack([a[wide], c[wide], d[wide]], axis=1)
    out_parent = parent[owner]
    return np.concatenate([first, second]), np.concatenate([out_parent, out_parent[wide]])
