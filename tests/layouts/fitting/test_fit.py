"""The search for the best pose, in spaces whose answer is known."""

from __future__ import annotations

import numpy as np
import pytest

from layouts.fitting.fit import fit_in_space
from layouts.fitting.gap import exact_gap
from layouts.fitting.obstacles import obstacles_of
from layouts.fitting.shrink import shrinks
from layouts.fitting.turns import about, right_angles, turn_words
from layouts.fitting.verdict import verdict
from layouts.fitting.voxels import solid_voxels
from layouts.pack import Side
from layouts.parts.convex import block
from layouts.spaces.space import Prism, Space, box_space
from tests.layouts.fitting.rooms import box_body, l_body, l_prism, sledge, solid
from tests.sampled import sampled

BOX = (80.0, 50.0, 30.0)


@pytest.mark.parametrize("gap", sampled([0.0, 0.05, 2.0], lambda gap: gap == 0.05))
def test_tight_boxes(gap: float) -> None:
    """A box lying on its side in a space a known gap larger all round: that gap is found."""
    room = (50.0 + 2 * gap, 30.0 + 2 * gap, 80.0 + gap)  # the floor needs none
    found = fit_in_space({"": box_body(BOX)}, box_space(room))
    assert found.best.fits
    assert found.smallest_gap_mm == pytest.approx(gap, abs=2e-3)
    assert np.linalg.det(found.pose[:3, :3]) == pytest.approx(1.0)


@pytest.mark.slow
def test_a_box_too_large_by_a_hair_does_not_fit() -> None:
    """0.02 mm too long: no pose is found, the overlap is reported."""
    found = fit_in_space({"": box_body(BOX)}, box_space((79.98, 50.5, 40.0)))
    assert not found.best.fits
    assert found.smallest_gap_mm == pytest.approx(-0.01, abs=2e-3)


@pytest.mark.slow
def test_a_room_too_low_is_told_by_how_much() -> None:
    """5 mm too low for the box however it is turned: it stands on the floor, sticks out 5 above."""
    found = fit_in_space({"": box_body(BOX)}, box_space((200, 200, 25)))
    assert found.smallest_gap_mm == pytest.approx(-5.0, abs=1e-2)
    assert found.best.tightest.theirs == "the +z side of the space"
    assert found.searched.tilted is not None and found.searched.tilted.refined == 0
    assert " about other axes, in each of which it is too wide. " in found.searched.words


def test_the_pack_stands_on_the_floor_and_in_the_middle() -> None:
    """In a large box it stands down on the floor, upright, as central as its gaps allow."""
    found = fit_in_space({"": box_body(BOX)}, box_space((100, 60, 34)))
    assert found.smallest_gap_mm == pytest.approx(4.0, abs=1e-2)
    assert found.pose[2, 3] == pytest.approx(0.0, abs=1e-6)
    assert found.pose[:2, :2] == pytest.approx(np.eye(2))
    assert found.pose[1, 3] == pytest.approx(5.0, abs=0.3)
    assert found.pose[0, 3] == pytest.approx(10.0, abs=1.0)


@pytest.mark.slow
def test_an_l_goes_into_an_l() -> None:
    """A concave space: the L's true outline fits with 2 mm, its box fits no way round."""
    space = Space(room=l_prism())
    found = fit_in_space({"": l_body()}, space)
    assert found.smallest_gap_mm == pytest.approx(2.0, abs=0.02)
    assert not fit_in_space({"": box_body((100, 60, 30))}, space).best.fits


def test_a_slanting_room_is_found_by_turning() -> None:
    """A space at 27 degrees: no right angle fits, the turned box does, along its walls."""
    turn = about(2, 27.0)[:2, :2]
    corners = np.array([(0, 0), (86, 0), (86, 54), (0, 54)]) @ turn.T
    space = Space(room=Prism(outline_mm=tuple(map(tuple, corners.tolist())), height_mm=35.0))
    found = fit_in_space({"": box_body(BOX)}, space)
    assert found.smallest_gap_mm == pytest.approx(2.0, abs=0.02)
    assert "27.0" in found.best.words or "63.0" in found.best.words


def test_a_keep_out_moves_the_pack_aside() -> None:
    """A post in a corner of a large box: the pack keeps off it, and says what is nearest."""
    post = solid("post", block((0, 0, 0), (12, 60, 40)))
    space = Space(room=box_space((100, 58, 40)).room, keep_out=(post,))
    found = fit_in_space({"": box_body(BOX)}, space)
    assert found.smallest_gap_mm == pytest.approx(4.0, abs=0.02)
    assert found.pose[0, 3] >= 16.0 - 1e-6


def test_a_spike_in_the_middle_is_not_overlooked() -> None:
    """Points of the pack all lie clear of a thin spike in the space; the pack does not."""
    spike = solid("spike", block((45.0, 28.0, -1), (45.3, 28.3, 60)))
    space = Space(room=box_space((90, 56, 40)).room, keep_out=(spike,))
    found = fit_in_space({"": box_body(BOX)}, space)
    assert not found.best.fits
    assert found.best.tightest.theirs == "'spike'"


@pytest.mark.slow
def test_between_bars_the_pack_stays_in_the_frame() -> None:
    """Surroundings without a free space: the pack stands within the frame, not far off it."""
    found = fit_in_space({"": box_body((200, 150, 90))}, sledge())
    assert found.best.fits and found.smallest_gap_mm >= 5.0
    middle = found.pose[:3, :3] @ (100.0, 75.0, 45.0) + found.pose[:3, 3]
    assert (np.abs(middle - (150, 120, 25)) < (40, 40, 40)).all()


def test_the_way_in_and_what_stands_before_it() -> None:
    """Under a beam there is no way up; the free path and its open side are reported."""
    beam = solid("beam", block((0, 20, 36), (100, 40, 40)))
    space = Space(room=box_space((100, 60, 40)).room, keep_out=(beam,))
    told = verdict({"": box_body(BOX)}, {}, space)
    assert told.fit.best.fits
    up = next(one for one in told.travels if one.name == "+z")
    assert up.free_mm == pytest.approx(told.fit.smallest_gap_mm + 0.0, abs=3.0)
    assert up.theirs == "'beam'"
    assert told.way_in is not None and told.way_in.name in ("+x", "-x", "+y", "-y")
    assert told.way_in.through == f"the {told.way_in.name} side of the space"


@pytest.mark.slow
def test_a_pack_shut_in_has_no_way_in() -> None:
    """A cage of six plates around the place: every straight way is stopped, each is measured."""
    plates = [
        block((-10, -10, -4), (100, 70, -2)), block((-10, -10, 42), (100, 70, 44)),
        block((-10, -10, -4), (-8, 70, 44)), block((98, -10, -4), (100, 70, 44)),
        block((-10, -10, -4), (100, -8, 44)), block((-10, 68, -4), (100, 70, 44)),
    ]  # fmt: skip
    space = Space(
        room=None, keep_out=tuple(solid(f"plate {k}", p) for k, p in enumerate(plates, 1))
    )
    told = verdict({"": box_body(BOX)}, {}, space)
    assert told.fit.best.fits and told.way_in is None
    assert all(one.free_mm is not None and one.theirs for one in told.travels)


def test_a_thin_wire_across_the_way_is_not_jumped_over() -> None:
    """A wire 0.1 thick 200 above the pack stops it: ways are swept, not stepped."""
    from layouts.fitting.way_in import travel

    wire = solid("wire", block((-20, 25.0, 230.0), (120, 25.1, 230.1)))
    obstacles = obstacles_of(Space(room=None, keep_out=(wire,)))
    found = travel(box_body(BOX), obstacles, np.eye(4), np.array([0.0, 0.0, 1.0]))
    assert found.free_mm == pytest.approx(200.0)
    assert travel(box_body(BOX), obstacles, np.eye(4), np.array([1.0, 0, 0])).free_mm is None


@pytest.mark.slow
def test_by_how_much_to_shrink() -> None:
    """Too long by 6 and low enough otherwise: 6 mm less length lets it fit, and then it does."""
    space = box_space((74, 54, 34))
    body = box_body(BOX)
    found = fit_in_space({"": body}, space)
    first = shrinks(body, obstacles_of(space), found.pose)[0]
    axis_side = BOX[first.axis]
    assert first.less_mm == pytest.approx(6.0, abs=0.1)
    size = list(BOX)
    size[first.axis] = axis_side - 6.05
    assert fit_in_space({"": box_body((size[0], size[1], size[2]))}, space).best.fits


@pytest.mark.slow
def test_the_same_space_gives_the_same_pose_twice() -> None:
    """Bit for bit."""
    space = box_space((100, 60, 40))
    one, two = (fit_in_space({"": box_body(BOX)}, space) for _ in range(2))
    assert (one.pose == two.pose).all() and one.smallest_gap_mm == two.smallest_gap_mm


def test_a_space_of_nothing_is_refused() -> None:
    """Neither room nor bodies."""
    with pytest.raises(ValueError, match="free space or a body"):
        fit_in_space({"": box_body(BOX)}, Space(room=None))


def test_right_angles_are_24_turns_and_begin_with_the_wanted_one() -> None:
    """All different, all proper; upright ones first, the leads' side at the head."""
    turns = right_angles(Side.MINUS_Y)
    assert len({tuple(turn.ravel().tolist()) for turn in turns}) == 24
    assert all(np.linalg.det(turn) == pytest.approx(1.0) for turn in turns)
    assert turn_words(turns[0]) == "upright, leads towards -y"
    assert all(turn[2, 2] == 1.0 for turn in turns[:4])


def test_voxels_fill_what_is_inside() -> None:
    """A block's voxels have its volume, also where two solids overlap."""
    one, two = block((1, 1, 1), (7, 5, 4)), block((3, 1, 1), (9, 5, 4))
    corners = np.concatenate([p.vertices_mm[p.faces] for p in (one, two)])
    filled = solid_voxels(corners, np.zeros(3), 0.5, (20, 20, 20))
    assert filled.sum() * 0.125 == pytest.approx(8 * 4 * 3)


def test_gap_at_the_found_pose_is_the_one_told() -> None:
    """Measured once more at the pose."""
    space = box_space((100, 60, 40))
    body = box_body(BOX)
    found = fit_in_space({"": body}, space)
    again = exact_gap(body, obstacles_of(space), found.pose)
    assert found.smallest_gap_mm == pytest.approx(again.gap_mm, abs=1e-9)
