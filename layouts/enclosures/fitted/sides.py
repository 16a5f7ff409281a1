"""Rectangles told by a side of the plan: how far they reach towards it, and from where along it."""

from __future__ import annotations

from layouts.pack import Side
from layouts.parts.shell import Rect

__all__ = ["OUTWARD", "ROUND", "axis_along", "edge_mm", "rect_at", "side_of", "span_mm"]

OUTWARD = {
    Side.PLUS_X: (1.0, 0.0),
    Side.MINUS_X: (-1.0, 0.0),
    Side.PLUS_Y: (0.0, 1.0),
    Side.MINUS_Y: (0.0, -1.0),
}  # unit vectors
ROUND = (Side.PLUS_X, Side.PLUS_Y, Side.MINUS_X, Side.MINUS_Y)  # counter-clockwise


def edge_mm(bounds: tuple[float, float, float, float], side: Side) -> float:
    """How far bounds (x0, y0, x1, y1) reach towards a side, along its outward direction."""
    x0, y0, x1, y1 = bounds
    return {Side.PLUS_X: x1, Side.MINUS_X: -x0, Side.PLUS_Y: y1, Side.MINUS_Y: -y0}[side]


def axis_along(side: Side) -> int:
    """The axis along a side: 0 for x, 1 for y."""
    return 1 if side in (Side.PLUS_X, Side.MINUS_X) else 0


def span_mm(rect: Rect, axis: int) -> tuple[float, float]:
    """From where to where a rectangle reaches along an axis."""
    return (rect.x0, rect.x1) if axis == 0 else (rect.y0, rect.y1)


def rect_at(side: Side, near_mm: float, far_mm: float, low_mm: float, high_mm: float) -> Rect:
    """From ``near_mm`` to ``far_mm`` along a side's outward direction, from ``low_mm`` to
    ``high_mm`` along the side."""
    positive = side in (Side.PLUS_X, Side.PLUS_Y)
    a, b = (near_mm, far_mm) if positive else (-far_mm, -near_mm)
    if axis_along(side) == 1:
        return Rect(x0=a, x1=b, y0=low_mm, y1=high_mm)
    return Rect(x0=low_mm, x1=high_mm, y0=a, y1=b)


def side_of(rect: Rect, other: Rect) -> Side:
    """The side of another rectangle that one lies on."""
    (x, y), (u, v) = rect.centre_mm, other.centre_mm
    if abs(x - u) > abs(y - v):
        return Side.PLUS_X if x > u else Side.MINUS_X
    return Side.PLUS_Y if y > v else Side.MINUS_Y
