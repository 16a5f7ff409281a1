"""B-splines as cubic Bezier pieces: those of a drawing, open, closed or periodic."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import BSpline, CubicSpline

from generators.spaces.curves import JOIN_MM, Stroke

__all__ = ["BadSplineError", "spline_stroke", "through_points"]

CUBICS = 16  # a span of a rational spline, or one of a higher degree than the third
HIGHEST_DEGREE = 11  # of any drawing program known; common practice, no source
MOST_CUBICS = 100_000
NO_SPAN = 1e-9  # of the whole range: knots nearer than that are one


class BadSplineError(ValueError):
    """Numbers that give no curve."""


def spline_stroke(
    points: NDArray[np.float64],
    knots: NDArray[np.float64],
    degree: int,
    *,
    weights: NDArray[np.float64] | None = None,
    closed: bool = False,
) -> Stroke:
    """The curve of a B-spline over its range, from knot ``degree`` to knot ``-degree - 1``.

    ``points`` (n, 2), ``knots`` (n + degree + 1,), ``weights`` (n,). Exact up to the third degree,
    else ``CUBICS`` a span through its points and tangents. ``closed``: with evenly spaced knots and
    ends apart, the points go round once more, as a periodic spline has them. Raises BadSplineError.
    """
    rational = weights is not None and bool(np.ptp(weights) > 0.0)
    weight = np.ones(len(points)) if weights is None else weights
    _check(points, knots, degree, weight)
    stroke = _pieces(points, knots, degree, weight, rational)
    if not closed or np.abs(stroke[0, 0] - stroke[-1, 3]).max() <= JOIN_MM:
        return stroke
    steps = np.diff(knots)
    if np.ptp(steps) > 1e-6 * steps.mean():  # clamped, or uneven: it is what it is
        return stroke
    again = [np.concatenate([row, row[:degree]]) for row in (points, weight)]
    more = knots[-1] + steps.mean() * np.arange(1, degree + 1)
    return _pieces(again[0], np.concatenate([knots, more]), degree, again[1], rational)


def through_points(points: NDArray[np.float64]) -> Stroke:
    """A smooth closed curve through points (n, 2): periodic cubics over the chords' lengths."""
    ring = points
    if np.abs(points[0] - points[-1]).max() > JOIN_MM:
        ring = np.concatenate([points, points[:1]])
    else:
        ring = np.concatenate([points[:-1], points[:1]])
    at = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    if len(ring) < 4 or not np.isfinite(at).all() or not (np.diff(at) > 0.0).all():
        raise BadSplineError("fewer than three points apart from each other")
    curve = CubicSpline(at, ring, bc_type="periodic")
    return _hermite(ring, curve(at, 1)[:-1], curve(at, 1)[1:], np.diff(at))


def _check(
    points: NDArray[np.float64],
    knots: NDArray[np.float64],
    degree: int,
    weight: NDArray[np.float64],
) -> None:
    """Everything that a curve needs. Raises BadSplineError."""
    if not 1 <= degree <= HIGHEST_DEGREE:
        raise BadSplineError(f"degree {degree}")
    if len(points) <= degree:
        raise BadSplineError(f"{len(points)} control points for degree {degree}")
    if len(knots) != len(points) + degree + 1:
        raise BadSplineError(f"{len(knots)} knots, {len(points) + degree + 1} are needed")
    if len(weight) != len(points):
        raise BadSplineError(f"{len(weight)} weights for {len(points)} control points")
    numbers = (points, knots, weight)
    if not all(np.isfinite(one).all() for one in numbers) or not (weight > 0.0).all():
        raise BadSplineError("a number that is not finite, or a weight not above 0")
    if (np.diff(knots) < 0.0).any() or not knots[degree] < knots[-degree - 1]:
        raise BadSplineError("knots that do not rise")
    inner = knots[(knots > knots[degree]) & (knots < knots[-degree - 1])]
    if len(inner) and np.unique(inner, return_counts=True)[1].max() > degree:
        raise BadSplineError("a knot that cuts the curve in two")


def _pieces(
    points: NDArray[np.float64],
    knots: NDArray[np.float64],
    degree: int,
    weight: NDArray[np.float64],
    rational: bool,
) -> Stroke:
    """The polynomials between the knots as cubics."""
    inner = slice(degree, len(knots) - degree - 1)
    spans = np.diff(knots)[inner]
    real = spans > NO_SPAN * float(knots[-1] - knots[0])
    count = CUBICS if rational or degree > 3 else 1
    if real.sum() * count > MOST_CUBICS:
        raise BadSplineError(f"more than {MOST_CUBICS:,} pieces")
    weighted = np.column_stack([points * weight[:, None], weight])
    whole, starts = BSpline(knots, weighted, degree), knots[inner][real]
    powers = np.arange(degree + 1)
    terms = np.stack([whole(starts, nu=power) / math.factorial(power) for power in powers])
    steps = spans[real] / count
    ends = steps[:, None] * np.arange(count + 1)
    value = np.einsum("psk,spc->sck", terms, _raised(ends, powers))
    slope_powers = np.maximum(powers - 1, 0)
    slope = np.einsum("psk,spc->sck", terms * powers[:, None, None], _raised(ends, slope_powers))
    at = value[..., :2] / value[..., 2:]
    along = (slope[..., :2] - at * slope[..., 2:]) / value[..., 2:]
    corners = np.concatenate([at[:, :-1].reshape(-1, 2), at[-1, -1:]])
    return _hermite(
        corners,
        along[:, :-1].reshape(-1, 2),
        along[:, 1:].reshape(-1, 2),
        np.repeat(steps, count),
    )


def _raised(at: NDArray[np.float64], powers: NDArray[np.int64]) -> NDArray[np.float64]:
    """(spans, powers, places) of places (spans, places)."""
    return np.asarray(at[:, None, :] ** powers[None, :, None])


def _hermite(
    corners: NDArray[np.float64],
    leaving: NDArray[np.float64],
    arriving: NDArray[np.float64],
    steps: NDArray[np.float64],
) -> Stroke:
    """Cubics between corners (n + 1, 2) with given slopes; control points a third of them away."""
    first, last = corners[:-1], corners[1:]
    third = steps[:, None] / 3.0
    return np.stack([first, first + third * leaving, last - third * arriving, last], axis=1)
