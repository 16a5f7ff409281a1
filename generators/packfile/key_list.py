"""The list of all keys of a pack file in Markdown, made from the form.

``python -m generators.packfile.key_list > layouts/examples/keys.md`` writes it anew; a test
holds the file to it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from generators.packfile.dropped import DROPPED
from generators.packfile.faults import field_name
from generators.packfile.renamed import RENAMED
from generators.packfile.schema import pack_schema

__all__ = ["key_list"]

HEAD = """\
# Keys of a pack file

Every key with its unit, its permitted values, its default with the reason, and its meaning. Units
stand in the names of the keys. Only `name`, `cell`, `series` and `parallel` are required. A can is
the metal body of a cell; diametral clearance is a difference of diameters. Defaults and typical
values are common practice, no source; the data sheet of your cell takes precedence.

This file is made from the program's own form: `python -m generators.packfile.key_list`.
"""

# by the last parts of a key's name, longest first where one ends with another
UNITS = {
    "acceleration_g": "times 9.81 m/s²",
    "_a_mm2": "A/mm²",
    "_rpm_per_v": "turns a minute a volt",
    "_km_h": "km/h",
    "_m2": "m²",
    "mass_kg": "kg",
    "_mm_s2": "mm/s²",
    "_mm_s": "mm/s",
    "_g_cm3": "g/cm³",
    "_percent": "%",
    "_mm2": "mm²",
    "_mm": "mm",
    "_ah": "Ah",
    "_a": "A",
    "_mohm": "mohm",
    "_v": "V",
    "_w": "W",
    "_s": "s",
    "_kg_m3": "kg/m³",
    "_g": "g",
    "_kpa": "kPa",
    "gas_l": "l",
    "_c": "°C",
    "_uf": "µF",
    "_f": "F",
    "volts_limit": "V",
    "awg": "AWG",
}
_DEFAULT = re.compile(r" (?=(?:Default|No default|Required|Left out)\b)")

Form = dict[str, Any]


def key_list() -> str:
    """The whole list: a table for the top level, one for each section, and the former names."""
    schema = pack_schema()
    parts = [HEAD, _table("Top level", "", schema, schema)]
    parts += [_table(name, text, form, schema) for name, text, form in _sections(schema, schema)]
    return "\n".join([*parts, _former_names(), _dropped_keys()])


def _sections(form: Form, schema: Form, above: str = "") -> Iterator[tuple[str, str, Form]]:
    """(name, description, form) of every section below a form, each before those within it."""
    for key, one in form["properties"].items():
        inner = _section_of(one, schema)
        if inner is None:
            continue
        name = f"{above}.{key}" if above else key
        is_list = one.get("type") == "array"
        yield name, f"{inner['description']}{' A list of such sections.' if is_list else ''}", inner
        yield from _sections(inner, schema, name)


def _section_of(form: Form, schema: Form) -> Form | None:
    """The section that a key holds, alone or as entries of a list; None for a plain value."""
    for one in (form, *form.get("anyOf", ()), form.get("items", {})):
        resolved = _resolved(one, schema)
        if "properties" in resolved:
            return resolved
    return None


def _resolved(form: Form, schema: Form) -> Form:
    """A form with its reference followed."""
    if "$ref" not in form:
        return form
    found: Form = schema["$defs"][form["$ref"].removeprefix("#/$defs/")]
    return found


def _table(name: str, text: str, form: Form, schema: Form) -> str:
    lines = [f"## {name}", ""]
    if text:
        lines += [" ".join(text.split()), ""]
    lines += ["| key | unit, values | default | meaning |", "|---|---|---|---|"]
    for key, one in form["properties"].items():
        meaning, default = _split(one["description"])
        if not default:  # a section that may be left out: its keys have their own defaults
            default = "Its keys have defaults."
        lines.append(f"| `{key}` | {_values(key, one, schema)} | {default} | {meaning} |")
    return "\n".join([*lines, ""])


def _split(description: str) -> tuple[str, str]:
    """(meaning, default with its reason) of a description, which gives them in that order."""
    meaning, *rest = _DEFAULT.split(description, maxsplit=1)
    default = rest[0] if rest else ""
    return meaning, re.sub(r"^Default:? ", "", default)


def _values(key: str, form: Form, schema: Form) -> str:
    """Unit and kind of a key's value, and its bounds."""
    kind = _kind(form, schema)
    if kind.startswith(("text", "true", "section", "list of sections", "`")):
        return kind
    unit = next((unit for ending, unit in UNITS.items() if key.endswith(ending)), "")
    return ", ".join(part for part in (unit, kind) if part)


def _kind(form: Form, schema: Form) -> str:
    """What kind of value it is, in a few words."""
    form = _resolved(form, schema)
    if "anyOf" in form:
        return _kind_of_several(form["anyOf"], schema)
    if "properties" in form:
        return "section"
    if "enum" in form:
        return ", ".join(f"`{word}`" for word in form["enum"])
    if "const" in form:
        return f"`{form['const']}`"
    if form["type"] == "array":
        return _kind_of_list(form, schema)
    if form["type"] in ("string", "boolean"):
        return "text" if form["type"] == "string" else "true or false"
    return f"whole number {_bounds(form)}" if form["type"] == "integer" else _bounds(form)


def _kind_of_several(forms: list[Form], schema: Form) -> str:
    """A section or the path of its file; text that may look like a number."""
    if any("properties" in _resolved(one, schema) for one in forms):
        return "section, or text: the path of its file"
    assert {"type": "string"}.items() <= forms[0].items()  # no other choice is in the form
    return "text"


def _kind_of_list(form: Form, schema: Form) -> str:
    if "prefixItems" not in form:
        return f"list of {_in_a_list(_kind(form['items'], schema))}"
    items = form["prefixItems"]
    kinds = list(dict.fromkeys(_kind(one, schema) for one in items))
    if len(kinds) > 1:
        return f"list of {len(items)} numbers, {'; '.join(kinds)}"
    inner = _in_a_list(kinds[0])
    return f"list of {len(items)} {inner}"


def _in_a_list(kind: str) -> str:
    """Several values of one kind."""
    if kind == "section":
        return "sections"
    if kind.startswith("list "):
        return kind.replace("list ", "lists ", 1)
    return f"{'words' if kind.startswith('`') else 'numbers'}, each {kind}"


def _bounds(form: Form) -> str:
    """The permitted range of a number."""
    highest = f"{form['maximum']:,.10g}"
    if "exclusiveMinimum" in form:
        return f"more than {form['exclusiveMinimum']:,.10g}, at most {highest}"
    return f"{form['minimum']:,.10g} to {highest}"


def _former_names() -> str:
    lines = [
        "## Former names",
        "",
        "Still read, with a caution at their line of the file; give a key under one name only.",
        "",
        "| former name | name today |",
        "|---|---|",
    ]
    for one in RENAMED:
        lines.append(f"| `{field_name(one.former)}` | `{field_name(one.present)}` |")
        lines += [
            f"| `{field_name(one.present)}: {old}` | `{field_name(one.present)}: {new}` |"
            for old, new in one.words.items()
        ]
    return "\n".join([*lines, ""])


def _dropped_keys() -> str:
    lines = [
        "## Keys that are no more",
        "",
        "Taken with their one value, with a caution; they change nothing.",
        "",
        "| key | its value |",
        "|---|---|",
        *(f"| `{one.section}.{one.key}` | `{one.value}` |" for one in DROPPED),
    ]
    return "\n".join([*lines, ""])


if __name__ == "__main__":
    print(key_list(), end="")
