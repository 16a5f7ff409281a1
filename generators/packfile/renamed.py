"""Keys and words of the pack file that have new names: the former ones are read as the new.

``RENAMED`` is the one list of them. A file that still has a former name gives the same pack and
is cautioned; a file that has both names of one key is at fault.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from generators.packfile.faults import Caution, Fault, Path, field_name
from generators.packfile.loader import Document, Plain

__all__ = ["RENAMED", "Renamed", "with_new_names"]

KeyPath = tuple[str, ...]
Row = TypeVar("Row")


@dataclass(frozen=True, kw_only=True, slots=True)
class Renamed:
    """One key by its former and its present path.

    ``words``: former words of its value and the present ones, read under either path.
    """

    former: KeyPath
    present: KeyPath
    words: Mapping[str, str] = field(default_factory=dict)


RENAMED = (
    Renamed(former=("holder", "floor_behind_mm"), present=("holder", "web_recess_mm")),
    Renamed(former=("strip", "density_a_mm2"), present=("strip", "current_density_a_mm2")),
    Renamed(former=("mount", "offers"), present=("mount", "kind"), words={"plate": "angle"}),
    Renamed(former=("grouping", "first_side"), present=("grouping", "minus_side")),
    Renamed(former=("grouping", "last_side"), present=("grouping", "plus_side")),
    Renamed(former=("grouping", "forbid_mm"), present=("grouping", "exclude_mm")),
    Renamed(former=("load", "cutoff_v"), present=("load", "discharge_cutoff_v")),
)


def with_new_names(document: Document, file: str) -> tuple[Document, tuple[Caution, ...]]:
    """A document whose former names are replaced, and a caution for each, in order of lines.

    Faults still call a key as the file does. ``file``: how messages call the file.
    """
    found: list[tuple[int, Caution]] = []
    for one in RENAMED:
        given, line = document.has(one.former), document.line(one.former)
        if given and document.has(one.present):
            document = _without_former(document, one)
            continue
        if given:
            document = _moved(document, one)
        document, word = _with_new_word(document, one)
        if given or word is not None:
            at = one.former if given else one.present
            line = document.line(one.present)
            found.append((line, _caution(one, at, word, f"{file}:{line}")))
    return document, tuple(caution for _, caution in sorted(found, key=lambda pair: pair[0]))


def _caution(one: Renamed, at: KeyPath, word: str | None, place: str) -> Caution:
    said = [f"renamed to {field_name(one.present)}"] if at == one.former else []
    if word is not None:
        said.append(f"its value {word} renamed to {one.words[word]}")
    text = f"{', '.join(said)}; the former name is still read, write the new one"
    return Caution(field=field_name(at), text=text, place=place)


def _without_former(document: Document, one: Renamed) -> Document:
    """The present key alone, and a fault for the former one beside it."""
    fault = Fault(
        line=document.line(one.former),
        field=field_name(one.former),
        why=f"is the former name of {field_name(one.present)}, which line "
        f"{document.line(one.present)} gives too",
        value=document.written.get(one.former),
        remedy=f"delete {one.former[-1]}",
    )
    return replace(
        document,
        values=_put(document.values, one.former, None),
        lines={path: row for path, row in document.lines.items() if not _within(path, one.former)},
        written={
            path: row for path, row in document.written.items() if not _within(path, one.former)
        },
        broken=frozenset(path for path in document.broken if not _within(path, one.former)),
        faults=(*document.faults, fault),
    )


def _moved(document: Document, one: Renamed) -> Document:
    """All of the former key under the present path."""

    def renamed(path: Path) -> Path:
        inside = _within(path, one.former)
        return (*one.present, *path[len(one.former) :]) if inside else path

    def moved(rows: Mapping[Path, Row]) -> dict[Path, Row]:
        return {renamed(path): row for path, row in rows.items()}

    values, value = document.values, _get(document.values, one.former)
    if value is not None:  # a broken value is left out of the document
        values = _put(_put(values, one.former, None), one.present, value)
    return replace(
        document,
        values=values,
        lines=moved(document.lines),
        written=moved(document.written),
        broken=frozenset(renamed(path) for path in document.broken),
        former={**document.former, one.present: one.former},
    )


def _with_new_word(document: Document, one: Renamed) -> tuple[Document, str | None]:
    """The present word in place of a former one, and the former one if there was any."""
    value = _get(document.values, one.present)
    if not isinstance(value, str) or value not in one.words:
        return document, None
    values = _put(document.values, one.present, one.words[value])
    return replace(document, values=values), value


def _within(path: Path, top: KeyPath) -> bool:
    return path[: len(top)] == top


def _get(values: Plain, path: KeyPath) -> Plain:
    """The value at a path, None where there is none."""
    for key in path:
        if not isinstance(values, dict):
            return None
        values = values.get(key)
    return values


def _put(values: dict[str, Plain], path: KeyPath, value: Plain) -> dict[str, Plain]:
    """A copy with one value put in, or taken out with None; the sections above it are copied."""
    key, *rest = path
    if rest:
        inner = values.get(key, {})
        assert isinstance(inner, dict)  # the file has a key in it, or lacks the section
        return {**values, key: _put(inner, tuple(rest), value)}
    others = {name: one for name, one in values.items() if name != key}
    return others if value is None else {**others, key: value}
