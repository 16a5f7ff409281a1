"""Edges worth drawing, and their runs."""

from __future__ import annotations

import numpy as np

from generators.drawings.edges import chained, drawn_edges
from tests.generators.drawings.shapes import box, cylinder


def corners_of(run: list[int], edges: np.ndarray) -> list[int]:
    """Vertices that a run passes."""
    steps = [edges[~e][::-1] if e < 0 else edges[e] for e in run]
    for one, after in zip(steps, steps[1:], strict=False):
        assert one[1] == after[0]
    return [int(steps[0][0]), *(int(step[1]) for step in steps)]


def test_runs_hold_every_edge_once_and_hang_together() -> None:
    """A square with one diagonal: five edges, in runs that go from end to end."""
    edges = np.array([[0, 1], [2, 1], [2, 3], [0, 3], [0, 2]])
    runs = chained(edges)
    numbers = sorted(~e if e < 0 else e for run in runs for e in run)
    assert numbers == [0, 1, 2, 3, 4]
    assert all(len(corners_of(run, edges)) == len(run) + 1 for run in runs)


def test_a_closed_ring_is_one_run() -> None:
    """A ring has no loose end and still comes whole, back to where it began."""
    edges = np.array([[0, 1], [1, 2], [3, 2], [3, 0]])
    (run,) = chained(edges)
    corners = corners_of(run, edges)
    assert len(run) == 4 and corners[0] == corners[-1]


def test_an_open_line_is_one_run() -> None:
    """A line of edges in any order and way round is run from one end to the other."""
    edges = np.array([[5, 4], [1, 2], [2, 3], [4, 3]])
    (run,) = chained(edges)
    assert corners_of(run, edges) in ([1, 2, 3, 4, 5], [5, 4, 3, 2, 1])


def test_no_edges_make_no_runs() -> None:
    """Nothing in, nothing out."""
    assert chained(np.zeros((0, 2), np.int64)) == []


def test_edges_that_face_away_are_left_out() -> None:
    """Of a cube's 12 edges 9 have a side towards a corner view; 6 of them are outlines."""
    vertices, faces = box((0, 0, 0), (1, 1, 1))
    drawn = drawn_edges(vertices, faces, np.array([1.0, -1.0, 1.0]) / np.sqrt(3))
    assert len(drawn.ends) == 9
    outline = (drawn.outward != 0).any(axis=1)
    assert outline.sum() == 6
    middle = vertices[drawn.ends[outline]].mean(axis=1) - 0.5
    assert (np.einsum("ij,ij->i", middle, drawn.outward[outline]) > 0).all()


def test_facets_of_a_round_meet_without_an_edge() -> None:
    """Only a cylinder's two rims are sharp, and two upright lines are its outline."""
    vertices, faces = cylinder(5, 7)
    drawn = drawn_edges(vertices, faces, np.array([0.0, -1.0, 0.0]))
    upright = np.ptp(vertices[drawn.ends][:, :, 2], axis=1) > 1
    assert upright.sum() == 2
    assert np.abs(vertices[drawn.ends[upright]][:, :, 0]).max() > 4.9
