"""Solid and mesh of a part, drawn or given."""

from __future__ import annotations

from dataclasses import replace

import pytest

from generators.kernel.of_part import part_solid, read_solid, written_solid
from generators.kernel.workplane import workplane
from generators.made_part import MadePart
from generators.making import made_part
from generators.meshes.of_part import part_mesh, undrilled_mesh
from generators.proofs.alone import part_checks
from generators.proofs.mesh_facts import mesh_facts
from layouts.brackets.angle import design_bracket
from layouts.brackets.kind import MountingPad
from layouts.pack import Side
from layouts.parts.drawing import Drawing
from layouts.parts.given import GivenShape
from layouts.parts.part import Part
from tests.samples import sample_pack

BED_MM = (220.0, 220.0, 250.0)


def drawn() -> Part:
    """The angle bracket's part, bores and rounds in it."""
    pad = MountingPad(side=Side.PLUS_X, face_mm=100.0, along_mm=0.0, underside_mm=0.0)
    (part,) = design_bracket(sample_pack(), [pad]).parts
    return part


def given(part: Part, *, share: float = 1.0, curved_mm2: float = 500.0) -> Part:
    """The same part as a shape that is given; ``share``: of its volume that is told."""
    mesh = part_mesh(part)
    shape = GivenShape(
        vertices_mm=mesh.vertices_mm, faces=mesh.faces, solid=written_solid(part_solid(part)),
        solid_mm3=part.drawing.volume_mm3() * share, curved_mm2=curved_mm2, pieces=(),
    )  # fmt: skip
    return replace(part, drawing=shape)


def failed(made: MadePart) -> set[str]:
    """Names of the checks that do not hold."""
    facts = mesh_facts(made.name, made.mesh.vertices_mm, made.mesh.faces)
    return {check.id for check in part_checks(made, facts, BED_MM) if not check.holds}


def test_a_given_shape_is_made_like_a_drawn_one() -> None:
    """The same solid, the same triangles, and every proof of a part holds."""
    part = drawn()
    made, again = made_part(part), made_part(given(part))
    assert again.solid_mm3 == pytest.approx(made.solid_mm3, rel=1e-12)
    assert (again.mesh.vertices_mm == made.mesh.vertices_mm).all()
    assert (again.mesh.faces == made.mesh.faces).all()
    assert failed(again) == failed(made) == set()


def test_a_volume_that_is_not_the_solids_fails() -> None:
    """The told volume is held against the solid's, and the mesh's against what chords can miss."""
    assert failed(made_part(given(drawn(), share=0.999))) == {"volume_formula"}
    off = given(drawn(), curved_mm2=0.0)
    assert isinstance(off.drawing, GivenShape)
    larger = replace(off.drawing, vertices_mm=off.drawing.vertices_mm * 1.001)
    assert failed(made_part(replace(off, drawing=larger))) == {"mesh_volume"}


def test_bores_are_left_out_of_a_drawing_only() -> None:
    """A drawing's mesh comes undrilled; a given shape's is handed on as it is."""
    part = drawn()
    assert isinstance(part.drawing, Drawing)
    assert undrilled_mesh(part).volume_mm3() == pytest.approx(part.drawing.body.volume_mm3(), 1e-6)
    mesh = undrilled_mesh(given(part))
    assert mesh.volume_mm3() == pytest.approx(part.drawing.volume_mm3(), rel=1e-4)


def test_a_given_shape_is_a_workplane_too() -> None:
    """For scripts of one's own."""
    part = given(drawn())
    assert workplane(part).val().Volume() == pytest.approx(part.drawing.volume_mm3(), rel=1e-9)


def test_bytes_without_a_solid_are_refused() -> None:
    """Nothing is made of them."""
    with pytest.raises(ValueError, match="hold no solid"):
        read_solid(b"nothing")
