"""What the README says is so."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from generators.cli import COMMANDS
from generators.packfile.resolve import parse_pack

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")


def test_two_command_lines_each_set_up_everything() -> None:
    """One makes the demo, one passes the tests; each makes its own environment."""
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    assert [len(block.splitlines()) for block in blocks] == [1, 1]
    assert all(block.startswith("python3 -m venv ") for block in blocks)
    assert blocks[0].rstrip().endswith("cellstead make")
    assert "pytest" in blocks[1]


def test_the_pack_file_and_the_space_shown_are_sound() -> None:
    """A reader who copies the five lines gets a pack, and with the space below them one in it."""
    text, space = re.findall(r"```yaml\n(.*?)```", README, re.DOTALL)
    pack = parse_pack(text.encode(), "README.md").pack
    assert (pack.series, pack.parallel) == (10, 4)
    within = parse_pack((text + space).encode(), "README.md").pack.space
    assert within is not None
    assert [solid.name for solid in within.keep_out] == ["rear bolt"]


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
    """Nothing stands beside the house but a licence and dot files."""
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
