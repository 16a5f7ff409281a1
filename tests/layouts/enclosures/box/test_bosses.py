"""Bosses round a cell block of plain shapes: where they stand, their ribs, what they keep clear of.

A cavity of 120 x 80 mm, walls of 2.6, bosses of radius 4; nothing here is planned.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.box.bosses import (
    DIRECTIONS,
    BossKeepout,
    InnerWall,
    clear,
    columns_clear,
    corner_bosses,
    locating_columns,
    play_mm,
    seat_boss,
    wall_bosses,
    walls,
    web_to,
)
from layouts.enclosures.box.sizes import Boss
from layouts.parts.shell import Rect

CAVITY = Rect(x0=-60.0, y0=-40.0, x1=60.0, y1=40.0)
WALL_MM, RADIUS_MM = 2.6, 4.0
HALF = {"+x": 60.0, "-x": 60.0, "+y": 40.0, "-y": 40.0}


def keepout(
    cell_block: BaseGeometry, taken: BaseGeometry | None = None, cavity: Rect = CAVITY
) -> BossKeepout:
    """Round a cell block, with nothing else in the cavity."""
    return BossKeepout(
        cavity=cavity,
        cell_block=cell_block,
        taken=shapely.Polygon() if taken is None else taken,
        wall_mm=WALL_MM,
        radius_mm=RADIUS_MM,
    )


def block(half_x: float = 50.0, half_y: float = 30.0, round_mm: float = 9.0) -> BaseGeometry:
    """A rectangle with round corners."""
    inner = shapely.box(-half_x + round_mm, -half_y + round_mm, half_x - round_mm,
                        half_y - round_mm)  # fmt: skip
    return inner.buffer(round_mm, quad_segs=64)


def disc(boss: Boss) -> BaseGeometry:
    """Its plan without a rib."""
    return shapely.Point(boss.x_mm, boss.y_mm).buffer(boss.radius_mm, quad_segs=64)


def test_corner_bosses_stand_alike_in_all_four_corners() -> None:
    """Mirrored in both axes, each in its own corner, as far inside as the cell block leaves."""
    of = keepout(block())
    bosses = corner_bosses(of)
    signs = [(math.copysign(1, b.x_mm), math.copysign(1, b.y_mm)) for b in bosses]
    assert signs == [(-1, -1), (1, -1), (1, 1), (-1, 1)]
    assert {(round(abs(b.x_mm), 6), round(abs(b.y_mm), 6)) for b in bosses} == {
        (round(bosses[0].x_mm * -1, 6), round(bosses[0].y_mm * -1, 6))
    }
    for boss in bosses:
        assert boss.screw and clear(of, boss)
        assert disc(boss).distance(of.cell_block) > 0.25
        # as deep in both directions, and outside of neither wall's outer face
        deep = 60.0 - abs(boss.x_mm)
        assert deep == pytest.approx(40.0 - abs(boss.y_mm)) and deep > -WALL_MM


def test_a_corner_boss_touches_no_face_of_its_walls() -> None:
    """No circle just touches an inner or outer face, wherever the cell block sends it."""
    found = set()
    for half in np.arange(54.0, 59.0, 0.05):
        (boss, *_) = corner_bosses(keepout(block(half, half - 20.0)))
        inside = boss.x_mm + 60.0
        found.add(round(inside, 3))
        assert abs(RADIUS_MM - WALL_MM - inside) >= 0.05
    assert len(found) > 10


def test_a_boss_outside_the_wall_leaves_no_narrow_gap_beside_a_pad() -> None:
    """Clear of it, or run into it: a gap of 0.4 closes where both first layers bulge by 0.15."""
    pad = shapely.box(60.0, -17.0, 72.0, 17.0)
    of = replace(keepout(block()), pads=pad)
    gaps = np.arange(-2.0, 3.0, 0.05) + 0.01
    free = columns_clear(of, [(64.9, 17.0 + RADIUS_MM + gap) for gap in gaps])
    assert (free == ((gaps < 0.0) | (gaps > 0.7))).all()
    assert columns_clear(keepout(block()), [(64.9, 17.2 + RADIUS_MM)]).all()


@pytest.mark.parametrize("number", range(4))
@pytest.mark.parametrize("inside_mm", [4.0, 9.0])
def test_a_rib_of_four_millimetres_goes_half_into_its_wall(number: int, inside_mm: float) -> None:
    """From the boss's middle, whichever the wall; a boss that meets the wall needs none."""
    of, wall = keepout(block(30.0, 20.0)), walls(CAVITY)[number]
    x, y = wall.point(5.0, inside_mm)
    rib = web_to(of, wall, x, y)
    assert rib is not None
    sides = sorted((rib.x1 - rib.x0, rib.y1 - rib.y0))
    assert sides == pytest.approx(sorted((4.0, inside_mm + WALL_MM / 2)))
    far = wall.point(5.0, -WALL_MM / 2)
    plan = shapely.box(rib.x0, rib.y0, rib.x1, rib.y1)
    for point in ((x, y), far):
        assert plan.distance(shapely.Point(point)) < 1e-9
    assert web_to(of, wall, *wall.point(5.0, 3.0)) is None


@pytest.mark.parametrize("number", range(4))
def test_a_boss_that_would_touch_a_face_is_moved_by_a_hair(number: int) -> None:
    """Its circle neither touches the inner nor the outer face; it moves by less than 0.2 mm."""
    of, wall = keepout(block(30.0, 20.0)), walls(CAVITY)[number]
    for face in (RADIUS_MM, RADIUS_MM - WALL_MM):
        for off in (-0.5, -0.05, 0.0, 0.05, 0.5):
            boss = seat_boss(of, wall, wall.point(1.0, face + off), screw=True)
            assert boss is not None
            inside = wall.inside_mm(boss.x_mm, boss.y_mm)
            assert wall.along_mm(boss.x_mm, boss.y_mm) == pytest.approx(1.0)
            assert abs(inside - face) > 0.05 and abs(inside - face - off) < 0.2
            assert abs(off) < 0.1 or inside == pytest.approx(face + off)


def fewest(wall: InnerWall, ends: tuple[float, float], pitch_mm: float) -> int:
    """How many places between two are needed for gaps up to the pitch."""
    return max(0, math.ceil((ends[1] - ends[0]) / pitch_mm - 1e-9) - 1)


@pytest.mark.parametrize("pitch_mm", [33.0, 50.0, 77.0, 200.0])
@pytest.mark.parametrize("number", range(4))
def test_the_fewest_lid_bosses_stand_no_farther_apart_than_the_pitch(
    number: int, pitch_mm: float
) -> None:
    """Along a free wall; two of them leave 4 mm between them."""
    of, wall = keepout(block(48.0, 28.0)), walls(CAVITY)[number]
    corners = corner_bosses(of)
    first, last = corners[number], corners[(number + 1) % 4]
    found = wall_bosses(of, wall, first, last, [], pitch_mm=pitch_mm)
    assert found is not None
    alongs = sorted(wall.along_mm(b.x_mm, b.y_mm) for b in (first, last))
    assert len(found) == fewest(wall, (alongs[0], alongs[1]), pitch_mm)
    between = sorted(found, key=lambda b: wall.along_mm(b.x_mm, b.y_mm))
    ends = sorted((first, last), key=lambda b: wall.along_mm(b.x_mm, b.y_mm))
    for one, other in itertools.pairwise([ends[0], *between, ends[1]]):
        gap = math.dist((one.x_mm, one.y_mm), (other.x_mm, other.y_mm))
        assert 2 * RADIUS_MM + 4.0 - 1e-9 <= gap <= pitch_mm + 1e-9
    assert all(clear(of, boss) and boss.screw for boss in found)


def with_hollow(at: float, deep_mm: float) -> BaseGeometry:
    """A cell block with a hollow in its -y side, its middle at a place along it."""
    hollow = shapely.Point(at, -30.0 + deep_mm).buffer(RADIUS_MM + 0.35, quad_segs=64)
    slot = shapely.box(at - RADIUS_MM - 0.35, -60.0, at + RADIUS_MM + 0.35, -30.0 + deep_mm)
    cut: BaseGeometry = block().difference(shapely.union_all([hollow, slot]))
    return cut


@pytest.mark.parametrize(("deep_mm", "taken"), [(0.0, True), (3.9, True), (6.0, False)])
def test_a_lid_screw_goes_into_a_hollow_near_its_wall(deep_mm: float, taken: bool) -> None:
    """Up to 14 mm from the wall: it locates the cell block; farther away the wall is better."""
    of, wall = keepout(with_hollow(4.0, deep_mm)), walls(CAVITY)[0]
    corners = corner_bosses(of)
    found = wall_bosses(of, wall, corners[0], corners[1], [(4.0, -30.0 + deep_mm)], pitch_mm=70.0)
    assert found is not None and len(found) == 1
    assert found[0].seat is taken
    assert (found[0].y_mm > -35.0) is taken


@pytest.mark.parametrize("towards", DIRECTIONS)
def test_a_block_slides_until_it_meets_what_stands(towards: str) -> None:
    """To a wall 3 mm away, or 5 mm at most; each way is its own."""
    bodies = {
        "+x": shapely.box(53.0, -40.0, 54.0, 40.0), "-x": shapely.box(-54.0, -40.0, -53.0, 40.0),
        "+y": shapely.box(-60.0, 33.0, 60.0, 34.0), "-y": shapely.box(-60.0, -34.0, 60.0, -33.0),
    }  # fmt: skip
    for name, standing in bodies.items():
        slides = play_mm(block(), standing, DIRECTIONS[towards])
        assert slides == pytest.approx(3.0 if name == towards else 5.0, abs=0.02)


def free_bosses(of: BossKeepout, seats: Sequence[tuple[float, float]] = ()) -> tuple[Boss, ...]:
    """What is added until the block is held."""
    return locating_columns(of, (), seats, of.cell_block)


def test_columns_are_added_only_where_a_block_can_slide() -> None:
    """A block that its cavity holds needs none; one that is free to one side gets one there."""
    held = keepout(block(), cavity=Rect(x0=-51.0, y0=-31.0, x1=51.0, y1=31.0))
    # the rim is as far outside as the cavity is grown: held within 1 mm on all sides
    assert free_bosses(held) == ()
    for x0, x1, sign in ((-51.0, 75.0, 1.0), (-75.0, 51.0, -1.0)):
        (boss,) = free_bosses(keepout(block(), cavity=Rect(x0=x0, y0=-31.0, x1=x1, y1=31.0)))
        assert sign * boss.x_mm > 50.0 and boss.y_mm == pytest.approx(0.0)
        assert disc(boss).distance(block()) == pytest.approx(0.3, abs=0.02)
        assert not boss.screw and boss.seat
    for y0, y1, sign in ((-31.0, 55.0, 1.0), (-55.0, 31.0, -1.0)):
        (boss,) = free_bosses(keepout(block(), cavity=Rect(x0=-51.0, y0=y0, x1=51.0, y1=y1)))
        assert sign * boss.y_mm > 30.0 and boss.x_mm == pytest.approx(0.0)


@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_a_free_column_is_looked_for_along_the_whole_side(side: float) -> None:
    """All but the very end is taken: it stands there, at either end alike."""
    taken = shapely.box(50.0, -26.5, 75.0, 31.0) if side < 0 else shapely.box(
        50.0, -31.0, 75.0, 26.5)  # fmt: skip
    straight = shapely.box(-50.0, -30.0, 50.0, 30.0)
    of = keepout(straight, taken, Rect(x0=-51.0, y0=-31.0, x1=75.0, y1=31.0))
    (boss,) = free_bosses(of)
    assert side * boss.y_mm == pytest.approx(30.0)


def test_a_boss_beside_a_corner_s_is_no_step_on_the_way() -> None:
    """The only free place lies 8 mm from a corner: too near for a wrench, so there is no way."""
    taken = shapely.box(-47.0, -45.0, 62.0, -35.0)
    wall = walls(CAVITY)[0]
    corners = corner_bosses(keepout(block(48.0, 28.0)))
    of = keepout(block(48.0, 28.0), taken)
    length = abs(corners[1].x_mm - corners[0].x_mm)
    assert wall_bosses(of, wall, corners[0], corners[1], [], pitch_mm=length - 5.0) is None
    assert wall_bosses(of, wall, corners[0], corners[1], [], pitch_mm=length) == ()
