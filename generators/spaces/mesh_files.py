"""Triangles read from STL, OBJ, 3MF and STEP files, as they stand there."""

from __future__ import annotations

import zipfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from xml.etree import ElementTree

import numpy as np
import trimesh
from numpy.typing import NDArray

from generators.spaces.errors import UnreadableError
from generators.spaces.units import unit_named

__all__ = ["RawMesh", "read_mesh"]

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
PRODUCTION = "{http://schemas.microsoft.com/3dmanufacturing/production/2015/06}"
MODEL_REL = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
LARGEST_PART = 400_000_000  # bytes, unpacked
DEEPEST = 20  # components within components
STEP_MM = 0.05  # how far the triangles of a STEP solid's curved faces lie from them
STEP_RAD = 0.2


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RawMesh:
    """Triangles as a file has them: ``vertices`` (n, 3), ``faces`` (m, 3), nothing checked.

    ``unit``: the file's own with its length in mm, None where the format carries none.
    """

    vertices: NDArray[np.float64]
    faces: NDArray[np.int64]
    unit: tuple[str, float] | None = None
    curved: bool = False  # True where triangles stand for curved faces


def read_mesh(file: Path) -> RawMesh:
    """A mesh or STEP file, by its ending. Raises UnreadableError where it contains no triangles."""
    ending = file.suffix.lower()
    try:
        if ending == ".3mf":
            raw = _read_3mf(file)
        elif ending in (".step", ".stp"):
            raw = _read_step(file)
        else:
            raw = _read_plain(file, ending.removeprefix("."))
    except UnreadableError:
        raise
    except Exception as error:  # the readers raise many kinds on damaged files
        lines = str(error).splitlines()
        raise UnreadableError(
            f"is not readable as {ending.removeprefix('.').upper()}",
            "save it again",
            lines[0] if lines else None,
        ) from error
    if not len(raw.faces):
        raise UnreadableError("contains no triangles", "save the solid as a mesh")
    if raw.faces.min() < 0 or raw.faces.max() >= len(raw.vertices):
        raise UnreadableError("has a triangle with a missing corner", "save it again")
    if not np.isfinite(raw.vertices).all():
        raise UnreadableError("contains a coordinate that is not finite", "save it again")
    return raw


def _read_plain(file: Path, kind: str) -> RawMesh:
    if kind == "stl":
        _check_count(file)
    with open(file, "rb") as stream:
        loaded = trimesh.load(
            stream, file_type=kind, force="mesh", process=False, skip_materials=True
        )
    return RawMesh(
        vertices=np.asarray(loaded.vertices, dtype=np.float64).reshape(-1, 3),
        faces=np.asarray(loaded.faces, dtype=np.int64).reshape(-1, 3),
    )


def _check_count(file: Path) -> None:
    """A binary STL says after its 80 bytes of header how many triangles of 50 bytes follow (the
    format; from memory). Raises UnreadableError where that is not so; text begins with a word."""
    with open(file, "rb") as stream:
        head = stream.read(84)
    if head.lstrip()[:5].lower() == b"solid" or len(head) < 84:
        return
    announced, there = int.from_bytes(head[80:], "little"), (file.stat().st_size - 84) / 50
    if announced != there:
        raise UnreadableError(
            f"is damaged: it announces {announced} triangles and has {there:g}", "save it again"
        )


def _read_3mf(file: Path) -> RawMesh:
    """All that the build places, in the file's unit (3MF core specification 1.2.3: units,
    transforms as rows v' = v M; from memory)."""
    with zipfile.ZipFile(file) as archive:
        roots: dict[str, ElementTree.Element] = {}
        start = _model_part(archive)
        root = _part(archive, start, roots)
        word = root.get("unit", "millimeter")
        unit = unit_named(word)
        if unit is None:
            raise UnreadableError("has an unknown unit", "save it in millimetres", word)
        vertices: list[NDArray[np.float64]] = []
        faces: list[NDArray[np.int64]] = []

        def place(path: str, identity: str, matrix: NDArray[np.float64], depth: int) -> None:
            if depth > DEEPEST:
                raise UnreadableError("nests components too deep", "save one plain mesh")
            for thing in _part(archive, path, roots).iter(f"{CORE}object"):
                if thing.get("id") != identity:
                    continue
                mesh = thing.find(f"{CORE}mesh")
                if mesh is not None:
                    offset = sum(map(len, vertices))
                    corners, triangles = _arrays(mesh)
                    mirrored = np.linalg.det(matrix[:3]) < 0
                    vertices.append(corners @ matrix[:3] + matrix[3])
                    faces.append((triangles[:, ::-1] if mirrored else triangles) + offset)
                for part in thing.iter(f"{CORE}component"):
                    there = _after(_matrix(part), matrix)
                    place(_path_of(part, path), part.get("objectid", ""), there, depth + 1)

        for item in root.iter(f"{CORE}item"):
            place(_path_of(item, start), item.get("objectid", ""), _matrix(item), 0)
    if not faces:
        raise UnreadableError("builds nothing", "save it with the part on the plate")
    return RawMesh(vertices=np.concatenate(vertices), faces=np.concatenate(faces), unit=unit)


def _model_part(archive: zipfile.ZipFile) -> str:
    """The part that the package's relations name as its model."""
    for relation in ElementTree.fromstring(_bytes(archive, "_rels/.rels")):
        if relation.get("Type") == MODEL_REL:
            return relation.get("Target", "").lstrip("/")
    raise UnreadableError("names no 3D model", "save it again")


def _part(
    archive: zipfile.ZipFile, path: str, roots: dict[str, ElementTree.Element]
) -> ElementTree.Element:
    if path not in roots:
        roots[path] = ElementTree.fromstring(_bytes(archive, path))
    return roots[path]


def _bytes(archive: zipfile.ZipFile, path: str) -> bytes:
    info = archive.getinfo(str(PurePosixPath(path)))
    if info.file_size > LARGEST_PART:
        raise UnreadableError("is too large unpacked", "give a coarser mesh", path)
    return archive.read(info)


def _path_of(element: ElementTree.Element, here: str) -> str:
    return (element.get(f"{PRODUCTION}path") or here).lstrip("/")


def _matrix(element: ElementTree.Element) -> NDArray[np.float64]:
    """(4, 3) of a transform; of none the identity."""
    words = element.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0").split()
    return np.array([float(word) for word in words]).reshape(4, 3)


def _after(first: NDArray[np.float64], then: NDArray[np.float64]) -> NDArray[np.float64]:
    """(4, 3) of one transform followed by another: rows turned, the last one shifted too."""
    there = first @ then[:3]
    there[3] += then[3]
    return np.asarray(there)


def _arrays(mesh: ElementTree.Element) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    corners = [
        [float(one.get(axis, "nan")) for axis in "xyz"] for one in mesh.iter(f"{CORE}vertex")
    ]
    triangles = [
        [int(one.get(name, "-1")) for name in ("v1", "v2", "v3")]
        for one in mesh.iter(f"{CORE}triangle")
    ]
    faces = np.array(triangles, dtype=np.int64).reshape(-1, 3)
    if len(faces) and (faces.min() < 0 or faces.max() >= len(corners)):  # else another mesh's
        raise UnreadableError("has a triangle with a missing corner", "save it again")
    return np.array(corners, dtype=np.float64).reshape(-1, 3), faces


def _read_step(file: Path) -> RawMesh:
    """All solids of a STEP file, as triangles within ``STEP_MM`` of their faces, mm."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.BRepTools import BRepTools
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Message import Message, Message_PrinterOStream
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TColStd import TColStd_SequenceOfAsciiString
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED, TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    # the kernel reports its errors on stdout, where they don't belong
    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())
    reader = STEPControl_Reader()
    if reader.ReadFile(str(file)) != IFSelect_RetDone:
        raise UnreadableError("is not readable as STEP", "save it again as STEP AP214 or AP242")
    lengths, angles, solid_angles = (TColStd_SequenceOfAsciiString() for _ in range(3))
    reader.FileUnits(lengths, angles, solid_angles)
    words = {lengths.Value(i).ToCString() for i in range(1, lengths.Length() + 1)}
    reader.TransferRoots()
    shape = reader.OneShape()
    vertices: list[NDArray[np.float64]] = []
    faces: list[NDArray[np.int64]] = []
    offset = 0
    solids = TopExp_Explorer(shape, TopAbs_SOLID)
    while solids.More():
        solid = solids.Current()
        BRepTools.Clean_s(solid)
        BRepMesh_IncrementalMesh(solid, STEP_MM, False, STEP_RAD)
        each = TopExp_Explorer(solid, TopAbs_FACE)
        while each.More():
            face = TopoDS.Face_s(each.Current())
            place = TopLoc_Location()
            mesh = BRep_Tool.Triangulation_s(face, place)
            if mesh is None:
                raise UnreadableError("has a face that can't be meshed", "save it as a mesh")
            move = place.Transformation()
            points = [mesh.Node(i).Transformed(move) for i in range(1, mesh.NbNodes() + 1)]
            corners = [mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)]
            rows = np.array(corners, dtype=np.int64).reshape(-1, 3) - 1 + offset
            faces.append(rows[:, ::-1] if face.Orientation() == TopAbs_REVERSED else rows)
            vertices.append(np.array([[p.X(), p.Y(), p.Z()] for p in points]).reshape(-1, 3))
            offset += len(points)
            each.Next()
        solids.Next()
    if not faces:
        raise UnreadableError("contains no solid, only surfaces", "save the solid")
    unit = unit_named(next(iter(words))) if len(words) == 1 else None
    # the kernel has turned all lengths into mm
    return RawMesh(
        vertices=np.concatenate(vertices),
        faces=np.concatenate(faces),
        unit=(unit[0] if unit else "mm", 1.0),
        curved=True,
    )
