"""Lines over nothing: which part of a ceiling is carried at both ends, and how far apart."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.printable.limits import BRIDGE_FAILS_MM

__all__ = ["APART_MM", "Bridge", "along_rims", "best_bridge", "bridge_of", "mitred"]

TURN_DEG = 15  # between the directions that are tried
OWN_EDGE_MM = 2.0  # edges of the ceiling from here on give directions too
OWN_EDGE_FINE_MM = 0.3  # chords of rounds are no edges
APART_MM = 0.4  # between lines
TOUCHING = 1.001  # of that apart, so that neighbours hang together
SHORTEST_MM = 0.05
REACH_MM = 0.15  # beyond the layer's own height, within which an end still rests
ALIKE_SHARE = 0.01  # of the ceiling: directions that leave so nearly alike free go by their span
RIM_LINES = 6  # what is no wider than these is filled by lines along its own rims
BROAD_SHARE = 0.7  # of a piece, at most: where a wall meets a web it is broader
BESIDE_LINES = 3  # so many lines away from what they rest on they hold each other
BESIDE_MM = 10.0  # over so short a stretch; judged, as a bridge that does not sag yet
ALIKE = 0.01  # shares that differ by less are the same
STRAIGHT = 0.5  # of a line's length that its ends must lie apart: less, and it turns round an end
MITRE_LIMIT = 3.0  # corners of 39 degrees and more come back whole: no false alarm there


@dataclass(frozen=True, kw_only=True, slots=True)
class Bridge:
    """``carried``: share of the ceiling under lines that rest at both ends; ``free_mm2``: the
    largest stretch under others; ``span_mm``: the longest line that rests; ``turn_deg``: their
    direction, None: along the ceiling's rims."""

    carried: float
    free_mm2: float
    span_mm: float
    turn_deg: float | None


def mitred(shape: BaseGeometry, grow_mm: float) -> BaseGeometry:
    """A shape grown, or shrunk where negative, its corners kept."""
    return shape.buffer(grow_mm, join_style="mitre", mitre_limit=MITRE_LIMIT)


def bridge_of(ceiling: BaseGeometry, below: BaseGeometry, *, layer_mm: float) -> Bridge:
    """How a ceiling is best bridged by straight lines: in that one direction which leaves the
    least in one place free.

    ``ceiling``: one piece, the layer below grown by its own height already taken off;
    ``below``: what its ends may rest on."""
    shapely.prepare([ceiling, below])
    best = Bridge(carried=0.0, free_mm2=float(ceiling.area), span_mm=0.0, turn_deg=0.0)
    noise_mm2 = ALIKE_SHARE * float(ceiling.area)
    for turn_deg in _directions(ceiling):
        lines = _lines(ceiling, turn_deg)
        if not len(lines):
            continue
        lengths = shapely.length(lines)
        rests = _rests(lines, below, layer_mm + REACH_MM)
        loose_mm2 = float(lengths[~rests].sum() / lengths.sum()) * float(ceiling.area)
        free_mm2 = loose_mm2 * _largest_share(lines[~rests])
        span_mm = float(lengths[rests].max(initial=0.0))
        less = free_mm2 < best.free_mm2 - noise_mm2
        if less or (free_mm2 < best.free_mm2 + noise_mm2 and span_mm < best.span_mm):
            best = Bridge(
                carried=1.0 - loose_mm2 / float(ceiling.area),
                free_mm2=free_mm2,
                span_mm=span_mm,
                turn_deg=turn_deg,
            )
    return best


def best_bridge(
    piece: BaseGeometry,
    section: BaseGeometry,
    below: BaseGeometry,
    *,
    line_mm: float,
    layer_mm: float,
) -> Bridge:
    """A slicer lays what is narrow along its rims; that it is carried either way is enough.

    ``section``: the layer that the piece is of; ``below``: what its ends may rest on."""
    rims = along_rims(
        piece, section, below, line_mm=line_mm, layer_mm=layer_mm, longest_mm=BRIDGE_FAILS_MM
    )
    if rims is not None and rims.carried > 1.0 - ALIKE:
        return rims
    straight = bridge_of(piece, below, layer_mm=layer_mm)
    if rims is None or rims.carried <= straight.carried + ALIKE:
        return straight
    return rims


def _rests(lines: NDArray[np.object_], below: BaseGeometry, reach_mm: float) -> NDArray[np.bool_]:
    """Which lines rest at both ends; one that lies along an edge hangs on that alone."""
    ends = shapely.get_coordinates(lines).reshape(-1, 2, 2)
    near = shapely.dwithin(shapely.points(ends), below, reach_mm).all(axis=1)
    middles = shapely.points(ends.mean(axis=1))
    lies = (shapely.length(lines) > 2.0 * reach_mm) & shapely.dwithin(middles, below, reach_mm)
    rests: NDArray[np.bool_] = near & ~lies
    return rests


def _largest_share(lines: NDArray[np.object_]) -> float:
    """Share of the largest group of neighbouring lines; 1 where there are none."""
    if not len(lines):
        return 1.0
    broad = shapely.buffer(lines, TOUCHING * APART_MM / 2.0, cap_style="flat")
    areas = shapely.area(shapely.get_parts(shapely.union_all(broad)))
    return float(areas.max() / areas.sum())


def _directions(ceiling: BaseGeometry) -> list[float]:
    """Every 15 degrees, and along the ceiling's own longer edges."""
    outer = shapely.get_coordinates(ceiling.simplify(OWN_EDGE_FINE_MM))
    steps = np.diff(outer, axis=0)
    steps = steps[np.hypot(*steps.T) > OWN_EDGE_MM]
    own = np.round(np.degrees(np.arctan2(steps[:, 1], steps[:, 0])) % 180.0).tolist()
    return sorted({float(one) % 180.0 for one in (*range(0, 180, TURN_DEG), *own)})


def _lines(ceiling: BaseGeometry, turn_deg: float) -> NDArray[np.object_]:
    """Straight pieces across the ceiling in one direction."""
    x0, y0, x1, y1 = ceiling.bounds
    along = np.array([math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))])
    across = np.array([-along[1], along[0]])
    middle = np.array([(x0 + x1) / 2.0, (y0 + y1) / 2.0])
    corners = shapely.get_coordinates(ceiling) - middle
    low, high = float((corners @ across).min()), float((corners @ across).max())
    half = float(np.abs(corners @ along).max()) + 1.0
    count = max(math.ceil((high - low) / APART_MM), 1)
    offsets = (low + high) / 2.0 + APART_MM * (np.arange(count) - (count - 1) / 2.0)
    starts = middle + offsets[:, None] * across - half * along
    chords = shapely.linestrings(np.stack([starts, starts + 2.0 * half * along], axis=1))
    pieces = shapely.get_parts(shapely.intersection(chords, ceiling))
    straight = (shapely.get_type_id(pieces) == 1) & (shapely.get_num_coordinates(pieces) == 2)
    pieces = pieces[straight]
    kept: NDArray[np.object_] = pieces[shapely.length(pieces) > SHORTEST_MM]
    return kept


def along_rims(
    ceiling: BaseGeometry,
    section: BaseGeometry,
    below: BaseGeometry,
    *,
    line_mm: float,
    layer_mm: float,
    longest_mm: float,
) -> Bridge | None:
    """How a narrow ceiling is bridged by lines that follow its rims; None where most of it is
    broader, or where none of them is left over nothing.

    ``section``: the layer that the ceiling is a piece of, whose rims the lines follow. A line that
    turns round an end, or that is longer than ``longest_mm``, is not carried."""
    half_mm = RIM_LINES * line_mm / 2.0
    broad = mitred(ceiling.buffer(-half_mm), half_mm)
    if broad.area > BROAD_SHARE * ceiling.area:
        return None
    beside = shapely.intersection(ceiling, below.buffer(layer_mm + BESIDE_LINES * line_mm))
    rests = [piece for piece in shapely.get_parts(beside) if _long_mm(piece) <= BESIDE_MM]
    left = shapely.difference(ceiling, shapely.union_all(rests)) if rests else ceiling
    rims = shapely.boundary(mitred(section, -line_mm / 2.0))
    lines = shapely.get_parts(shapely.line_merge(shapely.intersection(rims, left)))
    lengths = shapely.length(lines)
    if lengths.sum() <= SHORTEST_MM:
        return None
    ends = shapely.get_point(lines, [[0], [-1]])
    apart = shapely.distance(ends[0], ends[1])
    # beside what it rests on a line still has to get there
    spans = lengths + np.maximum(shapely.distance(ends, below) - layer_mm, 0.0).sum(axis=0)
    holds = (apart >= STRAIGHT * lengths) & (spans <= longest_mm)
    carried = float(lengths[holds].sum() / lengths.sum())
    return Bridge(
        carried=carried,
        free_mm2=(1.0 - carried) * float(ceiling.area),
        span_mm=float(spans[holds].max(initial=0.0)),
        turn_deg=None,
    )


def _long_mm(piece: BaseGeometry) -> float:
    """Longer side of the smallest rectangle round a piece."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(piece))
    return float(np.hypot(*np.diff(corners, axis=0).T).max(initial=0.0))
