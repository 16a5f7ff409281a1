"""The depth map: which facet is nearest in each pixel, and how far before a point it lies."""

from __future__ import annotations

import numpy as np
import pytest

from generators.drawings.depth import depth_map, steps


def triangle(*corners: tuple[float, float, float]) -> np.ndarray:
    """One facet (1, 3, 3)."""
    return np.array([corners], float)


def test_a_pixel_belongs_to_the_facet_that_covers_its_middle() -> None:
    """A right triangle of legs 4 covers the pixels whose middles lie within it."""
    seen = depth_map(triangle((0, 0, 1), (4, 0, 1), (0, 4, 1)), wide=5, tall=5)
    covered = seen.facet.reshape(5, 5) >= 0
    y, x = np.mgrid[0:5, 0:5] + 0.5
    assert np.array_equal(covered, x + y < 4)
    assert np.isneginf(seen.depth[~covered.ravel()]).all()


def test_the_nearer_facet_wins_in_any_order() -> None:
    """Depth decides, not the order of the facets."""
    near = triangle((0, 0, 5), (4, 0, 5), (0, 4, 5))
    far = triangle((0, 0, 1), (9, 0, 1), (0, 9, 1))
    for facets, number in ((np.vstack([near, far]), 0), (np.vstack([far, near]), 1)):
        seen = depth_map(facets, wide=8, tall=8)
        assert seen.facet[0] == number and seen.depth[0] == pytest.approx(5.0)
        assert seen.facet[6] == 1 - number


def test_a_slope_is_met_at_the_point_itself() -> None:
    """A point on a steep facet is not behind it, wherever in its pixel it lies."""
    steep = triangle((0, 0, 0), (9, 0, 90), (0, 9, 0))
    seen = depth_map(steep, wide=9, tall=9)
    at = np.array([[1.1, 1.5, 11.0], [1.9, 1.5, 19.0], [1.5, 1.5, 12.0]])
    ahead = seen.ahead(at)
    assert ahead[:2] == pytest.approx([0.0, -4.0])  # towards the rise the pixel's middle counts
    assert ahead[2] == pytest.approx(3.0)


def test_where_nothing_is_nothing_lies_before_a_point() -> None:
    """Outside all facets a point is free; without facets as well."""
    seen = depth_map(triangle((0, 0, 1), (2, 0, 1), (0, 2, 1)), wide=6, tall=6)
    assert np.isneginf(seen.ahead(np.array([[5.0, 5.0, -100.0]]))).all()
    none = depth_map(np.zeros((0, 3, 3)), wide=3, tall=3)
    assert np.isneginf(none.ahead(np.array([[1.0, 1.0, 0.0]]))).all()


def test_many_facets_in_lots_give_the_same_map_as_few() -> None:
    """Lots are for memory only: two halves of a large square meet without gap."""
    facets = np.vstack(
        [
            triangle((0, 0, 1), (1500, 0, 1), (1500, 1500, 1)),
            triangle((0, 0, 1), (1500, 1500, 1), (0, 1500, 1)),
        ]
    )
    seen = depth_map(facets, wide=1500, tall=1500)
    assert (seen.facet >= 0).all()


def test_steps_number_the_parts_of_each_owner() -> None:
    """Counts 2, 0, 3 give owners 0 0 2 2 2 and steps 0 1 0 1 2."""
    owner, step = steps(np.array([2, 0, 3]))
    assert owner.tolist() == [0, 0, 2, 2, 2]
    assert step.tolist() == [0, 1, 0, 1, 2]
