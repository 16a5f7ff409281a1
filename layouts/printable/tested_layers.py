"""Which layers of a part its walls and gaps are measured on.

A rim of three layers or less - a lead-in, a sunk figure, the step of a chamfer - is no wall: the
layers below and above it are printed under and over it. So a wall of a low stretch is measured
together with those three below and three above; a gap, with the layer above it, since one layer's
gap closes under the next. A gap of one layer that the next one opens wide is the bottom of a bore.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.printing.sections import LayerStack

__all__ = [
    "LayerRun",
    "layer_runs",
    "measured_runs",
    "opened_above",
    "with_gap_layers",
    "with_wall_layers",
]

EDGE_LAYERS = 3  # a rim as high as this is an edge of what is beside it; judged
LEANING_EACH = 4  # of layers that all differ so many-th is measured: no wall ends between two
OPEN_LIMITS = 2.0  # so many limits of air over a gap are no gap; judged
OPEN_SHARE = 0.9  # of the gap: rounds of an offset take from its corners
ALIKE_MM2 = 1e-3  # in which sections of one shape differ by float noise


@dataclass(frozen=True, kw_only=True, slots=True)
class LayerRun:
    """Neighbouring layers with one section: the first one's number, from 0, and how many."""

    section: int
    first: int
    count: int

    @property
    def middle(self) -> int:
        """Number of its middle layer."""
        return self.first + self.count // 2


def layer_runs(stack: LayerStack) -> tuple[LayerRun, ...]:
    """All layers from below, those alike in one run; a given mesh has a section of its own in each
    layer, however alike."""
    starts = [0]
    for layer in range(1, len(stack.of)):
        if not _alike(stack, stack.of[layer], stack.of[starts[-1]]):
            starts.append(layer)
    ends = [*starts[1:], len(stack.of)]
    return tuple(
        LayerRun(section=stack.of[start], first=start, count=end - start)
        for start, end in zip(starts, ends, strict=True)
        if end > start
    )


def _alike(stack: LayerStack, one: int, other: int) -> bool:
    if one == other:
        return True
    a, b = stack.sections[one], stack.sections[other]
    if abs(a.area - b.area) > ALIKE_MM2:
        return False
    return bool(shapely.area(shapely.symmetric_difference(a, b)) < ALIKE_MM2)


def measured_runs(stack: LayerStack) -> list[LayerRun]:
    """The highest stretch of each section, from below; of single layers one in so many."""
    highest: dict[int, LayerRun] = {}
    for run in layer_runs(stack):
        met = run.count > 1 or run.first % LEANING_EACH == 0
        if met and (run.section not in highest or run.count > highest[run.section].count):
            highest[run.section] = run
    return sorted(highest.values(), key=lambda run: run.first)


def with_wall_layers(stack: LayerStack, run: LayerRun) -> BaseGeometry:
    """The middle of a stretch with all that is printed within an edge's height below and above it,
    layers between them too: a sunk figure of one layer lies on those right above it."""
    steps = range(-EDGE_LAYERS, EDGE_LAYERS + 1)
    return _together(stack, [run.middle + step for step in steps])


def with_gap_layers(stack: LayerStack, run: LayerRun) -> BaseGeometry:
    """The first layer of a stretch with the one above it; on top, with that below."""
    other = run.first + 1 if run.first + 1 < len(stack.of) else run.first - 1
    return _together(stack, (run.first, other))


def opened_above(stack: LayerStack, run: LayerRun, gap: BaseGeometry, limit_mm: float) -> bool:
    """Whether a gap in plan is one layer high, and lies in more than twice the limit of air in the
    next: lines that close it print a bottom that is one layer higher."""
    above = run.first + 1
    if run.count > 1 or above >= len(stack.of):
        return False
    around = shapely.box(*gap.buffer(OPEN_LIMITS * limit_mm).bounds)
    air = shapely.difference(around, stack.sections[stack.of[above]])
    half_mm = OPEN_LIMITS * limit_mm / 2.0
    wide = shapely.buffer(shapely.buffer(air, -half_mm), half_mm)
    return bool(shapely.intersection(wide, gap).area >= OPEN_SHARE * gap.area)


def _together(stack: LayerStack, layers: Sequence[int]) -> BaseGeometry:
    """Sections of layers united; those beyond top and bed are the last ones."""
    top = len(stack.of) - 1
    numbers = sorted({stack.of[min(max(layer, 0), top)] for layer in layers})
    sections = [stack.sections[k] for k in numbers]
    return sections[0] if len(sections) == 1 else shapely.union_all(sections)
