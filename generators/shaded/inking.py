"""Edges, hatching and colour of each pixel."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.placing.compiled import compiled

__all__ = ["coloured", "edges"]


@compiled
def edges(
    copy: NDArray[np.int32],
    plane: NDArray[np.int8],
    z_mm: NDArray[np.float32],
    normals: NDArray[np.float32],
    hit: NDArray[np.bool_],
    flags: NDArray[np.uint8],
) -> None:
    """Marks each pixel by what lies at its right and below: 1 an outline (another copy, a step in
    depth of more than 2.2 mm), 2 the rim of a cut face, 4 a crease."""
    high, wide = copy.shape
    for y in range(high - 1):
        for x in range(wide - 1):
            for way in range(2):
                yy, xx = y + way, x + 1 - way
                other = copy[y, x] != copy[yy, xx]
                if other or abs(z_mm[y, x] - z_mm[yy, xx]) > 2.2:
                    flags[y, x] |= 1
                if plane[y, x] != plane[yy, xx] or (other and plane[y, x] >= 0):
                    flags[y, x] |= 2
                    flags[yy, xx] |= 2
                if hit[y, x] and hit[yy, xx]:
                    like = normals[y, x, 0] * normals[yy, xx, 0]
                    like += normals[y, x, 1] * normals[yy, xx, 1]
                    like += normals[y, x, 2] * normals[yy, xx, 2]
                    if like < 0.80:
                        flags[y, x] |= 4


@compiled
def coloured(
    thing: NDArray[np.int16],
    plane: NDArray[np.int8],
    normals: NDArray[np.float32],
    lit: NDArray[np.float32],
    ambient: NDArray[np.float32],
    flags: NDArray[np.uint8],
    ground: NDArray[np.float32],
    paints: NDArray[np.float32],
    shines: NDArray[np.bool_],
    up: NDArray[np.float64],
    light: NDArray[np.float64],
    halfway: NDArray[np.float64],
    scale: float,
    samples: int,
    out: NDArray[np.float32],
) -> None:
    """Adds colour times alpha, and alpha, of samples x samples pixels to each of ``out`` (h, w, 4):
    sky times what is open, the light times its share, a glint; cut faces lighter and hatched,
    neighbours slanted the other way; ink on edges. ``ground``: the shadow beside, (1, 1) for
    none."""
    high, wide = thing.shape
    pitch = max(3, round(2.6 * scale))
    thick = max(1.2 * samples, 0.12 * pitch)
    share = 1.0 / (samples * samples)
    shadowed = ground.shape[0] > 1
    for y in range(high):
        for x in range(wide):
            t, flag = thing[y, x], flags[y, x]
            r = g = b = a = 0.0
            if flag & 3:
                r, g, b, a = 0.10, 0.13, 0.14, 1.0
            elif t >= 0:
                a = 1.0
                r, g, b = paints[t, 0], paints[t, 1], paints[t, 2]
                if plane[y, x] >= 0:
                    slant = x + y if t % 2 == 0 else x - y + 100000
                    s = 0.58 if slant % pitch < thick else 1.0
                    r, g, b = (r * 0.55 + 0.45) * s, (g * 0.55 + 0.45) * s, (b * 0.55 + 0.45) * s
                else:
                    nx, ny, nz = normals[y, x, 0], normals[y, x, 1], normals[y, x, 2]
                    bright = max(0.0, nx * light[0] + ny * light[1] + nz * light[2])
                    glint = max(0.0, nx * halfway[0] + ny * halfway[1] + nz * halfway[2])
                    sky = 0.72 + 0.28 * (nx * up[0] + ny * up[1] + nz * up[2])
                    level = sky * ambient[y, x] * 0.66 + bright * lit[y, x] * 0.52
                    gloss = glint**24 * lit[y, x] * (0.30 if shines[t] else 0.07)
                    if flag & 4:
                        level *= 0.55
                    r, g, b = r * level + gloss, g * level + gloss, b * level + gloss
            elif shadowed:
                a = min(0.5, 0.30 * ground[y, x])
            q = out[y // samples, x // samples]
            q[0] += min(r, 1.0) * a * share
            q[1] += min(g, 1.0) * a * share
            q[2] += min(b, 1.0) * a * share
            q[3] += a * share
