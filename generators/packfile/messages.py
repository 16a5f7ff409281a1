"""pydantic's findings in plain words: one fault each, with the line and the way out."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from enum import Enum
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from generators.packfile.faults import Fault, Path, field_name
from generators.packfile.loader import Document
from generators.packfile.models import PackFile

__all__ = ["all_keys", "keys_of", "misspelt", "nearest", "told"]

CLOSE = 0.6  # difflib's likeness from which one word is taken for another misspelt

_PATH = "write it relative to this file's folder, such as bay.step"

PATTERNS: Mapping[tuple[str, ...], tuple[str, str]] = {
    ("name",): (
        "has characters other than letters, digits, - and _, or starts with - or _",
        "write a plain name such as my-pack, up to 64 characters, no folders",
    ),
    ("cell", "format"): (
        "is not the name of a cell size",
        'write the trade name in quotes, such as "21700"',
    ),
    ("cell", "chemistry"): (
        "is not the name of a chemistry",
        "write nmc, nca, lfp or lto, or another word and all three voltages",
    ),
    ("charger", "chemistry"): (
        "is not the name of a chemistry",
        "write nmc, nca, lfp or lto, or the same word as in cell.chemistry",
    ),
    ("load", "profile"): (
        "is not the path of a file",
        "write it relative to this file's folder, such as ride.csv",
    ),
    ("measured_cells",): (
        "is not the path of a file",
        "write it relative to this file's folder, such as sorted-cells.csv",
    ),
    ("mount", "script"): (
        "is not the path of a Python file",
        "write it as seen from this file's folder, such as bracket.py",
    ),
    ("mount", "frame", "name"): (
        "is not a name of 1 to 60 characters",
        "write a few words such as floor",
    ),
    ("printer", "profile"): (
        "is not the path of a file",
        "write it relative to this file's folder, such as my-printer.yaml",
    ),
    ("printer", "measured"): ("is not a date", "write year-month-day, such as 2026-03-31"),
    ("space", "file"): ("is not the path of a file", _PATH),
    ("space", "keep_out", "file"): ("is not the path of a file", _PATH),
    ("space", "keep_out", "name"): (
        "is not a name of 1 to 60 characters",
        "write a few words such as chain line",
    ),
}

KINDS = {
    "float_type": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "string_type": "text",
    "tuple_type": "a list",
    "model_type": "a section of keys",
    "model_attributes_type": "a section of keys",
    "dict_type": "a section of keys",
}

LIMITS = {
    "greater_than": ("gt", "must be more than", "use more than"),
    "greater_than_equal": ("ge", "must be at least", "use at least"),
    "less_than": ("lt", "must be less than", "use less than"),
    "less_than_equal": ("le", "must be at most", "use at most"),
}


def told(error: ErrorDetails, document: Document) -> Fault:
    """One finding of pydantic as a fault of the file."""
    path: Path = tuple(error["loc"])
    why, value, remedy = _words(error, path, document)
    return document.fault(path, why=why, value=value, remedy=remedy)


def misspelt(error: ErrorDetails) -> Path | None:
    """The known key that an unknown one most likely means, None for other findings."""
    if error["type"] != "extra_forbidden":
        return None
    *section, word = error["loc"]
    model = _model(tuple(section))
    near = None if model is None else nearest(str(word), keys_of(model))
    return None if near is None else (*section, near)


def nearest(word: str, known: list[str], *, likeness: float = CLOSE) -> str | None:
    """The known word that ``word`` most likely means, None where nothing is close."""
    lower = {one.lower(): one for one in known}
    found = get_close_matches(word.lower(), list(lower), n=1, cutoff=likeness)
    return lower[found[0]] if found else None


def _words(error: ErrorDetails, path: Path, document: Document) -> tuple[str, str | None, str]:
    kind, value = error["type"], _value(path, error["input"], document)
    context: Mapping[str, Any] = error.get("ctx", {})
    if kind == "missing":
        return _missing(path)
    if kind == "extra_forbidden":
        return "is not a known key", str(path[-1]), _nearest_key(path)
    if kind in LIMITS:
        key, why, remedy = LIMITS[kind]
        limit = f"{context[key]:,.10g}"
        return f"{why} {limit}", value, f"{remedy} {limit}"
    if kind in ("enum", "literal_error"):
        return _wrong_word(path, error["input"], value)
    if kind == "string_pattern_mismatch":
        why, remedy = PATTERNS[_fields(path)]
        return why, value, remedy
    if kind in ("too_long", "too_short"):
        lowest, highest = context.get("min_length"), context.get("max_length")
        limit = f"at least {lowest}" if lowest is not None else f"at most {highest}"
        return "has the wrong number of entries", value, f"give {limit}"
    if kind in KINDS:
        return _wrong_kind(kind, error["input"], value)
    return f"can't be used: {error['msg']}", value, "see cellstead schema"


def _wrong_kind(kind: str, given: Any, value: str | None) -> tuple[str, str | None, str]:
    wanted = KINDS[kind]
    why = f"must be {wanted}, not {_kind_of(given)}"
    if kind == "string_type" and isinstance(given, bool | int | float):
        return why, value, f'put it in quotes: "{value}"'
    if wanted == "a section of keys":
        return why, value, "write its keys below it, or {key: value, ...}"
    if wanted == "a list":
        return why, value, "write [a, b, ...]"
    return why, value, f"write {wanted}"


def _kind_of(given: Any) -> str:
    if isinstance(given, bool):
        return "true or false"
    if isinstance(given, int | float):
        return "a number" if isinstance(given, int) else "a number with decimals"
    if isinstance(given, str):
        return "text"
    return "a list" if isinstance(given, tuple) else "a section of keys"


def _value(path: Path, given: Any, document: Document) -> str:
    """The value as written in the file, else in a few words."""
    if path in document.written:
        return document.written[path]
    if isinstance(given, tuple):
        return f"a list of {len(given)}"
    return f"{len(given)} keys" if isinstance(given, dict) else str(given)


def _missing(path: Path) -> tuple[str, str | None, str]:
    if isinstance(path[-1], int):
        return "is missing from the list", None, "give all entries of the list"
    model = _model(path[:-1])
    about = ""
    if model is not None and (field := _field(model, path[-1])) is not None:
        text = (field.description or "").split(".")[0]
        about = f" {text[:1].lower()}{text[1:]}"
    return "is missing", None, f"add {path[-1]}:{about}"


def _nearest_key(path: Path) -> str:
    word, model = str(path[-1]), _model(path[:-1])
    known = [] if model is None else keys_of(model)
    if (near := nearest(word, known)) is not None:
        return f"write {near}" if near != word else f"see {near}"
    for place, keys in all_keys().items():
        if word in keys and place != path[:-1]:
            return f"it belongs in {place[0]}" if place else "it belongs at the top level"
    for place, keys in all_keys().items():
        if (near := nearest(word, keys)) is not None:
            return f"write {field_name((*place, near))}"
    return f"known here: {', '.join(known)}"


def _wrong_word(path: Path, given: Any, value: str | None) -> tuple[str, str | None, str]:
    words = _choices(path)
    near = nearest(given, words) if isinstance(given, str) else None
    listed = words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
    remedy = f"write {near}" if near is not None else f"write {listed}"
    return f"must be {listed}", value, remedy


def _fields(path: Path) -> tuple[str, ...]:
    return tuple(part for part in path if isinstance(part, str))


def _model(path: Path) -> type[BaseModel] | None:
    """The section's model at a path: the file itself at (); places in lists are passed over."""
    model: type[BaseModel] = PackFile
    for part in _fields(path):
        field = model.model_fields.get(str(part))
        inner = None if field is None else _model_in(field.annotation)
        if inner is None:
            return None
        model = inner
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The first section within an annotation, in lists too."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = (_model_in(one) for one in get_args(annotation))
    return next((one for one in found if one is not None), None)


def keys_of(model: type[BaseModel]) -> list[str]:
    """A section's keys as files write them."""
    return [field.alias or name for name, field in model.model_fields.items()]


def _field(model: type[BaseModel], key: str | int) -> FieldInfo | None:
    """A section's field by the key that files write."""
    fields = model.model_fields.items()
    return next((field for name, field in fields if (field.alias or name) == key), None)


def all_keys() -> dict[tuple[str, ...], list[str]]:
    """Keys of the file: at () those of the top level, at (section,) those of a section."""
    keys: dict[tuple[str, ...], list[str]] = {(): list(PackFile.model_fields)}
    for name, field in PackFile.model_fields.items():
        inner = _model_in(field.annotation)
        if inner is not None:
            keys[(name,)] = keys_of(inner)
    return keys


def _choices(path: Path) -> list[str]:
    """All words that a closed choice takes, alone or as an entry of a list."""
    *section, key = _fields(path)
    model = _model(tuple(section))
    assert model is not None  # a choice is always a key of a section
    field = _field(model, key)
    assert field is not None
    return _words_in(field.annotation)


def _words_in(annotation: Any) -> list[str]:
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return [str(one.value) for one in annotation]
    if get_origin(annotation) is Literal:
        return [str(one) for one in get_args(annotation)]
    return [word for one in get_args(annotation) for word in _words_in(one)]
