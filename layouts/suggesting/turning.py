"""The space as it is seen along the axis that the cells stand along."""

from __future__ import annotations

from functools import lru_cache

from layouts.spaces.regions import turned
from layouts.spaces.space import Space, box_space
from layouts.suggesting.setting import Axis

__all__ = ["boxed", "seen_along"]

KEPT = 16  # spaces at once, each along three axes; a sweep has one


@lru_cache(maxsize=KEPT)
def seen_along(space: Space, axis: Axis) -> Space:
    """The space turned so that ``axis`` becomes z; x, y, z follow each other as before."""
    return turned(space, axis)[0]


@lru_cache(maxsize=KEPT)
def boxed(space: Space) -> Space:
    """The box of the space alone, a corner at the origin: all that choosing a block needs."""
    return box_space(space.box_mm)
