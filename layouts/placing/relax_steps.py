"""The inner loop of relaxing: limited-memory BFGS on the overlaps, compiled.

The two-loop recursion and the first scaling of the Hessian are those of J. Nocedal and
S. Wright, Numerical Optimization (2nd ed. 2006, algorithm 7.4, equation 7.20; from memory);
the line search only halves, and pairs of differences that show no curvature are left out.
Written here because a hundred thousand tiny searches spend nearly all their time in a general
one's bookkeeping.
"""

from __future__ import annotations

import numpy as np

from layouts.placing.compiled import compiled
from layouts.placing.squeeze_steps import overlap_and_slope

__all__ = ["relaxed"]

KEPT = 10  # pairs of differences kept
HALVINGS = 20
ARMIJO = 1e-4  # least share of the fall promised by the slope


@compiled
def _descent(
    slope: np.ndarray,
    moves: np.ndarray,
    turns: np.ndarray,
    weights: np.ndarray,
    shares: np.ndarray,
    held: int,
    newest: int,
) -> np.ndarray:
    """The way down by the pairs held, without its length; ``shares``: scratch."""
    way = -slope
    for back in range(held):
        k = (newest - back) % KEPT
        shares[k] = weights[k] * np.sum(moves[k] * way)
        way -= shares[k] * turns[k]
    if held > 0:
        way *= 1.0 / (weights[newest] * np.sum(turns[newest] ** 2))
    else:
        way *= 0.25
    for back in range(held - 1, -1, -1):
        k = (newest - back) % KEPT
        way += (shares[k] - weights[k] * np.sum(turns[k] * way)) * moves[k]
    return way


@compiled
def relaxed(
    flat: np.ndarray,
    edges: np.ndarray,
    net: np.ndarray,
    frame: np.ndarray,
    pitch: float,
    steps: int,
) -> np.ndarray:
    """Centres (2 n,) after at most that many steps down the sum of squared overlaps."""
    x = flat.copy()
    count = len(x)
    value, slope = overlap_and_slope(x, edges, net, frame, pitch)
    moves = np.zeros((KEPT, count))
    turns = np.zeros((KEPT, count))
    weights = np.zeros(KEPT)
    shares = np.zeros(KEPT)
    held, newest = 0, -1
    for _ in range(steps):
        if value <= 1e-18 * pitch * pitch or np.abs(slope).max() < 1e-9 * pitch:
            break
        way = _descent(slope, moves, turns, weights, shares, held, newest)
        longest = np.abs(way).max()
        if longest > pitch / 4:
            way *= pitch / 4 / longest
        fall = np.sum(way * slope)
        if fall >= 0.0:
            held = 0
            way = -0.25 * slope
            fall = np.sum(way * slope)
        scale = 1.0
        after, after_slope = overlap_and_slope(x + way, edges, net, frame, pitch)
        for _halving in range(HALVINGS):
            if after <= value + ARMIJO * scale * fall:
                break
            scale /= 2
            after, after_slope = overlap_and_slope(x + scale * way, edges, net, frame, pitch)
        if after >= value:
            if held == 0:
                break
            held = 0
            continue
        move, turn = scale * way, after_slope - slope
        small = value - after < 1e-7 * value
        x, value, slope = x + move, after, after_slope
        curved = np.sum(move * turn)
        if curved > 1e-12 * np.sum(move * move):
            newest = (newest + 1) % KEPT
            moves[newest], turns[newest] = move, turn
            weights[newest] = 1.0 / curved
            held = min(held + 1, KEPT)
        if small:
            break
    return x
