"""Undersides that are drawn as a row of thin steps: how far they lean out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.parts.drawing import Drawing
from layouts.printable.bridging import bridge_of, mitred
from layouts.printable.ceilings import ceilings_of, is_broad
from layouts.printable.layers import PartLayers, pieces_of
from layouts.printable.limits import BRIDGE_WARNS_MM, FREE_SHARE, LEAN_DEG

__all__ = ["LeaningSteps", "leaning_steps"]

STEPS = 6  # layers in a row that are looked at together: one step alone is a ledge
STEPPED = 3  # of them, at least, that reach farther out than the one below
SLACK = 1.01  # of the limit: chords of rounds
BEYOND_LINES = 0.5  # how far beyond the limit a run must reach: less is no lean but a corner
APART_MM = 1.0  # places of neighbouring layers that are nearer are the same


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LeaningSteps:
    """What a few layers in a row have beyond the limit over layer ``layer``, which they stand on;
    ``lean_deg``: from upright."""

    layer: int
    lean_deg: float
    piece: BaseGeometry


def leaning_steps(layers: PartLayers) -> list[LeaningSteps]:
    """The steepest place of each row of steps of a drawing, ceilings left out: they are looked
    at by themselves. A shape that is given has its faces for that."""
    drawing = layers.part.drawing
    if not isinstance(drawing, Drawing):
        return []
    if drawing.bores:  # their crowns are ceilings, layer by layer
        plain = replace(layers.part, drawing=replace(drawing, bores=()))
        layers = PartLayers(plain, layers.printer)
    of = layers.stack.of
    rows: list[tuple[LeaningSteps, int]] = []  # the steepest place, and the last layer of it
    seen: set[tuple[int, ...]] = set()
    for layer in range(len(of) - STEPS):
        run = of[layer : layer + STEPS + 1]
        steps = [(a, b) for a, b in zip(run, run[1:], strict=False) if a != b]
        if len(steps) < STEPPED or run in seen:
            continue
        seen.add(run)
        gained = [pieces for below, above in steps if len(pieces := layers.more(above, below))]
        for one in _beyond(layers, layer, _stepped(gained)):
            rows = _joined(rows, one)
    return [steepest for steepest, _ in rows]


def _stepped(gained: Sequence[NDArray[np.object_]]) -> list[BaseGeometry]:
    """Places where enough of some layers have more than the one below, each a piece."""
    if len(gained) < STEPPED:
        return []
    pieces = np.concatenate(gained)
    number = np.repeat(np.arange(len(gained)), [len(one) for one in gained])
    groups = pieces_of(shapely.union_all(pieces))
    group, piece = shapely.STRtree(pieces).query(groups, predicate="intersects")
    pairs = np.unique(np.column_stack([group, number[piece]]), axis=0)
    steps = np.bincount(pairs[:, 0], minlength=len(groups))
    return list(groups[steps >= STEPPED])


def _joined(
    rows: list[tuple[LeaningSteps, int]], one: LeaningSteps
) -> list[tuple[LeaningSteps, int]]:
    """The rows with one more place, which belongs to the one that it goes on."""
    for k, (steepest, last) in enumerate(rows):
        near = shapely.dwithin(steepest.piece, one.piece, STEPS * APART_MM)
        if near and one.layer - last <= STEPS:
            best = max(steepest, one, key=lambda place: place.lean_deg)
            return [*rows[:k], (best, one.layer), *rows[k + 1 :]]
    return [*rows, (one, one.layer)]


def _beyond(layers: PartLayers, layer: int, groups: Sequence[BaseGeometry]) -> list[LeaningSteps]:
    """Of what some layers have more than the one below them, what leans too far."""
    if not groups:
        return []
    below = layers.section(layers.stack.of[layer])
    high_mm = STEPS * layers.layer_mm
    reach_mm = high_mm * math.tan(math.radians(LEAN_DEG)) * SLACK
    beyond_mm = BEYOND_LINES * layers.printer.line_wide_mm
    level = [mitred(one, reach_mm) for one in _level(layers, layer)]
    level += [plan for plan, _ in layers.pins()]
    found = []
    for group in groups:
        x0, y0, x1, y1 = group.bounds
        pad = 2.0 * reach_mm
        near = shapely.clip_by_rect(below, x0 - pad, y0 - pad, x1 + pad, y1 + pad)
        if near.is_empty:
            continue
        rests = mitred(near, reach_mm)
        left = shapely.difference(group, shapely.union_all([rests, *level]))
        for piece in pieces_of(left):
            if not is_broad(piece, beyond_mm) or _is_crown(piece, rests):
                continue
            corners = shapely.points(shapely.get_coordinates(piece))
            run_mm = float(shapely.distance(corners, near).max())
            lean_deg = math.degrees(math.atan2(run_mm, high_mm))
            found.append(LeaningSteps(layer=layer, lean_deg=lean_deg, piece=piece))
    return found


def _level(layers: PartLayers, layer: int) -> list[BaseGeometry]:
    """Ceilings of the layers that stand on one."""
    high = range(layer + 1, layer + STEPS + 1)
    return [one.piece for one in ceilings_of(layers) if one.step.layer in high]


def _is_crown(piece: BaseGeometry, rests: BaseGeometry) -> bool:
    """Whether it closes a gap from both sides: an arch."""
    bridge = bridge_of(piece, rests, layer_mm=0.0)
    return bridge.carried > 1.0 - FREE_SHARE and bridge.span_mm <= BRIDGE_WARNS_MM
