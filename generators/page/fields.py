"""The pack file's keys as fields of a form: label, unit, kind, choices, help."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from generators.packfile.schema import pack_schema
from layouts.formats import cell_formats, chemistries

__all__ = ["FILE_KEYS", "form_fields"]

# Endings of keys, longest first, and the unit that a label tells
UNITS = {
    "_mohm_mm2": "mΩ mm²", "_a_mm2": "A/mm²", "_rpm_per_v": "rpm/V", "_km_h": "km/h",
    "_mm_s": "mm/s", "_g_cm3": "g/cm³", "_percent": "%", "_mohm": "mΩ", "_deg": "°", "_mm2": "mm²",
    "_mpa": "MPa", "_mah": "mAh", "_min": "min", "_mm": "mm", "_ah": "Ah", "_wh": "Wh", "_kg": "kg",
    "_nm": "Nm", "_uf": "µF", "_ma": "mA", "_a": "A", "_v": "V", "_w": "W", "_s": "s", "_g": "g",
    "_c": "°C", "_n": "N", "_m": "m", "_h": "h",
}  # fmt: skip
# Keys that name files: the page looks at each before it is read
FILE_KEYS = frozenset({"file", "profile", "script", "measured_cells"})
SUGGESTED: Mapping[tuple[str, ...], Callable[[], Mapping[str, object]]] = {
    ("cell", "format"): cell_formats,
    ("cell", "chemistry"): chemistries,
}
DRAWN = {"space"}  # has its own part of the page


@cache
def form_fields() -> tuple[dict[str, Any], ...]:
    """One row a section: ``key``, ``title``, ``help`` and its ``fields``; the first has the keys at
    the top of the file."""
    schema = pack_schema()
    kinds = schema["$defs"]
    top: list[dict[str, Any]] = []
    sections: list[dict[str, Any]] = [
        {"key": "", "title": "pack", "help": "The pack itself.", "fields": top}
    ]
    for key, form in schema["properties"].items():
        section = _section(form, kinds)
        if key in DRAWN:
            continue
        if section is None:
            top.append(_field((key,), form, kinds))
        else:
            sections.append(
                {
                    "key": key,
                    "title": key.replace("_", " "),
                    "help": form.get("description", ""),
                    "fields": _fields((key,), section, kinds),
                }
            )
    return tuple(sections)


def _section(form: dict[str, Any], kinds: dict[str, Any]) -> dict[str, Any] | None:
    """The keys that a form has below it; None for a single value."""
    found = _resolved(form, kinds)
    return found if found.get("properties") else None


def _resolved(form: dict[str, Any], kinds: dict[str, Any]) -> dict[str, Any]:
    refs = [form, *form.get("allOf", ()), *form.get("anyOf", ())]
    name = next((one["$ref"] for one in refs if "$ref" in one), None)
    return form if name is None else {**kinds[name.rpartition("/")[2]], **form}


def _fields(
    path: tuple[str, ...], section: dict[str, Any], kinds: dict[str, Any]
) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    for key, form in section["properties"].items():
        below = _section(form, kinds)
        found += (
            [_field((*path, key), form, kinds)]
            if below is None
            else _fields((*path, key), below, kinds)
        )
    return found


def _field(path: tuple[str, ...], form: dict[str, Any], kinds: dict[str, Any]) -> dict[str, Any]:
    form = _resolved(form, kinds)
    key = path[-1]
    ending = next((one for one in sorted(UNITS, key=len, reverse=True) if key.endswith(one)), "")
    words = key.removesuffix(ending).replace("_", " ") or key
    above = [one.replace("_", " ") for one in path[1:-1]]
    row = {
        "path": list(path),
        "label": " ".join([*above, words]),
        "unit": UNITS.get(ending, ""),
        "kind": _kind(form),
        "help": form.get("description", ""),
    }
    if form.get("enum"):
        row["choices"] = list(form["enum"])
    elif path in SUGGESTED:
        row["suggested"] = list(SUGGESTED[path]())
    if form.get("default") is not None:
        row["default"] = form["default"]
    return row


def _kind(form: dict[str, Any]) -> str:
    """``choice``, ``flag``, ``number``, ``text``, or ``values`` for lists and what else is written
    as YAML."""
    if form.get("enum"):
        return "choice"
    kind = form.get("type")
    if kind is None:
        kinds = {one.get("type") for one in form.get("anyOf", ())}
        numbers = {"number", "integer"}
        kind = "values" if "array" in kinds else "string" if "string" in kinds else ""
        kind = kind or ("number" if kinds & numbers else "")
    return {"boolean": "flag", "number": "number", "integer": "number", "string": "text"}.get(
        kind or "", "values"
    )
