"""YAML read strictly: plain values with the line of every key, and nothing surprising.

PyYAML's parser gives events; this module alone decides what they mean. Scalars follow
YAML 1.2's core schema, so ``yes`` and ``1:30`` stay text and ``012`` is twelve. Refused, each
with its line: aliases and anchors (a few lines of them can stand for millions of values), tags,
keys that occur twice, several documents, deep nesting, numbers that aren't finite.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import yaml

from generators.packfile.faults import Fault, Path, field_name

__all__ = ["LARGEST_BYTES", "Document", "Plain", "load"]

Plain = str | int | float | bool | None | tuple["Plain", ...] | dict[str, "Plain"]

LARGEST_BYTES = 1_000_000
DEEPEST = 30  # a pack file is 4 deep
MOST_VALUES = 5_000  # a pack file with every key has about 100; bounds the time to read
LONGEST_NUMBER = 40  # characters; no length or current needs more

_NEEDS = "give at least name, cell, series and parallel"

_NULL = re.compile(r"~|null|Null|NULL|")
_BOOL = re.compile(r"true|True|TRUE|false|False|FALSE")
_DECIMAL = re.compile(r"[-+]?[0-9]+")
_OCTAL = re.compile(r"0o[0-7]+")
_HEX = re.compile(r"0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")
# tab, line feed and carriage return are all that a text file needs of these; the two line
# separators would make our line count differ from the editor's
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufffe\uffff]")


@dataclass(frozen=True, kw_only=True, slots=True)
class Document:
    """A pack file's plain values.

    ``values``: mappings as dicts, lists as tuples. ``lines``: line of each key and list entry
    (from 1). ``written``: scalars as they stand in the file. ``faults``: what was wrong; the
    values at ``broken`` paths are left out. ``files``: sections that stand in another file, or
    keys of a section that do, and its name. ``former``: keys that the file calls by a former
    name, and that name's path.
    """

    values: dict[str, Plain] = field(default_factory=dict)
    lines: Mapping[Path, int] = field(default_factory=dict)
    written: Mapping[Path, str] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    broken: frozenset[Path] = frozenset()
    whole: bool = True  # False: reading stopped before the end, so nothing is known of the rest
    files: Mapping[Path, str] = field(default_factory=dict)
    former: Mapping[Path, Path] = field(default_factory=dict)

    def line(self, path: Path) -> int:
        """Line of a path, or of the nearest key above it that the file has."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)

    def has(self, path: Path) -> bool:
        """True where the file itself gives this path."""
        return path in self.lines

    def file_of(self, path: Path) -> str | None:
        """The file that a path stands in; None: the pack file itself."""
        above = (path[:size] for size in range(len(path), 0, -1))
        return next((self.files[one] for one in above if one in self.files), None)

    def fault(
        self, path: Path, *, why: str, value: str | None, remedy: str, at: Path | None = None
    ) -> Fault:
        """A fault at a path, in the file that the path stands in, by the name that it has there.

        ``at``: another path whose line and file are told, since it is what the file gives."""
        place = path if at is None else at
        file = self.file_of(place)
        inside = file is not None and path[:1] == place[:1]
        name = field_name(path[1:] if inside else self._in_file(path))
        return Fault(
            line=self.line(place), field=name, why=why, value=value, remedy=remedy, file=file
        )

    def _in_file(self, path: Path) -> Path:
        """A path as the file has it."""
        for present, former in self.former.items():
            if path[: len(present)] == present:
                return (*former, *path[len(present) :])
        return path


def load(data: bytes, *, needs: str = _NEEDS, blanks: bool = False) -> Document:
    """Read a pack file's bytes. Never raises on bad input: faults are in the document.

    ``needs``: what to give where the file is empty. ``blanks``: keys may be left empty, as in a
    form; their value is None.
    """
    text, fault = _decoded(data)
    if fault is not None:
        return Document(faults=(fault,), whole=False)
    return _Reader(text, needs, blanks).document()


def _decoded(data: bytes) -> tuple[str, Fault | None]:
    if len(data) > LARGEST_BYTES:
        size = f"more than {LARGEST_BYTES:,} bytes"
        return "", _file_fault(1, "is too large", size, "give a pack file of at most 1 MB")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        byte = f"byte 0x{data[error.start]:02x}"
        return "", _file_fault(line, "is not UTF-8 text", byte, "save it as UTF-8")
    found = _CONTROL.search(text)
    if found:
        line = len(re.findall(r"\r\n|\r|\n", text[: found.start()])) + 1
        mark = f"U+{ord(found[0]):04X}"
        why = "contains a control character"
        return "", _file_fault(line, why, mark, "delete it: a pack file is plain text")
    return text, None


def _file_fault(line: int, why: str, value: str | None, remedy: str) -> Fault:
    return Fault(line=line, field="file", why=why, value=value, remedy=remedy)


class _StoppedError(Exception):
    """Reading can't go on; the fault is already noted."""


class _Reader:
    """Builds a document from the parser's events, noting faults and going on where it can."""

    def __init__(self, text: str, needs: str, blanks: bool) -> None:
        self._text = text
        self._needs = needs
        self._blanks = blanks
        self._events: Iterator[Any] = yaml.parse(text, Loader=yaml.SafeLoader)
        self._lines: dict[Path, int] = {}
        self._written: dict[Path, str] = {}
        self._faults: list[Fault] = []
        self._broken: set[Path] = set()
        self._count = 0

    def document(self) -> Document:
        """The whole text as a document."""
        values: dict[str, Plain] = {}
        whole = True
        try:
            values = self._top()
        except _StoppedError:
            whole = False
        return Document(
            values=values,
            lines=self._lines,
            written=self._written,
            faults=tuple(self._faults),
            broken=frozenset(self._broken),
            whole=whole,
        )

    def _top(self) -> dict[str, Plain]:
        self._next()  # the stream's start
        event = self._next()
        if isinstance(event, yaml.StreamEndEvent):
            raise self._stop(1, (), "is empty", None, self._needs)
        event = self._next()
        if not isinstance(event, yaml.MappingStartEvent):
            if isinstance(event, yaml.ScalarEvent) and event.value == "":
                raise self._stop(1, (), "is empty", None, self._needs)
            kind = "a list" if isinstance(event, yaml.SequenceStartEvent) else "a single value"
            if isinstance(event, yaml.AliasEvent):
                kind = "an alias"
            why = "has no keys at its top level"
            raise self._stop(_line(event), (), why, kind, self._needs)
        self._lines[()] = _line(event)
        values = self._mapping(event, ())
        self._next()  # the document's end
        event = self._next()
        if not isinstance(event, yaml.StreamEndEvent):
            why, remedy = "has several documents", "keep one and delete the line of dashes"
            raise self._stop(_line(event), (), why, "---", remedy)
        return values

    def _next(self) -> Any:
        try:
            return next(self._events)
        except yaml.MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            line = 1 if mark is None else mark.line + 1
            raise self._unreadable(line, error.problem or "unknown error") from error
        except (yaml.YAMLError, ValueError, OverflowError, RecursionError) as error:
            # the parser lets some of Python's own errors through, e.g. for \UFFFFFFFF
            raise self._unreadable(1, str(error)) from error

    def _unreadable(self, line: int, problem: str) -> _StoppedError:
        last = self._text.count("\n") + 1
        line = min(line, last)  # an unclosed bracket is noticed after the last line
        tab = "\\t" in problem
        remedy = "indent with spaces" if tab else "check colons, quotes, brackets and indentation"
        return self._stop(line, (), "is not readable as YAML", " ".join(problem.split()), remedy)

    def _stop(
        self, line: int, path: Path, why: str, value: str | None, remedy: str
    ) -> _StoppedError:
        self._fault(line, path, why, value, remedy)
        return _StoppedError()

    def _fault(self, line: int, path: Path, why: str, value: str | None, remedy: str) -> None:
        self._faults.append(
            Fault(line=line, field=field_name(path), why=why, value=value, remedy=remedy)
        )

    def _value(self, event: Any, path: Path) -> Plain:
        self._count += 1
        if self._count > MOST_VALUES:
            why, remedy = "has too many values", "give the keys of one pack only"
            raise self._stop(_line(event), (), why, f"more than {MOST_VALUES:,}", remedy)
        if len(path) > DEEPEST:
            why, remedy = "is nested too deep", "give the keys of one pack only: they are 4 deep"
            raise self._stop(_line(event), (), why, f"more than {DEEPEST} levels", remedy)
        self._marks(event, path)
        if isinstance(event, yaml.MappingStartEvent):
            return self._mapping(event, path)
        if isinstance(event, yaml.SequenceStartEvent):
            return self._sequence(path)
        if isinstance(event, yaml.ScalarEvent):
            return self._scalar(event, path)
        return None  # an alias: its path is broken already

    def _marks(self, event: Any, path: Path) -> None:
        """Note aliases, anchors and tags: none of them belongs in a pack file."""
        line = _line(event)
        if isinstance(event, yaml.AliasEvent):
            why, remedy = "refers to another value by an alias", "write the value itself"
            self._fault(line, path, why, f"*{event.anchor}", remedy)
            self._broken.add(path)
            return
        if event.anchor is not None:
            why, remedy = "has an anchor", "delete the anchor"
            self._fault(line, path, why, f"&{event.anchor}", remedy)
        if event.tag is not None:
            why, remedy = "has a tag", "delete the tag; quotes make a value text"
            self._fault(line, path, why, event.tag, remedy)
            self._broken.add(path)

    def _mapping(self, start: Any, path: Path) -> dict[str, Plain]:
        if path == ():
            self._marks(start, path)
        values: dict[str, Plain] = {}
        while not isinstance(event := self._next(), yaml.MappingEndEvent):
            if not isinstance(event, yaml.ScalarEvent):
                line = _line(event)
                why, remedy = "has a key that is not a plain word", "write key: value"
                self._fault(line, path, why, None, remedy)
                self._skip(event, path)
                self._skip(self._next(), path)
                continue
            self._key(event, path, values)
        return values

    def _key(self, event: Any, path: Path, values: dict[str, Plain]) -> None:
        key, line = event.value, _line(event)
        here = (*path, key)
        self._marks_of_key(event, here)
        if _CONTROL.search(key):
            self._fault(line, here, "is a key with a control character", key, "write plain text")
            self._skip(self._next(), here)
            return
        if key in values or here in self._broken:
            first = self._lines[here]
            self._fault(
                line, here, "is given twice", f"first in line {first}", "delete one of the two"
            )
            self._skip(self._next(), here)
            return
        self._lines[here] = line
        value = self._value(self._next(), here)
        if here not in self._broken:
            values[key] = value

    def _marks_of_key(self, event: Any, path: Path) -> None:
        if event.anchor is not None or event.tag is not None:
            mark = f"&{event.anchor}" if event.anchor is not None else event.tag
            why, remedy = "has an anchor or tag at its key", "delete it"
            self._fault(_line(event), path, why, mark, remedy)

    def _skip(self, event: Any, path: Path) -> None:
        """Read past a value whose place is wrong; faults within it still count."""
        lines, written = dict(self._lines), dict(self._written)
        broken = set(self._broken)
        self._value(event, path)
        self._lines, self._written, self._broken = lines, written, broken

    def _sequence(self, path: Path) -> tuple[Plain, ...]:
        values: list[Plain] = []
        while not isinstance(event := self._next(), yaml.SequenceEndEvent):
            here = (*path, len(values))
            self._lines[here] = _line(event)
            values.append(self._value(event, here))
        if any(path == one[: len(path)] for one in self._broken):
            self._broken.add(path)  # a list with a hole is no list
        return tuple(values)

    def _scalar(self, event: Any, path: Path) -> Plain:
        text: str = event.value
        self._written[path] = text
        if _CONTROL.search(text):
            why, remedy = "contains a control character", "write plain text"
            self._fault(_line(event), path, why, text, remedy)
            self._broken.add(path)
            return None
        if event.style is not None:
            return text
        if _NULL.fullmatch(text) and self._blanks:
            return None
        if _NULL.fullmatch(text):
            why, remedy = "is empty", "give a value or delete the key"
            self._fault(_line(event), path, why, text or None, remedy)
            self._broken.add(path)
            return None
        if _BOOL.fullmatch(text):
            return text.lower() == "true"
        return self._number(text, event, path)

    def _number(self, text: str, event: Any, path: Path) -> Plain:
        """A number where the text is one, else the text itself."""
        finite = not _NOT_FINITE.fullmatch(text)
        value: Plain = text
        if any(kind.fullmatch(text) for kind in (_DECIMAL, _OCTAL, _HEX, _FLOAT)):
            if len(text) > LONGEST_NUMBER:
                why = f"is longer than {LONGEST_NUMBER} characters"
                self._fault(_line(event), path, why, text, "write a shorter number")
                self._broken.add(path)
                return None
            value = _parsed(text)
            finite = math.isfinite(value)
        if not finite:
            why, remedy = "is not a finite number", "write a number"
            self._fault(_line(event), path, why, text, remedy)
            self._broken.add(path)
            return None
        return value


def _parsed(text: str) -> int | float:
    if _DECIMAL.fullmatch(text):
        return int(text, 10)
    if _OCTAL.fullmatch(text):
        return int(text[2:], 8)
    if _HEX.fullmatch(text):
        return int(text[2:], 16)
    return float(text)


def _line(event: Any) -> int:
    line: int = event.start_mark.line
    return line + 1
