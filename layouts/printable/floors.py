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


def _look(layers: PartLayers) -> Look:
    found: list[PrintFinding] = []
    worst = 0.0
    before: list[BaseGeometry] = []  # of the run below: the second layer of the same floor
    seen: set[tuple[int, ...]] = set()
    for layer in _short_runs(layers.stack.of):
        windows = _windows(layers.stack.of, layer)
        key = tuple(one for window in windows for one in (*window, -1))
        if key in seen:
            continue
        seen.add(key)
        pieces = _thin_pieces(layers, layers.stack.of[layer], windows)
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


def _windows(of: Sequence[int], layer: int) -> list[tuple[int, ...]]:
    """The other sections in each run of so many layers that has this layer in it."""
    first = range(max(layer - FLOOR_LAYERS + 1, 0), min(layer, len(of) - FLOOR_LAYERS) + 1)
    windows = [of[start : start + FLOOR_LAYERS] for start in first]
    return [tuple(sorted({one for one in window if one != of[layer]})) for window in windows]


def _thin_pieces(
    layers: PartLayers, number: int, windows: Sequence[tuple[int, ...]]
) -> list[BaseGeometry]:
    """Pieces of a section that each run lacks in some of its layers."""
    left: BaseGeometry | None = None
    for window in windows:
        lacking = [piece for other in window for piece in layers.more(number, other)]
        union = shapely.union_all(np.array(lacking, dtype=object))
        left = union if left is None else shapely.intersection(left, union)
        if left.is_empty:
            return []
    whole = layers.section(number) if left is None else left
    broad = [one for one in pieces_of(whole) if is_broad(one, layers.printer.line_wide_mm)]
    return broad


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
    about=f"largest piece of plastic of less than {FLOOR_LAYERS} layers",
    limit=THIN_FLOOR_MM2,
    unit="mm2",
    source=PRACTICE,
    remedy=f"in a bracket's script make it {FLOOR_LAYERS} layers or more; thinner layers "
    "(printer.layer_mm) make more of them",
    look=_look,
)
