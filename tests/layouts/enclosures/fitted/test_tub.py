"""The fitted tub as a solid, and that it prints without support."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.enclosures.fitted.bosses import LEAN_STEP_MM, leaning_bosses
from layouts.enclosures.fitted.hole_walls import (
    LEAST_PLASTIC_MM,
    hole_walls,
    refuse_thin_walls,
)
from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.loops import loop_polygon, parallel
from layouts.enclosures.fitted.pad_blocks import bore_plans, pad_block
from layouts.enclosures.fitted.rooms import RoomKind
from layouts.enclosures.fitted.sizes import FittedSizes, GasSlot, Notch
from layouts.enclosures.fitted.stubs import notch_stubs, slot_stubs
from layouts.enclosures.fitted.tub import tub_drawing, tub_features
from layouts.errors import PlanError
from layouts.pack import Side
from layouts.parts.shell import Rect, box
from tests.layouts.enclosures.fitted.hand_made import PACKS, cornered, hand_made
from tests.layouts.enclosures.fitted.levels import overhang_mm, plan_at
from tests.layouts.enclosures.fitted.sound import sound
from tests.layouts.parts.sound_parts import assert_every_feature_counts
from tests.oracles.fitted_formula import tub_formula_mm3
from tests.sampled import sampled

SMALL = ("3S2P", "4S3P")


def under(sizes: FittedSizes, below_rim_mm: float) -> float:
    """A height below the rim in the part's own coordinates."""
    return sizes.shell.levels.rim_mm - sizes.shell.levels.under_mm - below_rim_mm


@pytest.mark.parametrize("name", sampled(PACKS, lambda n: n == "3S2P"))
def test_tub_is_one_sound_solid(name: str) -> None:
    """Valid, one body, formula's volume, and placed with its floor under the stack."""
    sizes = cornered(name)
    body, _ = sound(name)
    assert body.bounds[0][2] == pytest.approx(sizes.shell.levels.under_mm)
    assert body.bounds[1][2] == pytest.approx(sizes.shell.levels.rim_mm)


def with_slots(sizes: FittedSizes, *slots: GasSlot) -> FittedSizes:
    """The same with other slots."""
    return replace(sizes, ducts=(replace(sizes.ducts[0], slots=slots),))


CHANGES: dict[str, Callable[[FittedSizes], FittedSizes]] = {
    "pads": lambda s: replace(s, pads=s.pads[1:]),
    "screws": lambda s: replace(s, shell=replace(s.shell, screws=s.shell.screws[1:])),
    "guides": lambda s: replace(s, board=replace(s.board, guides=s.board.guides[1:])),
    "support pads": lambda s: replace(s, support_pads_floor=s.support_pads_floor[1:]),
    "slots": lambda s: with_slots(s, *s.slots[1:]),
    "notches": lambda s: replace(s, notches=()),
    "openings": lambda s: replace(s, openings=s.openings[1:]),
    "drains": lambda s: replace(s, drains=s.drains[1:]),
    "holes": lambda s: replace(s, holes=s.holes[1:]),
    "tie lugs": lambda s: replace(s, tie_lugs=s.tie_lugs[1:]),
    "rests": lambda s: replace(s, board=replace(s.board, rests=s.board.rests[1:])),
    "fuse seat": lambda s: replace(s, fuse=replace(s.fuse, walls=s.fuse.walls[1:])),
}


@pytest.mark.parametrize("change", sampled(CHANGES, lambda c: c == "pads"))
def test_formula_notices_a_changed_part(change: str) -> None:
    """One fitting, screw or slot less in the body alone breaks the agreement."""
    sizes = hand_made("4S3P")
    true = tub_formula_mm3(sizes)
    assert abs(tub_drawing(CHANGES[change](sizes)).volume_mm3() - true) > 1e-5 * true


@pytest.mark.slow
def test_every_feature_changes_the_volume() -> None:
    """A feature left out of the tub's list shows in its volume."""
    assert_every_feature_counts(tub_features(hand_made("3S2P")))


@pytest.mark.parametrize("name", sampled(PACKS, lambda n: n == "4S3P"))
def test_nothing_hangs_by_more_than_a_step(name: str) -> None:
    """Each slab lies within the one below it grown by one step of the leaning bosses."""
    features = tub_features(cornered(name))
    assert 0.5 * LEAN_STEP_MM < overhang_mm(features) <= LEAN_STEP_MM + 0.05
    upright = [f for f in features if not (" boss" in f" {f.name}" and not f.name.endswith(" 0"))]
    assert len(upright) < len(features)
    assert overhang_mm(upright) > 3.0


@pytest.mark.parametrize("name", SMALL)
def test_holes_keep_plastic_round_them(name: str) -> None:
    """Round lid screws and behind mounting pads' holes, each measured on the plan itself."""
    sizes = cornered(name)
    found = hole_walls(sizes)
    assert len(found) == len(sizes.shell.screws) + 2 * len(sizes.pads)
    assert min(wall.plastic_mm for wall in found) >= LEAST_PLASTIC_MM
    plan = plan_at(tub_features(sizes), under(sizes, 0.5))
    for screw in sizes.shell.screws:
        hole = shapely.Point(screw.at_mm).buffer(screw.hole_radius_mm - 0.01)
        ring = shapely.Point(screw.at_mm).buffer(screw.hole_radius_mm + LEAST_PLASTIC_MM)
        assert plan.intersection(hole).is_empty
        assert ring.difference(plan).area == pytest.approx(np.pi * screw.hole_radius_mm**2, abs=0.1)


def test_a_hole_that_breaks_through_is_refused() -> None:
    """A screw moved half-way towards the cavity, or a mounting pad's hole too deep."""
    sizes = hand_made("4S3P")
    first, *rest = sizes.shell.screws
    (x, y), (u, v) = first.at_mm, first.foot_mm
    moved = replace(first, x_mm=(x + u) / 2, y_mm=(y + v) / 2)
    shell = replace(sizes.shell, screws=(moved, *rest))
    with pytest.raises(PlanError, match=r"lid screw's hole at .* of plastic beside it"):
        tub_drawing(replace(sizes, shell=shell))
    with pytest.raises(PlanError, match=r"mounting pad's hole at"):
        refuse_thin_walls(replace(sizes, pad_hole_deep_mm=sizes.pad_hole_deep_mm + 8.0))


def test_a_boss_far_from_any_wall_is_refused() -> None:
    """It would hang in the air."""
    sizes = hand_made("3S2P")
    lost = LidScrew(x_mm=200.0, y_mm=0.0, insert=True, foot_mm=(199.0, 0.0))
    with pytest.raises(PlanError, match="no wall to lean into"):
        leaning_bosses(replace(sizes.shell, screws=(lost,)))


@pytest.mark.parametrize("name", SMALL)
def test_bosses_keep_out_of_the_cavity(name: str) -> None:
    """At no height does a boss outside the wall, or a mounting pad, enter the cavity; that in a
    corner stays within the wall's outer face and off the cells."""
    sizes = cornered(name)
    shell = sizes.shell
    features = tub_features(sizes)
    bosses = leaning_bosses(shell)
    assert [b.inside for b in bosses] == [False] * (len(bosses) - 1) + [True]
    inner = loop_polygon(shell.inner.loop).buffer(-0.02)
    corner = shapely.Point(shell.screws[-1].at_mm).buffer(5.0)
    for below in (0.5, 13.0, 16.0, 60.0):
        z = under(sizes, below)
        bare = [f for f in features if not f.name.startswith(("boss", "mounting"))]
        with_all, without = plan_at(features, z), plan_at(bare, z)
        assert with_all.intersection(inner).equals(without.intersection(inner))
    top = plan_at(features, under(sizes, 0.5))
    assert top.intersection(inner).difference(corner).area < 0.1
    assert top.intersection(inner).area > 10.0
    assert top.intersection(loop_polygon(shell.cells).buffer(-0.02)).is_empty
    assert top.intersection(corner).difference(loop_polygon(shell.outer).buffer(0.02)).is_empty


def test_partition_ends_under_the_rim_and_is_open_where_leads_pass() -> None:
    """It stands between cells and dry rooms, not in openings, not over a notch's lower edge."""
    sizes = hand_made("4S3P")
    shell = sizes.shell
    features = tub_features(sizes)
    band = loop_polygon(shell.partition).difference(loop_polygon(shell.cells))
    band = band.intersection(loop_polygon(shell.inner.loop)).buffer(-0.3)
    notch = sizes.notches[0]
    opened = shapely.union_all([box(rect) for rect in sizes.openings])
    low = plan_at(features, notch.z0_mm - shell.levels.under_mm - 0.5).intersection(band)
    assert low.area > 0.9 * band.difference(opened).area > 20.0
    assert low.intersection(opened.buffer(-0.01)).is_empty
    high = plan_at(features, under(sizes, 1.5)).intersection(band)
    assert high.intersection(box(notch.rect.grown(-0.01))).is_empty
    assert low.area - high.area > 1.0
    assert plan_at(features, under(sizes, 0.5)).intersection(band).is_empty


def test_no_stub_of_the_partition_is_left() -> None:
    """What an opening leaves beside a wall is taken away with it."""
    sizes = hand_made("4S3P")
    features = tub_features(sizes)
    stubs = [f for f in features if f.name == "stub"]
    assert stubs[0].loops
    inner = loop_polygon(sizes.shell.inner.loop).buffer(-0.05)
    plan = plan_at(features, under(sizes, 20.0)).intersection(inner)
    assert min(part.area for part in shapely.get_parts(plan)) > 2.0
    with_stubs = [f for f in features if f.name != "stub"]
    plan = plan_at(with_stubs, under(sizes, 20.0)).intersection(inner)
    assert min(part.area for part in shapely.get_parts(plan)) < 2.0


def test_no_stub_of_the_partition_stands_on_a_notch() -> None:
    """A notch that begins near an opening's edge takes what is between them with it."""
    sizes = hand_made("4S3P")
    assert notch_stubs(sizes)[1] == ()
    opened = shapely.union_all([box(rect) for rect in sizes.openings])
    middle = loop_polygon(parallel(sizes.shell.cells, 0.6, 0.5)).exterior
    inside = loop_polygon(sizes.shell.inner.loop).buffer(-1.0)
    along = middle.intersection(inside).difference(opened)
    points = shapely.points(shapely.get_coordinates(along))
    off = shapely.distance(points, opened)
    stub = points[int(np.argmin(np.abs(off - 1.5)))]
    past = np.where(off > 6.0, shapely.distance(points, stub), np.inf)
    x, y = points[int(np.argmin(past))].coords[0]
    rect = Rect(x0=x - 3.0, x1=x + 3.0, y0=y - 3.0, y1=y + 3.0)
    notched = replace(sizes, notches=(Notch(rect=rect, z0_mm=sizes.notches[0].z0_mm),))
    z0, rects = notch_stubs(notched)
    assert z0 == sizes.notches[0].z0_mm and len(rects) == 1
    features = tub_features(notched)
    for below, standing in ((20.0, True), (5.0, False)):
        assert plan_at(features, under(sizes, below)).contains(stub) is standing
    body = tub_drawing(notched).volume_mm3()
    assert body == pytest.approx(tub_formula_mm3(notched), rel=1e-6)


def test_no_stub_of_the_wall_is_left_between_two_slots() -> None:
    """Of two slots 2 mm apart the wall between them goes too; 8 mm apart it stays."""
    sizes = hand_made("4S3P")
    assert slot_stubs(sizes) == ()
    ring = loop_polygon(sizes.shell.outer).exterior
    rooms = shapely.union_all([room.plan for room in sizes.shell.rooms])
    first = max(sizes.slots, key=lambda s: rooms.distance(shapely.Point(s.at_mm)))
    at = ring.project(shapely.Point(first.at_mm))
    for free, stubs in ((2.0, 1), (8.0, 0)):
        p = ring.interpolate((at + first.wide_mm + free) % ring.length)
        second = replace(first, at_mm=(p.x - 0.83 * first.out[0], p.y - 0.83 * first.out[1]))
        pair = with_slots(sizes, first, second)
        assert len(slot_stubs(pair)) == stubs
        q = ring.interpolate((at + (first.wide_mm + free) / 2) % ring.length)
        wall = plan_at(tub_features(pair), under(sizes, 2.0))
        assert (wall.distance(q) < 0.1) is (stubs == 0)
        if stubs:
            volume = tub_drawing(pair).volume_mm3()
            assert volume == pytest.approx(tub_formula_mm3(pair), rel=1e-6)


def test_mounting_pads_fill_the_hollows_behind_them() -> None:
    """From face to wall all is solid, and the holes end in it."""
    sizes = hand_made("4S3P")
    assert sizes.pads
    inner = loop_polygon(sizes.shell.inner.loop)
    plan = plan_at(tub_features(sizes), 15.0).buffer(0.01)
    for pad in sizes.pads:
        block = box(pad_block(sizes, pad)).difference(inner)
        assert plan.contains(block)
        assert block.intersection(loop_polygon(sizes.shell.outer)).area > 30.0
        for rect in bore_plans(sizes, pad):
            assert block.buffer(1e-6).contains(box(rect))


def test_a_mounting_pad_past_a_corner_is_no_lump() -> None:
    """Half of it with no wall behind, it reaches back 12 and half a wall from the foremost wall;
    with none at all it is refused."""
    sizes = hand_made("4S3P")
    outer = loop_polygon(sizes.shell.outer)
    pad = next(p for p in sizes.pads if p.side is Side.MINUS_X)
    at_corner = replace(pad, along_mm=outer.bounds[1] + 2.0, face_mm=pad.face_mm)
    block = pad_block(sizes, at_corner)
    strip = outer.intersection(shapely.box(-999.0, block.y0, 0.0, block.y1))
    assert block.x1 == pytest.approx(strip.bounds[0] + 12.0 + sizes.shell.wall_mm / 2, abs=0.05)
    with pytest.raises(PlanError, match="no wall behind the mounting pad"):
        pad_block(sizes, replace(pad, along_mm=outer.bounds[1] - 30.0))


def test_bosses_in_hollows_lean_to_the_middle_of_the_bottom() -> None:
    """Both sides of a hollow are as far from the boss's way into the wall."""
    sizes = hand_made("4S3P")
    ring = loop_polygon(sizes.shell.inner.loop).exterior
    seats = [seat.centre_mm for seat in sizes.shell.inner.seats]
    hollow = [s for s in sizes.shell.screws if s.at_mm in seats]
    assert hollow
    for screw in hollow:
        (x, y), (u, v) = screw.at_mm, screw.foot_mm
        way = np.array((u - x, v - y)) / np.hypot(u - x, v - y)
        off = np.array((-way[1], way[0]))
        for at in (3.0, 5.0):
            left, right = (
                ring.distance(shapely.Point((x, y) + at * way + sign * 2.0 * off))
                for sign in (-1.0, 1.0)
            )
            assert left == pytest.approx(right, abs=0.15)


def test_drains_and_board_stand_where_they_are_told() -> None:
    """Drains go through the floor; guides end at their height and at the wall's inner face."""
    sizes = hand_made("3S2P")
    features = tub_features(sizes)
    for drain in sizes.drains:
        assert not plan_at(features, 1.0).contains(shapely.Point(drain.x_mm, drain.y_mm))
    assert sizes.drains
    top = sizes.board.guide_z1_mm - sizes.shell.levels.under_mm
    inner = loop_polygon(sizes.shell.inner.loop)
    for guide in sizes.board.guides:
        inside = box(guide).intersection(inner).buffer(-0.05)
        assert plan_at(features, top - 0.1).contains(inside)
        assert not plan_at(features, top + 0.1).intersects(inside)
    assert any(room.kind is RoomKind.BOARD for room in sizes.shell.rooms)
