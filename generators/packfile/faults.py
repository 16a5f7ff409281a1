"""Findings on a pack file: faults, which stop it, and cautions, which don't."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Caution", "Fault", "PackFileError", "field_name", "shown"]

Path = tuple[str | int, ...]  # keys from the top of the file, 0-based places within lists

MOST_SHOWN = 60  # characters of a value that is echoed: more hides the message
MOST_FAULTS = 100  # lines at once: after so many the file is something else than a pack file


def shown(text: str) -> str:
    """Text made fit for one line of a terminal: no control characters, not too long."""
    clean = "".join(one if one.isprintable() else ascii(one)[1:-1] for one in text)
    return clean if len(clean) <= MOST_SHOWN else clean[: MOST_SHOWN - 3] + "..."


def field_name(path: Path) -> str:
    """A path in words: ``holder.web_mm``; places in lists count from 1: ``bed_mm entry 2``."""
    name = ""
    for part in path:
        if isinstance(part, int):
            name += f".{part + 1}" if " entry " in name else f" entry {part + 1}"
        else:
            word = shown(part) or "''"  # an empty key
            name += f".{word}" if name else word
    return name or "file"


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """One thing that keeps the file from being used.

    ``line`` counts from 1. ``field`` as in ``field_name``; "file" where no key is meant.
    ``value`` as written in the file, None where there is none. ``file``: where it stands, if that
    is another file than the pack file.
    """

    line: int
    field: str
    why: str
    value: str | None
    remedy: str
    file: str | None = None

    def told(self, file: str) -> str:
        """One line: ``file:line: field: what is wrong (value), the way out``."""
        value = "" if self.value is None else f" ({shown(self.value)})"
        place = file if self.file is None else shown_file(self.file)
        return f"{place}:{self.line}: {self.field}: {self.why}{value}, {self.remedy}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Caution:
    """One thing to know about a file that is sound; nothing fails by it.

    ``place``: ``file:line`` of what the file should say otherwise, None where nothing is written.
    """

    field: str
    text: str
    place: str | None = None

    def told(self) -> str:
        """One line: ``field: text``, with the place before it where there is one."""
        line = f"{self.field}: {self.text}"
        return line if self.place is None else f"{shown_file(self.place)}: {line}"


class PackFileError(ValueError):
    """The pack file can't be used. ``faults`` holds all that was found, in order of lines."""

    def __init__(self, file: str, faults: Iterable[Fault]) -> None:
        """``file``: the name by which messages call it."""
        self.file = shown_file(file)
        self.faults = tuple(sorted(faults, key=lambda fault: fault.line))
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """One line a fault; past ``MOST_FAULTS`` the last line counts the rest."""
        lines = [fault.told(self.file) for fault in self.faults[:MOST_FAULTS]]
        more = len(self.faults) - MOST_FAULTS
        if more > 0:
            line = self.faults[MOST_FAULTS].line
            lines.append(
                f"{self.file}:{line}: file: more faults than are shown ({more} more), "
                "fix the first ones and try again"
            )
        return lines


def shown_file(file: str) -> str:
    """A file's name fit for one line, whole: the line must stay usable by an editor."""
    return "".join(one if one.isprintable() else ascii(one)[1:-1] for one in file)
