"""Where the lid's screws stand, against rules and against a search for the fewest."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.enclosures.fitted.lid_screws import (
    ALONG_RATIO,
    APART_MM,
    PITCH_MM,
    TOUCH_MM,
    LidScrew,
    ScrewSite,
    choose_lid_screws,
)
from layouts.parts.shell import Rect

WALL_MM, BALL_MM = 1.67, 4.4
FIELD = shapely.box(-100.0, -100.0, 400.0, 300.0)


def site_of(
    inner: shapely.Polygon,
    *,
    seats: tuple[tuple[float, float], ...] = (),
    corners_of: tuple[Rect, ...] = (),
    allowed: BaseGeometry = FIELD,
    kept_off: BaseGeometry | None = None,
) -> ScrewSite:
    """Walls round an inside, their hollows' seats and rooms."""
    return ScrewSite(
        inner=inner, outer=inner.buffer(WALL_MM, quad_segs=8), seats=seats, corners_of=corners_of,
        allowed=allowed, kept_off=inner.buffer(-1.0) if kept_off is None else kept_off,
    )  # fmt: skip


def assert_chain(screws: tuple[LidScrew, ...], site: ScrewSite) -> None:
    """Gaps between neighbours, order round the wall, and what each boss must stay off."""
    ring = site.inner.exterior
    along = [ring.project(shapely.Point(s.foot_mm)) for s in screws]
    assert along == sorted(along)
    for one, after in zip(screws, (*screws[1:], screws[0]), strict=True):
        assert APART_MM < math.dist(one.at_mm, after.at_mm) <= PITCH_MM
    for screw in screws:
        point = shapely.Point(screw.at_mm)
        assert site.allowed.contains(point.buffer(screw.radius_mm, quad_segs=6))
        assert site.kept_off.distance(point) >= screw.radius_mm - TOUCH_MM
        assert ring.distance(shapely.Point(screw.foot_mm)) < 0.05


INSIDES = {
    "box": shapely.box(0, 0, 180, 90),
    "L": shapely.box(0, 0, 160, 60).union(shapely.box(0, 0, 70, 150)).buffer(6).buffer(-6),
    "round": shapely.Point(60, 60).buffer(55),
}


@pytest.mark.parametrize("name", INSIDES)
def test_ribs_stand_round_any_wall(name: str) -> None:
    """Without hollows: closed, no gap too wide, none on another, off what is kept off."""
    inner = INSIDES[name].reverse() if not INSIDES[name].exterior.is_ccw else INSIDES[name]
    site = site_of(inner)
    screws = choose_lid_screws(site)
    assert screws is not None
    assert_chain(screws, site)
    assert len(screws) >= inner.convex_hull.exterior.length / (PITCH_MM + 2)
    for screw in screws:
        assert not inner.contains(shapely.Point(screw.at_mm))


def test_bosses_go_round_what_is_kept_off() -> None:
    """A lane before a wall moves the screw that would stand there; one too wide leaves no chain."""
    inner = INSIDES["box"]
    free = choose_lid_screws(site_of(inner))
    assert free is not None
    x, y = free[0].at_mm
    lane = shapely.box(x - 15, y - 15, x + 15, y + 15)
    site = site_of(inner, kept_off=lane.union(inner.buffer(-1.0)))
    moved = choose_lid_screws(site)
    assert moved is not None
    assert_chain(moved, site)
    assert free[0].at_mm not in [s.at_mm for s in moved]
    side = shapely.box(30, 80, 150, 130)
    assert choose_lid_screws(site_of(inner, kept_off=side.union(inner.buffer(-1.0)))) is None


def test_no_chain_where_bosses_have_no_room() -> None:
    """Nothing outside the wall is allowed, and there is neither hollow nor corner."""
    inner = INSIDES["box"]
    assert choose_lid_screws(site_of(inner, allowed=inner.buffer(2.0))) is None
    # ribs of 6.4 for a screw that forms its thread are all that goes in
    site = site_of(inner, allowed=inner.buffer(7.0, join_style="mitre"))
    screws = choose_lid_screws(site)
    assert screws is not None and not any(screw.insert for screw in screws)
    assert_chain(screws, site)


def test_corners_of_dry_rooms_are_used_before_ribs() -> None:
    """Four rooms in the corners of a small enclosure: no rib stands out of it."""
    inner = shapely.box(0, 0, 65, 65)
    rooms = tuple(
        Rect(x0=x, x1=x + 20, y0=y, y1=y + 20) for x, y in itertools.product((0, 45), repeat=2)
    )
    site = site_of(inner, corners_of=rooms, kept_off=shapely.box(10, 10, 55, 55))
    screws = choose_lid_screws(site)
    assert screws is not None
    at = np.array([s.at_mm for s in screws])
    assert all(s.insert for s in screws) and np.isin(at.round(6), (2.6, 17.4, 47.6, 62.4)).all()
    assert_chain(screws, site)
    # a room's corner that lies off the wall is none
    off = tuple(r.grown(-9.0) for r in rooms)
    ribs = choose_lid_screws(site_of(inner, corners_of=off, kept_off=shapely.Point(32, 32)))
    assert ribs is not None and all(not inner.contains(shapely.Point(s.at_mm)) for s in ribs)


def seats_round(inner: shapely.Polygon, shares: list[float]) -> tuple[tuple[float, float], ...]:
    """Places of the ball outside a wall, at shares of its length."""
    path = inner.buffer(BALL_MM).exterior
    path = path if path.is_ccw else path.reverse()
    points = [path.interpolate(share, normalized=True) for share in shares]
    return tuple((p.x, p.y) for p in points)


def fewest(site: ScrewSite) -> int | None:
    """Fewest of the seats that make a closed chain, begun at every seat."""
    ring = site.inner.exterior
    along = [ring.project(shapely.Point(seat)) for seat in site.seats]
    order = sorted(range(len(along)), key=along.__getitem__)
    best: int | None = None
    for k in range(len(order)):
        path = [*order[k:], *order[: k + 1]]
        least: list[float] = [0.0, *[math.inf] * len(order)]
        for i in range(1, len(path)):
            for j in range(i):
                gap = math.dist(site.seats[path[i]], site.seats[path[j]])
                step = (along[path[i]] - along[path[j]]) % ring.length
                if APART_MM < gap <= PITCH_MM and step <= ALONG_RATIO * PITCH_MM:
                    least[i] = min(least[i], least[j] + 1)
        if math.isfinite(least[-1]) and (best is None or least[-1] < best):
            best = int(least[-1])
    return best


def test_no_fewer_seats_close_a_chain() -> None:
    """Seats strewn round a wall and nothing else: as few as any chain has, none where none
    closes. The chain is begun at a few seats only: rarely that costs one more."""
    inner = shapely.box(0, 0, 80, 55).segmentize(0.5)
    inner = inner if inner.exterior.is_ccw else inner.reverse()
    draw = np.random.default_rng(5)
    counts, more = [], 0
    room = 9.0 / inner.buffer(BALL_MM).exterior.length
    for _ in range(14):
        shares = np.sort(draw.random(9)) * (1 - 9 * room) + room * np.arange(9)
        seats = seats_round(inner, shares.tolist())
        # just the seats' bosses: no rib goes in
        discs = [shapely.Point(seat).buffer(4.22) for seat in seats]
        site = site_of(inner, seats=seats, allowed=shapely.union_all(discs))
        screws = choose_lid_screws(site)
        counts.append(None if screws is None else len(screws))
        if screws is not None:
            assert_chain(screws, site)
            assert {s.at_mm for s in screws} <= set(seats)
        least = fewest(site)
        assert (counts[-1] is None) is (least is None)
        more += (counts[-1] or 0) - (least or 0)
    assert 0 <= more <= 1
    assert None in counts and {4, 5, 6} & set(counts)


def test_two_seats_near_each_other_make_no_chain() -> None:
    """Long sides that need both of two seats in their middle: 16 apart they close, 8 apart not."""
    inner = shapely.box(0, 0, 136, 10).segmentize(0.5)
    inner = inner if inner.exterior.is_ccw else inner.reverse()
    for x, count in ((60.0, 6), (64.0, None)):
        seats = (
            (-4.4, 5.0),
            (60.0, -4.4),
            (76.0, -4.4),
            (140.4, 5.0),
            (136.0 - x, 14.4),
            (x, 14.4),
        )
        boss = [shapely.Point(seat).buffer(4.22) for seat in seats]
        screws = choose_lid_screws(site_of(inner, seats=seats, allowed=shapely.union_all(boss)))
        assert (None if screws is None else len(screws)) == count


def test_a_seat_leans_towards_the_middle_of_its_hollow() -> None:
    """In a round hollow of the ball's size the foot is the bottom's middle, not any point of it."""
    hollow = shapely.Point(90, 6).buffer(BALL_MM, quad_segs=64)
    hollow = hollow.union(shapely.box(90 - BALL_MM, -1, 90 + BALL_MM, 6))
    inner = shapely.box(0, 0, 180, 65).difference(hollow)
    inner = inner if inner.exterior.is_ccw else inner.reverse()
    beside = shapely.box(30, -12, 84, -2).union(shapely.box(96, -12, 150, -2))
    screws = choose_lid_screws(site_of(inner, seats=((90.0, 6.0),), kept_off=beside))
    assert screws is not None
    (screw,) = (s for s in screws if s.at_mm == (90.0, 6.0))
    assert screw.foot_mm == pytest.approx((90.0, 6.0 + BALL_MM), abs=0.01)
    assert screw.insert
