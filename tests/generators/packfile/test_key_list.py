"""The list of keys says what the form says, and the file that comes along is that list."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from generators.packfile.key_list import UNITS, key_list
from generators.packfile.messages import all_keys
from generators.packfile.renamed import RENAMED
from layouts.brackets.registry import KINDS
from layouts.pack import EnclosureStyle

LIST = key_list()


def rows() -> dict[str, dict[str, list[str]]]:
    """By section and key: unit and values, default, meaning; the top level is section ""."""
    tables: dict[str, dict[str, list[str]]] = {}
    for part in re.split(r"^## ", LIST, flags=re.MULTILINE)[1:]:
        name, _, text = part.partition("\n")
        found = re.findall(r"^\| `(\w+)` \| (.*) \| (.*) \| (.*) \|$", text, re.MULTILINE)
        tables["" if name == "Top level" else name] = {key: cells for key, *cells in found}
    return tables


ROWS = rows()


def test_the_file_that_comes_along_is_the_list() -> None:
    """Written anew after every change: python -m generators.packfile.key_list."""
    file = files("layouts.examples").joinpath("keys.md")
    assert file.read_text(encoding="utf-8") == LIST


def test_every_key_has_a_row() -> None:
    """Sections within lists too, and no row for a key that is gone."""
    for place, names in all_keys().items():
        assert list(ROWS[".".join(place)]) == names
    assert list(ROWS["space.keep_out"]) == ["name", "box_mm", "cylinder", "file", "units", "mend"]
    assert set(ROWS["space.keep_out.cylinder"]) == {"from_mm", "to_mm", "radius_mm"}
    assert set(ROWS["grouping.pins"]) == {"at_mm", "group"}


def test_every_row_says_all_three() -> None:
    """Unit and values, default or that there is none, and the meaning; no mark left open."""
    cells = [one for section in ROWS.values() for row in section.values() for one in row]
    assert len(cells) > 300
    assert all(one.strip() for one in cells)
    assert "{" not in LIST.replace("{key", "") and "null" not in LIST


@pytest.mark.parametrize(
    ("section", "key", "values", "default"),
    [
        ("holder", "web_recess_mm", "mm, 0.2 to 0.6", "0.4: "),
        ("strip", "current_density_a_mm2", "A/mm², more than 0, at most 50", "nickel 7"),
        ("fuse", "breaking_a", "A, more than 0, at most 1,000,000", "No default: "),
        ("mount", "holes_mm", "mm, list of lists of 2 numbers, each -300 to 300", "[[0, 0], [20"),
        ("bms", "board_mm", "mm, list of 3 numbers, each 1 to 400", "[60, 25, 8] up to 4"),
        ("taps", "awg", "AWG, whole number 10 to 24", "22: "),
        ("load", "acceleration_g", "times 9.81 m/s², list of 3 numbers, each 0 to 50", "[4, 4, 6]"),
        ("cell", "format", "text", "Required: "),
        ("cell", "mass_g", "g, more than 0, at most 2,000", "47 (18650), "),
        ("leads", "side", "`+x`, `-x`, `+y`, `-y`", "+x: "),
        ("", "space", "section, or text: the path of its file", "Left out: "),
        ("", "disconnect", "true or false", "No default: "),
        ("space", "keep_out", "list of sections", "none: "),
    ],
)
def test_a_row_of_each_kind(section: str, key: str, values: str, default: str) -> None:
    """Units by the key's name, bounds and words by the form, defaults by the tables."""
    row = ROWS[section][key]
    assert row[0] == values
    assert row[1].startswith(default)


def test_every_unit_is_used() -> None:
    """An ending that no key has would be a slip; all lengths are in mm."""
    keys = [key for section in ROWS.values() for key in section]
    assert [ending for ending in UNITS if not any(key.endswith(ending) for key in keys)] == []
    lengths = [row for part in ROWS.values() for key, row in part.items() if key.endswith("_mm")]
    assert all(row[0].startswith("mm, ") for row in lengths)


def test_closed_choices_follow_the_code() -> None:
    """The words of brackets and enclosures are those of the registry and the enum."""
    assert ROWS["mount"]["kind"][0] == ", ".join(f"`{word}`" for word in KINDS)
    styles = ", ".join(f"`{style.value}`" for style in EnclosureStyle)
    assert ROWS["enclosure"]["style"][0] == styles


def test_former_names_stand_at_the_end() -> None:
    """Each with the name that it has today, words of values too."""
    _, _, text = LIST.partition("## Former names")
    for one in RENAMED:
        assert f"| `{'.'.join(one.former)}` | `{'.'.join(one.present)}` |" in text
    assert "| `mount.kind: plate` | `mount.kind: angle` |" in text
