"""Spaces made by chance in which a fitted enclosure should stand.

Each is drawn round what a pack needs by rule of thumb: a straight block of cans with 12 mm beside
it, a strip for board, fuse and charge port beside one of its sides with the way of the leads before
one end, and the reach of a bracket before two opposite sides. Invented, by a seed.
"""

from __future__ import annotations

import random

import shapely
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from layouts.formats import cell_formats

__all__ = ["KINDS", "pack_text"]

KINDS = ("box", "corner cut", "side cut", "triangle", "trapezium", "two chambers", "bolts")
BESIDE_MM, UNDER_OVER_MM = 12.0, 21.0
STRIP_MM, STRIP_LONG_MM = 66.0, 150.0  # for board, fuse and charge port
LANE_MM = 62.0  # of the leads behind their glands
REACH_MM, BRACKET_MM = 35.0, 48.0  # before a wall, along it
SIDES_TRIED = 400


def pack_text(seed: int) -> str:
    """A pack file in a space of the kind ``KINDS[seed % 7]``."""
    draw, kind = random.Random(seed), KINDS[seed % len(KINDS)]
    name, lattice = draw.choice(("18650", "21700")), draw.choice(("honeycomb", "grid"))
    series, parallel = draw.choice([(s, p) for s in range(3, 9) for p in (2, 3, 4) if s * p <= 24])
    need = _need(draw, name, lattice, series, parallel)
    room, bolts = _room(draw, kind, need)
    turn = draw.choice((0, 90, 180, 270))
    turned = rotate(room, turn, origin=(0, 0))
    x, y = turned.bounds[:2]
    corners = shapely.get_coordinates(translate(turned, -x, -y).simplify(0.01))[:-1].round(2)
    high = cell_formats()[name].longest_mm + UNDER_OVER_MM + draw.choice((0, 5, 20))
    text = (
        f"name: s{seed}\ncell: {{format: '{name}'}}\nseries: {series}\nparallel: {parallel}\n"
        f"lattice: {lattice}\nload: {{continuous_a: {2 * parallel}}}\n"
        "enclosure: {style: fitted}\n"
        f"space:\n  outline_mm: {corners.tolist()}\n  height_mm: {high:.1f}\n"
    )
    if bolts:
        text += "  keep_out:\n"
    for k, (at, radius) in enumerate(bolts):
        there = translate(rotate(at, turn, origin=(0, 0)), -x, -y)
        ends = (
            f"from_mm: [{there.x:.1f}, {there.y:.1f}, 0], to_mm: [{there.x:.1f}, {there.y:.1f}, 30]"
        )
        text += f"    - {{name: bolt {k}, cylinder: {{{ends}, radius_mm: {radius:.1f}}}}}\n"
    return text


def _need(draw: random.Random, name: str, lattice: str, series: int, parallel: int) -> BaseGeometry:
    """The plan of all that the rule of thumb asks for."""
    pitch = cell_formats()[name].diameter_mm + 1.0
    honeycomb = lattice == "honeycomb"
    wide = (parallel + 0.5 * honeycomb) * pitch
    deep = (series - 1) * pitch * (0.866 if honeycomb else 1.0) + pitch
    block = shapely.box(0, 0, wide, deep).buffer(BESIDE_MM, join_style="mitre")
    x0, y0, x1, y1 = block.bounds
    if draw.random() < 0.5:
        strip = shapely.box(x1, y0, x1 + STRIP_MM, y0 + max(STRIP_LONG_MM, y1 - y0))
        lane = shapely.box(x1, strip.bounds[3], x1 + STRIP_MM, strip.bounds[3] + LANE_MM)
    else:
        strip = shapely.box(x0, y1, x0 + max(STRIP_LONG_MM, x1 - x0), y1 + STRIP_MM)
        lane = shapely.box(strip.bounds[2], y1, strip.bounds[2] + LANE_MM, y1 + STRIP_MM)
    body = block.union(strip)
    half, along_x = BRACKET_MM / 2, draw.random() < 0.5
    middle = deep / 2 if along_x else wide / 2
    stripe = (
        shapely.box(-1e4, middle - half, 1e4, middle + half)
        if along_x
        else shapely.box(middle - half, -1e4, middle + half, 1e4)
    )
    u0, v0, u1, v1 = body.intersection(stripe).bounds
    grown = (
        shapely.box(u0 - REACH_MM, v0, u1 + REACH_MM, v1)
        if along_x
        else shapely.box(u0, v0 - REACH_MM, u1, v1 + REACH_MM)
    )
    return shapely.union_all([body, lane, grown])


def _room(
    draw: random.Random, kind: str, need: BaseGeometry
) -> tuple[BaseGeometry, list[tuple[shapely.Point, float]]]:
    """A room of a kind round what is needed, and the middles and radii of bolts in it."""
    x0, y0, x1, y1 = need.bounds
    whole, bolts = shapely.box(x0, y0, x1, y1), []
    if kind == "triangle":
        wide, deep = x1 - x0, y1 - y0
        corners = [(x0 - wide / 2, y0), (x1 + wide / 2, y0), (x0 + wide / 2, y0 + 2 * deep)]
        return shapely.Polygon(corners), bolts
    if kind == "trapezium":
        left, right = draw.uniform(10, 60), draw.uniform(0, 60)
        return shapely.Polygon([(x0 - left, y0), (x1 + right, y0), (x1, y1), (x0, y1)]), bolts
    if kind == "two chambers":
        top = y0 + (y1 - y0) * draw.uniform(0.3, 0.8)
        return whole.union(shapely.box(x1 - 1, y0, x1 + draw.uniform(40, 120), top)), bolts
    if kind == "bolts":
        for _ in range(SIDES_TRIED):
            at = shapely.Point(draw.uniform(x0, x1), draw.uniform(y0, y1))
            radius = draw.uniform(4, 9)
            if len(bolts) < 3 and at.distance(need) > radius:
                bolts.append((at, radius))
    if kind in ("corner cut", "side cut"):
        return _cut(draw, whole, need, corner=kind == "corner cut"), bolts
    return whole, bolts


def _cut(
    draw: random.Random, whole: shapely.Polygon, need: BaseGeometry, *, corner: bool
) -> BaseGeometry:
    """The room less the largest of some rectangles at its corners or sides that nothing needs."""
    x0, y0, x1, y1 = whole.bounds
    best = whole
    for _ in range(SIDES_TRIED):
        u, v = sorted((draw.uniform(x0, x1), draw.uniform(x0, x1)))
        p, q = sorted((draw.uniform(y0, y1), draw.uniform(y0, y1)))
        if corner:
            u, v = (x0 - 1, u) if draw.random() < 0.5 else (v, x1 + 1)
        p, q = (y0 - 1, p) if draw.random() < 0.5 else (q, y1 + 1)
        cut = shapely.box(u, p, v, q)
        left = whole.difference(cut)
        if cut.intersection(need).area < 1e-6 and left.geom_type == "Polygon":
            best = min(best, left, key=lambda one: float(one.area))
    return best
