"""The fit in a space against solids: the same verdict at random poses, and checks that fail."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from generators.proofs.in_space import (
    OVERLAP_MM3,
    body_solid,
    in_space_checks,
    overlaps,
    proven_gap_mm,
)
from layouts.fitting.body import PackBody
from layouts.fitting.gap import TOLERANCE_MM, exact_gap
from layouts.fitting.obstacles import obstacles_of
from layouts.parts.convex import block
from layouts.spaces.space import Space, box_space
from tests.layouts.fitting.rooms import box_body, hull_room, l_body, l_prism, sledge, solid

MOST_MM = 500.0


def compare(
    body: PackBody, space: Space, count: int, spread_mm: float, seed: int
) -> tuple[int, int]:
    """Both verdicts at random poses must agree, and the gaps where it fits: (fits, collides)."""
    rng = np.random.default_rng(seed)
    obstacles = obstacles_of(space)
    middle = np.array(space.low_mm) + np.array(space.box_mm) / 2
    fits = 0
    for _ in range(count):
        pose = np.eye(4)
        pose[:3, :3] = Rotation.random(random_state=rng).as_matrix()
        shift = rng.uniform(-spread_mm, spread_mm, 3)
        pose[:3, 3] = middle + shift - pose[:3, :3] @ body.middle_mm
        found = exact_gap(body, obstacles, pose)
        pack = body_solid(body, pose)
        clash = overlaps(pack, space).worst_mm3 > OVERLAP_MM3
        assert (found.gap_mm < 0.0) == clash, (pose.tolist(), found.gap_mm)
        if not clash:
            fits += 1
            proven = proven_gap_mm(pack, space, most_mm=MOST_MM)
            if not any(one.floor for one in obstacles):
                assert found.gap_mm == pytest.approx(proven, abs=TOLERANCE_MM)
    return fits, count - fits


def cases() -> list[tuple[str, PackBody, Space, float]]:
    """An L among a sledge's bars, in an L-shaped space, and in a hull with a spike."""
    spike = solid("spike", block((209, -1, -100), (210, 0, 100)))
    return [
        ("sledge", l_body(), sledge(), 160.0),
        ("L space", box_body((16, 10, 8)), Space(room=l_prism()), 30.0),
        ("hull", l_body(), Space(room=hull_room(40, 24), keep_out=(spike,)), 130.0),
    ]


@pytest.mark.parametrize("case", cases()[:2], ids=lambda case: case[0])
def test_same_verdict_as_solids_at_a_few_random_poses(
    case: tuple[str, PackBody, Space, float],
) -> None:
    """Fourteen poses in all; gaps agree to the stated tolerance, both verdicts come up."""
    _, body, space, spread = case
    fits, clashes = compare(body, space, 7, spread, seed=5)
    assert fits + clashes == 7


@pytest.mark.slow
@pytest.mark.parametrize("case", cases(), ids=lambda case: case[0])
def test_same_verdict_as_solids_at_many_random_poses(
    case: tuple[str, PackBody, Space, float],
) -> None:
    """Two hundred poses in all, enough of both verdicts."""
    _, body, space, spread = case
    fits, clashes = compare(body, space, 67, spread, seed=11)
    assert min(fits, clashes) >= 5


def at(x: float, y: float, z: float) -> np.ndarray:
    """A pose without a turn."""
    pose = np.eye(4)
    pose[:3, 3] = x, y, z
    return pose


def test_all_checks_hold_where_it_fits() -> None:
    """A box 0.05 off a wall, on the floor."""
    checks = in_space_checks(box_body((20, 30, 40)), box_space((60, 60, 60)), at(0.05, 9, 0), 0.05)
    assert [check.id for check in checks] == ["space", "space_overlap", "space_gap_proven"]
    assert all(check.holds for check in checks)


def test_touching_is_no_overlap() -> None:
    """Flush with wall and floor: gap 0, all holds."""
    checks = in_space_checks(box_body((20, 30, 40)), box_space((60, 60, 60)), at(0, 9, 0), 0.0)
    assert all(check.holds for check in checks)


def test_each_check_fails_when_it_should() -> None:
    """Sticking out, a bolt head within the pack, and a gap reported wrongly."""
    body, space = box_body((20, 30, 40)), box_space((60, 60, 60))
    held = {c.id: c for c in in_space_checks(body, space, at(-0.5, 9, 0), -0.5)}
    assert not held["space"].holds and held["space"].remedy
    assert held["space_overlap"].value == pytest.approx(0.5 * 30 * 40)
    assert held["space_overlap"].where == "outside of the space"
    bolt = solid("bolt head", block((10, 10, 10), (12, 12, 12)))
    inside = Space(room=space.room, keep_out=(bolt,))
    held = {c.id: c for c in in_space_checks(body, inside, at(5, 5, 0), -5.0)}
    assert held["space_overlap"].value == pytest.approx(8.0)
    assert held["space_overlap"].where == "'bolt head'" and not held["space_overlap"].holds
    held = {c.id: c for c in in_space_checks(body, space, at(3, 9, 0), 3.5)}
    assert not held["space_gap_proven"].holds
