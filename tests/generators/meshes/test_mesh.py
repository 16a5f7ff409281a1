"""Meshes: chords, area-true points, shared edges, refusals."""

from __future__ import annotations

import itertools
import math
import subprocess
import sys

import numpy as np
import pytest

from generators.meshes.mesh import Mesh, mesh, zip_strip
from layouts.slabs.errors import SolidError
from layouts.slabs.profile import circle, rectangle
from layouts.slabs.slabs import Cone, Slab, build
from tests.generators.kernel.sound import assert_sound_mesh
from tests.layouts.slabs.plates import plate


def disc(radius=10.0, height=2.0):
    """A plain cylinder."""
    return build({"a": [circle((0, 0), radius)]}, [Slab(0, height, lambda m: m["a"])])


@pytest.mark.parametrize("chord_mm", [0.001, 0.01, 0.1, 1.0, 50.0])
def test_area_true_meshes_have_the_body_s_volume_at_any_chord(chord_mm):
    """The polygon has the circle's own area, however coarse."""
    assert_sound_mesh(mesh(disc(), chord_mm), 200 * math.pi)


def test_inscribed_meshes_have_the_polygon_s_volume():
    """Without area-true points: the prism over the inscribed n-gon, n/2 r^2 sin(2 pi/n)."""
    count = math.ceil(math.tau / (2 * math.acos(1 - 0.05 / 10)))
    expected = count / 2 * 100 * math.sin(math.tau / count) * 2
    assert_sound_mesh(mesh(disc(), 0.05, area_true=False), expected)


@pytest.mark.parametrize("area_true", [False, True])
def test_no_chord_stands_off_further_than_asked(area_true):
    """Inscribed: middles at most chord inside; area-true: points at most 2/3 chord outside."""
    chord_mm = 0.05
    made = mesh(disc(), chord_mm, area_true=area_true)
    ring = made.vertices_mm[made.vertices_mm[:, 2] == 0][:, :2]
    ring = ring[np.argsort(np.arctan2(ring[:, 1], ring[:, 0]))]
    radii = np.hypot(*ring.T)
    middles = np.hypot(*((ring + np.roll(ring, -1, axis=0)) / 2).T)
    out, inside = radii.max() - 10, 10 - middles.min()
    if area_true:
        assert 0 < out < chord_mm * 2 / 3 * 1.01
        assert 0 < inside < chord_mm * 1.01
    else:
        assert out < 1e-12
        assert 0 < inside <= chord_mm


@pytest.mark.parametrize("chord_mm", [0.005, 0.01, 0.05])
def test_plate_with_every_feature_is_watertight(chord_mm):
    """Channels, seats, bars, cones, posts: one body, a volume, accepted by the strict reader."""
    body = plate(3, 3)
    assert_sound_mesh(mesh(body, chord_mm), body.volume_mm3())


def test_inscribed_plate_is_watertight_and_near_the_body():
    """Holes end up too small by at most 2/3 chord x wall area: here within 1 %."""
    body = plate(2, 2)
    assert_sound_mesh(mesh(body, 0.02, area_true=False), body.volume_mm3(), rel=0.01)


def test_each_vertex_stands_once():
    """No two vertices at one place: nothing needs welding."""
    made = mesh(plate(2, 2), 0.02)
    assert len(np.unique(made.vertices_mm.round(7), axis=0)) == len(made.vertices_mm)
    assert len(np.unique(made.faces)) == len(made.vertices_mm)


def test_cone_rings_have_equal_counts_and_the_frustum_s_volume():
    """A cone between circles of very different size closes at a coarse chord."""
    body = build(
        {"a": [rectangle(-12, -12, 12, 12)], "h": [circle((0, 0), 1)]},
        [Slab(0, 3, lambda m: m["a"] & ~m["h"])],
        cones=[Cone((0, 0), 1, 11)],
        cone_slab=0,
    )
    assert_sound_mesh(mesh(body, 0.3), 576 * 3 - math.pi * (1 + 11 + 121))


def test_chords_too_coarse_for_a_narrow_web_are_refused():
    """Two holes 0.05 apart: fine at 0.01, crossed at 0.9 mm, which is reported."""
    body = build(
        {
            "a": [rectangle(-30, -15, 30, 15)],
            "h": [circle((-10.025, 0), 10), circle((10.025, 0), 10)],
        },
        [Slab(0, 1, lambda m: m["a"] & ~m["h"])],
    )
    assert_sound_mesh(mesh(body, 0.01), 1800 - 200 * math.pi)
    with pytest.raises(SolidError, match=r"at chord_mm = 0.9 neighbouring curves cross near \("):
        mesh(body, 0.9)


def test_a_chord_of_nothing_is_refused():
    """0 and below would need infinitely many points."""
    with pytest.raises(SolidError, match="chord_mm is 0"):
        mesh(disc(), 0)


def test_volume_of_a_known_tetrahedron():
    """Three legs of 1: 1/6; turned inside out: -1/6."""
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]], float) + 100
    faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    assert Mesh(vertices, faces).volume_mm3() == pytest.approx(1 / 6)
    assert Mesh(vertices, faces[:, ::-1]).volume_mm3() == pytest.approx(-1 / 6)


@pytest.mark.parametrize(("left", "right"), [(2, 2), (2, 5), (4, 2), (3, 6)])
def test_zip_strip_uses_every_step_of_both_chains_once(left, right):
    """n + m - 2 triangles; each step of a chain is an edge of exactly one of them."""
    a, b = list(range(left)), list(range(100, 100 + right))
    triangles = zip_strip(a, b)
    assert len(triangles) == left + right - 2
    edges = [(t[k], t[k - 2]) for t in triangles for k in range(3)]
    for low, high in itertools.pairwise(a):
        assert edges.count((high, low)) == 1
    for low, high in itertools.pairwise(b):
        assert edges.count((low, high)) == 1


def test_meshes_need_no_cad_kernel():
    """Building a body and its mesh must not load the kernel, which takes seconds."""
    code = (
        "import sys, layouts.slabs.slabs, generators.meshes.mesh; "
        "print('OCP' in sys.modules or 'cadquery' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
