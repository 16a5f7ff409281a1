"""The outside unfolded: walls, floor and lid of its box, and what stands out of the walls.

Printed sides are outer sides. Folds are scored half through from the inner side, so that the outer
liner stays whole: every length is then that of the outside itself. Each wall begins one card inside
its corner, against the inner face of the wall before it, and ends flush with the outside of the
next one; floor and lid lie within the walls."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from generators.dummy.card import (
    TAB_MM,
    CardLabel,
    CardPiece,
    Line,
    Point,
    circle,
    corners_of,
    layers_for,
    rectangle,
    with_tab,
)
from generators.dummy.outside import MockupOutside
from generators.dummy.sections import PlanLayer, closed, grown, polygons
from layouts.parts.shell import Shell, ring_of

__all__ = ["BoxWall", "WallProjection", "blocks_of", "body_pieces", "walls_of"]

# What hangs 3 mm off a wall is one block with it: nothing of a frame reaches in there
CARD_GAP_MM = 3.5
SAME_MM2 = 2.0  # plans that differ by less are one block
ROUND_MM = 0.3  # facets stand off a round by no more
BLOCK_TAB_MM = 8.0
LEAST_MM = 0.4  # what stands out less is no block
SMALL_LABEL_MM = 2.5
FACING = 0.99  # of a unit vector: the wall's own direction


@dataclass(frozen=True, kw_only=True, slots=True)
class BoxWall:
    """One wall of the box, seen from outside: u to the right from its left corner, v up.

    ``left``, ``right``: numbers of its upright edges. ``start``, ``way``: left corner in the
    plan and the direction to the right.
    """

    name: str
    left: int
    right: int
    start: Point
    way: Point
    long_mm: float

    def u_mm(self, x: float, y: float) -> float:
        """How far right of the left corner a point of the plan lies."""
        return (x - self.start[0]) * self.way[0] + (y - self.start[1]) * self.way[1]

    def faces(self, out: NDArray[np.float64]) -> bool:
        """Whether its outer face looks the way of ``out`` (3,)."""
        return bool(self.way[1] * out[0] - self.way[0] * out[1] > FACING)

    def out_mm(self, x: float, y: float) -> float:
        """How far outside of the wall a point of the plan lies."""
        return (x - self.start[0]) * self.way[1] - (y - self.start[1]) * self.way[0]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class WallProjection:
    """Something that stands out of a wall over a stretch of height: its plan, beside the box."""

    wall: BoxWall
    plan: shapely.Polygon
    z0_mm: float
    z1_mm: float

    @property
    def spans_mm(self) -> tuple[float, float, float]:
        """Left and right end along the wall, and how far it stands out."""
        points = list(self.plan.exterior.coords)
        along = [self.wall.u_mm(x, y) for x, y in points]
        return min(along), max(along), max(self.wall.out_mm(x, y) for x, y in points)


WALL_NAMES = {
    (1.0, 0.0): "front (-y)",
    (0.0, 1.0): "right (+x)",
    (-1.0, 0.0): "back (+y)",
    (0.0, -1.0): "left (-x)",
}


def walls_of(shell: Shell) -> tuple[BoxWall, ...]:
    """The walls counter-clockwise seen from above; of a rectangle front (-y) first."""
    corners = ring_of(shell.outer)
    walls = []
    for k, (start, end) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True), 1):
        long = math.dist(start, end)
        way = ((end[0] - start[0]) / long + 0.0, (end[1] - start[1]) / long + 0.0)
        walls.append(
            BoxWall(
                name=WALL_NAMES.get(way, f"wall {k}"),
                left=k,
                right=k % len(corners) + 1,
                start=start,
                way=way,
                long_mm=long,
            )
        )
    return tuple(walls)


def blocks_of(outside: MockupOutside, shell: Shell) -> tuple[WallProjection, ...]:
    """Everything outside the box, each with its wall, from below; equal slabs as one."""
    rect = shell.outer
    runs: list[tuple[shapely.Polygon, float, float]] = []
    for z0, z1, plan in _stacked([*outside.base_slabs, *outside.cap_slabs]):
        whole = closed(plan.union(rect), CARD_GAP_MM)
        beside = grown(grown(whole.difference(rect), -LEAST_MM / 4), LEAST_MM / 4)
        for part in polygons(beside):
            for k, (before, low, high) in enumerate(runs):
                if abs(high - z0) < 1e-6 and before.symmetric_difference(part).area < SAME_MM2:
                    runs[k] = (before, low, z1)
                    break
            else:
                runs.append((part, z0, z1))
    walls = walls_of(shell)
    blocks = []
    for part, z0, z1 in runs:
        middle = part.representative_point()
        wall = max(walls, key=lambda one: one.out_mm(middle.x, middle.y))
        block = WallProjection(wall=wall, plan=part, z0_mm=z0, z1_mm=z1)
        if block.spans_mm[2] >= LEAST_MM:
            blocks.append(block)
    return tuple(blocks)


def _stacked(slabs: Sequence[PlanLayer]) -> list[tuple[float, float, BaseGeometry]]:
    """The plan of several stacks together, level by level."""
    heights = sorted({round(z, 4) for slab in slabs for z in (slab.z0_mm, slab.z1_mm)})
    found = []
    for z0, z1 in zip(heights, heights[1:], strict=False):
        here = [s.plan for s in slabs if s.z0_mm < (z0 + z1) / 2 < s.z1_mm]
        if here:
            found.append((z0, z1, shapely.union_all(here)))
    return found


def body_pieces(
    outside: MockupOutside, shell: Shell, blocks: Sequence[WallProjection], card_mm: float
) -> tuple[CardPiece, ...]:
    """Walls, floor and roof of the shell, then the blocks."""
    pieces = [_wall_piece(wall, outside, shell, blocks, card_mm) for wall in walls_of(shell)]
    pieces += [_plate(outside, shell, card_mm, roof=roof) for roof in (False, True)]
    return (*pieces, *_block_pieces(blocks, shell, card_mm))


def _wall_piece(
    wall: BoxWall,
    outside: MockupOutside,
    shell: Shell,
    blocks: Sequence[WallProjection],
    card_mm: float,
) -> CardPiece:
    low, high = shell.z_under_mm, shell.high_mm
    u0, u1 = card_mm, wall.long_mm
    tab = with_tab((u0, high), (u0, 0.0))
    outline = ((u0, 0.0), (u1, 0.0), (u1, high), (u0, high), *tab)
    places: list[Line] = []
    labels = [
        CardLabel(x_mm=(u0 + u1) / 2, y_mm=high * 0.28, text=wall.name, size_mm=5.0),
        CardLabel(x_mm=u0 - TAB_MM / 2, y_mm=high / 2, text=f"glue {wall.left}", turned=True),
        CardLabel(x_mm=u0 + 4.0, y_mm=high / 2, text=str(wall.left)),
        CardLabel(x_mm=u1 - 4.0, y_mm=high / 2, text=str(wall.right)),
        CardLabel(x_mm=(u0 + u1) / 2, y_mm=3.0, text="floor", size_mm=SMALL_LABEL_MM),
    ]
    rim = shell.z_rim_mm - low
    places.append(((u0, rim), (u1, rim)))
    for number, block in enumerate(blocks, start=1):
        if block.wall == wall:
            a, b, _ = block.spans_mm
            v0, v1 = block.z0_mm - low, block.z1_mm - low
            places.append((*rectangle(a, v0, b, v1), (a, v0)))
            x, y, turned = (a + b) / 2, (v0 + v1) / 2, v1 - v0 > b - a
            if min(b - a, v1 - v0) > SMALL_LABEL_MM:
                labels.append(CardLabel(x_mm=x, y_mm=y, text=f"block {number}",
                                    size_mm=SMALL_LABEL_MM, turned=turned))  # fmt: skip
    for outlet in outside.outlets:
        if wall.faces(outlet.out):
            x, y, z = outlet.at_mm.tolist()
            u, v = wall.u_mm(x, y), z - low
            ring = circle(u, v, outlet.gland.keep_radius_mm)
            places += [(*ring, ring[0]), ((u - 4, v), (u + 4, v)), ((u, v - 4), (u, v + 4))]
            labels.append(CardLabel(x_mm=u, y_mm=v - 6.0, text=outlet.purpose, size_mm=1.7))
    return CardPiece(
        name=f"wall-{wall.left}", title=f"wall {wall.name}", cuts=(outline,),
        folds=(((u0, 0.0), (u0, high)),), places=tuple(places), labels=tuple(labels),
    )  # fmt: skip


def _plate(outside: MockupOutside, shell: Shell, card_mm: float, *, roof: bool) -> CardPiece:
    """Floor or lid with a tab on each side, seen from outside: the floor with x mirrored."""
    x0, y0, x1, y1 = shell.outer.bounds
    x_mid, y_mid = (x0 + x1) / 2, (y0 + y1) / 2
    side = 1.0 if roof else -1.0
    wide, deep = x1 - x0 - 2 * card_mm, y1 - y0 - 2 * card_mm
    inside = (
        shapely.box(-wide / 2, -deep / 2, wide / 2, deep / 2)
        if shell.is_rectangle
        else shapely.transform(
            shell.outer.buffer(-card_mm, join_style="mitre"),
            lambda xy: (xy - (x_mid, y_mid)) * (side, 1.0),
        )
    )
    ring = ring_of(inside)
    outline: list[Point] = []
    for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
        outline += [a, *with_tab(a, b)]
    name = "lid" if roof else "floor"
    labels = [
        CardLabel(x_mm=0.0, y_mm=8.0, text=name, size_mm=6.0),
        CardLabel(x_mm=0.0, y_mm=0.0, text="from above" if roof else "from below"),
        CardLabel(x_mm=side * (wide / 2 - 12.0), y_mm=0.0, text="+x: leads", turned=True),
        CardLabel(x_mm=0.0, y_mm=deep / 2 - 6.0, text="+y"),
    ]
    places: list[Line] = []
    if roof:
        upright = [one for one in outside.heads if one.head_up]
        for one in upright:
            x, y = float(one.at_mm[0]) - x_mid, float(one.at_mm[1]) - y_mid
            if inside.contains(shapely.Point(x, y)):
                ring_ = circle(x, y, one.size.head_diameter_mm / 2, 24)
                places.append((*ring_, ring_[0]))
        sizes = ", ".join(dict.fromkeys(one.screw for one in upright))
        labels.append(CardLabel(x_mm=0.0, y_mm=-8.0, text=f"rings: {sizes} heads"))
    return CardPiece(
        name=name, title=name, cuts=(tuple(outline),),
        folds=tuple((a, b) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)),
        places=tuple(places), labels=tuple(labels),
    )  # fmt: skip


def _block_pieces(
    blocks: Sequence[WallProjection], shell: Shell, card_mm: float
) -> list[CardPiece]:
    """Strips that go round blocks, with their ends; flat layers for thin ones. Equal ones once."""
    found: dict[tuple[object, ...], tuple[list[CardPiece], list[int]]] = {}
    rect = shell.outer
    for number, block in enumerate(blocks, start=1):
        made = _one_block(block, rect, card_mm)
        key = tuple((one.title, tuple((round(x, 1), round(y, 1)) for x, y in one.cuts[0]))
                    for one in made)  # fmt: skip
        found.setdefault(key, (made, []))[1].append(number)
    pieces = []
    for made, numbers in found.values():
        called = "block " + ", ".join(map(str, numbers))
        for k, one in enumerate(made):
            x0, y0, x1, y1 = one.box_mm
            middle = (y0 + y1) / 2
            if one.folds:  # on the tab, where no fold is
                label = CardLabel(x_mm=x0 + BLOCK_TAB_MM / 2, y_mm=middle, text=called,
                              size_mm=2.0, turned=True)  # fmt: skip
            else:
                label = CardLabel(x_mm=(x0 + x1) / 2, y_mm=middle, text=called,
                              size_mm=SMALL_LABEL_MM, turned=y1 - y0 > x1 - x0)  # fmt: skip
            pieces.append(
                CardPiece(
                    name=f"block-{numbers[0]}-{k + 1}", title=f"{called}: {one.title}",
                    cuts=one.cuts, folds=one.folds, back_folds=one.back_folds,
                    labels=(*one.labels, label), count=one.count * len(numbers),
                )
            )  # fmt: skip
    return pieces


def _one_block(block: WallProjection, rect: shapely.Polygon, card_mm: float) -> list[CardPiece]:
    """One block's pieces in coordinates of its wall; none where it is too thin for the card."""
    a, b, out = block.spans_mm
    high = block.z1_mm - block.z0_mm
    flat = _on_wall(block)
    if high <= 1.5 * card_mm:
        count = layers_for(high, card_mm)
        return [_flat("layer, seen from above", corners_of(flat), count)] if count else []
    if out <= 1.5 * card_mm:
        count = layers_for(out, card_mm)
        return [_flat("layer on the wall", rectangle(0, 0, b - a, high), count)] if count else []
    line = _free_line(flat)
    strip = _strip(line, high)
    inside = grown(block.plan.union(rect), -card_mm).difference(rect)
    ends = polygons(shapely.intersection(inside, block.plan))
    caps = [
        _flat("end, top and bottom", corners_of(_on_wall(block, part).simplify(ROUND_MM / 2)), 2)
        for part in ends
        if not grown(part, -0.6 * card_mm).is_empty  # a narrower one is no use
    ]
    return [strip, *caps]


def _flat(title: str, outline: Line, count: int) -> CardPiece:
    return CardPiece(name="flat", title=title, cuts=(outline,), count=count)


def _on_wall(block: WallProjection, plan: shapely.Polygon | None = None) -> shapely.Polygon:
    """A plan as (along the wall from the block's left end, outwards), seen from above."""
    shape = block.plan if plan is None else plan
    left = block.spans_mm[0]
    points = [
        (block.wall.u_mm(x, y) - left, -block.wall.out_mm(x, y))
        for x, y in shape.exterior.coords[:-1]
    ]
    return shapely.Polygon(points)


def _free_line(flat: shapely.Polygon) -> list[Point]:
    """The block's outline away from the wall, from left to right, rounds as a few facets."""
    border = flat.exterior.difference(shapely.box(-1e4, -LEAST_MM / 2, 1e4, 1e4))
    border = shapely.line_merge(border)
    lines = list(border.geoms) if hasattr(border, "geoms") else [border]
    line = max(lines, key=lambda one: one.length).simplify(ROUND_MM)
    points = [(float(x), float(y)) for x, y in line.coords]
    if points[0][0] > points[-1][0]:
        points.reverse()
    # on to the wall itself
    first, last = (points[0][0], 0.0), (points[-1][0], 0.0)
    return [first, *points[1:-1], last]


def _strip(line: Sequence[Point], high_mm: float) -> CardPiece:
    """The strip that goes round a block, a tab at both ends to glue it to the wall."""
    at = [0.0]
    for p, q in zip(line, line[1:], strict=False):
        at.append(at[-1] + math.dist(p, q))
    folds: list[Line] = []
    back: list[Line] = []
    for k, u in enumerate(at[1:-1], start=1):
        (ax, ay), (bx, by), (cx, cy) = line[k - 1], line[k], line[k + 1]
        turn = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        (folds if turn > 0 else back).append(((u, 0.0), (u, high_mm)))
    end = at[-1]
    left = with_tab((0.0, high_mm), (0.0, 0.0), BLOCK_TAB_MM)
    right = with_tab((end, 0.0), (end, high_mm), BLOCK_TAB_MM)
    outline = ((0.0, 0.0), (end, 0.0), *right, (end, high_mm), (0.0, high_mm), *left)
    folds += [((0.0, 0.0), (0.0, high_mm)), ((end, 0.0), (end, high_mm))]
    return CardPiece(
        name="strip", title="strip round it", cuts=(outline,), folds=tuple(folds),
        back_folds=tuple(back),
    )  # fmt: skip
