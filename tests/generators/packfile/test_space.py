"""The pack file's space: shapes, files, units, keep-outs, and every fault with its line."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
import trimesh

from generators import cli
from generators.packfile.faults import PackFileError
from generators.packfile.resolve import ReadPack, parse_pack, read_pack
from generators.packfile.schema import pack_schema
from generators.packfile.space_file import read_space
from layouts.spaces.space import Prism, Solid
from tests.generators.packfile.files import PLAIN
from tests.layouts.spaces.solids import mesh_of

pytestmark = pytest.mark.one_in(3)  # cases that plan a pack each

BAY = trimesh.creation.box((200, 150, 100))


@pytest.fixture
def folder(tmp_path) -> Path:
    """A folder with drawings and meshes to name: sound, leaky, in inches."""
    BAY.export(tmp_path / "bay.stl")
    leaky = BAY.copy()
    leaky.update_faces(np.arange(12) > 1)
    leaky.export(tmp_path / "leaky.stl")
    trimesh.creation.box((8, 6, 4)).export(tmp_path / "inch.stl")
    for name, closed in (("plan", True), ("open", False)):
        drawing = ezdxf.new("R2010", units=4)
        corners = [(0, 0), (300, 0), (300, 150), (0, 200)]
        drawing.modelspace().add_lwpolyline(corners, close=closed)
        drawing.saveas(tmp_path / f"{name}.dxf")
    return tmp_path


def read(folder: Path, text: str) -> ReadPack:
    """The plain pack file with lines added from line 5 on, read from a folder."""
    file = folder / "p.yaml"
    file.write_text(PLAIN + text, encoding="utf-8")
    return read_pack(file)


def refused(folder: Path, text: str) -> list[str]:
    """The lines that tell its faults, the folder left out."""
    try:
        read(folder, text)
    except PackFileError as error:
        return [line.replace(f"{folder}{os.sep}", "") for line in error.lines()]
    raise AssertionError("the file was taken")


def notes(found: ReadPack) -> list[str]:
    """What is said about the space."""
    return [caution.text for caution in found.cautions if caution.field == "space"]


def test_an_outline_with_holes_is_a_prism(folder) -> None:
    """Corners in any order round it, holes turned the other way, z from 0."""
    space = read(
        folder,
        "space:\n  outline_mm: [[0, 0], [0, 200], [100, 200], [100, 80], [300, 80], [300, 0]]\n"
        "  holes_mm: [[[20, 20], [40, 20], [40, 40]]]\n  height_mm: 120\n",
    ).pack.space
    assert space is not None and isinstance(space.room, Prism)
    assert shapely.Polygon(space.room.outline_mm, space.room.holes_mm).area == 36000 - 200
    assert space.box_mm == (300, 200, 120) and not space.is_box


def test_a_drawing_needs_its_height(folder) -> None:
    """The outline of a DXF beside the pack file, and the fault without height."""
    found = read(folder, "space: {file: plan.dxf, height_mm: 90}\n").pack.space
    assert found is not None and found.box_mm == (300, 200, 90) and found.source == "plan.dxf"
    assert refused(folder, "space: {file: plan.dxf}\n") == [
        "p.yaml:5: space.height_mm: is missing: a drawing is flat, "
        "add height_mm: the room's height over the outline"
    ]


@pytest.mark.slow
def test_a_mesh_is_the_room_or_what_stands_round_it(folder) -> None:
    """``is`` decides; a path in the place of the section is the mesh of the room."""
    room = read(folder, "space: {file: bay.stl}\n").pack.space
    assert room is not None and isinstance(room.room, Solid)
    assert mesh_of(room.room).volume == pytest.approx(3e6)
    around = read(folder, "space: {file: bay.stl, is: surroundings}\n").pack.space
    assert around is not None and around.room is None
    assert [solid.name for solid in around.keep_out] == ["surroundings"]
    short = read(folder, "space: bay.stl\n").pack.space
    assert short is not None and isinstance(short.room, Solid)


def test_keep_outs_of_all_three_kinds(folder) -> None:
    """Box, cylinder and mesh, each closed and of at least its true volume."""
    trimesh.creation.icosphere(radius=30).export(folder / "knob.obj")
    found = read(
        folder,
        "space:\n  box_mm: [400, 300, 200]\n  keep_out:\n"
        "  - {name: bracket, box_mm: [[10, 10, 10], [0, 0, 0]]}\n"
        "  - {name: a wheel's sweep, cylinder: "
        "{from_mm: [0, 0, 50], to_mm: [0, 60, 50], radius_mm: 40}}\n"
        "  - {name: knob, file: knob.obj}\n",
    )
    space = found.pack.space
    assert space is not None and space.box_mm == (400, 300, 200) and not space.is_box
    volumes = [mesh_of(solid).volume for solid in space.keep_out]
    assert all(mesh_of(solid).is_volume for solid in space.keep_out)
    assert volumes[0] == 1000 and volumes[1] == pytest.approx(np.pi * 1600 * 60, rel=1e-3)
    assert [solid.name for solid in space.keep_out] == ["bracket", "a wheel's sweep", "knob"]
    assert notes(found) == []


def test_a_keep_out_elsewhere_is_noted(folder) -> None:
    """Outside the room's box, and in the missing corner of an L: it changes nothing."""
    far = "- {name: chain, box_mm: [[900, 0, 0], [910, 5, 5]]}"
    found = read(folder, f"space:\n  box_mm: [400, 300, 200]\n  keep_out:\n  {far}\n")
    assert notes(found) == [
        "keep_out chain lies outside the room and changes nothing: are its coordinates the room's?"
    ]
    in_corner = "- {name: chain, box_mm: [[210, 110, 0], [250, 150, 50]]}"
    outline = "[[0, 0], [300, 0], [300, 100], [100, 100], [100, 200], [0, 200]]"
    found = read(
        folder, f"space:\n  outline_mm: {outline}\n  height_mm: 90\n  keep_out:\n  {in_corner}\n"
    )
    assert len(notes(found)) == 1


def test_mending_is_said(folder) -> None:
    """The hole's place and size stand in the caution."""
    found = read(folder, "space: {file: leaky.stl, mend: true}\n")
    assert notes(found) == [
        "leaky.stl: repaired, closed 4 open edges round 1 hole, 200 x 150 x 100 mm about [0, 0, 0]"
        ": check the result"
    ]


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("space: {}", ["5: space: says nothing of its shape, add box_mm, outline_mm or file"]),
        ("space: {box_mm: [300, 200, 100], file: bay.stl}",
         ["5: space.file: is given beside box_mm, and a shape is given once (file), "
          "keep one of box_mm, outline_mm or file"]),
        ("space:\n  outline_mm: [[0, 0], [300, 0]]\n  height_mm: 90",
         ["6: space.outline_mm: has the wrong number of entries (a list of 2), give at least 3"]),
        ("space:\n  outline_mm: [[0, 0], [300, 0], [0, 0]]\n  height_mm: 90",
         ["6: space.outline_mm: has fewer than three corners that differ (2), "
          "give the corners in order around the outline"]),
        ("space:\n  height_mm: 90\n  outline_mm: [[0, 0], [300, 200], [300, 0], [0, 200]]",
         ["7: space.outline_mm: crosses or touches itself: side 1 meets side 3 (at [150, 100]), "
          "give the corners in order around the outline, with no side touching another"]),
        ("space:\n  height_mm: 90\n  outline_mm: [[0, 0], [300, 0], [300, 200]]\n"
         "  holes_mm:\n  - [[10, 5], [20, 5], [20, 9]]\n  - [[10, 100], [20, 100], [20, 110]]",
         ["10: space.holes_mm entry 2: lies outside the outline (near [17.5, 105]), "
          "delete it, or check its coordinates"]),
        ("space: {file: open.dxf, height_mm: 90}",
         ["5: space.file: does not close: 2 loose ends (at [0, 0], [0, 200], the nearest two "
          "200 mm apart), close it where it was drawn"]),
        ("space:\n  file: leaky.stl",
         ["6: space.file: leaks: 4 open edges round 1 hole, 200 x 150 x 100 mm about [0, 0, 0] "
          "(leaky.stl), close it where it was drawn, or add mend: true"]),
        ("space: {file: inch.stl}",
         ["5: space.file: is 8 x 6 x 4 mm if its unit is mm, too small for the space of a pack "
          "(inch.stl), add units: mm (8 x 6 x 4 mm), cm (80 x 60 x 40 mm), "
          "m (8000 x 6000 x 4000 mm), in (203 x 152 x 102 mm)"]),
        ("space: {file: plan.dxf, height_mm: 90, units: in}",
         ["5: space.units: contradicts plan.dxf, which is in mm (in), write mm or delete it"]),
        ("space: {file: none.stl}",
         ["5: space.file: can't be read: No such file or directory (none.stl), "
          "paths are relative to the folder of the file that names them"]),
        ("space: none.yaml",
         ["5: space: can't be read: No such file or directory (none.yaml), paths are relative "
          "to this file's folder"]),
        ("space: 7",
         ["5: space: must be a section of keys, not a number (7), "
          "write its keys below it, or {key: value, ...}"]),
        ('space: {file: ""}',
         ["5: space.file: is not the path of a file (), write it relative to this file's "
          "folder, such as bay.step"]),
        ("space: {file: bay.stl, is: rum}",
         ["5: space.is: must be room or surroundings (rum), write room or surroundings"]),
        ("space: {file: bay.stl, height_mm: 50}",
         ["5: space.height_mm: goes with outline_mm or a drawing, not with this file (50), "
          "delete it"]),
        ("space: {box_mm: [300, 200, 100], units: cm, mend: true, is: surroundings}",
         ["5: space.units: goes with file, not with this box_mm (cm), delete it",
          "5: space.mend: goes with a mesh, not with this box_mm (true), delete it",
          "5: space.is: goes with a mesh or solid, not with this box_mm (surroundings), "
          "delete it"]),
        ("space: {box_mm: [300, 200, 24]}",
         ["5: space: is too narrow for one cell and its holder walls, 26.0 mm (24.0 mm wide), "
          "give the whole space, and check its units"]),
        ("space: {outline_mm: [[0, 0], [20, 0], [20, 300], [0, 300]], height_mm: 100}",
         ["5: space: is too narrow for one cell and its holder walls, 26.0 mm (20.0 mm wide), "
          "give the whole space, and check its units"]),
        ("space: {box_mm: [30, 30, 30]}",
         ["5: space: is too short for one cell of 70.7 mm (52.0 mm from corner to corner), "
          "give the whole space, and check its units"]),
    ],
)  # fmt: skip
def test_a_space_that_cannot_be_used_is_told_with_its_line(folder, text, lines) -> None:
    """Open, crossing, too small, leaky, in the wrong unit, not there, contradicting itself."""
    assert refused(folder, text + "\n") == [f"p.yaml:{line}" for line in lines]


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ("{name: a, box_mm: [[0, 0, 0], [10, 0, 10]]}",
         "entry 1.box_mm: has no volume: both corners lie at the same y (0), "
         "give two opposite corners, or delete the entry"),
        ("{name: a, cylinder: {from_mm: [1, 1, 1], to_mm: [1, 1, 1], radius_mm: 4}}",
         "entry 1.cylinder: has no volume: from_mm and to_mm are the same place, "
         "give the centres of its two ends, or delete the entry"),
        ("{name: a, cylinder: {from_mm: [1, 1, 1], to_mm: [1, 1, 9], radius_mm: 0}}",
         "entry 1.cylinder.radius_mm: must be more than 0 (0), use more than 0"),
        ("{name: a}", "entry 1: says nothing of its shape, add box_mm, cylinder or file"),
        ("{name: a, file: leaky.stl}",
         "entry 1.file: leaks: 4 open edges round 1 hole, 200 x 150 x 100 mm about [0, 0, 0] "
         "(leaky.stl), close it where it was drawn, or add mend: true"),
        ("{name: a, file: plan.dxf}",
         "entry 1.file: is of an unsupported type (plan.dxf), "
         "give one of STL, OBJ, 3MF, STEP, STP"),
        ("{name: a, units: cm, box_mm: [[0, 0, 0], [9, 9, 9]]}",
         "entry 1.units: goes with file, which is not given (cm), delete it"),
        ("{box_mm: [[0, 0, 0], [9, 9, 9]]}",
         "entry 1.name: is missing, add name: name of the body in messages, such as chain line"),
        ("{nam: a, box_mm: [[0, 0, 0], [9, 9, 9]]}",
         "entry 1.nam: is not a known key (nam), write name"),
        ('{name: "", box_mm: [[0, 0, 0], [9, 9, 9]]}',
         "entry 1.name: is not a name of 1 to 60 characters (), "
         "write a few words such as chain line"),
    ],
)  # fmt: skip
def test_a_keep_out_that_is_none_is_told_with_its_line(folder, entry, told) -> None:
    """Empty ones, leaky ones, two shapes or none, keys that are not known."""
    lines = refused(folder, f"space:\n  box_mm: [400, 300, 200]\n  keep_out:\n  - {entry}\n")
    assert lines == [f"p.yaml:8: space.keep_out {told}"]


def test_all_faults_of_a_space_are_told_at_once(folder) -> None:
    """Outline and keep-outs in one go, each at its own line."""
    lines = refused(
        folder,
        "space:\n  height_mm: 90\n  outline_mm: [[0, 0], [300, 200], [300, 0], [0, 200]]\n"
        "  keep_out:\n  - {name: a, box_mm: [[0, 0, 0], [10, 0, 10]]}\n"
        "  - {name: b, file: leaky.stl}\n",
    )
    assert [line.split(": ")[0] for line in lines] == ["p.yaml:7", "p.yaml:9", "p.yaml:10"]
    twice = "  - {name: a, box_mm: [[0, 0, 0], [9, 9, 9]]}\n"
    lines = refused(folder, f"space:\n  box_mm: [400, 300, 200]\n  keep_out:\n{twice}{twice}")
    assert lines == [
        "p.yaml:9: space.keep_out entry 2.name: is the name of another keep_out too (a), "
        "name each so that messages can tell them apart"
    ]


@pytest.mark.slow
def test_a_space_file_stands_for_the_section(folder) -> None:
    """Its keys at its top level, its own folder for its files, its own name and lines in
    faults."""
    (folder / "frames").mkdir()
    BAY.export(folder / "frames" / "inner.stl")
    file = folder / "frames" / "bay.yaml"
    file.write_text("# the bay\nfile: inner.stl\n", encoding="utf-8")
    space = read(folder, "space: frames/bay.yaml\n").pack.space
    assert space is not None and space.box_mm == pytest.approx((200, 150, 100))
    assert read_space(file).box_mm == space.box_mm
    for text, told in (
        ("box_mm: [300, 200, x]\nkeepout: []\n",
         ["1: box_mm entry 3: must be a number, not text (x), write a number",
          "2: keepout: is not a known key (keepout), write keep_out"]),
        ("\nfile: ../leaky.stl\n",
         ["2: file: leaks: 4 open edges round 1 hole, 200 x 150 x 100 mm about [0, 0, 0] "
          "(../leaky.stl), close it where it was drawn, or add mend: true"]),
        ("a: [\n",
         ["2: file: is not readable as YAML (expected the node content, but found '<stream "
          "end>'), check colons, quotes, brackets and indentation"]),
        ("", ["1: file: is empty, give box_mm, outline_mm or file"]),
        ("mend: false\n", ["1: file: says nothing of its shape, add box_mm, outline_mm or file"]),
    ):  # fmt: skip
        file.write_text(text, encoding="utf-8")
        expected = [f"frames/bay.yaml:{line}" for line in told]
        assert refused(folder, "space: frames/bay.yaml\n") == expected
        with pytest.raises(PackFileError) as caught:
            read_space(file)
        assert [line.replace(f"{folder}/", "") for line in caught.value.lines()] == expected


@pytest.mark.slow
def test_a_command_takes_a_mesh_alone(folder) -> None:
    """A mesh as it is; what it would need to be told belongs in a YAML file; a drawing has no
    height."""
    assert read_space(folder / "bay.stl").box_mm == pytest.approx((200, 150, 100))
    for name, told in (
        ("inch.stl", "in (203 x 152 x 102 mm) in a YAML file that says file: inch.stl"),
        ("plan.dxf", "is a drawing, which has no height (plan.dxf), give a YAML file that says "
         "file: plan.dxf and height_mm"),
        ("none.yaml", "can't be read (No such file or directory), give the path of a space"),
    ):  # fmt: skip
        with pytest.raises(PackFileError) as caught:
            read_space(folder / name)
        (line,) = caught.value.lines()
        assert line.startswith(f"{folder / name}:1: file: ") and told in line


def test_without_a_folder_paths_count_from_here(folder, monkeypatch) -> None:
    """Bytes with a bare name: the working folder."""
    monkeypatch.chdir(folder)
    space = parse_pack((PLAIN + "space: {file: bay.stl}\n").encode(), "p.yaml").pack.space
    assert space is not None and space.source == "bay.stl"


def test_check_refuses_with_status_2(folder, capsys) -> None:
    """The command line tells the lines on stderr and writes nothing."""
    (folder / "p.yaml").write_text(PLAIN + "space: {file: leaky.stl}\n", encoding="utf-8")
    before = sorted(folder.iterdir())
    assert cli.main(["check", str(folder / "p.yaml")]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "p.yaml:5: space.file: leaks: 4 open edges" in said.err
    assert sorted(folder.iterdir()) == before


def described(form: dict[str, Any]) -> list[str]:
    """Keys of a form that have no description."""
    return [key for key, one in form["properties"].items() if not one.get("description")]


def test_the_schema_takes_a_path_and_describes_every_key() -> None:
    """Also those of keep-outs, which no other test of the schema looks into."""
    schema = pack_schema()
    choices = schema["properties"]["space"]["anyOf"]
    assert {"type": "string"} in choices and any("$ref" in one for one in choices)
    for name in ("SpaceSection", "KeepOutEntry", "CylinderSection"):
        assert described(schema["$defs"][name]) == []
        assert "null" not in str(schema["$defs"][name])
    assert "is" in schema["$defs"]["SpaceSection"]["properties"]
