"""Poses turned about any axis, in spaces whose best pose is known."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation

from layouts.fitting.climbing import Climber
from layouts.fitting.directions import (
    Widths,
    all_turns,
    degrees_apart,
    frames,
    main_normals,
)
from layouts.fitting.fit import Searched, SpaceFit, fit_in_space
from layouts.fitting.gap import exact_gap
from layouts.fitting.obstacles import obstacles_of
from layouts.fitting.tilted import TiltedSearch
from layouts.fitting.turns import about, straight, turn_words
from layouts.parts.convex import bar, block
from layouts.spaces.regions import prism_solid
from layouts.spaces.space import Prism, Solid, Space, box_space
from tests.layouts.fitting.rooms import box_body, hull_room, l_body, l_prism, solid
from tests.sampled import sampled

Size = tuple[float, float, float]

BOX: Size = (80.0, 50.0, 30.0)
TILT = about(2, 25.0) @ about(0, 30.0)  # 30 degrees about x, then 25 about z
ROD: Size = (122.0, 6.0, 6.0)
CUBE: Size = (80.0, 80.0, 80.0)
PLATE: Size = (90.0, 38.0, 6.0)
BAY: Size = (40.0, 84.0, 60.0)
# of all turns, by the closed form below; see the test of it
ROD_GAP_MM, PLATE_GAP_MM = 2.0819, 1.0


def turned(solid: Solid, turn: NDArray[np.float64]) -> Space:
    """A free space turned about its origin."""
    return Space(room=replace(solid, vertices_mm=solid.vertices_mm @ turn.T))


def tilted_room(size: Size, gap_mm: float) -> Space:
    """A box larger than a body by a gap all round, turned by ``TILT``."""
    piece = block((-gap_mm,) * 3, tuple(side + gap_mm for side in size))
    return turned(Solid(name="room", vertices_mm=piece.vertices_mm, faces=piece.faces), TILT)


def corners(size: Size, pose: NDArray[np.float64]) -> NDArray[np.float64]:
    """(8, 3) the corners of a box body as posed."""
    own = np.array(list(itertools.product(*((0.0, side) for side in size))))
    return own @ pose[:3, :3].T + pose[:3, 3]


def gap_in_box(found: SpaceFit, size: Size, room: Size) -> float:
    """A box's smallest distance to an upright box's sides and top, by its corners alone."""
    there = corners(size, found.pose)
    assert there[:, 2].min() >= -1e-6
    return float(min(there[:, :2].min(), (np.array(room) - there.max(axis=0)).min()))


def test_a_tilted_room_is_found_by_its_walls() -> None:
    """2.0 mm all round at 30 and 25 degrees: turned back, the corners lie 2.0 within the walls."""
    found = fit_in_space({"": box_body(BOX)}, tilted_room(BOX, 2.0))
    assert found.smallest_gap_mm == pytest.approx(2.0, abs=0.01)
    back = corners(BOX, found.pose) @ TILT
    assert back.min(axis=0) == pytest.approx((0.0, 0.0, 0.0), abs=0.02)
    assert back.max(axis=0) == pytest.approx(BOX, abs=0.02)
    assert np.linalg.det(found.pose[:3, :3]) == pytest.approx(1.0)
    assert found.best.words == (
        "upright, leads towards +x, then turned 30.00 degrees about x, then 25.00 degrees about z"
    )


def test_a_rod_lies_in_a_cube_by_its_diagonal() -> None:
    """122 long where the diagonal of a side is 113."""
    found = fit_in_space({"": box_body(ROD)}, box_space(CUBE))
    gap = gap_in_box(found, ROD, CUBE)
    assert gap == pytest.approx(found.smallest_gap_mm, abs=2e-3)
    assert ROD_GAP_MM - 0.02 < gap < ROD_GAP_MM + 1e-3


@pytest.mark.slow
def test_a_plate_longer_than_its_bay_is_tilted() -> None:
    """90 long in 84, standing aslant in the bay's height; upright, it is not tilted."""
    found = fit_in_space({"": box_body(PLATE)}, box_space(BAY))
    gap = gap_in_box(found, PLATE, BAY)
    assert gap == pytest.approx(found.smallest_gap_mm, abs=2e-3)
    assert PLATE_GAP_MM - 0.02 < gap < PLATE_GAP_MM + 1e-3
    assert found.searched.tilted is not None and found.searched.tilted.refined > 0
    upright = fit_in_space({"": box_body(PLATE)}, box_space(BAY), upright=True)
    assert not upright.best.fits and upright.searched.tilted is None
    assert upright.pose[2, 2] == pytest.approx(1.0, abs=1e-12)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("size", "room"), [(ROD, box_space(CUBE)), (PLATE, box_space(BAY)), (BOX, tilted_room(BOX, 2))]
)
def test_without_turns_about_any_axis_they_do_not_fit(size: Size, room: Space) -> None:
    """Those are what makes the difference."""
    assert not fit_in_space({"": box_body(size)}, room, tilted=False).best.fits


@pytest.mark.slow
@pytest.mark.parametrize(
    ("size", "room", "known"), [(ROD, CUBE, ROD_GAP_MM), (PLATE, BAY, PLATE_GAP_MM)]
)
def test_the_known_gaps_are_the_best(size: Size, room: Size, known: float) -> None:
    """A box's gap in a box follows from its turn alone: maximised from many turns."""

    def lost(vector: NDArray[np.float64]) -> float:
        x, y, z = np.abs(Rotation.from_rotvec(vector).as_matrix()) @ size
        return -float(min((room[0] - x) / 2, (room[1] - y) / 2, room[2] - z))

    best = np.inf
    for start in Rotation.random(60, random_state=4).as_rotvec():
        for _ in range(3):  # begun anew where the simplex has become flat
            simplex = np.vstack([start, start + 0.2 * np.eye(3)])
            options = {"xatol": 1e-8, "fatol": 1e-9, "initial_simplex": simplex}
            answer = minimize(lost, start, method="Nelder-Mead", options=options)
            start, best = answer.x, min(best, answer.fun)
    assert -best == pytest.approx(known, abs=1e-4)


@pytest.mark.slow
def test_an_l_in_a_tilted_l() -> None:
    """A concave space: no box of the L's size fits it at all."""
    room = turned(prism_solid(replace(l_prism(), height_mm=34.0), name="room"), TILT)
    assert fit_in_space({"": l_body()}, room).smallest_gap_mm == pytest.approx(2.0, abs=0.02)
    assert not fit_in_space({"": box_body((100, 60, 30))}, room).best.fits


@pytest.mark.slow
def test_a_box_in_a_tilted_tube() -> None:
    """No flat wall to lie along but the ends: 2.0 mm round its corners and at both ends."""
    radius = math.hypot(15.0, 15.0) + 2.0
    piece = bar((0, 0, 0), (0, 0, 84.0), radius)
    room = turned(Solid(name="tube", vertices_mm=piece.vertices_mm, faces=piece.faces), TILT)
    found = fit_in_space({"": box_body((80, 30, 30))}, room)
    assert found.smallest_gap_mm == pytest.approx(2.0, abs=0.1)
    back = corners((80, 30, 30), found.pose) @ TILT
    a, b, c = (piece.vertices_mm[piece.faces[:, k]] for k in range(3))
    outward = np.cross(b - a, c - a)
    outward /= np.linalg.norm(outward, axis=1)[:, None]
    off = np.einsum("fi,fi->f", outward, a) - back @ outward.T
    assert off.min() == pytest.approx(found.smallest_gap_mm, abs=0.01)


@pytest.mark.slow
def test_between_plates_a_rod_lies_by_the_diagonal() -> None:
    """Six plates round a cube of 80, no free space given: turned about one axis a rod of 112 x 10
    needs a square of 86. About any axis 2.577 is the best, by the closed form as above."""
    plates = [
        block(tuple(low), tuple(high))
        for axis in range(3)
        for low, high in (
            (np.full(3, -20.0), np.where(np.arange(3) == axis, 0.0, 100.0)),
            (np.where(np.arange(3) == axis, 80.0, -20.0), np.full(3, 100.0)),
        )
    ]
    cage = Space(room=None, keep_out=tuple(solid(f"plate {k}", p) for k, p in enumerate(plates)))
    size = (112.0, 10.0, 10.0)
    found = fit_in_space({"": box_body(size)}, cage)
    there = corners(size, found.pose)
    gap = float(min(there.min(), (80.0 - there).min()))
    assert gap == pytest.approx(found.smallest_gap_mm, abs=2e-3)
    assert 2.55 < gap < 2.577
    assert found.searched.tilted is not None and found.searched.tilted.by_width == 0


@pytest.mark.slow
def test_with_room_to_spare_nothing_more_is_searched() -> None:
    """A free space without a floor, 6 mm larger all round."""
    piece = block((0, 0, 0), (92, 62, 42))
    room = Space(room=Solid(name="room", vertices_mm=piece.vertices_mm, faces=piece.faces))
    found = fit_in_space({"": box_body(BOX)}, room)
    assert found.smallest_gap_mm == pytest.approx(6.0, abs=1e-2)
    assert found.searched.tilted is None and straight(found.pose[:3, :3])


def test_what_fits_on_a_floor_is_not_tilted() -> None:
    """90 x 38 x 6 in 40 x 91 x 60: 0.5 mm at its ends, which tilting would make more."""
    found = fit_in_space({"": box_body(PLATE)}, box_space((40.0, 91.0, 60.0)))
    assert found.smallest_gap_mm == pytest.approx(0.5, abs=1e-2)
    assert found.searched.stands and straight(found.pose[:3, :3])


def test_what_was_searched_is_said() -> None:
    """In numbers, and that it is no proof."""
    searched = Searched(right_angled=24, about_one_axis=120, axes="z", tilted=None, stands=True)
    assert searched.words == (
        "turns searched: 24 at right angles, 120 about z (along walls, and every 15 degrees); "
        "none about other axes, as the pack fits on the floor. "
        "A pose between these may have been missed"
    )
    inside = TiltedSearch(found=(), by_width=624, in_voxels=27, refined=8)
    assert (
        "; 624 about other axes, 27 of them at every place, the best 8 refined about any axis. "
        in replace(searched, tilted=inside, stands=False).words
    )
    outside = TiltedSearch(found=(), by_width=0, in_voxels=160, refined=8)
    told = replace(searched, axes="xyz", tilted=outside, stands=False).words
    assert "about x or y or z" in told
    assert "; 160 about other axes, at every place, the best 8 refined" in told


def test_small_steps_turn_about_any_axis() -> None:
    """Begun 4 degrees off about three axes at once: about one axis alone it stays an overlap."""
    room = tilted_room(BOX, 1.0)
    climber = Climber({"": box_body(BOX)}, obstacles_of(room), None)
    off = Rotation.from_rotvec(np.radians((4.0, -4.0, 4.0))).as_matrix()
    pose = np.eye(4)
    pose[:3, :3] = off @ TILT
    middle = np.array(BOX) / 2
    pose[:3, 3] = TILT @ middle - pose[:3, :3] @ middle
    assert climber.roughly(pose, "", axes=(2,), step_mm=5.0).gap_mm < 0.0
    assert climber.roughly(pose, "", axes=(0, 1, 2), step_mm=5.0).gap_mm == pytest.approx(
        1.0, abs=0.03
    )


def test_turns_of_all_kinds_are_evenly_spread() -> None:
    """Proper turns, none farther than 26 degrees from the nearest of 600."""
    turns = all_turns(600)
    assert np.linalg.det(turns) == pytest.approx(1.0)
    any_turns = Rotation.random(5000, random_state=1).as_matrix()
    assert degrees_apart(any_turns, turns).min(axis=1).max() < 26.0
    apart = degrees_apart(turns, turns) + 180.0 * np.eye(len(turns))
    assert apart.min() > 8.0


def test_no_gap_is_larger_than_the_widths_promise() -> None:
    """Random poses in a hull and in a triangle on a floor; in a box the promise is reached."""
    triangle = Space(room=Prism(outline_mm=((0, 0), (260, 0), (90, 220)), height_mm=120.0))
    size = (50.0, 30.0, 20.0)
    body = box_body(size)
    rng = np.random.default_rng(2)
    fitting = 0
    for room in (Space(room=hull_room(16, 6)), triangle):
        obstacles = obstacles_of(room)
        widths, low = Widths.of(obstacles), np.array(room.low_mm)
        for turn in Rotation.random(4, random_state=rng).as_matrix():
            pose = np.eye(4)
            pose[:3, :3] = turn
            at = low + np.array(room.box_mm) * rng.uniform(0.45, 0.55, 3)
            pose[:3, 3] = at - turn @ (np.array(size) / 2)
            gap = exact_gap(body, obstacles, pose).gap_mm
            fitting += gap > 0.0
            assert gap <= widths.promise_mm(body.hull, turn[None])[0] + 1e-6
    assert fitting > 4
    widths = Widths.of(obstacles_of(tilted_room(BOX, 2.0)))
    assert widths.promise_mm(box_body(BOX).hull, TILT[None])[0] == pytest.approx(2.0)


def test_faces_give_frames() -> None:
    """A tilted box has one frame, its own; a wedge one more for each slanting edge."""
    room = tilted_room(BOX, 2.0).room
    assert isinstance(room, Solid)
    a, b, c = (room.vertices_mm[room.faces[:, k]] for k in range(3))
    cross = np.cross(b - a, c - a)
    area = np.linalg.norm(cross, axis=1) / 2
    normals = main_normals(cross / (2 * area[:, None]), area, most=6, share=0.03)
    assert len(normals) == 3
    found = frames(normals, most=8)
    assert len(found) == 1
    assert np.abs(found[0].T @ TILT).max(axis=0) == pytest.approx((1.0, 1.0, 1.0))
    slanting = np.array([(0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (0.0, math.sqrt(0.5), math.sqrt(0.5))])
    assert len(frames(slanting, most=8)) == 2  # all have the same edge


@pytest.mark.parametrize("number", sampled(range(12), lambda number: number < 4))
def test_a_turn_can_be_made_from_its_words(number: int) -> None:
    """Right-angle stand, then about x, y and z in that order."""
    turn = Rotation.random(12, random_state=3).as_matrix()[number]
    words = turn_words(turn)
    ways = {f"{sign}{axis}": s * np.eye(3)[k] for k, axis in enumerate("xyz")
            for sign, s in (("+", 1.0), ("-", -1.0))}  # fmt: skip
    up = {"upright": "+z", "upside down": "-z"}.get(words.split(",")[0]) or words.split(
        "lid towards "
    )[1][:2]
    lead = words.split("leads towards ")[1][:2]
    made = np.column_stack([ways[lead], np.cross(ways[up], ways[lead]), ways[up]])
    for angle, axis in re.findall(r"(-?[\d.]+) degrees about ([xyz])", words):
        made = about("xyz".index(axis), float(angle)) @ made
    assert degrees_apart(made[None], turn[None])[0, 0] < 0.05
