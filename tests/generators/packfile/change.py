"""One change of a key of the pack file."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

__all__ = ["Change", "Sections", "seen", "under"]

Sections = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Change:
    """A key's other value. ``seen``: what of the result differs, a word of ``test_every_key``.

    ``before``: the key's value in the file that it is compared with, None: left out. ``beside``:
    other keys of both files.
    """

    to: Any
    seen: str
    before: Any = None
    beside: Sections = field(default_factory=dict)


def seen(where: str, *, beside: Sections | None = None, **changes: Any) -> dict[str, Change]:
    """Keys of one section that are seen in one place: key=value, or key=(before, value)."""
    found = {}
    for key, value in changes.items():
        before, to = value if isinstance(value, tuple) else (None, value)
        found[key] = Change(to=to, seen=where, before=before, beside=beside or {})
    return found


def under(section: str, *groups: dict[str, Change]) -> dict[str, Change]:
    """The same by their whole names."""
    return {f"{section}.{key}": one for group in groups for key, one in group.items()}
