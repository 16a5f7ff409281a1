"""The JSON Schema says the same as the reader."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from generators.packfile.messages import all_keys
from generators.packfile.schema import pack_schema
from tests.generators.packfile.files import PLAIN, read, refused

SCHEMA = pack_schema()
NEEDED = {
    "load": {"continuous_a": "5"},
    "space": {"box_mm": "[400, 300, 200]"},
    "fuse": {"rating_a": "30"},
    "charger": {"volts_v": "42", "amps_a": "4"},
    "plates_to_cut": {"name": "plate", "thickness_mm": "3", "size_mm": "[120, 80]"},
}
LISTS = ("plates_to_cut",)


def keys() -> Iterator[tuple[str, str, dict[str, Any]]]:
    """(section, key, its form) of every key; section "" at the top."""
    for key, form in SCHEMA["properties"].items():
        yield "", key, form
        # a list of sections counts as one, with the keys of an entry
        if "properties" in (section := resolved(form.get("items", form))):
            for name, inner in section["properties"].items():
                yield key, name, inner


def resolved(form: dict[str, Any]) -> dict[str, Any]:
    """A form with its reference followed, that of keys where a path would do too."""
    form = next((one for one in form.get("anyOf", ()) if "$ref" in one), form)
    if "$ref" not in form:
        return form
    return SCHEMA["$defs"][form["$ref"].removeprefix("#/$defs/")]


def with_value(section: str, key: str, value: object) -> str:
    """The plain file with one key set to a value."""
    written = json.dumps(value)
    if section == "cell":
        return PLAIN.replace('"21700"', f'"21700", {key}: {written}')
    base = PLAIN
    if section == "":
        lines = [line for line in PLAIN.splitlines() if not line.startswith(f"{key}:")]
        return "\n".join([*lines, f"{key}: {written}"]) + "\n"
    # capacitance, amps and watts, ...: what excludes each other stands in for one another
    instead = {"continuous_w": "continuous_a"}.get(key, key)
    others = [f"{name}: {one}" for name, one in NEEDED.get(section, {}).items() if name != instead]
    return base + _section(section, [*others, f"{key}: {written}"])


def _section(name: str, keys: list[str]) -> str:
    entry = f"{{{', '.join(keys)}}}"
    return f"{name}: {f'[{entry}]' if name in LISTS else entry}\n"


def test_it_covers_every_key_once() -> None:
    """Sections and keys are those of the reader."""
    found = {(section, key) for section, key, _ in keys()}
    expected = {
        (place[0] if place else "", key) for place, names in all_keys().items() for key in names
    }
    assert found == expected
    assert SCHEMA["required"] == ["name", "cell", "series", "parallel"]
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize(("section", "key", "form"), list(keys()), ids=lambda v: str(v)[:30])
def test_every_key_is_described_with_its_default_and_reason(
    section: str, key: str, form: dict[str, Any]
) -> None:
    """A description tells the meaning, and the default or that it must be given."""
    text = form["description"]
    assert "{" not in text.replace("{key", "")
    assert "null" not in json.dumps(form)
    if section in ("", "printer") and "properties" in resolved(form):
        return  # a section: its keys tell theirs
    assert any(word in text for word in ("Default", "No default", "Required", "required")), text


def numbers() -> list[tuple[str, str, dict[str, Any]]]:
    """All keys that take one number."""
    return [one for one in keys() if one[2].get("type") in ("number", "integer")]


@pytest.mark.parametrize(("section", "key", "form"), numbers(), ids=lambda v: str(v)[:30])
def test_the_readers_bounds_are_the_schemas(section: str, key: str, form: dict[str, Any]) -> None:
    """Just past each bound of the schema the reader refuses that very key, and says so."""
    step = 1 if form["type"] == "integer" else 0.001
    beyond = [form["maximum"] + step]
    beyond.append(form["minimum"] - step if "minimum" in form else form["exclusiveMinimum"])
    entry = f"{section} entry 1" if section in LISTS else section
    for value in beyond:
        lines = refused(with_value(section, key, round(value, 6)))
        assert any(re.search(rf": {entry}\.?{key}: must be ", line) for line in lines), lines


@pytest.mark.parametrize(
    ("section", "key", "form"),
    [one for one in keys() if "default" in one[2]],
    ids=lambda v: str(v)[:30],
)
def test_a_default_written_out_changes_nothing(
    section: str, key: str, form: dict[str, Any]
) -> None:
    """Each default that the schema states is the one that the reader fills in."""
    # the form of can and lattice that the plain file has leaves these as they are; of values that
    # win over a choice the pack also knows that the file gives them
    written, plain = (
        replace(one, strip=replace(one.strip, given=()))
        for one in (read(with_value(section, key, form["default"])).pack, read(_base(section)).pack)
    )
    assert written == plain


def _base(section: str) -> str:
    given = [f"{key}: {value}" for key, value in NEEDED.get(section, {}).items()]
    return PLAIN + (_section(section, given) if given else "")


def test_defaults_that_follow_the_can_are_told_for_each() -> None:
    """The table's values stand in the description."""
    text = SCHEMA["$defs"]["HolderSection"]["properties"]["window_mm"]["description"]
    for value in ("14.5 (18650)", "16.5 (21700)", "20.5 (26650)", "24 (32700)"):
        assert value in text
    assert "default" not in SCHEMA["$defs"]["HolderSection"]["properties"]["window_mm"]


def test_closed_choices_are_listed() -> None:
    """Editors offer the words."""
    assert resolved(SCHEMA["properties"]["lattice"])["enum"] == ["honeycomb", "grid", "free"]
