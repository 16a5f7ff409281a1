"""What goes through, or stands beside, a part's first layer when the pack is built."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

__all__ = ["BedItem"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BedItem:
    """``what``: in words, equal for equal things; ``region``: its plan in the part's own
    coordinates; ``is_printed``: it lies on the bed too, so that its own first layer bulges."""

    what: str
    region: BaseGeometry
    is_printed: bool = False
