"""Rectangles told by a side of the plan."""

from __future__ import annotations

import pytest

from layouts.enclosures.fitted.sides import OUTWARD, axis_along, edge_mm, rect_at, span_mm
from layouts.pack import Side
from layouts.parts.shell import Rect

BOUNDS = (-3.0, 5.0, 11.0, 7.0)


@pytest.mark.parametrize(
    ("side", "edge", "axis", "rect"),
    [
        (Side.PLUS_X, 11.0, 1, Rect(x0=2.0, x1=4.0, y0=-1.0, y1=9.0)),
        (Side.MINUS_X, 3.0, 1, Rect(x0=-4.0, x1=-2.0, y0=-1.0, y1=9.0)),
        (Side.PLUS_Y, 7.0, 0, Rect(x0=-1.0, x1=9.0, y0=2.0, y1=4.0)),
        (Side.MINUS_Y, -5.0, 0, Rect(x0=-1.0, x1=9.0, y0=-4.0, y1=-2.0)),
    ],
)
def test_each_side_by_hand(side: Side, edge: float, axis: int, rect: Rect) -> None:
    """How far bounds reach, the axis along, and a rectangle from 2 to 4 outwards, -1 to 9 along."""
    assert edge_mm(BOUNDS, side) == edge
    assert axis_along(side) == axis
    assert rect_at(side, 2.0, 4.0, -1.0, 9.0) == rect
    assert span_mm(rect, axis) == (-1.0, 9.0)
    assert abs(OUTWARD[side][1 - axis]) == 1.0 and OUTWARD[side][axis] == 0.0


@pytest.mark.parametrize("side", Side)
def test_a_rectangle_reaches_to_its_far_edge(side: Side) -> None:
    """Its edge towards the side lies at ``far_mm``, also below 0; its box is never inside out."""
    for near, far in ((2.0, 4.0), (-7.0, -2.0)):
        rect = rect_at(side, near, far, -1.0, 9.0)
        assert edge_mm((rect.x0, rect.y0, rect.x1, rect.y1), side) == far
        assert min(rect.size_mm) == far - near
