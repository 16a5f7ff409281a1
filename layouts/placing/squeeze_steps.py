"""The inner loop of squeezing cells in: how much they overlap, and which way eases it."""

from __future__ import annotations

import numpy as np

from layouts.placing.compiled import compiled

__all__ = ["overlap_and_slope", "squeezed"]


@compiled
def overlap_and_slope(
    flat: np.ndarray, edges: np.ndarray, net: np.ndarray, frame: np.ndarray, pitch: float
) -> tuple[float, np.ndarray]:
    """Sum of squared overlaps and of squared distances outside the region, and its gradient.

    ``flat`` (2 n,): x, y of each centre in turn; ``edges`` (m, 4) of the region. ``net``: depths at
    the nodes of a square net whose first node and step ``frame`` holds: a centre nearer to a node
    than that lies deep is inside, and no wall need be checked."""
    low_x, low_y, step = frame[0], frame[1], frame[2]
    rows, columns = net.shape
    count = len(flat) // 2
    total = 0.0
    slope = np.zeros(2 * count)
    for i in range(count):
        x, y = flat[2 * i], flat[2 * i + 1]
        for j in range(i):
            dx = x - flat[2 * j]
            if dx >= pitch or dx <= -pitch:
                continue
            dy = y - flat[2 * j + 1]
            square = dx * dx + dy * dy
            if square >= pitch * pitch:
                continue
            apart = max(np.sqrt(square), 1e-9)
            over = pitch - apart
            total += over * over
            push = -2.0 * over / apart
            slope[2 * i] += push * dx
            slope[2 * i + 1] += push * dy
            slope[2 * j] -= push * dx
            slope[2 * j + 1] -= push * dy
        column = min(max(int(np.floor((x - low_x) / step + 0.5)), 0), columns - 1)
        row = min(max(int(np.floor((y - low_y) / step + 0.5)), 0), rows - 1)
        if net[row, column] > np.hypot(x - low_x - column * step, y - low_y - row * step):
            continue
        least, away_x, away_y = np.inf, 0.0, 0.0
        inside = False
        for e in range(len(edges)):
            x0, y0, x1, y1 = edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3]
            if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
                inside = not inside
        if inside:
            continue
        for e in range(len(edges)):
            x0, y0 = edges[e, 0], edges[e, 1]
            ex, ey = edges[e, 2] - x0, edges[e, 3] - y0
            px, py = x - x0, y - y0
            long = ex * ex + ey * ey
            if long > 0.0:
                t = min(max((px * ex + py * ey) / long, 0.0), 1.0)
                px -= t * ex
                py -= t * ey
            square = px * px + py * py
            if square < least:
                least, away_x, away_y = square, px, py
        total += least
        slope[2 * i] += 2.0 * away_x
        slope[2 * i + 1] += 2.0 * away_y
    return total, slope


@compiled
def squeezed(
    flat: np.ndarray, edges: np.ndarray, net: np.ndarray, frame: np.ndarray, pitch: float
) -> np.ndarray:
    """(n,) each centre's own share of the overlap, pairs counted for both."""
    count = len(flat) // 2
    share = np.zeros(count)
    alone = np.empty(2)
    for i in range(count):
        alone[0], alone[1] = flat[2 * i], flat[2 * i + 1]
        share[i] = overlap_and_slope(alone, edges, net, frame, pitch)[0]
    for i in range(count):
        for j in range(i):
            dx, dy = flat[2 * i] - flat[2 * j], flat[2 * i + 1] - flat[2 * j + 1]
            over = pitch - np.sqrt(dx * dx + dy * dy)
            if over > 0.0:
                share[i] += over * over
                share[j] += over * over
    return share
