"""From what a script returns to a bracket: one sound solid, its closed mesh, convex pieces."""

from __future__ import annotations

import sys
from typing import Any

import manifold3d
import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.BRepMesh import BRepMesh_IncrementalMesh
from OCP.BRepTools import BRepTools
from OCP.GeomAbs import GeomAbs_Plane
from OCP.gp import gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED, TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import TopoDS, TopoDS_Face, TopoDS_Shape, TopoDS_Solid

from generators.kernel.of_part import written_solid
from generators.scripts.job import ENTRY, BadShapeError, ScriptJob
from generators.scripts.mounting import Grips, check_room, prove_mounting
from layouts.brackets.scripted import BracketSizes, ScriptedBracket
from layouts.parts.convex import ConvexPiece
from layouts.parts.drawing import CHORD_MM
from layouts.parts.given import GivenShape
from layouts.slabs.bore import Bore, through

__all__ = ["bracket_of"]

CHORD_RAD = 0.5  # a small round keeps 13 corners, as those of drawn parts do
MOST_TRIANGLES = 50_000  # a drawn bracket has about a thousand; searches and drawings take them all
LEAST_MM3 = 1.0  # less is no part
NOTHING_MM3 = 1e-9  # a cut along a face leaves films of float noise
GIVE = "return a cadquery Workplane that holds one solid"


def bracket_of(returned: Any, job: ScriptJob) -> ScriptedBracket:
    """The bracket that a script's function returned. Raises BadShapeError where it is none."""
    solid = _one_solid(returned)
    whole = _manifold(solid)
    check_room(whole, job.sizes)
    grips = prove_mounting(whole, job.sizes)
    middle = -float(whole.bounding_box()[2])
    pieces = _convex_pieces(whole, grips)
    lifted = whole.translate([0.0, 0.0, middle])
    points, faces = _arrays(lifted)
    points[:, 2] -= points[:, 2].min()  # exactly: the part stands on the bed
    return ScriptedBracket(
        name=job.file.replace("\\", "/").rsplit("/", 1)[-1],
        source=job.source,
        sizes=job.sizes,
        shape=GivenShape(
            vertices_mm=points,
            faces=faces,
            solid=written_solid(_lifted(solid, middle)),
            solid_mm3=_volume_mm3(solid),
            curved_mm2=_curved_mm2(solid),
            pieces=tuple(_piece(one.translate([0.0, 0.0, middle])) for one in pieces),
            bores=_bores(job.sizes, grips, middle),
        ),
        middle_mm=middle,
        pad_grips_mm=grips.pad_mm,
        frame_grips_mm=grips.frame_mm,
    )


def _shapes(returned: Any) -> list[TopoDS_Shape]:
    """The kernel's shapes in a Workplane or shape of CadQuery's.

    CadQuery is not loaded here: a script that has not loaded it can't return one of its objects.
    """
    cadquery = sys.modules.get("cadquery")
    if cadquery is not None and isinstance(returned, cadquery.Workplane):
        return [one.wrapped for one in returned.vals() if isinstance(one, cadquery.Shape)]
    if cadquery is not None and isinstance(returned, cadquery.Shape):
        return [returned.wrapped]
    raise BadShapeError(f"{ENTRY}() does not return a Workplane", GIVE, type(returned).__name__)


def _parts(shape: TopoDS_Shape, kind: Any) -> list[TopoDS_Shape]:
    """All of a shape's parts of one kind."""
    found = []
    each = TopExp_Explorer(shape, kind)
    while each.More():
        found.append(each.Current())
        each.Next()
    return found


def _one_solid(returned: Any) -> TopoDS_Solid:
    """The one sound solid that was returned."""
    shapes = _shapes(returned)
    solids = [one for shape in shapes for one in _parts(shape, TopAbs_SOLID)]
    if not solids:
        faces = sum(len(_parts(shape, TopAbs_FACE)) for shape in shapes)
        raise BadShapeError("gives no solid", GIVE, f"{faces} faces" if faces else "nothing")
    if len(solids) > 1:
        remedy = "join them with union, and return the result"
        raise BadShapeError("gives more than one solid", remedy, f"{len(solids)} solids")
    solid = TopoDS.Solid_s(solids[0])
    if not BRepCheck_Analyzer(solid).IsValid() or _volume_mm3(solid) < LEAST_MM3:
        raise BadShapeError(
            "returns a solid that the kernel finds invalid",
            "check for self-intersecting outlines and faces that only touch",
            f"{_volume_mm3(solid):.4g} mm3",
        )
    if len(_parts(solid, TopAbs_SHELL)) > 1:
        raise BadShapeError("has a closed void", "open it or fill it")
    return solid


def _volume_mm3(shape: TopoDS_Shape) -> float:
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return float(properties.Mass())


def _curved_mm2(solid: TopoDS_Shape) -> float:
    """Area of all faces that are not flat."""
    area = 0.0
    for face in _parts(solid, TopAbs_FACE):
        if BRepAdaptor_Surface(TopoDS.Face_s(face)).GetType() != GeomAbs_Plane:
            properties = GProp_GProps()
            BRepGProp.SurfaceProperties_s(face, properties)
            area += float(properties.Mass())
    return area


def _lifted(solid: TopoDS_Solid, by_mm: float) -> TopoDS_Shape:
    """The solid moved up, its own numbers changed: exporters then find no placement on it."""
    move = gp_Trsf()
    move.SetTranslation(gp_Vec(0.0, 0.0, by_mm))
    return BRepBuilderAPI_Transform(solid, move, True).Shape()


def _manifold(solid: TopoDS_Solid) -> manifold3d.Manifold:
    """The solid's closed mesh, chords within ``CHORD_MM``."""
    BRepTools.Clean_s(solid)
    BRepMesh_IncrementalMesh(solid, CHORD_MM, False, CHORD_RAD)
    vertices: list[NDArray[np.float64]] = []
    faces: list[NDArray[np.int64]] = []
    offset = 0
    for shape in _parts(solid, TopAbs_FACE):
        points, rows = _face_triangles(TopoDS.Face_s(shape))
        vertices.append(points)
        faces.append(rows + offset)
        offset += len(points)
    if sum(map(len, faces)) > MOST_TRIANGLES:
        raise BadShapeError(
            "is too finely detailed",
            f"omit threads and engraved text: at most {MOST_TRIANGLES:,} triangles",
            f"{sum(map(len, faces)):,} triangles",
        )
    # each face has its own points: those on shared edges are the same numbers
    mesh = manifold3d.Mesh64(np.concatenate(vertices), np.concatenate(faces).astype(np.uint64))
    mesh.merge()
    whole = manifold3d.Manifold(mesh)
    if whole.status() != manifold3d.Error.NoError or len(whole.decompose()) != 1:
        raise BadShapeError(
            "returns a solid whose mesh is not one closed body",
            "check for edges and corners at which it only touches itself",
            whole.status().name,
        )
    return whole


def _face_triangles(face: TopoDS_Face) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """(n, 3) points and (m, 3) triangles of a face, seen from outside ccw."""
    place = TopLoc_Location()
    mesh = BRep_Tool.Triangulation_s(face, place)
    if mesh is None:
        raise BadShapeError("has a face that can't be meshed", "use simpler surfaces")
    move = place.Transformation()
    nodes = [mesh.Node(i).Transformed(move) for i in range(1, mesh.NbNodes() + 1)]
    points = np.array([[p.X(), p.Y(), p.Z()] for p in nodes]).reshape(-1, 3)
    corners = [mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)]
    rows = np.array(corners, dtype=np.int64).reshape(-1, 3) - 1
    return points, rows[:, ::-1] if face.Orientation() == TopAbs_REVERSED else rows


def _arrays(solid: manifold3d.Manifold) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    made = solid.to_mesh64()
    points = np.array(np.asarray(made.vert_properties)[:, :3], np.float64, order="C")
    return points, np.array(made.tri_verts, np.int64, order="C")


def _convex_pieces(whole: manifold3d.Manifold, grips: Grips) -> list[manifold3d.Manifold]:
    """Hulls that hold the bracket: of what lies on the pad, what on the frame, and of the rest."""
    pad, frame = max(grips.pad_mm), max(grips.frame_mm)
    on_pad, beyond = whole.split_by_plane([-1.0, 0.0, 0.0], -pad)
    on_frame, rest = beyond.split_by_plane([0.0, -1.0, 0.0], -frame)
    found = (body.hull() for part in (on_pad, on_frame, rest) for body in part.decompose())
    return [hull for hull in found if hull.volume() > NOTHING_MM3]


def _piece(hull: manifold3d.Manifold) -> ConvexPiece:
    points, faces = _arrays(hull)
    return ConvexPiece(vertices_mm=points, faces=faces)


def _bores(sizes: BracketSizes, grips: Grips, middle_mm: float) -> tuple[Bore, ...]:
    """The proven holes in print coordinates, those into the pad first."""
    pad = [
        through((0.0, y, z + middle_mm), (1.0, 0.0, 0.0), sizes.pad_hole_mm / 2.0, grip)
        for (y, z), grip in zip(sizes.pad_holes_mm, grips.pad_mm, strict=True)
    ]
    frame = [
        through((x, 0.0, z + middle_mm), (0.0, 1.0, 0.0), sizes.frame_hole_mm / 2.0, grip)
        for (x, z), grip in zip(sizes.frame_holes_mm, grips.frame_mm, strict=True)
    ]
    return (*pad, *frame)
