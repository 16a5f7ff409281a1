"""Keys that the pack file no longer has, since they take one value alone and change nothing.

A file that gives such a key with that value gives the same pack and is cautioned; any other value
is at fault, with the reason.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from generators.packfile.faults import Caution, Fault, field_name
from generators.packfile.loader import Document, Plain

__all__ = ["DROPPED", "Dropped", "without_dropped"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Dropped:
    """A key by its section, its one value, and why there is no other."""

    section: str
    key: str
    value: str
    why: str


DROPPED = (
    Dropped(
        section="enclosure",
        key="vent",
        value="open",
        why="can't be closed: without a calculated vent the gas of a venting cell bursts it",
    ),
    Dropped(
        section="enclosure",
        key="screw",
        value="M3",
        why="must be M3, which all bosses are made for",
    ),
    Dropped(
        section="holder",
        key="screw",
        value="M3",
        why="must be M3, which all tie posts are made for",
    ),
)


def without_dropped(document: Document, file: str) -> tuple[Document, tuple[Caution, ...]]:
    """A document without such keys, and a caution for each. ``file``: how messages call it."""
    cautions: list[Caution] = []
    for one in DROPPED:
        path = (one.section, one.key)
        section = document.values.get(one.section)
        if not isinstance(section, dict) or one.key not in section:
            continue
        line, value = document.line(path), section[one.key]
        document = _without(document, one, section)
        if value == one.value:
            text = f"{one.value} is its one value: the key is no longer read, delete it"
            place = f"{file}:{line}"
            cautions.append(Caution(field=field_name(path), text=text, place=place))
        else:
            written = document.written.get(path)
            fault = Fault(
                line=line, field=field_name(path), why=one.why, value=written, remedy="delete it"
            )
            document = replace(document, faults=(*document.faults, fault))
    return document, tuple(cautions)


def _without(document: Document, one: Dropped, section: dict[str, Plain]) -> Document:
    others = {key: value for key, value in section.items() if key != one.key}
    return replace(document, values={**document.values, one.section: others})
