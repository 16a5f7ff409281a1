"""The smallest gap at a pose: known cases, and the cases in which it must be negative."""

from __future__ import annotations

import numpy as np
import pytest

from layouts.fitting.body import make_body
from layouts.fitting.gap import TOLERANCE_MM, exact_gap
from layouts.fitting.obstacles import obstacles_of
from layouts.fitting.turns import about
from layouts.parts.clearance import Clearance
from layouts.parts.convex import block
from layouts.spaces.space import Space, box_space
from tests.layouts.fitting.rooms import box_body, hull_room, l_body, l_prism, solid


def at(x: float, y: float, z: float) -> np.ndarray:
    """A pose without a turn."""
    pose = np.eye(4)
    pose[:3, 3] = x, y, z
    return pose


@pytest.mark.parametrize(
    ("shift", "gap"),
    [
        ((1, 2, 3), 1.0),
        ((0.05, 2, 3), 0.05),
        ((0, 2, 3), 0.0),
        ((20, 15, 0), 15.0),  # the floor carries
        ((-0.05, 2, 3), -0.05),
        ((5, 5, 20.05), -0.05),
        ((5, 5, -0.2), -0.2),
    ],
)
def test_a_box_in_a_box(shift: tuple[float, float, float], gap: float) -> None:
    """A box of 20 x 30 x 40 in one of 60: the gap is plain arithmetic, touching is 0."""
    found = exact_gap(box_body((20, 30, 40)), obstacles_of(box_space((60, 60, 60))), at(*shift))
    assert found.gap_mm == pytest.approx(gap, abs=TOLERANCE_MM)


def test_the_tightest_spot_lies_on_both() -> None:
    """A box 0.05 off a wall: the spot is on the box, the other point on that wall."""
    found = exact_gap(box_body((20, 30, 40)), obstacles_of(box_space((60, 60, 60))), at(0.05, 9, 9))
    assert found.at_mm[0] == pytest.approx(0.05)
    assert found.other_mm[0] == pytest.approx(0.0)
    assert np.linalg.norm(found.at_mm - found.other_mm) == pytest.approx(found.gap_mm)


def test_a_turned_box_touches_by_its_corner() -> None:
    """A square of 20 turned by 45 degrees is half its diagonal from its middle to its corner."""
    pose = np.eye(4)
    pose[:3, :3] = about(2, 45.0)
    pose[:3, 3] = 30.0, 30.0 - 10.0 * np.sqrt(2.0), 5.0  # its middle in the free space's middle
    found = exact_gap(box_body((20, 20, 20)), obstacles_of(box_space((60, 60, 60))), pose)
    assert found.gap_mm == pytest.approx(30.0 - 10.0 * np.sqrt(2.0), abs=TOLERANCE_MM)


def test_far_outside_of_the_room_does_not_fit() -> None:
    """Nothing crosses, and yet the gap is negative."""
    found = exact_gap(box_body((20, 30, 40)), obstacles_of(box_space((60, 60, 60))), at(100, 0, 0))
    assert found.gap_mm < -1.0


def test_a_thing_wholly_within_the_body_is_found() -> None:
    """A small block inside the body, no surfaces crossing: containment."""
    inner = block((20, 20, 10), (22, 22, 12))
    space = Space(room=box_space((60, 60, 60)).room, keep_out=(solid("bolt head", inner),))
    found = exact_gap(box_body((30, 30, 30)), obstacles_of(space), at(5, 5, 0))
    assert found.gap_mm < -5.0


def test_a_thin_spike_through_the_body_is_found() -> None:
    """A spike 0.2 thick through faces far from all corners: sampled corners alone miss it."""
    spike = block((17.31, 14.17, -5), (17.51, 14.37, 70))
    space = Space(room=box_space((60, 60, 60)).room, keep_out=(solid("spike", spike),))
    obstacles = obstacles_of(space)
    assert exact_gap(box_body((30, 30, 30)), obstacles, at(5, 5, 3)).gap_mm < -5.0
    beside = exact_gap(box_body((30, 30, 30)), obstacles, at(17.56, 5, 3))
    assert beside.gap_mm == pytest.approx(0.05, abs=TOLERANCE_MM)


def test_what_fills_the_body_counts_as_body() -> None:
    """A pack is hollow; a spike through a hole into its inside collides all the same."""
    from layouts.planning.clearances import ClearanceKind

    plates = [("floor", block((0, 0, 0), (40, 18, 2))), ("floor", block((0, 22, 0), (40, 40, 2)))]
    parts = [(name, piece.vertices_mm, piece.faces) for name, piece in plates]
    spike = block((20, 19.5, -5), (20.5, 20.5, 12))
    obstacles = obstacles_of(Space(room=None, keep_out=(solid("spike", spike),)))
    open_body = make_body(parts, [])
    assert exact_gap(open_body, obstacles, np.eye(4)).gap_mm == pytest.approx(1.5, abs=1e-3)
    inside = Clearance(
        name="inside", kind=ClearanceKind.INSIDE, pieces=(block((0, 0, 2), (40, 40, 20)),)
    )
    assert exact_gap(make_body(parts, [inside]), obstacles, np.eye(4)).gap_mm < 0


def test_the_true_outline_counts_not_the_box() -> None:
    """An L in an L-shaped space 2 mm wider: its box overlaps the corner, the L does not."""
    obstacles = obstacles_of(Space(room=l_prism()))
    assert exact_gap(l_body(), obstacles, at(2, 2, 0)).gap_mm == pytest.approx(2.0, abs=1e-3)
    assert exact_gap(box_body((100, 60, 30)), obstacles, at(2, 2, 0)).gap_mm < -5.0


@pytest.mark.slow
def test_gaps_do_not_depend_on_how_finely_a_mesh_is_cut() -> None:
    """The same prismatic hull from 40 and from 80 sides gives gaps that agree to its shape."""
    gaps = []
    for around in (40, 80):
        room = Space(room=hull_room(around, 20))
        gaps.append(exact_gap(box_body((60, 60, 60)), obstacles_of(room), at(150, -30, -30)).gap_mm)
    assert gaps[0] == pytest.approx(gaps[1], abs=1.0)
