"""A pack in a box-shaped space."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from layouts.fitting.box_fit import fit_in_box, space_check
from layouts.pack import Side
from layouts.spaces.space import box_space


def corners(a: float, b: float, c: float) -> np.ndarray:
    """The eight corners of a box about the origin."""
    return np.array(list(itertools.product((-a / 2, a / 2), (-b / 2, b / 2), (-c / 2, c / 2))))


def test_gap_is_half_of_what_is_left_over() -> None:
    """A centred box leaves the same room on both sides; the top has its own."""
    fit = fit_in_box(corners(100, 60, 40), box_space((110, 80, 47)), Side.PLUS_X)
    assert fit.smallest_gap_mm == pytest.approx(5.0)
    assert fit.tightest_direction == "-x"
    assert space_check(fit, box_space((110, 80, 47))).holds


@pytest.mark.parametrize("side", list(Side))
def test_leads_point_to_the_asked_side(side: Side) -> None:
    """The pose turns the pack's +x to the side that was required, without mirroring."""
    fit = fit_in_box(corners(10, 10, 10), box_space((20, 20, 20)), side)
    way = {Side.PLUS_X: (1, 0), Side.MINUS_X: (-1, 0), Side.PLUS_Y: (0, 1), Side.MINUS_Y: (0, -1)}
    assert tuple(fit.pose[:2, 0]) == way[side]
    assert np.linalg.det(fit.pose[:3, :3]) == pytest.approx(1.0)


def test_too_long_fails_and_names_the_side_that_would_fit() -> None:
    """A pack that fits only when turned says so."""
    space = box_space((70, 110, 50))
    fit = fit_in_box(corners(100, 60, 40), space, Side.PLUS_X)
    check = space_check(fit, space)
    assert not check.holds
    assert check.value == pytest.approx(-15.0)
    assert fit.other_side in (Side.PLUS_Y, Side.MINUS_Y)
    assert "would fit" in check.remedy


def test_too_high_says_by_how_much() -> None:
    """The floor carries the pack; the lid sticks out by the whole difference."""
    space = box_space((200, 200, 33))
    check = space_check(fit_in_box(corners(100, 60, 40), space, Side.PLUS_X), space)
    assert not check.holds
    assert "7.0 mm more along z of the space" in check.remedy


def test_too_large_says_by_how_much_along_each_direction() -> None:
    """Too long by 5 and too wide by 12 mm: both are told, the height that fits is not."""
    space = box_space((95, 48, 60))
    check = space_check(fit_in_box(corners(100, 60, 40), space, Side.PLUS_X), space)
    assert check.remedy == (
        "5.0 mm more along x and 12.0 mm more along y of the space: the pack is 100.0 x 60.0 x "
        "40.0 mm as placed"
    )
