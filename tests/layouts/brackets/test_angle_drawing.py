"""The bracket as a solid and as a mesh: sound, of the right volume, with its holes open."""

from __future__ import annotations

import dataclasses

import manifold3d
import numpy as np
import pytest
import trimesh
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS_Shape

from generators.kernel.drilled import drilled_solid
from generators.kernel.stitch import solid
from generators.meshes.drilled import drilled_mesh
from generators.meshes.mesh import mesh
from layouts.brackets.angle import BracketDesign, design_bracket
from layouts.brackets.angle_drawing import bracket_drawing, bracket_part
from layouts.brackets.angle_strength import STAND_MM
from layouts.brackets.kind import MountingPad
from layouts.formats import screws
from layouts.pack import Load, Mount, Side
from tests.layouts.parts.sound_parts import assert_every_feature_counts
from tests.oracles.bracket_formula import bracket_formula_mm3
from tests.samples import sample_pack

CHORD_MM = 0.01
MOUNTING_PADS = (
    MountingPad(side=Side.PLUS_X, face_mm=130.0, along_mm=0.0, underside_mm=-8.1),
    MountingPad(side=Side.MINUS_X, face_mm=80.0, along_mm=0.0, underside_mm=-8.1),
)


def made(
    screw: str, holes: tuple[tuple[float, float], ...], mass_kg: float | None = None
) -> BracketDesign:
    """A bracket for a plate with such holes."""
    pack = sample_pack(
        mount=Mount(kind="angle", screw=screw, holes_mm=holes), load=Load(continuous_a=20.0)
    )
    return design_bracket(pack, MOUNTING_PADS, mass_kg=mass_kg)


DESIGNS = {
    "usual": made("M5", ((0.0, 0.0), (20.0, 0.0))),
    "one small hole": made("M3", ((0.0, 0.0),)),
    "wide": made("M6", ((0.0, 0.0), (80.0, 0.0))),
    "three, large": made("M8", ((0.0, 0.0), (30.0, 18.0), (-15.0, 12.0))),
    "thick": made("M5", ((0.0, 0.0), (20.0, 0.0)), mass_kg=30.0),
}
EACH = pytest.mark.parametrize("design", DESIGNS.values(), ids=DESIGNS)


def volume_mm3(shape: TopoDS_Shape) -> float:
    """Volume by the kernel."""
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    return float(found.Mass())


def solids_in(shape: TopoDS_Shape) -> int:
    """How many solids a shape holds."""
    found, count = TopExp_Explorer(shape, TopAbs_SOLID), 0
    while found.More():
        count += 1
        found.Next()
    return count


def printed_mesh(design: BracketDesign) -> trimesh.Trimesh:
    """The finished bracket's mesh in print orientation."""
    drawing = bracket_drawing(design)
    drilled = drilled_mesh(mesh(drawing.body, CHORD_MM), drawing.bores, CHORD_MM)
    return trimesh.Trimesh(drilled.vertices_mm, drilled.faces, process=False)


def cylinder(radius: float, start: np.ndarray, end: np.ndarray) -> manifold3d.Manifold:
    """A round rod from one point to another."""
    rod = trimesh.creation.cylinder(radius=radius, segment=np.array([start, end]), sections=48)
    return manifold3d.Manifold(
        manifold3d.Mesh64(
            np.array(rod.vertices, order="C"), np.array(rod.faces, dtype=np.uint64, order="C")
        )
    )


@EACH
def test_the_solid_is_one_valid_body_of_the_formula_s_volume(design: BracketDesign) -> None:
    """With its holes bored: valid, one solid, volume by the closed formula to 1e-6."""
    bored = drilled_solid(solid(bracket_drawing(design).body), bracket_drawing(design).bores)
    assert bracket_drawing(design).volume_mm3() == pytest.approx(
        bracket_formula_mm3(design), rel=1e-12
    )
    assert BRepCheck_Analyzer(bored).IsValid()
    assert solids_in(bored) == 1
    assert volume_mm3(bored) == pytest.approx(bracket_formula_mm3(design), rel=1e-6)


def test_the_formula_notices_a_missing_hole_a_thinner_rib_and_another_fillet() -> None:
    """A bracket made otherwise than its formula says differs by far more than 1e-6."""
    design = DESIGNS["usual"]
    drawing = bracket_drawing(design)
    assert_every_feature_counts(drawing.features)
    bored = volume_mm3(drilled_solid(solid(drawing.body), drawing.bores[:-1]))
    assert abs(bored / bracket_formula_mm3(design) - 1.0) > 1e-3
    for change in ({"rib_mm": 3.8}, {"fillet_mm": 2.9}, {"leg_mm": 25.9}, {"foot_mm": 22.9}):
        other = dataclasses.replace(design, **change)
        drawing = bracket_drawing(other)
        bored = volume_mm3(drilled_solid(solid(drawing.body), drawing.bores))
        assert abs(bored / bracket_formula_mm3(design) - 1.0) > 1e-5, change
        assert bored == pytest.approx(bracket_formula_mm3(other), rel=1e-6), change


@EACH
def test_the_mesh_is_one_closed_body_on_the_ground(design: BracketDesign) -> None:
    """Closed, wound outwards, one body, on z = 0, as large as the design, within the chord."""
    found = printed_mesh(design)
    assert found.is_volume
    assert found.body_count == 1
    # area-true arcs in the body; facets of the holes leave at most 2/3 chord over their walls
    walls = (
        np.pi
        * design.thickness_mm
        * (
            len(design.leg_holes) * design.leg_hole_diameter_mm
            + len(design.foot_holes) * design.foot_hole_diameter_mm
        )
    )
    slack = 2.0 / 3.0 * CHORD_MM * walls
    assert found.volume == pytest.approx(bracket_formula_mm3(design), abs=slack)
    box = [[0.0, 0.0, 0.0], [design.foot_mm, design.leg_mm, design.width_mm]]
    assert found.bounds == pytest.approx(np.array(box), abs=CHORD_MM)


@EACH
def test_screws_heads_and_washers_go_in(design: BracketDesign) -> None:
    """Rods as thick as the screws pass the holes, and washers with heads lie on the plates.

    A rod thicker than the hole does not pass: the test can fail.
    """
    found = printed_mesh(design)
    part = manifold3d.Manifold(
        manifold3d.Mesh64(
            np.array(found.vertices, order="C"), np.array(found.faces, dtype=np.uint64, order="C")
        )
    )
    thick, far = design.thickness_mm, 60.0
    joints = [
        (
            design.pad_screw,
            design.leg_hole_diameter_mm,
            np.array([0.0, up, z]),
            np.array([1.0, 0, 0]),
        )
        for up, z in design.leg_holes
    ] + [
        (
            design.mount_screw,
            design.foot_hole_diameter_mm,
            np.array([out, 0.0, z]),
            np.array([0, 1.0, 0]),
        )
        for out, z in design.foot_holes
    ]
    for name, hole, at, way in joints:
        screw = screws()[name]
        shank = cylinder(float(name[1:]) / 2.0, at - 5.0 * way, at + (thick + 5.0) * way)
        washer = cylinder(
            screw.washer_diameter_mm / 2.0,
            at + (thick + 0.01) * way,
            at + (thick + screw.washer_high_mm) * way,
        )
        # the head's way in, from far outside
        head = cylinder(
            screw.head_diameter_mm / 2.0, at + (thick + screw.washer_high_mm) * way, at + far * way
        )
        for rod in (shank, washer, head):
            assert (part ^ rod).volume() == pytest.approx(0.0, abs=1e-9)
        assert (part ^ cylinder(hole / 2.0 + 0.1, at, at + thick * way)).volume() > 1.0


def test_copies_stand_on_their_lugs_outside_the_walls() -> None:
    """Each placed copy begins at its pad's face, stands on the underside, isn't mirrored."""
    part = bracket_part(DESIGNS["usual"])
    assert (part.name, part.role) == ("bracket", "bracket")
    corners = printed_mesh(DESIGNS["usual"]).vertices
    for pad, matrix in zip(MOUNTING_PADS, part.placed, strict=True):
        placed = corners @ matrix[:3, :3].T + matrix[:3, 3]
        away = pad.normal[0] * placed[:, 0]
        assert away.min() == pytest.approx(pad.face_mm)
        assert placed[:, 2].min() == pytest.approx(pad.underside_mm - STAND_MM)
        assert placed[:, 2].max() == pytest.approx(pad.underside_mm + pad.high_mm)
        middle = (placed[:, 1].min() + placed[:, 1].max()) / 2
        assert middle == pytest.approx(pad.along_mm, abs=0.5)
        assert np.linalg.det(matrix) == pytest.approx(1.0)
