"""Distances between triangles, against brute force and plain geometry."""

from __future__ import annotations

import numpy as np
import pytest

from layouts.fitting.patches import patched, small_triangles
from layouts.fitting.triangles import crossing_depth, nearest_on_triangles, triangle_gaps, winding
from layouts.parts.convex import bar, block


def area_mm2(corners: np.ndarray) -> float:
    """Area of all triangles."""
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return float(np.linalg.norm(cross, axis=1).sum() / 2)


def test_nearest_points_are_no_farther_than_any_sampled_one() -> None:
    """Random points and triangles: no barycentric sample is nearer, and the point lies on it."""
    rng = np.random.default_rng(1)
    points, corners = rng.normal(size=(200, 3)) * 3, rng.normal(size=(200, 3, 3))
    found = nearest_on_triangles(points, corners)
    distance = np.linalg.norm(points - found, axis=1)
    share = rng.dirichlet((0.4, 0.4, 0.4), size=3000)
    sampled = np.einsum("sk,nki->nsi", share, corners)
    least = np.linalg.norm(sampled - points[:, None], axis=2).min(axis=1)
    assert (distance <= least + 1e-12).all()
    assert (least - distance).max() < 0.2
    assert np.linalg.norm(found - nearest_on_triangles(found, corners), axis=1).max() < 1e-9


def test_gaps_of_triangles_are_the_least_of_dense_samples() -> None:
    """Random pairs: the gap is below every sampled distance, and not far below the least."""
    rng = np.random.default_rng(2)
    first, second = rng.normal(size=(150, 3, 3)), rng.normal(size=(150, 3, 3)) + (1.5, 0, 0)
    one, two = triangle_gaps(first, second)
    gap = np.linalg.norm(one - two, axis=1)
    share = rng.dirichlet((0.4, 0.4, 0.4), size=400)
    a, b = (np.einsum("sk,nki->nsi", share, c) for c in (first, second))
    for k in range(150):
        least = np.linalg.norm(a[k][:, None] - b[k][None], axis=2).min()
        assert gap[k] <= least + 1e-12
        assert gap[k] >= least - 0.35


def test_crossing_triangles_have_no_gap_and_a_depth() -> None:
    """A triangle pierced by 0.3; one that only touches has no depth."""
    flat = np.array([[[0.0, 0, 0], [10, 0, 0], [0, 10, 0]]])
    upright = np.array([[[2.0, 2, -0.3], [2.5, 2, 5], [2, 2.5, 5]]])
    one, two = triangle_gaps(flat, upright)
    assert np.linalg.norm(one - two) == 0.0
    assert crossing_depth(flat, upright, 1e-3)[0] == pytest.approx(0.3)
    assert crossing_depth(flat, upright + (0, 0, 0.3), 1e-3)[0] == 0.0


def test_winding_is_one_inside_and_none_outside() -> None:
    """Points in and round a bar."""
    piece = bar((0, 0, 0), (0, 0, 10), 3.0)
    corners = piece.vertices_mm[piece.faces]
    found = winding(np.array([[0, 0, 5.0], [2.9, 0, 5], [3.2, 0, 5], [0, 0, 11]]), corners)
    assert found == pytest.approx([1, 1, 0, 0], abs=1e-9)


def test_small_triangles_keep_area_and_limit() -> None:
    """No side above the limit, and the same area, also for long thin ones."""
    rng = np.random.default_rng(3)
    corners = rng.normal(size=(20, 3, 3)) * 40
    corners[0] = [[0, 0, 0], [200, 0, 0], [200, 0.3, 0]]
    small, parent = small_triangles(corners, 5.0)
    sides = np.linalg.norm(np.roll(small, -1, axis=1) - small, axis=2)
    assert sides.max() <= 5.0
    assert area_mm2(small) == pytest.approx(area_mm2(corners))
    assert area_mm2(small[parent == 0]) == pytest.approx(30.0)


def test_flat_faces_cut_anew_keep_area_and_corners() -> None:
    """A bar's fan of thin triangles and a block's large faces: same area, same outermost points."""
    for piece in (bar((0, 0, 0), (60, 0, 0), 30.0), block((0, 0, 0), (90, 70, 5))):
        corners = piece.vertices_mm[piece.faces]
        cut = patched(corners, 4.0)
        assert area_mm2(cut) == pytest.approx(area_mm2(corners))
        ours = {tuple(p) for p in np.round(cut.reshape(-1, 3), 6).tolist()}
        assert {tuple(p) for p in np.round(piece.vertices_mm, 6).tolist()} <= ours
        normal = np.cross(cut[:, 1] - cut[:, 0], cut[:, 2] - cut[:, 0])
        outwards = np.einsum("ij,ij->i", normal, cut[:, 0] - piece.vertices_mm.mean(axis=0))
        assert (outwards > 0).all()
