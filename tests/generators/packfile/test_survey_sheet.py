"""The survey sheet: every blank fills a key that there is, in that key's unit."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from layouts.formats import screws
from tests.generators.packfile.test_key_list import ROWS

SHEET = files("layouts.examples").joinpath("survey-sheet.md").read_text(encoding="utf-8")
BLANK = "............"
BLANKS = [
    tuple(cell.strip() for cell in line.strip("|").split("|"))
    for line in SHEET.splitlines()
    if line.startswith("| ") and not line.startswith("| what ")
]
KEYS = {
    f"{section}.{key}".lstrip("."): row
    for section, rows in ROWS.items()
    for key, row in rows.items()
}


def test_every_row_is_a_blank_with_its_key() -> None:
    """What to measure, room to write, unit, key."""
    assert len(BLANKS) > 40
    for row in BLANKS:
        what, value, _, key = row
        assert what and value == BLANK and re.fullmatch(r"`[a-z0-9_.]+`", key), row


@pytest.mark.parametrize("key", sorted({row[3].strip("`") for row in BLANKS} - {"none"}))
def test_every_key_it_names_exists(key: str) -> None:
    """And the blank asks for it in the unit of its name."""
    assert key in KEYS
    (unit,) = {row[2] for row in BLANKS if row[3] == f"`{key}`"}
    if key in ("series", "parallel"):  # worked out from the old battery's volts and capacity
        assert unit in ("V", "Ah")
    elif unit:
        assert KEYS[key][0].startswith(f"{unit}, ")
    else:
        assert not re.match(r"(mm|V|A|W|s|°C|µF)\b", KEYS[key][0])


def test_former_names_are_not_on_it() -> None:
    """Nor in the text between the tables."""
    named = set(re.findall(r"`([a-z0-9_.]+)`", SHEET))
    assert named - set(KEYS) == {"none", "keys.md"}


def test_what_the_machine_must_be_asked_is_on_it() -> None:
    """The voltage window, currents, space, holes and the new charger."""
    keys = {row[3].strip("`") for row in BLANKS}
    assert {
        "controller.lowest_v", "controller.cutoff_v", "controller.highest_v", "load.peak_a",
        "load.continuous_w", "space.box_mm", "space.outline_mm", "space.keep_out.name",
        "mount.holes_mm", "mount.screw", "charger.volts_v", "charger.amps_a", "fuse.rating_a",
    } <= keys  # fmt: skip


@pytest.mark.parametrize(
    "words",
    [
        "capacitors of the old controller stay charged",
        "discharge them first",
        "Old chargers, fuses and plugs are never reused",
        "Cutting away parts of frame or housing changes its strength",
        "changes ballast and tipping",
    ],
)
def test_its_cautions_come_before_the_first_blank(words: str) -> None:
    """Whoever begins at the top has read them."""
    above = " ".join(SHEET[: SHEET.index(BLANK + " |")].split())
    assert words in above


def test_clearance_holes_are_the_tables() -> None:
    """The screw follows from the hole that is there."""
    told = re.findall(r"(M\d) ([\d.]+)", " ".join(SHEET.split()))
    assert {name: float(size) for name, size in told} == {
        name: screw.clearance_diameter_mm for name, screw in screws().items()
    }
