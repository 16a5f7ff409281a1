"""Drawn strokes as control points, joined to loops, and flattened on the free side.

A stroke is a run of cubic Bezier pieces, (n, 4, 2) control points [mm], each piece beginning
where the one before it ends; a straight line is a piece with its control points on the line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import cKDTree

from layouts.spaces.outline import place_of

__all__ = ["FLAT_MM", "Loop", "OpenOutlineError", "Stroke", "arc", "flattened", "joined", "line"]

Stroke = NDArray[np.float64]

JOIN_MM = 0.01  # ends of lines nearer than this are joined: drawings round to that
FLAT_MM = 0.02  # how far a flattened curve may lie within the true one: far below any print
FLAT_STEPS = 256  # pieces of one cubic at most, each 0.02 mm flat: one of 1.3 m still is
ARC_PIECE = math.pi / 16  # a cubic over 11 degrees departs from a circle by 1e-9 of its radius
TINY = 1e-12  # of a square: a bend that floats can't distinguish from none


class OpenOutlineError(ValueError):
    """A drawing whose lines don't close: ``why``, and ``where`` in words."""

    def __init__(self, why: str, where: str) -> None:
        super().__init__(f"{why} ({where})")
        self.why = why
        self.where = where


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Loop:
    """A closed stroke. ``area_mm2`` is positive where it runs counter-clockwise."""

    pieces: Stroke
    area_mm2: float


def line(start: Sequence[float], end: Sequence[float]) -> Stroke:
    """A straight stroke of one piece (1, 4, 2)."""
    a, b = np.asarray(start, dtype=np.float64)[:2], np.asarray(end, dtype=np.float64)[:2]
    return np.array([[a, a + (b - a) / 3, a + (b - a) * 2 / 3, b]])


def arc(
    centre: ArrayLike,
    u: ArrayLike,
    v: ArrayLike,
    start_rad: float,
    sweep_rad: float,
) -> Stroke:
    """Part of the ellipse centre + u cos t + v sin t, as cubics that depart by 1e-9 of it.

    Control points at 4/3 tan(sweep/4) along the tangents, the usual fit (plane geometry).
    """
    count = max(1, math.ceil(abs(sweep_rad) / ARC_PIECE))
    at = start_rad + sweep_rad * np.arange(count + 1) / count
    c, a, b = (np.asarray(value, dtype=np.float64)[:2] for value in (centre, u, v))
    points = c + np.outer(np.cos(at), a) + np.outer(np.sin(at), b)
    tangents = np.outer(np.cos(at), b) - np.outer(np.sin(at), a)
    reach = 4 / 3 * math.tan(sweep_rad / count / 4)
    if abs(abs(sweep_rad) - math.tau) < 1e-9:
        points[-1] = points[0]
    return np.stack(
        [
            points[:-1],
            points[:-1] + reach * tangents[:-1],
            points[1:] - reach * tangents[1:],
            points[1:],
        ],
        axis=1,
    )


def joined(strokes: Sequence[Stroke]) -> list[Loop]:
    """Strokes joined end to end into loops, in the order of their first strokes.

    Strokes of no length and strokes drawn twice are dropped. Raises OpenOutlineError where an
    end stays loose, or more than two ends meet.
    """
    kept = _without_doubles([stroke for stroke in strokes if _length_mm(stroke) > JOIN_MM])
    closed = [np.abs(one[0, 0] - one[-1, 3]).max() <= JOIN_MM for one in kept]
    loops = [(i, _closed(one)) for i, one in enumerate(kept) if closed[i]]
    loose = [i for i, is_closed in enumerate(closed) if not is_closed]
    if loose:
        loops += _chained(kept, loose)
    return [
        Loop(pieces=pieces, area_mm2=_area_mm2(pieces))
        for _, pieces in sorted(loops, key=lambda row: row[0])
    ]


def flattened(loop: Loop, *, hole: bool = False, flat_mm: float = FLAT_MM) -> NDArray[np.float64]:
    """Corners (n, 2) of a loop, never outside the free space and within ``flat_mm`` of it.

    Outlines come back counter-clockwise, holes clockwise: the free space lies on the left. Where
    the curve bends left the corners stand on it; where it bends right they stand where its tangents
    meet, so that chords don't cut into what is solid. Pieces are split where the bend changes."""
    pieces = loop.pieces if (loop.area_mm2 < 0) is hole else loop.pieces[::-1, ::-1]
    corners: list[NDArray[np.float64]] = []
    for piece in pieces:
        corners.extend(_piece_corners(piece, flat_mm))
    return np.array(corners)


def _piece_corners(piece: NDArray[np.float64], flat_mm: float) -> list[NDArray[np.float64]]:
    """Corners along one piece, the last left out."""
    # the second derivative of a cubic is greatest at an end; sagitta = |P''| step^2 / 8
    bend = 6 * max(
        float(np.linalg.norm(piece[0] - 2 * piece[1] + piece[2])),
        float(np.linalg.norm(piece[1] - 2 * piece[2] + piece[3])),
    )
    span = float(np.abs(piece - piece[0]).max())
    if bend <= 1e-9 * span or _is_straight(piece):
        return [piece[0]]
    count = min(FLAT_STEPS, math.ceil(math.sqrt(bend / (8 * flat_mm))))
    at = np.unique(np.concatenate([np.linspace(0, 1, count + 1), _bend_changes(piece)]))
    points, tangents = _points(piece, at), _tangents(piece, at)
    corners: list[NDArray[np.float64]] = []
    for i in range(len(at) - 1):
        corners.append(points[i])
        if _cross(tangents[i], tangents[i + 1]) < 0:
            meet = _meeting(points[i], tangents[i], points[i + 1], tangents[i + 1])
            if meet is not None:
                corners.append(meet)
    return corners


def _is_straight(piece: NDArray[np.float64]) -> bool:
    chord = piece[3] - piece[0]
    aside = [abs(_cross(chord, point - piece[0])) for point in piece[1:3]]
    along = [float(chord @ (point - piece[0])) for point in piece[1:3]]
    length2 = float(chord @ chord)
    return max(aside) <= 1e-9 * length2 and min(along) >= 0 and max(along) <= length2


def _bend_changes(piece: NDArray[np.float64]) -> NDArray[np.float64]:
    """Where within a cubic its bend changes sides: zeros of P' x P'', a quadratic."""
    a = -piece[0] + 3 * piece[1] - 3 * piece[2] + piece[3]
    b = 3 * piece[0] - 6 * piece[1] + 3 * piece[2]
    c = 3 * (piece[1] - piece[0])
    # P' = 3a t^2 + 2b t + c, P'' = 6a t + 2b
    terms = [-6 * _cross(a, b), -6 * _cross(a, c), 2 * _cross(c, b)]
    largest = max(abs(term) for term in terms)
    if largest == 0.0:
        return np.array([])
    roots = np.roots([0.0 if abs(term) < TINY * largest else term for term in terms])
    real = np.real(roots[np.abs(np.imag(roots)) < TINY])
    return np.sort(real[(real > 1e-6) & (real < 1 - 1e-6)])


def _points(piece: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    t = at[:, None]
    s = 1 - t
    points = s**3 * piece[0] + 3 * s**2 * t * piece[1] + 3 * s * t**2 * piece[2] + t**3 * piece[3]
    points[0], points[-1] = piece[0], piece[3]
    return np.asarray(points)


def _tangents(piece: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    t = at[:, None]
    first, second, third = np.diff(piece, axis=0)
    return np.asarray((1 - t) ** 2 * first + 2 * (1 - t) * t * second + t**2 * third)


def _meeting(
    start: NDArray[np.float64],
    way: NDArray[np.float64],
    end: NDArray[np.float64],
    way_there: NDArray[np.float64],
) -> NDArray[np.float64] | None:
    """Where the tangents of a short bend meet; None where they don't between its ends."""
    turn = _cross(way, way_there)
    if abs(turn) <= TINY * float(np.linalg.norm(way) * np.linalg.norm(way_there)):
        return None
    chord = end - start
    ahead, back = _cross(chord, way_there) / turn, _cross(chord, way) / turn
    if ahead <= 0 or back >= 0:
        return None
    return np.asarray(start + ahead * way)


def _cross(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    return float(a[0] * b[1] - a[1] * b[0])


def _length_mm(stroke: Stroke) -> float:
    """Length of the control polygon: at least the stroke's own."""
    return float(np.linalg.norm(np.diff(stroke, axis=1), axis=2).sum())


def _area_mm2(pieces: Stroke) -> float:
    """Signed area of closed pieces, exact: the integral of x dy over each cubic.

    Green's theorem; for control points p the integral of P x P' / 2 is the sum of the crosses
    p_i x p_j with these weights (worked out from the Bernstein products).
    """
    p = pieces - pieces[0, 0]

    def cross(i: int, j: int) -> NDArray[np.float64]:
        return np.asarray(p[:, i, 0] * p[:, j, 1] - p[:, i, 1] * p[:, j, 0])

    sums = (
        6 * cross(0, 1) + 3 * cross(0, 2) + cross(0, 3)
        + 3 * cross(1, 2) + 3 * cross(1, 3) + 6 * cross(2, 3)
    )  # fmt: skip
    return float(sums.sum()) / 20


def _without_doubles(strokes: list[Stroke]) -> list[Stroke]:
    """Strokes without those drawn twice, either way round."""
    seen: set[bytes] = set()
    kept = []
    for stroke in strokes:
        ways = [(np.round(way / 1e-6) + 0.0).tobytes() for way in (stroke, stroke[::-1, ::-1])]
        if not seen.intersection(ways):
            kept.append(stroke)
        seen.update(ways)
    return kept


def _closed(pieces: Stroke) -> Stroke:
    """Pieces whose last end is the first start."""
    whole = pieces.copy()
    whole[-1, 3] = whole[0, 0]
    return whole


def _chained(strokes: list[Stroke], loose: list[int]) -> list[tuple[int, Stroke]]:
    """Open strokes followed from end to end."""
    ends = np.array([[strokes[i][0, 0], strokes[i][-1, 3]] for i in loose]).reshape(-1, 2)
    tree = cKDTree(ends)
    partner = np.full(len(ends), -1)
    for end, near in enumerate(tree.query_ball_point(ends, JOIN_MM)):
        others = [one for one in near if one != end]
        if len(others) > 1:
            raise OpenOutlineError(
                "has more than two lines ending at one point", f"at {place_of(*ends[end])}"
            )
        if others:
            partner[end] = others[0]
    open_ends = np.flatnonzero(partner < 0)
    if len(open_ends):
        raise _left_open(ends, open_ends)
    loops = []
    left = set(range(len(loose)))
    while left:
        first = min(left)
        end, run = 2 * first, []
        while end // 2 in left:
            left.discard(end // 2)
            stroke = strokes[loose[end // 2]]
            run.append((stroke if end % 2 == 0 else stroke[::-1, ::-1]).copy())
            end = int(partner[end ^ 1])
        for before, after in zip(run, run[1:], strict=False):
            after[0, 0] = before[-1, 3]  # within the joining distance
        loops.append((loose[first], _closed(np.concatenate(run))))
    return loops


def _left_open(ends: NDArray[np.float64], open_ends: NDArray[np.int64]) -> OpenOutlineError:
    """The loose end farthest from any other, and how far it is."""
    tree = cKDTree(ends[open_ends])
    places = [place_of(*ends[end]) for end in open_ends[:4]]
    gap = ""
    if len(open_ends) > 1:
        far, _ = tree.query(ends[open_ends], k=2)
        gap = f", the nearest two {float(far[:, 1].min()):.3g} mm apart"
    more = f" and {len(open_ends) - 4} more" if len(open_ends) > 4 else ""
    return OpenOutlineError(
        f"does not close: {len(open_ends)} loose ends", f"at {', '.join(places)}{more}{gap}"
    )
