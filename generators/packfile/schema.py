"""The pack file's JSON Schema (draft 2020-12), so that editors complete and check it."""

from __future__ import annotations

import dataclasses
import re
from enum import Enum
from itertools import product
from typing import Any

from generators.packfile.models import PackFile
from layouts import defaults
from layouts.formats import cell_formats, chemistries
from layouts.pack import Cell, Lattice

__all__ = ["pack_schema"]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_MARK = re.compile(r"\{(?:(size|volts)\.)?(\w+)\}")


def pack_schema() -> dict[str, Any]:
    """The schema, every default told in its key's description and, where it is one value, in
    ``default`` too."""
    schema = PackFile.model_json_schema()
    sections = schema["$defs"]
    for name, definition in [*sections.items(), ("PackFile", schema)]:
        section = name.removesuffix("Section").lower()
        for key, form in definition.get("properties", {}).items():
            _fill_in(form, section, key)
        definition.pop("title", None)
    top = {"$schema": DIALECT, "title": "Cellstead pack file"}
    return {**top, **schema}


def _fill_in(form: dict[str, Any], section: str, key: str) -> None:
    """Make one key's form plain: no null, no made-up title, its default told."""
    form.pop("title", None)
    if form.get("default", 0) is None:
        del form["default"]
    if isinstance(form.get("default"), dict):
        del form["default"]  # a section left out: its keys tell their defaults
    choices = [one for one in form.get("anyOf", ()) if one != {"type": "null"}]
    if len(choices) == 1:
        del form["anyOf"]
        form.update(choices[0])
    elif choices:
        form["anyOf"] = choices
    by_case = _by_case(section, key)
    if by_case and len(set(by_case.values())) == 1:
        value = _plain(next(iter(by_case.values())))
        if value is not None:  # a key that the data sheet alone can fill
            form["default"] = value

    def replaced(mark: re.Match[str]) -> str:
        table, name = mark.groups()
        if table == "size":
            return _told({size: getattr(one, name) for size, one in cell_formats().items()})
        if table == "volts":
            return _told({word: getattr(one, name) for word, one in chemistries().items()})
        return _told(by_case)

    form["description"] = _MARK.sub(replaced, form["description"])


def _by_case(section: str, key: str) -> dict[str, Any]:
    """The default of a key for each can size and, where it matters, each lattice."""
    makers = {
        "leads": defaults.leads,
        "enclosure": defaults.enclosure,
        "mount": defaults.mount,
        "printer": defaults.printer,
        "speeds": lambda: defaults.printer().speeds_mm_s,
        "filament": lambda: defaults.printer().filament,
        "spread": lambda: defaults.printer().spread,
    }
    if section in makers:
        value = getattr(makers[section](), key)  # type: ignore[operator]
        if dataclasses.is_dataclass(value):
            return {}  # a section of its own
        return {} if (section, key) == ("leads", "outside_mm") else {"": value}
    if section == "cell":
        usual = {one.name: one.default for one in dataclasses.fields(Cell)}
        return {"": usual[key]} if isinstance(usual.get(key), float) else {}
    sizes = cell_formats()
    if section == "holder":
        return {name: getattr(defaults.holder(size), key) for name, size in sizes.items()}
    if section == "strip":
        return {
            f"{name} {lattice.value}": getattr(defaults.strip(size, lattice), key)
            for lattice, (name, size) in product(Lattice, sizes.items())
        }
    return {}


def _told(by_case: dict[str, Any]) -> str:
    """One value, or each case's value in words."""
    values = list(by_case.values())
    if all(value == values[0] for value in values):
        return _word(values[0])
    return ", ".join(f"{_word(one)} ({case})" for case, one in by_case.items())


def _word(value: Any) -> str:
    plain = _plain(value)
    return f"{plain:g}" if isinstance(plain, float) else str(plain)


def _plain(value: Any) -> Any:
    """A default as JSON has it."""
    assert not dataclasses.is_dataclass(value)  # a section's own defaults are told key by key
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return value
