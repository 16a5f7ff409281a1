"""What differs between two folders of results: JSON key by key, all else byte by byte."""

from __future__ import annotations

import difflib
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from itertools import islice
from pathlib import Path
from typing import Any

__all__ = [
    "Change",
    "Compared",
    "Rules",
    "byte_change",
    "compare_folders",
    "json_changes",
    "text_change",
]

SUMMED = ("formula_volume_mm3", "drawn_volume_mm3")
RELATIVE = 1e-12  # sums of the same terms in another order; far below anything drawn
LINES, WIDTH, AROUND = 20, 160, 50  # of a difference that is printed
SEARCHED = 400  # lines about the first difference that are matched: matching is quadratic


@dataclass(frozen=True, kw_only=True, slots=True)
class Rules:
    """What may differ in JSON.

    ``allowed``: patterns of key paths such as ``pack.cell.*`` or ``parts.*.name``; ``*`` takes in
    dots, and a path that matches allows all below it. ``summed``: keys whose numbers compare
    within ``relative``, a ratio.
    """

    allowed: tuple[str, ...] = ()
    summed: tuple[str, ...] = SUMMED
    relative: float = RELATIVE

    def allows(self, path: str) -> bool:
        """Whether anything may stand at a key path."""
        return any(fnmatchcase(path, pattern) for pattern in self.allowed)

    def near(self, path: str, old: object, new: object) -> bool:
        """Whether two numbers at a key of sums are the same but for rounding."""
        return (
            path.rpartition(".")[2] in self.summed
            and isinstance(old, float)
            and isinstance(new, float)
            and math.isclose(old, new, rel_tol=self.relative, abs_tol=0.0)
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Change:
    """One value that differs. ``excused``: why it counts as the same, empty where it does not."""

    path: str
    told: str
    excused: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Compared:
    """Two folders: how many files, what differs by file, and how often what was excused."""

    files: int
    faults: Mapping[str, tuple[str, ...]]
    excused: Mapping[str, int]


def compare_folders(old: Path, new: Path, *, rules: Rules) -> Compared:
    """Compare all files below two folders."""
    names_old, names_new = _files(old), _files(new)
    faults: dict[str, tuple[str, ...]] = {}
    excused: dict[str, int] = {}
    for name in sorted(names_old ^ names_new):
        faults[name] = ("only the old tree writes it" if name in names_old else
                        "only the new tree writes it",)  # fmt: skip
    # JSON last: where it tells another file's hash, that file is known to differ or not
    for name in sorted(names_old & names_new, key=lambda name: (name.endswith(".json"), name)):
        was, now = (old / name).read_bytes(), (new / name).read_bytes()
        if was == now:
            continue
        if not name.endswith(".json"):
            faults[name] = byte_change(was, now, markup=name.endswith((".html", ".svg")))
            continue
        changes = json_changes(was, now, rules=rules, differing=set(faults))
        lines = tuple(f"{one.path}: {one.told}" for one in changes if not one.excused)
        if lines:
            faults[name] = lines
        for one in changes:
            if one.excused:
                excused[one.excused] = excused.get(one.excused, 0) + 1
    return Compared(files=len(names_old | names_new), faults=faults, excused=excused)


def _files(folder: Path) -> set[str]:
    return {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}


def json_changes(
    old: bytes, new: bytes, *, rules: Rules, differing: set[str] | None = None
) -> list[Change]:
    """What differs between two JSON texts, by key path; empty only where the bytes are the same.

    Entries of a list that all have a ``path`` or ``name`` of their own are told by it, others by
    their number from 0. ``differing``: files known to differ, so that their hashes do too.
    """
    if old == new:
        return []
    try:
        was, now = json.loads(old), json.loads(new)
    except ValueError as error:
        return [Change(path="", told=f"is no JSON: {error}")]
    changes = list(_walk("", was, now, rules, differing or set()))
    if changes:
        return changes
    return [Change(path="", told="the same values, written otherwise")]


def _walk(
    path: str, old: Any, new: Any, rules: Rules, differing: set[str]
) -> Iterator[Change]:  # fmt: skip
    """Changes at a key path and below; ``differing``: files whose hashes may differ."""
    if _written(old) == _written(new):
        return
    if path and rules.allows(path):
        yield Change(path=path, told=_arrow(old, new), excused="allowed")
    elif isinstance(old, dict) and isinstance(new, dict):
        yield from _walk_keys(path, old, new, rules, differing)
    elif isinstance(old, list) and isinstance(new, list):
        entries = _by_name(old, new) or (_numbered(old), _numbered(new))
        yield from _walk_keys(path, *entries, rules, differing)
    elif rules.near(path, old, new):
        yield Change(path=path, told=_arrow(old, new), excused="within rounding")
    elif path.endswith(".sha256") and any(path.endswith(f".{name}.sha256") for name in differing):
        yield Change(path=path, told=_arrow(old, new), excused="hash of a file that differs")
    else:
        yield Change(path=path, told=_arrow(old, new))


def _walk_keys(
    path: str, old: dict[str, Any], new: dict[str, Any], rules: Rules, differing: set[str]
) -> Iterator[Change]:
    lacking: list[tuple[str, str]] = [
        *((key, f"only in the old: {_short(old[key])}") for key in old if key not in new),
        *((key, f"only in the new: {_short(new[key])}") for key in new if key not in old),
    ]
    for key, told in lacking:
        below = _join(path, key)
        yield Change(path=below, told=told, excused="allowed" if rules.allows(below) else "")
    shared = [key for key in old if key in new]
    if shared != [key for key in new if key in old]:
        yield Change(path=path, told="the same keys or entries in another order")
    for key in shared:
        yield from _walk(_join(path, key), old[key], new[key], rules, differing)


def _by_name(
    old: Sequence[Any], new: Sequence[Any]
) -> tuple[dict[str, Any], dict[str, Any]] | None:
    """Both lists' entries by their path or name; None where that does not tell them apart."""
    for key in ("path", "name"):
        both = []
        for entries in (old, new):
            named = {e[key]: e for e in entries if isinstance(e, dict) and key in e}
            if len(named) != len(entries) or not all(isinstance(name, str) for name in named):
                break
            both.append(named)
        if len(both) == 2:
            return both[0], both[1]
    return None


def _numbered(entries: Sequence[Any]) -> dict[str, Any]:
    return {str(k): one for k, one in enumerate(entries)}


def _join(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key


def _written(value: Any) -> str:
    """As JSON, so that 1, 1.0 and true differ, and -0.0 and 0.0; NaN is itself."""
    return json.dumps(value, ensure_ascii=False)


def _short(value: Any) -> str:
    text = _written(value)
    return text if len(text) <= WIDTH else text[: WIDTH - 1] + "…"


def _arrow(old: Any, new: Any) -> str:
    return f"{_short(old)} -> {_short(new)}"


def byte_change(old: bytes, new: bytes, *, markup: bool = False) -> tuple[str, ...]:
    """How two files differ, in lines; empty where they are the same.

    Text is told as lines of a difference, ``markup`` with a line for each tag.
    """
    if old == new:
        return ()
    first = next(
        (k for k, (a, b) in enumerate(zip(old, new, strict=False)) if a != b),
        min(len(old), len(new)),
    )
    told = f"{len(old)} -> {len(new)} bytes, the first that differs is number {first}"
    try:
        was, now = old.decode(), new.decode()
    except UnicodeDecodeError:
        return (told,)
    if "\0" in was or "\0" in now:
        return (told,)
    return (told, *text_change(was, now, markup=markup))


def text_change(old: str, new: str, *, markup: bool = False) -> tuple[str, ...]:
    """The first lines that differ, as a unified difference; of long lines, where they part."""
    was, now = (
        (text.replace("><", ">\n<") if markup else text).splitlines(keepends=True)
        for text in (old, new)
    )
    same = next(
        (k for k, (a, b) in enumerate(zip(was, now, strict=False)) if a != b),
        min(len(was), len(now)),
    )
    begin = max(0, same - 2)
    lines = difflib.unified_diff(
        was[begin : begin + SEARCHED], now[begin : begin + SEARCHED], "old", "new", n=2
    )
    shown = [f"from line {begin + 1}:"]
    shown += [_cut(repr(line)[1:-1]) for line in islice(lines, 2, 2 + LINES)]
    if same < min(len(was), len(now)) and max(len(was[same]), len(now[same])) > WIDTH:
        shown.append(_parting(was[same], now[same]))
    return tuple(shown)


def _cut(line: str) -> str:
    line = line.removesuffix("\\n")
    return line if len(line) <= WIDTH else line[: WIDTH - 1] + "…"


def _parting(old: str, new: str) -> str:
    """Where two long lines part, with some of both around it."""
    at = next(
        (k for k, (a, b) in enumerate(zip(old, new, strict=False)) if a != b),
        min(len(old), len(new)),
    )
    begin = max(0, at - AROUND)
    return f"at column {at + 1}: {old[begin : at + AROUND]!r} -> {new[begin : at + AROUND]!r}"
