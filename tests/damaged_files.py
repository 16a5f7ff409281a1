"""Sound files of spaces, and the same with damage drawn at random, the same for the same seed."""

from __future__ import annotations

import io
import random
import re
import struct
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import cadquery as cq
import ezdxf
import trimesh

from generators.spaces.errors import UnreadableError
from generators.spaces.reading import Read, SpaceFile, read_one

__all__ = ["FORMATS", "damaged", "sound_file", "timed_read"]

FORMATS = ("step", "stl", "obj", "3mf", "dxf", "svg")
NUMBERS = (
    b"0", b"-1", b"1", b"2", b"nan", b"inf", b"-inf", b"1e308", b"-1e-308", b"4294967296",
    b"99999999999999999999", b"1e", b"", b"0.0001", b"1000000", b"'", b"$", b"*",
)  # fmt: skip
NUMBER = re.compile(rb"-?\d+\.?\d*(?:[eE][-+]?\d+)?")
WORD = re.compile(rb"[A-Za-z_]{3,}")
HEADER, FACET = 84, 50  # bytes of a binary STL
ENTITY = re.compile(rb"#\d+\s*=.*?;", re.DOTALL)


def sound_file(kind: str, folder: Path) -> Path:
    """A small space in one of the formats, with much of what the format has."""
    file = folder / f"sound.{kind}"
    if kind == "step":
        block = cq.Workplane().box(120, 90, 80).edges("|Z").fillet(8).faces(">Z").hole(20)
        cq.exporters.export(block, str(file))
    elif kind == "dxf":
        _drawing(file)
    elif kind == "svg":
        file.write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="150mm" '
            'viewBox="0 0 200 150"><g transform="translate(5 5) rotate(2)">'
            '<path d="M0 0 H150 C160 20 160 60 150 90 Q140 100 120 100 A30 20 10 0 1 60 100 '
            'L0 100 Z"/><circle cx="40" cy="40" r="12"/><rect x="80" y="30" width="20" '
            'height="10" rx="2"/><text x="3" y="3">bay</text></g></svg>',
            encoding="utf-8",
        )
    elif kind == "3mf":
        _archive(file, trimesh.creation.icosphere(subdivisions=2, radius=60))
    else:
        trimesh.creation.icosphere(subdivisions=2, radius=60).export(file)
    return file


def _archive(file: Path, mesh: trimesh.Trimesh) -> None:
    """A 3MF of one object, placed through a component."""
    vertices = "\n".join('<vertex x="{:g}" y="{:g}" z="{:g}"/>'.format(*v) for v in mesh.vertices)
    faces = "\n".join('<triangle v1="{}" v2="{}" v3="{}"/>'.format(*f) for f in mesh.faces)
    core = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    packages = "http://schemas.openxmlformats.org/package/2006/relationships"
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(
            "_rels/.rels",
            f'<Relationships xmlns="{packages}"><Relationship Id="r" Target="/3D/3dmodel.model" '
            'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>',
        )
        archive.writestr(
            "3D/3dmodel.model",
            f'<model xmlns="{core}" unit="millimeter"><resources>\n<object id="1"><mesh>\n'
            f"<vertices>{vertices}</vertices>\n<triangles>{faces}</triangles>\n</mesh></object>\n"
            '<object id="2"><components>\n<component objectid="1" '
            'transform="1 0 0 0 1 0 0 0 1 5 0 0"/>\n</components></object>\n</resources>\n'
            '<build>\n<item objectid="2"/>\n</build></model>',
        )


def _drawing(file: Path) -> None:
    """An outline of lines, arcs and a spline, holes in a block, a text."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (150, 0), (150, 90)])
    space.add_open_spline([(150, 90), (120, 120), (60, 80), (0, 90)])
    space.add_line((0, 90), (0, 0))
    block = document.blocks.new("HOLE")
    block.add_circle((0, 0), 8)
    space.add_blockref("HOLE", (40, 40))
    space.add_ellipse((100, 40), (15, 0), 0.5)
    ring = [(60, 20), (70, 20), (70, 30), (60, 30)]
    closed = space.add_spline()
    closed.control_points = [*ring, *ring[:3]]
    closed.knots = list(range(11))
    closed.dxf.degree, closed.dxf.flags = 3, 11
    space.add_text("bay")
    document.saveas(file)


def damaged(data: bytes, kind: str, draw: random.Random) -> bytes:
    """The content of a file with one to three damages."""
    if kind == "3mf" and draw.random() < 0.8:  # within the archive
        return _repacked(data, draw)
    for _ in range(draw.choice((1, 1, 1, 2, 3))):
        ways: list[Callable[[bytes, random.Random], bytes]] = [_bytes, _cut, _doubled]
        if kind not in ("stl", "3mf"):
            ways += [_number, _number, _word, _line, _lines_swapped]
        if kind == "step":
            ways += [_entity] * 4
        if kind == "stl":
            ways += [_facet] * 4
        if kind in ("svg", "xml"):
            ways += [_number] * 4
        if kind == "dxf":
            ways += [_tag] * 8
        data = draw.choice(ways)(data, draw)
    return data


def _repacked(data: bytes, draw: random.Random) -> bytes:
    """An archive with one of its parts damaged."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = draw.choice(sorted(parts, key=lambda one: (len(parts[one]), one))[-2:])
    parts[name] = damaged(parts[name], "xml", draw)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for one, content in parts.items():
            archive.writestr(one, content)
    return packed.getvalue()


def _bytes(data: bytes, draw: random.Random) -> bytes:
    """Some bytes at random."""
    changed = bytearray(data)
    for _ in range(draw.choice((1, 4, 30))):
        if changed:
            changed[draw.randrange(len(changed))] = draw.randrange(256)
    return bytes(changed)


def _cut(data: bytes, draw: random.Random) -> bytes:
    """The end is missing, or a piece in the middle."""
    at = draw.randrange(len(data) + 1)
    return data[:at] + (data[at + draw.choice((1, 10, 300)) :] if draw.random() < 0.5 else b"")


def _doubled(data: bytes, draw: random.Random) -> bytes:
    """A piece comes twice."""
    at = draw.randrange(len(data) + 1)
    end = at + draw.choice((5, 80, 1000))
    return data[:end] + data[at:]


def _replaced(pattern: re.Pattern[bytes], data: bytes, draw: random.Random, by: bytes) -> bytes:
    """One match, chosen at random, replaced."""
    found = list(pattern.finditer(data))
    if not found:
        return data
    one = draw.choice(found)
    return data[: one.start()] + by + data[one.end() :]


def _number(data: bytes, draw: random.Random) -> bytes:
    """A number becomes another of the file's, or one of the usual bad ones."""
    others = NUMBER.findall(data) or [b"0"]
    by = draw.choice(NUMBERS) if draw.random() < 0.6 else draw.choice(others)
    return _replaced(NUMBER, data, draw, by)


def _word(data: bytes, draw: random.Random) -> bytes:
    """A word becomes another of the file's."""
    return _replaced(WORD, data, draw, draw.choice(WORD.findall(data) or [b""]))


def _entity(data: bytes, draw: random.Random) -> bytes:
    """An entity of a STEP file is missing."""
    return _replaced(ENTITY, data, draw, b"")


def _facet(data: bytes, draw: random.Random) -> bytes:
    """A facet of a binary STL is missing, comes twice or has a wild corner; the count is right."""
    facets = [data[at : at + FACET] for at in range(HEADER, len(data), FACET)] or [bytes(FACET)]
    number, way = draw.randrange(len(facets)), draw.randrange(3)
    if way == 0:
        facets.pop(number)
    elif way == 1:
        facets.insert(draw.randrange(len(facets)), facets[number])
    else:
        wild = struct.pack("<f", draw.choice((0.0, 1e30, -1e5, float("nan"), float("inf"), 60.0)))
        at = 12 + 4 * draw.randrange(9)
        facets[number] = facets[number][:at] + wild + facets[number][at + 4 :]
    return data[: HEADER - 4] + struct.pack("<I", len(facets)) + b"".join(facets)


def _tag(data: bytes, draw: random.Random) -> bytes:
    """A code and its value in the blocks or entities of a DXF: missing, twice or another value."""
    lines = data.splitlines(keepends=True)
    first = next((n for n, one in enumerate(lines) if one.strip() == b"BLOCKS"), 0)
    at = first + 1 + 2 * draw.randrange(max(1, (len(lines) - first - 1) // 2))
    way = draw.randrange(3)
    if way == 0:
        del lines[at : at + 2]
    elif way == 1:
        lines[at:at] = lines[at : at + 2]
    elif at + 1 < len(lines):
        lines[at + 1] = draw.choice((*NUMBERS, *data.split())) + b"\n"
    return b"".join(lines)


def _line(data: bytes, draw: random.Random) -> bytes:
    """A line is missing."""
    lines = data.splitlines(keepends=True)
    if lines:
        lines.pop(draw.randrange(len(lines)))
    return b"".join(lines)


def _lines_swapped(data: bytes, draw: random.Random) -> bytes:
    """Two lines have changed places."""
    lines = data.splitlines(keepends=True)
    if len(lines) > 1:
        one, other = draw.sample(range(len(lines)), 2)
        lines[one], lines[other] = lines[other], lines[one]
    return b"".join(lines)


def timed_read(file: SpaceFile) -> tuple[Read | UnreadableError, float]:
    """What a file gives, and how long that takes [s]."""
    begin_s = time.perf_counter()
    given = read_one(file)
    return given, time.perf_counter() - begin_s
