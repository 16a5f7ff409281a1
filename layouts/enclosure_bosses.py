"""Where the tub's columns stand: lid screws round the rim, and what holds the core in place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosure_plan import boss_shape, box, shifted
from layouts.enclosure_values import Boss, Rect

SCREW_PITCH_MM = 70.0  # lid screws are no farther apart; common practice, no source
FIT_MM = 0.3  # between a column and the core's outline
HOLD_MM = 1.6  # the core must not be free to move farther than this before it is held
WEB_MM = 4.0  # width of the rib from a column to its wall
EMBED_MM = 2.5  # a free column's centre stands so far inside the wall's inner face
OUT_MM = 4.9  # a pilaster's centre stands so far outside it, clear of the cavity
TANGENT_MM = 0.06  # nearer to touching a wall's face than this a column is moved on
STEP_MM = 2.0  # of the places tried along a wall
NEAR_SEAT_MM = 14.0  # a seat farther from its wall is no place for a lid screw
SLACK = 0.02  # of the fine polygons that gaps are judged with


@dataclass(frozen=True, kw_only=True, slots=True)
class Wall:
    """One inner wall of the cavity.

    ``axis`` 0: it runs along x (the -y or +y wall), 1: along y. ``sign``: which side of
    the cavity. ``at_mm``: its inner face on the other axis.
    """

    axis: int
    sign: int
    at_mm: float

    def inside_mm(self, x: float, y: float) -> float:
        """How far a point stands inside the wall's inner face."""
        return self.sign * (self.at_mm - (y if self.axis == 0 else x))

    def along_mm(self, x: float, y: float) -> float:
        """A point's place along the wall."""
        return x if self.axis == 0 else y

    def point(self, along: float, inside: float) -> tuple[float, float]:
        """The point that far along and inside."""
        across = self.at_mm - self.sign * inside
        return (along, across) if self.axis == 0 else (across, along)


def walls(cavity: Rect) -> tuple[Wall, Wall, Wall, Wall]:
    """-y, +x, +y, -x: counter-clockwise round the cavity."""
    return (
        Wall(axis=0, sign=-1, at_mm=cavity.y0),
        Wall(axis=1, sign=1, at_mm=cavity.x1),
        Wall(axis=0, sign=1, at_mm=cavity.y1),
        Wall(axis=1, sign=-1, at_mm=cavity.x0),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Ground:
    """What columns must keep clear of. ``core``: outline and strip ends that go down past them.

    ``taken``: board, guides and glands' places inside; ``outside``: lugs need no care, glands
    do. ``wall_mm``: the tub's wall; ``radius_mm``: a column's.
    """

    cavity: Rect
    core: BaseGeometry
    taken: BaseGeometry
    wall_mm: float
    radius_mm: float


def clear(ground: Ground, boss: Boss) -> bool:
    """A column with its web touches neither the core's way down nor what stands in the room."""
    shape = boss_shape(boss)
    if shapely.distance(shape, ground.core) < FIT_MM - SLACK:
        return False
    return bool(ground.taken.is_empty or shapely.distance(shape, ground.taken) >= FIT_MM)


def corner_bosses(ground: Ground) -> tuple[Boss, Boss, Boss, Boss]:
    """One in each corner, as far inside as core and room allow: -x-y, +x-y, +x+y, -x+y."""
    c = ground.cavity
    return tuple(
        _corner(ground, (c.x1 if sx > 0 else c.x0, c.y1 if sy > 0 else c.y0), sx, sy)
        for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    )  # type: ignore[return-value]


def _corner(ground: Ground, corner: tuple[float, float], sx: int, sy: int) -> Boss:
    steps = 60
    for k in range(steps):
        inside = EMBED_MM - 0.1 * k
        if abs(ground.radius_mm - inside - ground.wall_mm) < TANGENT_MM:
            continue
        x, y = corner[0] - sx * inside, corner[1] - sy * inside
        boss = Boss(x_mm=x, y_mm=y, radius_mm=ground.radius_mm, screw=True, seat=False)
        if clear(ground, boss):
            near = shapely.distance(shapely.Point(x, y), ground.core)
            return replace(boss, seat=bool(near < ground.radius_mm + FIT_MM + 0.2))
    raise ValueError(
        f"the corner at ({corner[0]:.1f}, {corner[1]:.1f}) has no room for a lid screw; "
        "make enclosure.side_gap_mm larger"
    )


def web_to(ground: Ground, wall: Wall, x: float, y: float) -> Rect | None:
    """Straight rib from a column's middle to half-way into a wall; None where none is needed."""
    inside = wall.inside_mm(x, y)
    if inside <= 3.5:  # the column itself meets the wall over 5 mm and more
        return None
    half, far = WEB_MM / 2, wall.at_mm + wall.sign * ground.wall_mm / 2
    if wall.axis == 0:
        return Rect(x0=x - half, x1=x + half, y0=min(y, far), y1=max(y, far))
    return Rect(x0=min(x, far), x1=max(x, far), y0=y - half, y1=y + half)


def _untangled(ground: Ground, wall: Wall, x: float, y: float) -> tuple[float, float]:
    """Moved towards the wall by a hair where the column would just touch one of its faces."""
    inside = wall.inside_mm(x, y)
    for face in (ground.radius_mm - ground.wall_mm, ground.radius_mm):
        if abs(inside - face) < TANGENT_MM:
            inside = face - 2 * TANGENT_MM
    return wall.point(wall.along_mm(x, y), inside)


def seat_boss(
    ground: Ground, wall: Wall, seat: tuple[float, float], *, screw: bool
) -> Boss | None:
    """A column in a hollow of the core, joined to a wall; None where that is not possible."""
    if wall.inside_mm(*seat) < -ground.radius_mm:
        return None
    x, y = _untangled(ground, wall, *seat)
    boss = Boss(
        x_mm=x, y_mm=y, radius_mm=ground.radius_mm, screw=screw, seat=True,
        web=web_to(ground, wall, x, y),
    )  # fmt: skip
    return boss if clear(ground, boss) else None


def wall_bosses(
    ground: Ground,
    wall: Wall,
    first: Boss,
    last: Boss,
    seats: Sequence[tuple[float, float]],
    *,
    pitch_mm: float = SCREW_PITCH_MM,
) -> tuple[Boss, ...] | None:
    """The fewest lid bosses between two corners with no gap above the pitch.

    Hollows of the core are preferred (they locate it), then columns inside the wall, then
    pilasters outside it. None where a stretch above the pitch has no place at all.
    """
    a = min(wall.along_mm(b.x_mm, b.y_mm) for b in (first, last))
    b = max(wall.along_mm(k.x_mm, k.y_mm) for k in (first, last))
    ends = sorted((first, last), key=lambda k: wall.along_mm(k.x_mm, k.y_mm))
    places: list[tuple[float, Boss]] = []
    for seat in seats:
        if wall.inside_mm(*seat) <= NEAR_SEAT_MM and a < wall.along_mm(*seat) < b:
            boss = seat_boss(ground, wall, seat, screw=True)
            if boss is not None:
                places.append((1.0, boss))
    apart = 2 * ground.radius_mm + 4.0  # two columns leave a wrench's room between them
    # lugs and skirts stand out of the walls along y anyway; along x a pilaster makes all larger
    outside = 2.6 if wall.axis == 0 else 1.6
    middle, count = (a + b) / 2, int((b - a) / 2 / STEP_MM)
    for k in range(-count, count + 1):
        along = middle + k * STEP_MM
        for cost, inside in ((1.15, EMBED_MM), (outside, -OUT_MM)):
            x, y = wall.point(along, inside)
            boss = Boss(x_mm=x, y_mm=y, radius_mm=ground.radius_mm, screw=True, seat=False)
            if clear(ground, boss):
                places.append((cost, boss))
                break
    places.sort(key=lambda place: wall.along_mm(place[1].x_mm, place[1].y_mm))
    chain = [(0.0, ends[0]), *places, (0.0, ends[1])]
    best: list[tuple[float, int]] = [(0.0, -1)]
    for i in range(1, len(chain)):
        cost, here = chain[i]
        options = []
        for j in range(i - 1, -1, -1):
            gap = math.dist((here.x_mm, here.y_mm), (chain[j][1].x_mm, chain[j][1].y_mm))
            along = wall.along_mm(here.x_mm, here.y_mm) - wall.along_mm(
                chain[j][1].x_mm, chain[j][1].y_mm
            )
            if along > pitch_mm:
                break
            near_corner = i == len(chain) - 1 or j == 0
            if gap > pitch_mm or (gap < apart and not (near_corner and len(chain) == 2)):
                continue
            if math.isfinite(best[j][0]):
                options.append((best[j][0] + 10 * cost + (gap / pitch_mm) ** 2, j))
        best.append(min(options, default=(math.inf, -1)))
    if not math.isfinite(best[-1][0]):
        return None
    found: list[Boss] = []
    at = best[-1][1]
    while at > 0:
        found.append(chain[at][1])
        at = best[at][1]
    return tuple(reversed(found))


DIRECTIONS = {"+x": (1, 0), "-x": (-1, 0), "+y": (0, 1), "-y": (0, -1)}


def play_mm(core: BaseGeometry, standing: BaseGeometry, direction: tuple[int, int]) -> float:
    """How far the core can slide one way before it meets what stands round it; 5 at most."""
    low, high = 0.0, 5.0
    if not shapely.intersects(shifted(core, direction[0] * high, direction[1] * high), standing):
        return high
    while high - low > 0.01:
        middle = (low + high) / 2
        moved = shifted(core, direction[0] * middle, direction[1] * middle)
        if shapely.intersects(moved, standing):
            high = middle
        else:
            low = middle
    return high


def locating_columns(
    ground: Ground,
    bosses: Sequence[Boss],
    seats: Sequence[tuple[float, float]],
    body: BaseGeometry,
) -> tuple[Boss, ...]:
    """Plain columns in hollows until the core can slide no way farther than ``HOLD_MM``.

    ``body``: the core's outline alone, without the strips that run out of it.
    """
    rim = box(ground.cavity.grown(10.0)).difference(box(ground.cavity))
    standing = shapely.union_all([rim, *(boss_shape(b) for b in bosses)])
    sides = [w for w in walls(ground.cavity) if not (w.axis == 1 and w.sign > 0)]
    added: list[Boss] = []
    for direction in DIRECTIONS.values():
        if play_mm(body, standing, direction) <= HOLD_MM:
            continue
        options = []
        for seat in seats:
            for wall in sides:
                boss = seat_boss(ground, wall, seat, screw=False)
                if boss is None or any(
                    math.dist((boss.x_mm, boss.y_mm), (b.x_mm, b.y_mm)) < 2 * b.radius_mm
                    for b in (*bosses, *added)
                ):
                    continue
                shape = boss_shape(boss)
                if play_mm(body, shape, direction) <= HOLD_MM:
                    options.append((round(wall.inside_mm(*seat), 3), seat, wall.axis, boss))
        if options:
            boss = min(options, key=lambda option: option[:3])[3]
            added.append(boss)
            standing = standing.union(boss_shape(boss))
    return tuple(added)
