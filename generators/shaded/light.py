"""How much light falls on each pixel: smooth normals, one soft shadow, ambient occlusion."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.placing.compiled import compiled

__all__ = ["SHADOW_OFF_MM", "occluded", "shaded_normals"]

SHADOW_OFF_MM = 1.0  # what is nearer than this to the light's depth map shades nothing
# taps of the soft shadow, in pixels of the light's map
TAPS = np.array(
    [[0, 0], [2, 1], [-1, 2], [-2, -1], [1, -2], [4, 3], [-3, 4], [-4, -3], [3, -4], [6, -2],
     [-2, 6], [-6, 2], [2, -6]]
)  # fmt: skip


@compiled
def _normal_at(
    corner: NDArray[np.float32], normal: NDArray[np.float32], px: float, py: float
) -> tuple[float, float, float]:
    """The normal of a triangle at a place in the picture, between those of its corners."""
    ax, ay, bx, by = corner[0, 0], corner[0, 1], corner[1, 0], corner[1, 1]
    cx, cy = corner[2, 0], corner[2, 1]
    area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    w1 = ((px - ax) * (cy - ay) - (py - ay) * (cx - ax)) / area
    w2 = ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / area
    w1 = min(1.0, max(0.0, w1))
    w2 = min(1.0 - w1, max(0.0, w2))
    w0 = 1.0 - w1 - w2
    return (
        normal[0, 0] * w0 + normal[1, 0] * w1 + normal[2, 0] * w2,
        normal[0, 1] * w0 + normal[1, 1] * w1 + normal[2, 1] * w2,
        normal[0, 2] * w0 + normal[1, 2] * w1 + normal[2, 2] * w2,
    )


@compiled
def _lit_at(x: float, y: float, z: float, light_depth: NDArray[np.float32]) -> float:
    """Share of taps round a place in the light's map, in its pixels from its middle, at which
    nothing stands before it."""
    size = light_depth.shape[0]
    dark = 0
    for k in range(len(TAPS)):
        column = int(min(size - 1, max(0, size / 2 + x + TAPS[k, 0])))
        row = int(min(size - 1, max(0, size / 2 - y + TAPS[k, 1])))
        if light_depth[row, column] > z:
            dark += 1
    return 1.0 - dark / len(TAPS)


@compiled
def shaded_normals(
    depth: NDArray[np.float32],
    face: NDArray[np.int32],
    plane: NDArray[np.int8],
    corners: NDArray[np.float32],
    normals: NDArray[np.float32],
    cut_of: NDArray[np.int8],
    cut_normals: NDArray[np.float32],
    turn: NDArray[np.float64],
    scale: float,
    centre: NDArray[np.float64],
    light_depth: NDArray[np.float32],
    light_turn: NDArray[np.float64],
    light_scale: float,
    light_centre: NDArray[np.float64],
    ground_z: float,
    off_mm: float,
    seen: NDArray[np.float32],
    lit: NDArray[np.float32],
) -> None:
    """Writes (h, w, 3) normals in the camera's directions, and (h, w) the share of the light that
    reaches each pixel, or the ground behind it."""
    high, wide = depth.shape
    t, u = turn, light_turn
    for y in range(high):
        for x in range(wide):
            f = face[y, x]
            vx = (x + 0.5 - wide / 2) / scale + centre[0]
            vy = (high / 2 - y - 0.5) / scale + centre[1]
            if f >= 0:
                vz = depth[y, x] / scale
                k = plane[y, x]
                if k >= 0:
                    nx, ny, nz = (
                        cut_normals[cut_of[f], k, 0],
                        cut_normals[cut_of[f], k, 1],
                        cut_normals[cut_of[f], k, 2],
                    )
                else:
                    nx, ny, nz = _normal_at(corners[f], normals[f], x + 0.5, y + 0.5)
                long = max(1e-9, np.sqrt(nx * nx + ny * ny + nz * nz))
                for i in range(3):
                    seen[y, x, i] = (t[i, 0] * nx + t[i, 1] * ny + t[i, 2] * nz) / long
            else:
                vz = (ground_z - t[0, 2] * vx - t[1, 2] * vy) / t[2, 2]
            wx = t[0, 0] * vx + t[1, 0] * vy + t[2, 0] * vz
            wy = t[0, 1] * vx + t[1, 1] * vy + t[2, 1] * vz
            wz = t[0, 2] * vx + t[1, 2] * vy + t[2, 2] * vz
            sx = u[0, 0] * wx + u[0, 1] * wy + u[0, 2] * wz - light_centre[0]
            sy = u[1, 0] * wx + u[1, 1] * wy + u[1, 2] * wz - light_centre[1]
            sz = u[2, 0] * wx + u[2, 1] * wy + u[2, 2] * wz + off_mm
            lit[y, x] = _lit_at(sx * light_scale, sy * light_scale, sz * light_scale, light_depth)


@compiled
def occluded(
    z_mm: NDArray[np.float32],
    normals: NDArray[np.float32],
    hit: NDArray[np.bool_],
    mm: float,
    out: NDArray[np.float32],
) -> None:
    """Writes the share of the half sphere over each pixel that nearer things cover: 8 samples
    within 3.5 mm, 14 within 13 mm; ``mm``: of one pixel."""
    high, wide = z_mm.shape
    # a sample's place is one of 16 that take turns from pixel to pixel
    steps = np.zeros((16, 22, 2), np.int64)
    for turn in range(16):
        for i in range(22):
            reach = 3.5 if i < 8 else 13.0
            share = (i + 0.6) / 8 if i < 8 else (i - 7.4) / 14
            angle = 2.399963 * (i + 1) + turn * 0.39
            far = reach * np.sqrt(share)
            steps[turn, i, 0] = round(far * np.cos(angle) / mm)
            steps[turn, i, 1] = round(far * np.sin(angle) / mm)
    for y in range(high):
        for x in range(wide):
            if not hit[y, x]:
                continue
            total = 0.0
            turn = (x * 7 + y * 13) % 16
            for i in range(22):
                reach = 3.5 if i < 8 else 13.0
                dx, dy = steps[turn, i]
                yy, xx = y + dy, x + dx
                if (dx == 0 and dy == 0) or yy < 0 or xx < 0 or yy >= high or xx >= wide:
                    continue
                if not hit[yy, xx]:
                    continue
                ux, uy, dz = dx * mm, -dy * mm, z_mm[yy, xx] - z_mm[y, x]
                long = np.sqrt(ux * ux + uy * uy + dz * dz)
                up = normals[y, x, 0] * ux + normals[y, x, 1] * uy + normals[y, x, 2] * dz
                total += max(0.0, up / long - 0.12) * max(0.0, min(1.0, 1.6 - long / reach))
            out[y, x] = total / 22
