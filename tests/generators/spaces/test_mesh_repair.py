"""Meshes made sound: closed, outwards, joined; leaks located, repaired on request."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from generators.spaces.errors import UnreadableError
from generators.spaces.mesh_repair import solid_volume_mm3, sound_solid
from layouts.spaces.space import Solid
from tests.layouts.spaces.solids import mesh_of


def box(size, centre=(0.0, 0.0, 0.0)) -> trimesh.Trimesh:
    """A closed box."""
    mesh = trimesh.creation.box(size)
    mesh.apply_translation(centre)
    return mesh


def sounded(mesh: trimesh.Trimesh, *, mend: bool = False) -> tuple[Solid, tuple[str, ...]]:
    """A mesh given as loose triangles, as an STL has them."""
    corners = np.asarray(mesh.triangles).reshape(-1, 3)
    faces = np.arange(len(corners)).reshape(-1, 3)
    return sound_solid(corners, faces, name="room", file="bay.stl", mend=mend, least_mm3=1.0)


def without(mesh: trimesh.Trimesh, faces: list[int]) -> trimesh.Trimesh:
    """A mesh with some faces taken out."""
    left = mesh.copy()
    left.update_faces(~np.isin(np.arange(len(mesh.faces)), faces))
    return left


def test_loose_triangles_are_merged() -> None:
    """36 corners of a box become 8; its volume is a x b x c."""
    solid, notes = sounded(box((100, 50, 30)))
    assert len(solid.vertices_mm) == 8 and notes == ()
    assert mesh_of(solid).is_volume
    assert solid_volume_mm3(solid.vertices_mm, solid.faces) == pytest.approx(150_000)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.sets(st.integers(0, 79)))
def test_any_winding_is_turned_outwards(turned) -> None:
    """Whichever faces are turned over, volume and winding come back."""
    ball = trimesh.creation.icosphere(1, radius=50)
    expected = ball.volume
    rows = sorted(turned)
    ball.faces[rows] = ball.faces[rows, ::-1]
    mesh = mesh_of(sounded(ball)[0])
    assert mesh.is_volume and mesh.volume == pytest.approx(expected)


def test_a_leak_is_refused_with_its_place() -> None:
    """Open edges, holes, size and centre of each in the file's coordinates."""
    ball = trimesh.creation.icosphere(3, radius=100)
    top = int(ball.triangles_center[:, 2].argmax())
    low = int(ball.triangles_center[:, 0].argmin())
    with pytest.raises(UnreadableError) as caught:
        sounded(without(ball, [top, low]))
    assert caught.value.why.startswith("leaks: 6 open edges round 2 holes, ")
    middles = [ball.triangles[one].reshape(3, 3) for one in (top, low)]
    for corners in middles:
        centre = (corners.min(axis=0) + corners.max(axis=0)) / 2
        assert ", ".join(f"{v:.4g}" for v in (centre + 0.0).tolist()) in caught.value.why
    assert "add mend: true" in caught.value.remedy


def test_a_flat_hole_is_mended_exactly() -> None:
    """A box without its two end triangles gets the very end back, and says so."""
    open_box = without(box((100, 50, 30)), [0, 1])
    solid, notes = sounded(open_box, mend=True)
    mesh = mesh_of(solid)
    assert mesh.is_volume and mesh.volume == pytest.approx(150_000)
    assert len(notes) == 1 and notes[0].startswith(
        "bay.stl: repaired, closed 4 open edges round 1 h"
    )


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.sets(st.integers(0, 319), min_size=1, max_size=12))
def test_any_holes_are_mended_or_refused(missing) -> None:
    """Whatever faces a ball lacks: a closed solid a little smaller, or a refusal with places."""
    ball = trimesh.creation.icosphere(2, radius=50)
    why = ""
    try:
        solid, notes = sounded(without(ball, sorted(missing)), mend=True)
    except UnreadableError as error:
        why = error.why
    if why:
        assert why.startswith("can't be repaired, it still leaks: ")
        return
    mesh = mesh_of(solid)
    assert mesh.is_watertight and mesh.volume == pytest.approx(ball.volume, rel=0.05)
    assert notes


def test_a_hole_whose_rim_crosses_itself_is_not_mended() -> None:
    """A tent over a five-pointed star drawn in one line: which side to close can't be decided."""
    angles = [2 * np.pi * 2 * i / 5 for i in range(5)]
    rim = [(50 * np.cos(a), 50 * np.sin(a), 0.0) for a in angles]
    tent = trimesh.Trimesh([*rim, (0, 0, 80)], [(i, (i + 1) % 5, 5) for i in range(5)])
    with pytest.raises(UnreadableError) as caught:
        sounded(tent, mend=True)
    assert caught.value.why.startswith(
        "can't be repaired, it still leaks: 5 open edges round 1 hole"
    )


def test_a_fin_left_over_is_not_mended() -> None:
    """A single triangle on a box's edge: three faces meet there, so it is reported, not guessed."""
    fin = trimesh.Trimesh([(-50, -25, 15), (50, -25, 15), (0, 0, 90)], [(0, 1, 2)])
    with pytest.raises(UnreadableError, match="can't be repaired, it still leaks: 3 open edges"):
        sounded(trimesh.util.concatenate([box((100, 50, 30)), fin]), mend=True)


def test_bodies_apart_stay_and_those_that_meet_are_joined() -> None:
    """Two boxes apart, overlapping, touching, one in the other: volumes of the union."""
    one = box((100, 50, 30))
    for other, volume in (
        (box((20, 20, 20), (200, 0, 0)), 158_000),
        (box((20, 20, 20), (50, 0, 0)), 154_000),
        (box((20, 20, 20), (60, 0, 0)), 158_000),
        (box((20, 20, 20)), 150_000),
    ):
        mesh = mesh_of(sounded(trimesh.util.concatenate([one, other]))[0])
        assert mesh.is_watertight and mesh.volume == pytest.approx(volume)


def test_a_body_that_faces_inwards_in_another_is_a_void() -> None:
    """Its volume is taken off; the whole turned inside out is the same room."""
    inner = box((20, 20, 20))
    inner.invert()
    both = trimesh.util.concatenate([box((100, 50, 30)), inner])
    assert mesh_of(sounded(both)[0]).volume == pytest.approx(142_000)
    both.invert()
    assert mesh_of(sounded(both)[0]).volume == pytest.approx(142_000)


def test_meshes_that_enclose_nothing_are_refused() -> None:
    """A crumb; a sheet of two sides; faces that meet three at an edge."""
    with pytest.raises(UnreadableError, match="encloses less than 1 mm3"):
        sounded(box((0.5, 0.5, 0.5)))
    fin = trimesh.Trimesh([(-50, -25, 15), (50, -25, 15), (0, 0, 90)], [(0, 1, 2)])
    with pytest.raises(UnreadableError, match="leaks"):
        sounded(trimesh.util.concatenate([box((100, 50, 30)), fin]))


def test_too_many_bodies_are_refused() -> None:
    """A drawing of a whole machine is no room."""
    many = trimesh.util.concatenate([box((1, 1, 1), (3 * i, 0, 0)) for i in range(201)])
    with pytest.raises(UnreadableError, match="contains more than 200 bodies"):
        sounded(many)


def test_a_flat_body_is_told() -> None:
    """Alone, and beside a sound one: it would join with nothing."""
    sheet = trimesh.Trimesh([[0, 0, 0], [100, 0, 0], [0, 50, 0]], [[0, 1, 2], [2, 1, 0]])
    thin = box((100, 50, 1e-6))
    both = trimesh.util.concatenate([box((100, 50, 30)), sheet])
    for mesh in (sheet, thin, both):
        with pytest.raises(UnreadableError, match="encloses nothing: 100 x 50 x 0 mm"):
            sounded(mesh)
    foil = box((100, 50, 0.01))
    assert len(sounded(foil)[0].faces) == 12
