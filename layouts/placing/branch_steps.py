"""The inner loops of the branch and bound over a lattice's offset and angle."""

from __future__ import annotations

import math

import numpy as np

from layouts.placing.compiled import compiled

__all__ = ["closed", "depth_at", "depths_on_net"]


@compiled
def depth_at(edges: np.ndarray, x: float, y: float) -> float:
    """Distance from a point to the nearest edge: above 0 inside the region, below outside."""
    least = np.inf
    inside = False
    for e in range(len(edges)):
        x0, y0, x1, y1 = edges[e, 0], edges[e, 1], edges[e, 2], edges[e, 3]
        dx, dy, px, py = x1 - x0, y1 - y0, x - x0, y - y0
        square = dx * dx + dy * dy
        if square > 0.0:
            t = (px * dx + py * dy) / square
            t = min(max(t, 0.0), 1.0)
            px -= t * dx
            py -= t * dy
        least = min(least, px * px + py * py)
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
            inside = not inside
    return math.sqrt(least) if inside else -math.sqrt(least)


@compiled
def depths_on_net(
    edges: np.ndarray, low_x: float, low_y: float, step: float, columns: int, rows: int
) -> np.ndarray:
    """(rows, columns) depths at the nodes of a square net."""
    found = np.empty((rows, columns))
    for j in range(rows):
        for i in range(columns):
            found[j, i] = depth_at(edges, low_x + i * step, low_y + j * step)
    return found


@compiled
def _held(
    edges: np.ndarray,
    net: np.ndarray,
    frame: np.ndarray,
    sites: np.ndarray,
    seat: np.ndarray,
    basis: np.ndarray,
    shift_mm: float,
    half_turn: float,
    play_mm: float,
) -> tuple[int, int]:
    """Most sites that any seat in a box can hold with the play, and those its middle holds."""
    low_x, low_y, step = frame[0], frame[1], frame[2]
    rows, columns = net.shape
    cos_t, sin_t = math.cos(seat[2]), math.sin(seat[2])
    may, does = 0, 0
    for k in range(len(sites)):
        i, j = sites[k, 0] + seat[0], sites[k, 1] + seat[1]
        flat_x = basis[0, 0] * i + basis[0, 1] * j
        flat_y = basis[1, 0] * i + basis[1, 1] * j
        x, y = cos_t * flat_x - sin_t * flat_y, sin_t * flat_x + cos_t * flat_y
        need = play_mm - shift_mm - math.hypot(x, y) * half_turn
        column = math.floor((x - low_x) / step + 0.5)
        row = math.floor((y - low_y) / step + 0.5)
        column, row = min(max(column, 0), columns - 1), min(max(row, 0), rows - 1)
        off = math.hypot(x - low_x - column * step, y - low_y - row * step)
        depth = net[row, column]
        if depth + off < need and depth + off < 0.0:
            continue
        if depth - off >= need and depth - off >= 0.0:
            may += 1
            does += 1
            continue
        depth = depth_at(edges, x, y)
        if depth >= need:
            may += 1
        if depth >= 0.0:
            does += 1
    return may, does


@compiled
def closed(
    edges: np.ndarray,
    net: np.ndarray,
    frame: np.ndarray,
    sites: np.ndarray,
    basis: np.ndarray,
    turn_rad: float,
    far_mm: float,
    play_mm: float,
    best: int,
    most_boxes: int,
) -> tuple[int, np.ndarray, int, bool]:
    """Best count and its seat, boxes looked at, and whether nothing was left open.

    Boxes of (u, v, angle) are taken from a stack; one whose bound does not beat the best count
    is done with; else it is halved across what moves the centres furthest.
    """
    stack = np.empty((256, 6))
    stack[0] = np.array([0.5, 0.5, turn_rad / 2, 0.5, 0.5, turn_rad / 2])
    size, looked = 1, 0
    seat = np.array([-1.0, -1.0, 0.0])
    long_u = math.hypot(basis[0, 0], basis[1, 0])
    long_v = math.hypot(basis[0, 1], basis[1, 1])
    skew = abs(basis[0, 0] * basis[0, 1] + basis[1, 0] * basis[1, 1])
    while size > 0 and looked < most_boxes:
        size -= 1
        box = stack[size].copy()
        looked += 1
        a, b = box[3] * long_u, box[4] * long_v
        shift_mm = math.sqrt(a * a + b * b + 2 * skew * box[3] * box[4])
        may, does = _held(edges, net, frame, sites, box[:3], basis, shift_mm, box[5], play_mm)
        if does > best:
            best = does
            seat[:] = box[:3]
        if may <= best or size + 2 > len(stack):
            if may > best:
                return best, seat, looked, False
            continue
        across = 3
        if b > a:
            across = 4
        if far_mm * box[5] > max(a, b):
            across = 5
        half = box[across] / 2
        for side in (-1.0, 1.0):
            stack[size] = box
            stack[size, across] = half
            stack[size, across - 3] = box[across - 3] + side * half
            size += 1
    return best, seat, looked, size == 0
