"""What the README says is so."""

from __future__ import annotations

import math
import re
import textwrap
import tomllib
from pathlib import Path

import numpy as np
import pytest
import trimesh

from generators.cli import COMMANDS, main
from generators.packfile.cell_lot import read_cell_list
from generators.packfile.examples import example_text
from generators.packfile.messages import all_keys
from generators.packfile.resolve import parse_pack, read_pack
from layouts.pack import EnclosureStyle, Pack
from layouts.parts.cut_plates import cut_plate_checks
from layouts.parts.drawing import Drawing, drawing_of
from layouts.parts.feature import Effect, Feature
from layouts.planning.in_space import is_placed
from layouts.planning.steps import bracketed, enclosed, fastened, interconnected, laid_out
from layouts.ratings.gearing import unloaded_km_h
from layouts.slabs.bore import through
from layouts.slabs.profile import circle, polygon
from layouts.spaces.space import Prism, Solid
from tests.layouts.test_folder_order import GENERATORS, LAYOUTS

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")
GUIDE = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
PACK, *SHOWN = re.findall(r"```yaml\n(.*?)```", README, re.DOTALL)
SPACES = [text for text in SHOWN if text.startswith("space:")]
LOADS = [text for text in SHOWN if text.startswith("load:")]
PLATES = [text for text in SHOWN if text.startswith("plates_to_cut:")]
BRACKETS = [text for text in SHOWN if "script:" in text]
ALONE = ("my-printer", "file:", "script:")  # not read without another file
READ = [text for text in SHOWN if not any(word in text for word in ALONE)]
FRAMES = [text for text in SHOWN if "frame:" in text]
BAY_MM = (320.0, 300.0, 125.0)


def saved(space: str, folder: Path) -> Path:
    """The pack file shown with a space below it, and the mesh of a bay beside it."""
    trimesh.creation.box(BAY_MM).export(folder / "bay.stl")
    file = folder / "my-pack.yaml"
    file.write_text(PACK + space, encoding="utf-8")
    return file


def read_with(space: str, folder: Path) -> Pack:
    """The pack of the file shown with a space below it."""
    return read_pack(saved(space, folder)).pack


def test_two_command_lines_each_set_up_everything() -> None:
    """One makes the demo, one passes the tests; each makes its own environment."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    assert [len(block.splitlines()) for block in blocks] == [1, 1]
    assert all(block.startswith("python3 -m venv ") for block in blocks)
    assert blocks[0].rstrip().endswith("cellstead make")
    assert "pytest" in blocks[1]


def test_the_pack_file_shown_is_sound() -> None:
    """A reader who copies the four lines gets a pack."""
    pack = parse_pack(PACK.encode(), "README.md").pack
    assert (pack.series, pack.parallel, pack.space) == (10, 4, None)


def test_it_shows_a_box_an_outline_and_a_mesh(tmp_path: Path) -> None:
    """Each space goes with the pack file above it."""
    box, outline, mesh = (read_with(space, tmp_path).space for space in SPACES)
    assert box is not None
    assert outline is not None
    assert mesh is not None
    assert box.is_box
    assert isinstance(outline.room, Prism)
    assert not outline.is_box
    assert [solid.name for solid in outline.keep_out] == ["chain line", "rear bolt"]
    assert isinstance(mesh.room, Solid)
    assert mesh.box_mm == pytest.approx(BAY_MM)


@pytest.mark.parametrize("space", SPACES)
def test_the_tool_takes_what_is_shown(
    space: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command check, on the file as a reader would save it."""
    assert main(["check", str(saved(space, tmp_path))]) == 0
    assert "10S4P" in capsys.readouterr().out


def test_the_machine_shown_gives_a_load_and_its_speed() -> None:
    """Watts that the four lines' pack gives, at a speed that its voltage reaches."""
    (text,) = LOADS
    load = parse_pack((PACK + text).encode(), "README.md").pack.load
    assert load is not None and load.machine is not None and load.machine.gearing is not None
    assert load.derived == ("continuous", "peak")
    assert unloaded_km_h(load.machine.gearing, volts=36.0) > load.machine.speed_km_h


def test_the_plate_shown_can_be_cut() -> None:
    """As it stands it goes with the four lines, and its openings leave enough land."""
    (text,) = PLATES
    plates = parse_pack((PACK + text).encode(), "README.md").pack.plates_to_cut
    checks = cut_plate_checks(plates)
    assert len(checks) == 3 and all(check.holds for check in checks)


@pytest.mark.parametrize("text", READ, ids=[text.split(":")[0] for text in READ])
def test_what_is_shown_is_read(text: str) -> None:
    """Every other piece goes with the four lines."""
    assert parse_pack((PACK + text).encode(), "README.md").pack.series == 10


@pytest.mark.slow
def test_the_pack_shown_stands_in_its_places() -> None:
    """Its rooms are found where they are asked for, and its least corner is at the point."""
    (text,) = [one for one in SHOWN if "turns_deg" in one]
    pack = parse_pack((PACK + text).encode(), "README.md").pack
    plan = bracketed(enclosed(fastened(interconnected(laid_out(pack)))))
    pose, shell = plan.enclosure.pose, plan.enclosure.shell
    assert pose is not None and pack.space is not None and pack.space.place is not None
    x0, y0, x1, y1 = shell.outer.bounds
    corners = np.array([(x, y, z, 1.0) for x in (x0, x1) for y in (y0, y1)
                        for z in (shell.z_under_mm, shell.z_lid_mm)])  # fmt: skip
    least = (corners @ pose.T)[:, :3].min(axis=0)
    assert least == pytest.approx(pack.space.place.at_mm, abs=0.1)


@pytest.mark.slow
def test_the_bracket_of_ones_own_is_run_where_that_is_allowed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The example script beside the pack file, with the flag; without it, refused by its key."""
    (text,) = BRACKETS
    file = saved(text, tmp_path)
    script = example_text("saddle_bracket.py")
    (tmp_path / "saddle_bracket.py").write_text(script, encoding="utf-8")
    assert main(["check", "--allow-scripts", str(file)]) == 0
    capsys.readouterr()
    assert main(["make", "--out", str(tmp_path / "out"), str(file)]) == 2
    assert "mount.script" in capsys.readouterr().err


def test_the_frame_shown_is_read(tmp_path: Path) -> None:
    """Below the pack file shown: a floor with two holes, and the use's accelerations."""
    (text,) = FRAMES
    pack = read_with(text, tmp_path)
    (floor,) = pack.mount.frame
    assert floor.name == "floor" and pack.load is not None
    assert pack.load.acceleration_g == (0.8, 0.6, 1.0)


def test_the_tool_refuses_the_mesh_without_its_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is shown is read, not passed over."""
    file = saved(SPACES[2], tmp_path)
    (tmp_path / "bay.stl").unlink()
    assert main(["check", str(file)]) == 2
    assert "space.file" in capsys.readouterr().err


def test_the_list_of_measured_cells_shown_is_read(tmp_path: Path) -> None:
    """Its columns, and the example that it names."""
    (shown,) = re.findall(r"```csv\n(.*?)```", README, re.DOTALL)
    (named,) = re.findall(r"`cellstead example ([a-z-]+\.csv)`", README)
    pack = parse_pack(PACK.encode(), "README.md").pack
    for text, count in ((shown, 2), (example_text(named), 46)):
        (tmp_path / "cells.csv").write_text(text, encoding="utf-8")
        assert len(read_cell_list(tmp_path / "cells.csv", pack.cell).lot.labels) == count


def test_a_pack_without_an_enclosure_is_as_told(tmp_path: Path) -> None:
    """What stands in the text beside the outline makes a pack, too."""
    assert "`enclosure: {style: none}`" in README
    pack = read_with(SPACES[1] + "enclosure: {style: none}\n", tmp_path)
    assert pack.enclosure.style is EnclosureStyle.NONE
    assert is_placed(pack)


def test_keys_it_names_are_in_the_pack_file() -> None:
    """Every key in words, such as `enclosure.gas_gap_mm`."""
    sections = {".".join(place): set(names) for place, names in all_keys().items()}
    named = [
        (section, key)
        for section, key in re.findall(r"`([a-z_]+)\.([a-z0-9_]+)`", README)
        if section in sections
    ]
    assert named
    assert [one for one in named if one[1] not in sections[one[0]]] == []


def test_commands_it_shows_exist() -> None:
    """Every cellstead command named in the README is one of the tool's."""
    named = set(re.findall(r"`cellstead ([a-z]+)", README))
    assert {"make", "fit", "suggest", "place", "dummy", "example", "schema"} <= named
    known = {*COMMANDS, "make", "check", "schema", "example"}
    assert named <= known


def test_files_it_names_are_there() -> None:
    """Pictures and guides that it points to exist."""
    named = re.findall(r"\]\(([^)]+)\)", README) + re.findall(r"`(DEVELOPERS\.md)`", README)
    assert len(named) >= 2
    assert [name for name in named if not (TOP / name).is_file()] == []


def test_paths_it_names_are_there() -> None:
    """Every file and folder that the developers' guide names; a star stands for some."""
    named = set(re.findall(r"`((?:layouts|generators|tests|\.ci)/[\w./*-]*)`", GUIDE))
    assert len(named) > 50
    assert sorted(name for name in named if not any(TOP.glob(name.rstrip("/")))) == []


def test_folders_are_listed_in_the_order_of_imports() -> None:
    """Every folder of code once, none that is gone, then those that hold data."""
    layouts, generators = GUIDE.split("```")[1].split("\ngenerators/")
    for package, listed, order in (
        ("layouts", layouts, f"{LAYOUTS} tables examples"),
        ("generators", generators, GENERATORS),
    ):
        folders = [name for name in order.split() if (TOP / package / name).is_dir()]
        assert {path.parent.name for path in (TOP / package).glob("*/__init__.py")} == set(folders)
        found = re.findall(r"^  (\w+)/|; (examples)/", listed, re.MULTILINE)
        assert [first or second for first, second in found] == folders


def test_where_is_what() -> None:
    """Every name of the table stands in the file beside it, as a function, class or constant."""
    table = GUIDE.split("## Where is what")[1].split("\n## ")[0]
    rows = re.findall(r"^\| [^|]+ \|[^|`]*`([^|`]+\.py)`[^|]*\| `(\w+)` \|$", table, re.MULTILINE)
    assert len(rows) > 30
    missing = [
        (file, name)
        for file, name in rows
        if not re.search(
            rf"^(def |class |[A-Z_, ]*)\b{name}\b",
            (TOP / file).read_text(encoding="utf-8"),
            re.MULTILINE,
        )
    ]
    assert missing == []


def test_the_drawing_shown_is_drawn() -> None:
    """The guide's example of features and a bore runs, and has the volume of its figures."""
    found = re.search(r"   ```python\n(.*?)   ```", GUIDE, re.DOTALL)
    assert found is not None
    names = {
        "Effect": Effect,
        "Feature": Feature,
        "circle": circle,
        "drawing_of": drawing_of,
        "polygon": polygon,
        "through": through,
    }
    exec(textwrap.dedent(found[1]), names)
    drawing = names["drawing"]
    assert isinstance(drawing, Drawing)
    plate, hole, bore = 40 * 20 * 6, math.pi * 2.5**2 * 6, math.pi * 1.7**2 * 20
    assert drawing.volume_mm3() == pytest.approx(plate - hole - bore, rel=1e-9)


def test_benchmarks_it_names_are_there() -> None:
    """All that can be run by hand, and no other."""
    speed = GUIDE.split("### Judge speed")[1].split("\n##")[0]
    named = {*re.findall(r"`(?:python -m tests\.benchmarks\.)?(\w+)`", speed)}
    runnable = {
        path.stem
        for path in (TOP / "tests" / "benchmarks").glob("*.py")
        if '__name__ == "__main__"' in path.read_text(encoding="utf-8")
    }
    named |= set(re.findall(r"python -m tests\.benchmarks\.(\w+)", GUIDE))
    assert named == runnable


def test_packages_are_listed_one_by_one() -> None:
    """Every folder of code with an __init__ is in the build, and nothing else."""
    listed = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))
    found = {
        ".".join(path.parent.relative_to(TOP).parts)
        for package in ("layouts", "generators")
        for path in (TOP / package).rglob("__init__.py")
    }
    assert set(listed["tool"]["setuptools"]["packages"]) == found


def test_top_level_is_as_designed() -> None:
    """Nothing else stands at the top but a licence and dot files."""
    ours = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "layouts",
        "generators",
        "tests",
        "out",
    }
    built = {"build", "dist", "cellstead.egg-info"}
    there = {path.name for path in TOP.iterdir() if not path.name.startswith(".")}
    assert ours <= there
    assert there - ours <= built
