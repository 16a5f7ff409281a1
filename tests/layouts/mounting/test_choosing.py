"""Choosing brackets: published bolt group, frames that are held and frames that are not."""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.brackets.holding import FrameHold, HeldBody, HoldPoint
from layouts.frame_spec import FrameHole, FramePlate, FrameTube
from layouts.mounting.choosing import Choice, choose_brackets
from layouts.mounting.closure import limit_loads
from layouts.mounting.elastic import answer_of, point_forces_n, rows_of
from layouts.physics import GRAVITY_M_S2
from tests.layouts.mounting.example_holds import Lugs, body, offers

BAY = ((0.0, 0.0), (240.0, 0.0), (240.0, 240.0), (0.0, 240.0))
M5_HOLES = (
    *((x, y) for x in (16.0, 224.0) for y in (48.0, 68.0, 172.0, 192.0)),
    (16.0, 120.0), (224.0, 120.0), (120.0, 10.0), (120.0, 230.0),
)  # fmt: skip
FLOOR = FramePlate(
    name="floor", at_mm=(0.0, 0.0, 0.0), normal="+z", outline_mm=BAY, thick_mm=2.0,
    holes=tuple(FrameHole(at_mm=at, screw="M5") for at in M5_HOLES),
)  # fmt: skip
TROLLEY = body((49.3, 12.7, 3.0), (190.7, 227.3, 102.0), 3.58)
OVER_TUBES = body((0.0, 0.0, 0.0), (141.0, 214.0, 99.0), 3.58)
TUBES = tuple(
    FrameTube(name=name, from_mm=(x, -100.0, -18.5), to_mm=(x, 320.0, -18.5), size_mm=(25.0,))
    for name, x in (("left tube", 30.0), ("right tube", 111.0))
)


WAYS = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def both_ways(
    at_mm: tuple[float, float, float], way: tuple[float, float, float], k: float, cap_n: float
) -> HoldPoint:
    """A spring that pulls as well as it pushes."""
    return HoldPoint(at_mm=at_mm, way=way, stiffness_n_mm=k, along_n=cap_n, against_n=cap_n)


def chosen(held: HeldBody, features: list, most: int, **how) -> Choice:
    """The solver's choice of the example kinds."""
    found = choose_brackets(
        held, lambda t: offers(held, features, t, **how), most=most, thick_mm=(5.0, 6.0, 8.0)
    )
    assert found is not None
    return found


def test_a_bolt_group_is_the_handbooks() -> None:
    """Four bolts under a load beside them: the vector sums of each bolt's shares."""
    # eccentric shear, 16 kN at 425 mm from bolts at (+-75, +-60): Shigley, Example 8-7, which
    # prints 21.0 and 14.8 kN; figures computed from its geometry, F/n and M r / sum r2
    bolts = tuple(
        FrameHold(
            kind="bolt", feature="wall", face="-x", grams=0.0,
            points=tuple(
                both_ways((x, 0.0, z), way, 1e4, 1e6)
                for way in WAYS
            ),
        )
        for x in (-75.0, 75.0)
        for z in (-60.0, 60.0)
    )  # fmt: skip
    held = HeldBody(
        low_mm=(-500.0, -50.0, -100.0), high_mm=(500.0, 50.0, 100.0), centre_mm=(425.0, 0.0, 0.0),
        mass_kg=16000.0 / GRAVITY_M_S2, load_g=(0.0, 0.0, 1.0), faces=(), limit_mpa=1.0,
        modulus_mpa=1.0,
    )  # fmt: skip
    rows = rows_of(held, bolts)
    found = point_forces_n(rows, np.array([0.0, 0.0, -16000.0, 0.0, 0.0, 0.0]))
    assert found is not None
    each = np.linalg.norm(found[0].reshape(4, 3), axis=1)
    assert sorted(each) == pytest.approx([14788.8, 14788.8, 20972.6, 20972.6], abs=0.1)
    assert answer_of(held, bolts).use == pytest.approx(
        np.abs(found[0]).reshape(4, 3).sum(axis=1).max() / 1e6
    )


def test_springs_answer_as_closed_formulas_do() -> None:
    """A body on equal springs at its corners: frequency by f = 15.8 / sqrt(sag mm at 1 g)."""
    corners = [(x, y, 0.0) for x in (0.0, 200.0) for y in (0.0, 200.0)]
    springs = tuple(
        FrameHold(
            kind="post", feature="floor", face="-z", grams=1.0,
            points=tuple(
                both_ways(at, way, k, 1e4)
                for way, k in zip(WAYS, (1e5, 1e5, 50.0), strict=True)
            ),
        )
        for at in corners
    )  # fmt: skip
    held = replace(
        body((0.0, 0.0, -1.0), (200.0, 200.0, 1.0), 5.0), centre_mm=(100.0, 100.0, 0.0),
        load_g=(0.0, 0.0, 1.0),
    )  # fmt: skip
    answer = answer_of(held, springs)
    sag_mm = 5.0 * GRAVITY_M_S2 / (4 * 50.0)
    assert answer.moved_mm == pytest.approx(sag_mm)
    # 15.76 from sqrt(9806.65)/2 pi, the trade's 15.8
    assert answer.lowest_hz == pytest.approx(15.76 / np.sqrt(sag_mm), rel=1e-3)
    assert answer.use == pytest.approx(5.0 * GRAVITY_M_S2 / 4 / 1e4)
    up, moment = limit_loads(held, springs, axes=(2, 3))
    assert up == pytest.approx((4e4, 4e4)) and moment == pytest.approx((4e4 * 0.1, 4e4 * 0.1))


def test_what_only_pushes_lets_go_and_what_rubs_never_holds_alone() -> None:
    """Four stops round a pack on posts hold it level; friction instead of them is refused."""
    held = replace(body((0.0, 0.0, 0.0), (100.0, 100.0, 50.0), 2.0), load_g=(2.0, 2.0, 2.0))
    weight = 2.0 * GRAVITY_M_S2
    posts = FrameHold(
        kind="posts", feature="floor", face="-z", grams=1.0,
        points=tuple(
            both_ways((x, y, 25.0), (0.0, 0.0, 1.0), 500.0, 500.0)
            for x in (10.0, 90.0)
            for y in (10.0, 90.0)
        ),
    )  # fmt: skip
    stops = [
        FrameHold(
            kind="stop", feature="floor", face=face, grams=1.0,
            points=tuple(
                HoldPoint(at_mm=at, way=way, stiffness_n_mm=500.0, along_n=100.0, against_n=0.0)
                for at in places
            ),
        )
        for face, way, places in (
            ("-x", (1.0, 0.0, 0.0), ((0.0, 20.0, 25.0), (0.0, 80.0, 25.0))),
            ("+x", (-1.0, 0.0, 0.0), ((100.0, 20.0, 25.0), (100.0, 80.0, 25.0))),
            ("-y", (0.0, 1.0, 0.0), ((20.0, 0.0, 25.0), (80.0, 0.0, 25.0))),
            ("+y", (0.0, -1.0, 0.0), ((20.0, 100.0, 25.0), (80.0, 100.0, 25.0))),
        )
    ]  # fmt: skip
    answer = answer_of(held, (posts, *stops))
    # the stop on one side takes 2 g in two places of 100 N each; those opposite let go
    assert answer.use == pytest.approx(2 * weight / 2 / 100.0, rel=1e-6)
    assert limit_loads(held, (posts, *stops), axes=(0,))[0] == pytest.approx((200.0, 200.0))
    assert answer_of(held, (posts, *stops[:1])).use == np.inf
    rubs = FrameHold(
        kind="strap", feature="floor", face="+z", grams=1.0,
        points=tuple(
            replace(both_ways((x, y, 25.0), way, 500.0, 100.0), slips=True)
            for x in (10.0, 90.0)
            for y in (10.0, 90.0)
            for way in WAYS[:2]
        ),
    )  # fmt: skip
    found = choose_brackets(held, lambda t: [posts, rubs], most=2, thick_mm=(5.0,))
    assert found is not None and not found.holds and found.short is not None
    _, limit, load = found.short
    assert limit == 0.0 and load == pytest.approx(2 * weight)
    assert min(limit_loads(held, found.chosen, axes=(0,))[0]) > load  # with friction it would


def test_a_bay_with_given_holes_holds_a_stiff_wall_and_not_a_thin_one() -> None:
    """Six Ls on holes that are there: refused with a wall of 2.6, held with 3.4 and three ribs."""
    thin = chosen(TROLLEY, [FLOOR], 6)
    assert not thin.holds and 1.2 < thin.answer.use < 3.0
    stiff = Lugs(wide_mm=60.0, wall_mm=3.4, ribs=3, deep_mm=12.0)
    held = chosen(TROLLEY, [FLOOR], 6, lugs=stiff)
    assert held.holds and held.answer.use <= 1.0
    at = [one for bracket in held.chosen for one in bracket.holes_mm]
    assert len(set(at)) == len(at)
    assert {one[:2] for one in at} <= set(M5_HOLES)
    assert held.answer.lowest_hz > 50.0


def test_clamps_on_tubes_are_refused_until_a_bolt_goes_through() -> None:
    """Along the tubes they rub alone; bolted, three or four hold."""
    rubbing = chosen(OVER_TUBES, list(TUBES), 4)
    assert not rubbing.holds and rubbing.short is not None and rubbing.short[0] == 1
    bolted = chosen(OVER_TUBES, [replace(one, drill=True) for one in TUBES], 4)
    assert bolted.holds and len(bolted.chosen) <= 4
    assert {one.feature for one in bolted.chosen} == {"left tube", "right tube"}


def test_an_l_shaped_tray_with_a_wall_takes_stops_strap_and_cleat() -> None:
    """Each of them holds some directions alone; a bolt of the tray is kept clear."""
    outline = ((0.0, 0.0), (230.0, 0.0), (230.0, 85.0), (105.0, 85.0), (105.0, 190.0), (0.0, 190.0))
    tray = FramePlate(
        name="tray",
        at_mm=(0.0, 0.0, 0.0),
        normal="+z",
        outline_mm=outline,
        thick_mm=2.0,
        drill=True,
    )
    wall = FramePlate(
        name="left wall", at_mm=(0.0, 0.0, 0.0), normal="+x", thick_mm=2.0, drill=True,
        outline_mm=((0.0, 0.0), (190.0, 0.0), (190.0, 95.0), (0.0, 95.0)),
    )  # fmt: skip
    held = replace(
        body((2.0, 35.0, 3.0), (100.0, 150.0, 92.0), 2.1),
        faces=("-x", "+x", "-y", "+y", "-z", "+z"),
    )
    found = chosen(held, [tray, wall], 5, stay_out=shapely.Point(52.0, 168.0).buffer(8.0))
    assert found.holds
    assert sum(not one.free for one in found.chosen) <= 5


def test_a_load_of_nothing_is_held_by_what_holds_at_all() -> None:
    """No g along any axis: nothing is divided by it, and the set is still held every way."""
    still = replace(TROLLEY, load_g=(0.0, 0.0, 0.0))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = chosen(still, [FLOOR], 2)
    assert found.holds and found.answer.use == 0.0
    assert all(min(both) > 0.0 for both in limit_loads(still, found.chosen))
