"""Values of flat pieces to cut from card, and the few shapes that they are drawn with."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import shapely

__all__ = ["CardLabel", "CardPiece", "Drill", "corners_of", "layers_for", "with_tab"]

Point = tuple[float, float]
Line = tuple[Point, ...]

TAB_MM = 12.0  # glue tab; common practice, no source
TAB_SLANT_MM = 4.0  # its ends slant, so that two tabs in a corner don't meet
LABEL_MM = 3.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Drill:
    """Where a hole is drilled: cross and circle. ``hole_diameter_mm``: its diameter."""

    x_mm: float
    y_mm: float
    hole_diameter_mm: float
    text: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class CardLabel:
    """Text with its middle at a point; ``turned``: reads upwards."""

    x_mm: float
    y_mm: float
    text: str
    size_mm: float = LABEL_MM
    turned: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class CardPiece:
    """One flat piece, seen from its outer side. All lines in mm in the piece's own plane.

    ``cuts``: closed lines to cut along, the outline first. ``folds``: score and fold away from
    the viewer; ``back_folds``: towards the viewer. ``places``: where another piece goes, or what
    is there in truth. ``count``: how many are cut. ``paper``: a template, not to be cut from card.
    """

    name: str
    title: str
    cuts: tuple[Line, ...]
    folds: tuple[Line, ...] = ()
    back_folds: tuple[Line, ...] = ()
    places: tuple[Line, ...] = ()
    drills: tuple[Drill, ...] = ()
    labels: tuple[CardLabel, ...] = ()
    count: int = 1
    paper: bool = False

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Least and greatest x and y of everything drawn: x0, y0, x1, y1."""
        points = [p for line in (*self.cuts, *self.folds, *self.places) for p in line]
        points += [(d.x_mm + s * d.hole_diameter_mm, d.y_mm + s * d.hole_diameter_mm)
                   for d in self.drills for s in (-1, 1)]  # fmt: skip
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        return min(xs), min(ys), max(xs), max(ys)

    @property
    def size_mm(self) -> Point:
        """Width and height."""
        x0, y0, x1, y1 = self.box_mm
        return x1 - x0, y1 - y0

    def moved(self, dx: float, dy: float, *, turned: bool = False) -> CardPiece:
        """The piece a quarter turn counter-clockwise (where ``turned``), then shifted."""

        def at(x: float, y: float) -> Point:
            return (dx - y, dy + x) if turned else (dx + x, dy + y)

        def lines(group: Iterable[Line]) -> tuple[Line, ...]:
            return tuple(tuple(at(*p) for p in line) for line in group)

        drills, labels = [], []
        for drill in self.drills:
            x, y = at(drill.x_mm, drill.y_mm)
            drills.append(replace(drill, x_mm=x, y_mm=y))
        for label in self.labels:
            x, y = at(label.x_mm, label.y_mm)
            labels.append(replace(label, x_mm=x, y_mm=y, turned=label.turned != turned))
        return replace(
            self, cuts=lines(self.cuts), folds=lines(self.folds),
            back_folds=lines(self.back_folds), places=lines(self.places),
            drills=tuple(drills), labels=tuple(labels),
        )  # fmt: skip


def layers_for(thick_mm: float, card_mm: float) -> int:
    """Layers of card that come nearest to a thickness; 0 where less than half a card is needed."""
    return math.floor(thick_mm / card_mm + 0.5)


def with_tab(a: Point, b: Point, deep_mm: float = TAB_MM) -> Line:
    """The outer corners of a glue tab right of the way from ``a`` to ``b``, from a to b."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = math.hypot(dx, dy)
    ux, uy = dx / length, dy / length
    slant = min(TAB_SLANT_MM, length / 4)
    out_x, out_y = uy * deep_mm, -ux * deep_mm
    return (
        (a[0] + ux * slant + out_x, a[1] + uy * slant + out_y),
        (b[0] - ux * slant + out_x, b[1] - uy * slant + out_y),
    )


def corners_of(shape: shapely.Polygon) -> Line:
    """A shape's outline without its last point, counter-clockwise from its lowest left corner."""
    ring = list(shapely.geometry.polygon.orient(shape).exterior.coords)[:-1]
    points = [(float(x), float(y)) for x, y in ring]
    first = min(range(len(points)), key=lambda k: (round(points[k][1], 3), points[k][0]))
    return tuple(points[first:] + points[:first])


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Line:
    """Four corners, counter-clockwise."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def circle(x_mm: float, y_mm: float, radius_mm: float, sides: int = 48) -> Line:
    """A circle as a closed line."""
    return tuple(
        (
            x_mm + radius_mm * math.cos(math.tau * k / sides),
            y_mm + radius_mm * math.sin(math.tau * k / sides),
        )
        for k in range(sides)
    )
