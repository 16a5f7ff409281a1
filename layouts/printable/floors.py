"""Material that is only one or two layers high."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.printable.ceilings import is_broad
from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.layers import PartLayers, pieces_of
from layouts.printable.limits import FLOOR_LAYERS, PRACTICE, THIN_FLOOR_MM2

__all__ = ["FLOORS"]

# what is narrower is held by what is beside it: the ground of a sunk figure's stroke; judged
NARROW_LINES = 3
AIR = -1  # instead of a section's number: below the bed, above the top


def _look(layers: PartLayers) -> Look:
    found: list[PrintFinding] = []
    worst = 0.0
    before: list[BaseGeometry] = []  # of the run below: the second layer of the same floor
    seen: set[tuple[int, ...]] = set()
    for layer in _short_runs(layers.stack.of):
        around = _around(layers.stack.of, layer)
        if around in seen:
            continue
        seen.add(around)
        pieces = _thin_pieces(layers, around)
        fresh = [one for one in pieces if not _covered(one, before)]
        worst = max(worst, *(float(piece.area) for piece in fresh), 0.0)
        found += [_finding(layers, layer, one) for one in fresh if one.area > THIN_FLOOR_MM2]
        before = pieces
    return Look(worst=worst, findings=tuple(found))


def _short_runs(of: Sequence[int]) -> list[int]:
    """The first layer of each run of equal sections that is lower than a floor must be."""
    starts = [0, *(k for k in range(1, len(of)) if of[k] != of[k - 1]), len(of)]
    runs = zip(starts, starts[1:], strict=False)
    return [start for start, end in runs if end - start < FLOOR_LAYERS]


def _covered(piece: BaseGeometry, others: Sequence[BaseGeometry]) -> bool:
    """Whether others have most of a piece."""
    shared = math.fsum(shapely.intersection(piece, other).area for other in others)
    return shared > float(piece.area) / 2.0


def _around(of: Sequence[int], layer: int) -> tuple[int, ...]:
    """Sections of a layer and of as many below and above as a floor has beside it, AIR beyond."""
    reach = FLOOR_LAYERS - 1
    padded = [AIR] * reach + list(of) + [AIR] * reach
    return tuple(padded[layer : layer + 2 * reach + 1])


def _thin_pieces(layers: PartLayers, around: tuple[int, ...]) -> list[BaseGeometry]:
    """Pieces of the middle section that each run of so many layers lacks in one of them.

    What a run lacks of the section is lost on the way from it, layer by layer."""
    middle = FLOOR_LAYERS - 1
    section = layers.section(around[middle])
    left: BaseGeometry = section
    for start in range(middle + 1):
        run = around[start : start + FLOOR_LAYERS]
        if AIR in run:
            continue
        at = middle - start
        down = [layers.more(run[k], run[k - 1]) for k in range(at, 0, -1)]
        up = [layers.more(run[k], run[k + 1]) for k in range(at, len(run) - 1)]
        lost = [piece for pieces in (*down, *up) for piece in pieces]
        shared = shapely.intersection(left, shapely.union_all(np.array(lost, dtype=object)))
        left = shapely.MultiPolygon(pieces_of(shared).tolist())  # rims that only touch drop out
        if left.is_empty:
            return []
    return _broad(left, layers)


def _broad(shape: BaseGeometry, layers: PartLayers) -> list[BaseGeometry]:
    least_mm = NARROW_LINES * layers.printer.line_wide_mm
    return [one for one in pieces_of(shape) if is_broad(one, least_mm)]


def _finding(layers: PartLayers, layer: int, piece: BaseGeometry) -> PrintFinding:
    at = piece.representative_point()
    return PrintFinding(
        kind=FLOORS.id,
        part=layers.part.name,
        what=f"{piece.area:.1f} mm2 with less than {FLOOR_LAYERS} layers, "
        f"{FLOOR_LAYERS * layers.layer_mm:g} mm, of plastic",
        at_mm=(at.x, at.y, layers.floor_mm(layer)),
        value=float(piece.area),
        unit="mm2",
        limit=THIN_FLOOR_MM2,
        severity=Severity.FAILS,
        region=piece,
        outline=layers.section(layers.stack.of[layer]),
    )


FLOORS = PrintCheck(
    id="print_floors",
    title="thin floor",
    about=f"largest piece of plastic of less than {FLOOR_LAYERS} layers",
    limit=THIN_FLOOR_MM2,
    unit="mm2",
    source=PRACTICE,
    remedy=f"in a bracket's script make it {FLOOR_LAYERS} layers or more; thinner layers "
    "(printer.layer_mm) make more of them",
    look=_look,
)
