"""Each proof of a part's mesh, and a mesh with which it fails."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from generators.proofs.mesh_facts import mesh_facts
from generators.proofs.meshes import mesh_checks

BED = (220.0, 220.0, 250.0)


def box(a: float = 30.0, b: float = 20.0, c: float = 10.0) -> tuple[NDArray, NDArray]:
    """A box that stands on z = 0."""
    made = trimesh.creation.box(extents=(a, b, c))
    made.apply_translation((0, 0, c / 2))
    return np.asarray(made.vertices), np.asarray(made.faces)


def failing(
    vertices: NDArray, faces: NDArray, *, solid: float = 6000.0, formula: float = 6000.0
) -> set[str]:
    """Ids of the checks that do not hold."""
    checks = mesh_checks(
        mesh_facts("part", vertices, faces),
        solid_mm3=solid,
        drawn_mm3=formula,
        chord_bound_mm3=1.0,
        bed_mm=BED,
    )
    assert len({check.id for check in checks}) == len(checks)
    return {check.id for check in checks if not check.holds}


def test_a_sound_box_passes_every_proof() -> None:
    """A closed box of the right size fails nothing."""
    assert failing(*box()) == set()


def test_a_missing_triangle_is_not_watertight() -> None:
    """An open mesh fails watertightness (and bounds no volume)."""
    vertices, faces = box()
    assert {"watertight", "winding"} <= failing(vertices, faces[:-1])


def test_an_inside_out_mesh_fails_winding() -> None:
    """All triangles turned: closed, but facing inwards."""
    vertices, faces = box()
    failed = failing(vertices, faces[:, ::-1])
    assert "winding" in failed
    assert "watertight" not in failed


def test_two_bodies_fail() -> None:
    """A second box beside the first is a second body."""
    vertices, faces = box()
    both = np.vstack([vertices, vertices + (100, 0, 0)])
    failed = failing(both, np.vstack([faces, faces + len(vertices)]), solid=12000, formula=12000)
    assert failed == {"one_body"}


def test_a_solid_that_misses_its_formula_by_two_millionths_fails() -> None:
    """The formula's limit is one part in a million."""
    assert failing(*box(), formula=6000.0 * (1 + 2e-6)) == {"volume_formula"}


def test_a_mesh_beyond_the_chord_bound_fails() -> None:
    """More than chords can explain is a fault."""
    vertices, faces = box(c=10.01)
    assert failing(vertices, faces) == {"mesh_volume"}


def test_a_part_off_the_bed_fails() -> None:
    """A part that floats a hundredth above z = 0 is noticed."""
    vertices, faces = box()
    assert failing(vertices + (0, 0, 0.01), faces) == {"on_the_bed"}


@pytest.mark.parametrize("size", [(221.0, 20.0, 10.0), (20.0, 20.0, 251.0)])
def test_a_part_larger_than_the_printer_fails(size: tuple[float, float, float]) -> None:
    """Longer than the bed or higher than the printer."""
    volume = size[0] * size[1] * size[2]
    assert failing(*box(*size), solid=volume, formula=volume) == {"fits_bed"}


def test_a_quarter_turn_on_the_bed_is_allowed() -> None:
    """A part as long as the bed's other side fits."""
    vertices, faces = box(10.0, 210.0, 10.0)
    facts = mesh_facts("part", vertices, faces)
    checks = mesh_checks(
        facts, solid_mm3=21000, drawn_mm3=21000, chord_bound_mm3=1.0, bed_mm=(215.0, 50.0, 100.0)
    )
    assert all(check.holds for check in checks)
