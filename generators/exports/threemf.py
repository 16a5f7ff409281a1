"""3MF, core specification 2015/02: a zip of three fixed XML files, millimetres.

Every number is written the same way each time, the zip's clock stands still and objects
keep the order in which they are handed in, so the same parts give the same bytes.
"""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from numpy.typing import NDArray

from layouts.parts.part import check_rigid

if TYPE_CHECKING:
    from generators.meshes.mesh import Mesh

# Names of the core specification (appendix C); they are identifiers, nothing is fetched.
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
RELATIONS_TYPE = "application/vnd.openxmlformats-package.relationships+xml"
MODEL_TYPE = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
MODEL_PATH = "3D/3dmodel.model"

_CLOCK = (1980, 1, 1, 0, 0, 0)  # the earliest time that a zip can hold
_DECIMALS = 6  # a nanometre: far below print, and no noise of the last float digit
_COLOUR_ID = 1
_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PrintObject:
    """One named, coloured mesh and where it is to be printed.

    ``colour``: red, green, blue, each 0 to 1 (sRGB). ``places``: one (4, 4) turn and
    shift for each copy on the bed; the default is one copy in the part's own coordinates.
    """

    name: str
    mesh: Mesh
    colour: tuple[float, float, float]
    places: tuple[NDArray[np.float64], ...] = (np.eye(4),)


def write_3mf(path: Path, objects: Sequence[PrintObject], title: str) -> None:
    """Write objects, each stored once, with one build item a copy.

    Raises ValueError when there is nothing to print, two objects share a name, a mesh
    has a number that is not finite, or a placement mirrors or stretches.
    """
    if not objects:
        raise ValueError(f"{path.name}: no object to write")
    names = [one.name for one in objects]
    if len(set(names)) < len(names):
        raise ValueError(f"{path.name}: two objects share a name among {', '.join(names)}")
    colours = sorted({hex_colour(one.colour) for one in objects})
    text = [
        _HEAD,
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{CORE}">',
        f'<metadata name="Title">{escape(title)}</metadata>',
        f'<resources><basematerials id="{_COLOUR_ID}">',
        *(f'<base name="colour {code[1:]}" displaycolor="{code}FF"/>' for code in colours),
        "</basematerials>",
    ]
    build = []
    for number, one in enumerate(objects, start=_COLOUR_ID + 1):
        colour = colours.index(hex_colour(one.colour))
        text.append(
            f'<object id="{number}" type="model" name={quoteattr(one.name)} '
            f'pid="{_COLOUR_ID}" pindex="{colour}">{_mesh_xml(one)}</object>'
        )
        for matrix in one.places:
            check_rigid(matrix, what=one.name)
            build.append(f'<item objectid="{number}"{_transform_xml(matrix)}/>')
    text += ["</resources><build>", *build, "</build></model>"]
    _write_package(path, "".join(text))


def hex_colour(colour: tuple[float, float, float]) -> str:
    """``#RRGGBB`` of red, green and blue, each 0 to 1."""
    return "#" + "".join(f"{round(255 * share):02X}" for share in colour)


def _mesh_xml(one: PrintObject) -> str:
    points = np.round(np.asarray(one.mesh.vertices_mm, dtype=np.float64), _DECIMALS) + 0.0
    faces = np.asarray(one.mesh.faces)
    if not len(faces) or not np.isfinite(points).all():
        raise ValueError(f"{one.name}: a mesh needs triangles with finite corners")
    # one formatting call for the whole table is several times faster than one a row
    vertices = ('<vertex x="%.10g" y="%.10g" z="%.10g"/>' * len(points)) % tuple(
        points.ravel().tolist()
    )
    triangles = ('<triangle v1="%d" v2="%d" v3="%d"/>' * len(faces)) % tuple(faces.ravel().tolist())
    return f"<mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh>"


def _transform_xml(matrix: NDArray[np.float64]) -> str:
    """Twelve numbers row by row; the format multiplies row vectors from the left."""
    placed = np.asarray(matrix, dtype=np.float64)
    if np.array_equal(placed, np.eye(4)):
        return ""
    rows = np.round(np.vstack([placed[:3, :3].T, placed[:3, 3]]), 9) + 0.0
    return ' transform="' + " ".join(f"{value:.10g}" for value in rows.ravel()) + '"'


def _write_package(path: Path, model: str) -> None:
    files = {
        "[Content_Types].xml": f'{_HEAD}<Types xmlns="{TYPES}">'
        f'<Default Extension="rels" ContentType="{RELATIONS_TYPE}"/>'
        f'<Default Extension="model" ContentType="{MODEL_TYPE}"/></Types>',
        "_rels/.rels": f'{_HEAD}<Relationships xmlns="{RELATIONS}">'
        f'<Relationship Target="/{MODEL_PATH}" Id="rel0" Type="{START_PART}"/>'
        "</Relationships>",
        MODEL_PATH: model,
    }
    with zipfile.ZipFile(path, "w") as package:
        for name, text in files.items():
            entry = zipfile.ZipInfo(name, _CLOCK)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3  # else it reveals which system wrote the file
            entry.external_attr = 0o644 << 16
            package.writestr(entry, text.encode("utf-8"), compresslevel=6)
