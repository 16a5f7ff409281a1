"""Ways of wires: their bends, what they keep clear of, the search for one."""

from __future__ import annotations

import math

import numpy as np
import pytest

from layouts.enclosures.wire_checks import wire_checks
from layouts.parts.shell import Rect
from layouts.wiring.obstacles import Block, Obstacle, Round, Tube, UprightPost, WireRoom, nearest
from layouts.wiring.search import Search, WirePose
from layouts.wiring.ways import (
    WireEnd,
    WireWay,
    least_radius_mm,
    middle_radius_mm,
    rounded_mm,
    sampled_mm,
)

ROOM = WireRoom(
    rect=Rect(x0=0.0, y0=0.0, x1=60.0, y1=150.0), z0_mm=0.0, z1_mm=70.0,
    names=("cells", "-y wall", "floor", "+x wall", "+y wall", "lid"),
)  # fmt: skip
FIRST = WirePose(at_mm=(30.0, 5.0, 30.0), way=(0.0, 1.0, 0.0), straight_mm=2.0)
LAST = WirePose(at_mm=(30.0, 145.0, 30.0), way=(0.0, -1.0, 0.0), straight_mm=2.0)
CORNER = np.array([(0.0, 0.0, 0.0), (50.0, 0.0, 0.0), (50.0, 0.0, 60.0)])


def wire(number: str, corners: object, radius_mm: float = 18.0) -> WireWay:
    """An invented wire of 4 mm."""
    end = WireEnd(told="somewhere", joint="crimped")
    return WireWay(
        number=number, purpose="a wire", area_mm2=2.5, gauge="AWG 13", outside_mm=4.0,
        ends=(end, end), corners_mm=corners, radius_mm=radius_mm, spare_mm=22.0, spare="", own=(),
    )  # type: ignore[arg-type]  # fmt: skip


def test_a_rounded_corner_is_a_quarter_circle() -> None:
    """Length of both legs less twice the radius, and a quarter circle (plane geometry)."""
    line = rounded_mm(CORNER, 20.0)
    long = float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
    assert long == pytest.approx(50.0 + 60.0 - 40.0 + math.pi / 2 * 20.0, rel=1e-3)
    assert least_radius_mm(line) == pytest.approx(20.0, rel=1e-6)
    assert least_radius_mm(line[:1].repeat(2, axis=0) + [[0, 0, 0], [1, 0, 0]]) == math.inf
    points = sampled_mm(line, 0.5)
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).max() <= 0.5
    one = wire("M1", tuple(map(tuple, CORNER.tolist())), 20.0)
    assert one.way_mm == pytest.approx(long)
    assert one.cut_mm % 5.0 == 0.0 and 0.0 <= one.cut_mm - long - 22.0 < 5.0


def test_bends_without_room_are_tighter_and_seen() -> None:
    """A stretch of 10 mm between two corners leaves no 18 mm arcs."""
    tight = ((0.0, 0.0, 0.0), (30.0, 0.0, 0.0), (30.0, 10.0, 0.0), (60.0, 10.0, 0.0))
    assert least_radius_mm(rounded_mm(np.array(tight), 18.0)) == pytest.approx(5.0, rel=0.01)


def test_gaps_are_those_of_plain_geometry() -> None:
    """Points beside, above and inside each kind of body."""
    at = np.array([(10.0, 0.0, 5.0), (3.0, 4.0, 14.0), (0.0, 0.0, 5.0)])
    block = Block(name="b", rect=Rect(x0=-2.0, y0=-2.0, x1=2.0, y1=2.0), z0_mm=0.0, z1_mm=10.0)
    assert block.gap_mm(at).tolist() == pytest.approx([8.0, math.sqrt(1 + 4 + 16), -2.0])
    post = UprightPost(name="p", x_mm=0.0, y_mm=0.0, radius_mm=2.0, z0_mm=0.0, z1_mm=10.0)
    assert post.gap_mm(at).tolist() == pytest.approx([8.0, 5.0, -2.0])
    bar = Round(name="r", axis=0, from_mm=-5.0, to_mm=5.0, across_mm=0.0, z_mm=5.0, radius_mm=1.0)
    assert bar.gap_mm(at).tolist() == pytest.approx([5.0, math.hypot(4.0, 9.0) - 1.0, -1.0])
    tube = Tube(name="t", line_mm=np.array([(0.0, 0.0, 5.0)]), radius_mm=1.0)
    assert tube.gap_mm(at)[0] == pytest.approx(9.0)
    # what a wire is joined to is passed over near its ends only
    line = np.column_stack([np.linspace(0.0, 40.0, 81), np.zeros(81), np.full(81, 5.0)])
    wide = WireRoom(rect=Rect(x0=-99.0, y0=-99.0, x1=99.0, y1=99.0), z0_mm=-99.0, z1_mm=99.0,
                names=ROOM.names)  # fmt: skip
    assert nearest(line, wide, [block], ("b",), 10.0)[0] == pytest.approx(8.5)
    assert nearest(line, wide, [block], ())[1] == "b"


def test_a_way_goes_round_what_stands_in_it() -> None:
    """Straight where it is free; past a block with bends of the radius asked; else it says so."""
    free = Search(room=ROOM, obstacles=[])
    found = free.way([FIRST], [LAST], radius_mm=18.0, need_mm=2.5, own=(), reach_mm=4.0)
    assert found is not None and found.over_mm >= 0.0
    block = Block(name="b", rect=Rect(x0=22.0, y0=72.0, x1=60.0, y1=80.0), z0_mm=0.0, z1_mm=70.0)
    round_it = Search(room=ROOM, obstacles=[block])
    found = round_it.way([FIRST], [LAST], radius_mm=18.0, need_mm=2.5, own=(), reach_mm=4.0)
    assert found is not None and found.over_mm >= 0.0
    line = rounded_mm(np.array(found.corners_mm), 18.0)
    assert least_radius_mm(line) >= 18.0 * 0.999
    assert block.gap_mm(sampled_mm(line, 0.5)).min() >= 2.5
    closed: list[Obstacle] = [
        Block(name="b", rect=Rect(x0=2.0, y0=60.0, x1=60.0, y1=90.0), z0_mm=0.0, z1_mm=70.0)
    ]
    shut = Search(room=ROOM, obstacles=closed)
    found = shut.way([FIRST], [LAST], radius_mm=18.0, need_mm=2.5, own=(), reach_mm=4.0)
    assert found is not None and found.over_mm < 0.0


def test_each_check_names_the_wire_that_fails() -> None:
    """A tight bend, a way through a block, a wire without a way, a fuse far off."""
    good = (FIRST.at_mm, LAST.at_mm)
    ways = (wire("M3", good), wire("M1", tuple((x + 15.0, y, z) for x, y, z in good)))
    held = {c.id: c for c in wire_checks(ways, (), ROOM, [])}
    assert all(c.holds for c in held.values())
    assert held["wire_ways"].value == pytest.approx(3.0)  # 5 to the end walls less half of 4
    radius = middle_radius_mm(4.0)
    bent = wire("M1", ((10.0, 10.0, 30.0), (50.0, 10.0, 30.0), (50.0, 90.0, 30.0)), radius - 1.0)
    block = Block(name="boss", rect=Rect(x0=28.0, y0=70.0, x1=60.0, y1=75.0), z0_mm=0.0, z1_mm=70.0)
    far = wire("M3", ((30.0, 5.0, 30.0), (30.0, 140.0, 30.0), (30.0, 140.0, 60.0)), 5.0)
    failing = {c.id: c for c in wire_checks((far, bent), (), ROOM, [block])}
    assert not failing["wire_bends"].holds and failing["wire_bends"].where == "wire M3"
    assert not failing["wire_ways"].holds and "boss" in failing["wire_ways"].where
    assert failing["wire_ways"].value is not None and failing["wire_ways"].value < 0.0
    assert not failing["fuse_way"].holds and failing["fuse_way"].value == far.cut_mm
    missed = wire_checks(ways, ("M2: nothing",), ROOM, [])[1]
    assert not missed.holds and missed.where == "wire M2: nothing"
