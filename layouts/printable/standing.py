"""What stands on the bed: pieces of the first layer, and how far up each stands by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.printing.sections import LayerStack

__all__ = ["BedPiece", "bed_pieces", "narrow_side_mm"]

TOUCH_MM2 = 1e-4  # pieces of two layers that share no more stand beside each other


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BedPiece:
    """A piece of the first layer; ``free_mm``: height up to which nothing joins it to another."""

    region: BaseGeometry
    free_mm: float

    @property
    def slenderness(self) -> float:
        """Height to narrow side."""
        return self.free_mm / narrow_side_mm(self.region)


@dataclass(slots=True)
class _Followed:
    """Pieces of the layer just reached, each with the bed pieces below it; lives in one call."""

    pieces: Sequence[BaseGeometry]
    stands_on: list[set[int]]
    free: dict[int, int] = field(default_factory=dict)


def narrow_side_mm(region: BaseGeometry) -> float:
    """Shorter side of the least rectangle round a region, turned as it may be."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(region))
    return float(np.hypot(*np.diff(corners[:3], axis=0).T).min())


def bed_pieces(stack: LayerStack) -> tuple[BedPiece, ...]:
    """Every piece of the first layer, in the order of its section."""
    first = shapely.get_parts(stack.sections[stack.of[0]])
    now = _Followed(pieces=first, stands_on=[{k} for k in range(len(first))])
    for layer in range(1, len(stack.of) if len(first) > 1 else 1):
        if stack.of[layer] != stack.of[layer - 1]:
            now = _one_up(now, stack.sections[stack.of[layer]], layer)
        if len(now.free) == len(first):
            break
    return tuple(
        BedPiece(region=piece, free_mm=stack.layer_mm * now.free.get(k, len(stack.of)))
        for k, piece in enumerate(first)
    )


def _one_up(below: _Followed, section: BaseGeometry, layer: int) -> _Followed:
    """The pieces of the next section; a bed piece joined or ended there is free up to here."""
    pieces = shapely.get_parts(section)
    stands_on: list[set[int]] = [set() for _ in pieces]
    lower, upper = shapely.STRtree(below.pieces).query(pieces, predicate="intersects")[::-1]
    for low, up in zip(lower.tolist(), upper.tolist(), strict=True):
        if shapely.area(shapely.intersection(below.pieces[low], pieces[up])) > TOUCH_MM2:
            stands_on[up] |= below.stands_on[low]
    free = dict(below.free)
    for joined in stands_on:
        if len(joined) > 1:
            free.update({k: layer for k in joined if k not in free})
    going_on = set().union(*stands_on)
    for ended in set().union(*below.stands_on) - going_on:
        free.setdefault(ended, layer)
    return _Followed(pieces=pieces, stands_on=stands_on, free=free)
