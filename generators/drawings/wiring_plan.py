"""The wiring plan: every wire of a tub in its real place, from above and from the side, beside the
diagram of its connections."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from generators.drawings.linework import (
    Circles,
    Layer,
    Lines,
    LineSheet,
    Mark,
    Words,
    boxed_words,
    line_sheet,
)
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan
from layouts.ratings.bms import Port
from layouts.wiring.ways import WireWay

__all__ = ["wiring_plan"]

WORDS_MM, FLAG_MM = 3.0, 2.4
CELLS_SEEN_MM = 25.0  # of the held cells beside the compartment
OUTSIDE_MM = 36.0  # of a lead behind its gland
APART_MM = 42.0  # between the views
STEP_MM = 20.0  # between the diagram's rows
BOX_MM = (34.0, 9.0)

Flat = NDArray[np.float64]


def wiring_plan(plan: PackPlan) -> LineSheet:
    """From above with y up; beside it seen from the +x wall, floor to the left; then the diagram.

    Thick: main leads; thick and dashed: charge leads; thin: balance leads of the lower face; thin
    and dashed: of the upper face."""
    _, _, x1, y1 = plan.enclosure.shell.outer.bounds
    shell = plan.enclosure.shell
    aside = x1 + OUTSIDE_MM + APART_MM - shell.z_under_mm
    marks: list[Mark] = [*_above(plan), *_beside(plan, aside)]
    right = aside + shell.z_lid_mm + APART_MM
    marks += _diagram(plan, right, y1)
    top = y1 + 8.0
    for x, text in (
        (plan.cell_block.box_mm[2] - CELLS_SEEN_MM, "from above"),
        (aside + shell.z_under_mm, "from the +x wall, floor to the left"),
        (right, "connections"),
    ):
        marks.append(Words(at_mm=(x, top), text=text, size_mm=WORDS_MM, bold=True))
    return line_sheet(
        "wiring plan", "Wiring plan: every wire in its place, and the connections", marks
    )


def _pen(plan: PackPlan, way: WireWay) -> Layer:
    if not way.loom:
        return Layer.CHARGE_WIRE if way.number.startswith("C") else Layer.MAIN_WIRE
    lead = plan.interconnect.balance_leads[int(way.number[1:])]
    return Layer.UPPER_WIRE if lead.face is Face.UPPER else Layer.LOWER_WIRE


def _rect(layer: Layer, x0: float, y0: float, x1: float, y1: float) -> Lines:
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    return Lines(layer=layer, lines=(corners,), closed=True)


def _polygon(layer: Layer, shape: shapely.Polygon) -> Lines:
    return Lines(layer=layer, lines=(shapely.get_coordinates(shape)[:-1],), closed=True)


def _above(plan: PackPlan) -> Iterator[Mark]:
    shell, board = plan.enclosure.shell, plan.enclosure.board
    edge = plan.cell_block.box_mm[2]
    seen = shapely.box(edge - CELLS_SEEN_MM, -1e4, 1e4, 1e4)
    for shape in (shell.outer, shell.cavity):
        yield _polygon(Layer.CUT, shape.intersection(seen))
    _, y0, _, y1 = shell.cavity.bounds
    yield Lines(layer=Layer.HOLDER, lines=(np.array([(edge, y0), (edge, y1)]),))
    yield Words(at_mm=(edge - 3.0, y1 - 6.0), text="cells", size_mm=WORDS_MM, anchor="end")
    yield _rect(Layer.BOX, *board.plan.bounds)
    yield Words(at_mm=(board.plan.x0 + 1.0, board.plan.y1 - 5.0), text="board", size_mm=WORDS_MM)
    for one in plan.enclosure.outlets:
        x, y, _ = one.at_mm.tolist()
        yield _rect(
            Layer.BOX, x, y - one.gland.hole_radius_mm, x + one.gland.long_mm,
            y + one.gland.hole_radius_mm,
        )  # fmt: skip
        yield Words(at_mm=(x + one.gland.long_mm + 2.0, y + 3.0), text=one.purpose, size_mm=FLAG_MM)
    yield from _wires(plan, lambda line: line[:, :2])


def _beside(plan: PackPlan, aside: float) -> Iterator[Mark]:
    shell, board = plan.enclosure.shell, plan.enclosure.board
    _, y0, _, y1 = shell.outer.bounds
    _, cy0, _, cy1 = shell.cavity.bounds
    yield _rect(Layer.CUT, aside + shell.z_under_mm, y0, aside + shell.z_lid_mm, y1)
    yield _rect(Layer.CUT, aside + shell.z_floor_mm, cy0, aside + shell.z_rim_mm, cy1)
    yield _rect(
        Layer.HOLDER, aside + board.z0_mm, board.plan.y0, aside + board.z1_mm, board.plan.y1
    )
    for one in plan.enclosure.outlets:
        _, y, z = one.at_mm.tolist()
        yield Circles(layer=Layer.RING, at_mm=(aside + z, y), radius_mm=one.gland.hole_radius_mm)
    yield from _wires(plan, lambda line: np.column_stack([aside + line[:, 2], line[:, 1]]))


def _wires(plan: PackPlan, seen: object) -> Iterator[Mark]:
    """All ways and their numbers, these on the last fifth of a balance lead, else at a half."""
    assert callable(seen)
    for way in plan.enclosure.ways:
        yield Lines(layer=_pen(plan, way), lines=(seen(way.line_mm),))
    for way in plan.enclosure.ways:
        line = seen(way.line_mm)
        if not way.loom and way.number != "M3":
            ends = ((line[0], way.ends[0]), (line[-1], way.ends[1]))
            for (x, y), end in (one for one in ends if one[1].joint == "soldered"):
                words = end.told.removeprefix("board ")
                yield Words(at_mm=(float(x) + 1.5, float(y) - 1.0), text=words, size_mm=WORDS_MM)
        gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        share = 0.1 if way.loom else 0.5
        at = tuple(float(np.interp(share * gone[-1], gone, line[:, k])) for k in range(2))
        yield from boxed_words(way.number, (at[0], at[1]), FLAG_MM, Layer.FLAG)


def _diagram(plan: PackPlan, x: float, top: float) -> Iterator[Mark]:
    """Boxes joined by numbered lines, pack minus and the board below, pack plus above."""
    separate = plan.pack.bms.port is Port.SEPARATE
    wide, deep = BOX_MM
    charge = "C- of the board" if separate else "M2, outside"
    rows = (
        (("pack plus", "main fuse", "connector +"), ("M3", "M4"), Layer.MAIN_WIRE),
        (("M4, behind the fuse", "charge fuse", "charge port +"), ("C1", "C1"), Layer.CHARGE_WIRE),
        (("pack minus", "board B-"), ("M1",), Layer.MAIN_WIRE),
        (("board P-", "connector -"), ("M2",), Layer.MAIN_WIRE),
        ((charge, "charge port -"), ("C2",), Layer.CHARGE_WIRE),
        ((f"joints 0 to {plan.pack.series}", "balance plug"),
         (f"B0 to B{plan.pack.series}",), Layer.LOWER_WIRE),
    )  # fmt: skip
    for k, (boxes, wires, layer) in enumerate(rows):
        y = top - (k + 0.5) * STEP_MM
        for j, text in enumerate(boxes):
            left = x + j * (wide + 24.0)
            if j:
                line = np.array([(left - 24.0, y), (left, y)])
                yield Lines(layer=layer, lines=(line,))
                yield from boxed_words(wires[j - 1], (left - 12.0, y), FLAG_MM, Layer.FLAG)
            yield _rect(Layer.BOX, left, y - deep / 2, left + wide, y + deep / 2)
            yield Words(
                at_mm=(left + wide / 2, y - 1.1), text=text, size_mm=WORDS_MM, anchor="middle"
            )
