"""Places that a pack file asks for: turns against a reference library, the box's least corner."""

from __future__ import annotations

import itertools

import numpy as np
from scipy.spatial.transform import Rotation

from layouts.place_spec import PackPlace, RoomWish


def test_turns_are_those_about_fixed_axes() -> None:
    """All 64, against scipy's rotations about the fixed axes x, y, z in that order."""
    for turns in itertools.product((-90, 0, 90, 180), repeat=3):
        made = np.array(PackPlace(turns_deg=turns).turn)
        assert np.allclose(made, Rotation.from_euler("xyz", turns, degrees=True).as_matrix())
        assert round(float(np.linalg.det(made))) == 1
        assert PackPlace(turns_deg=turns).is_upright == (made[2, 2] > 0.5)


def test_the_least_corner_lies_where_it_is_asked_for() -> None:
    """A box turned in every way, then moved: its corners' least values are ``at_mm``."""
    low, high = (-3.0, -20.0, -8.0), (70.0, 11.0, 72.5)
    corners = np.array(list(itertools.product(*zip(low, high, strict=True))))
    for turns in itertools.product((0, 90, 180, 270), repeat=3):
        place = PackPlace(turns_deg=turns, at_mm=(4.0, -5.0, 6.5))
        there = corners @ np.array(place.turn).T + place.shift_mm(low, high)
        assert np.allclose(there.min(axis=0), (4.0, -5.0, 6.5))


def test_sizes_go_with_their_axes_and_back() -> None:
    """As the box of a body that is turned with the pack: its sides swap, none is lost."""
    for turns in itertools.product((0, 90, 180, 270), repeat=3):
        place = PackPlace(turns_deg=turns)
        own = place.along_pack((2.0, 3.0, 9.0))
        assert np.allclose(np.abs(np.array(place.turn) @ own), (2.0, 3.0, 9.0))
        assert place.along_space(own) == (2.0, 3.0, 9.0)


def test_a_wish_says_where() -> None:
    """In the words of messages."""
    assert RoomWish(side="+y").words == "at +y of the cells"
    area = RoomWish(area_mm=(0.0, 10.0, 90.5, 60.0)).words
    assert area == "within x 0 to 90.5, y 10 to 60 of the space"
