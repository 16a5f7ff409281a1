"""A load over time from a CSV file of the user's: ``seconds,watts`` or ``seconds,watts,km_h``."""

from __future__ import annotations

import csv
import math
import os
from collections.abc import Iterator

from generators.packfile.faults import Fault
from layouts.errors import PlanError
from layouts.ratings.profile import Profile, load_profile

__all__ = ["ProfileFileError", "read_profile"]

HEADINGS = (["seconds", "watts"], ["seconds", "watts", "km_h"])
LARGEST_BYTES = 5_000_000  # some 300,000 rows: a day second by second
MOST_TOLD = 20  # faults of one file: more of the same kind say nothing new
_HEADING = "write seconds,watts or seconds,watts,km_h in the first line"


class ProfileFileError(ValueError):
    """A profile that can't be used. ``faults``: what is wrong, each at its line of the file."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        """``faults``: at least one."""
        super().__init__(faults[0].told("profile"))
        self.faults = faults


def read_profile(path: str) -> Profile:
    """The profile in a file; lines that are blank or begin with # are passed over.

    Raises ProfileFileError with what is wrong in it, OSError or ValueError (a zero byte in its
    name) where it can't be opened.
    """
    with open(path, "rb") as stream:
        data = stream.read(LARGEST_BYTES + 1)
    if len(data) > LARGEST_BYTES:
        raise _refused(path, 1, "file", "is too large", None, "give at most 5 MB")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _refused(path, line, "file", "is not UTF-8 text", None, "save it as UTF-8") from error
    rows = list(_rows(text))
    if not rows:
        raise _refused(path, 1, "file", "is empty", None, _HEADING)
    line, heading = rows[0]
    if heading not in HEADINGS:
        raise _refused(path, line, "file", "has the wrong columns", ",".join(heading), _HEADING)
    return _profile(path, heading, rows[1:])


def _rows(text: str) -> Iterator[tuple[int, list[str]]]:
    """(line, entries without spaces) of each line that says something."""
    for line, written in enumerate(text.splitlines(), start=1):
        if written.strip() and not written.lstrip().startswith("#"):
            entries = next(csv.reader([written.replace("\0", "")]), [])
            yield line, [entry.strip() for entry in entries]


def _profile(path: str, heading: list[str], rows: list[tuple[int, list[str]]]) -> Profile:
    faults: list[Fault] = []
    columns: list[list[float]] = [[] for _ in heading]
    before: float | None = None
    for line, entries in rows:
        if len(entries) != len(heading):
            why = f"has {len(entries)} entries, not {len(heading)}"
            told = ",".join(entries)
            faults.append(_fault(path, line, "row", why, told, "give every row all columns"))
            continue
        numbers = []
        for name, entry in zip(heading, entries, strict=True):
            number = _number(entry)
            if number is None:
                why = "is empty" if entry == "" else "is not a finite number"
                remedy = "give a number in every row, or delete the row"
                faults.append(_fault(path, line, name, why, entry or None, remedy))
            elif name == "km_h" and number < 0:
                faults.append(_fault(path, line, name, "is below zero", entry, "give 0 or more"))
            else:
                numbers.append(number)
        if len(numbers) < len(heading):
            continue
        if before is not None and numbers[0] <= before:
            why = f"do not increase: {before:g} in the row before"
            remedy = "sort the rows, and give each a later time"
            faults.append(_fault(path, line, "seconds", why, entries[0], remedy))
        before = numbers[0]
        for column, number in zip(columns, numbers, strict=True):
            column.append(number)
    if faults:
        raise ProfileFileError(tuple(faults[:MOST_TOLD]))
    try:
        return load_profile(columns[0], columns[1], columns[2] if len(columns) > 2 else None)
    except PlanError as error:
        last = rows[-1][0] if rows else 1
        raise _refused(path, last, "file", error.why, error.value, error.remedy) from error


def _number(entry: str) -> float | None:
    try:
        number = float(entry)
    except ValueError:
        return None
    return number if math.isfinite(number) else None


def _fault(path: str, line: int, field: str, why: str, value: str | None, remedy: str) -> Fault:
    return Fault(
        line=line, field=field, why=why, value=value, remedy=remedy, file=os.path.normpath(path)
    )


def _refused(
    path: str, line: int, field: str, why: str, value: str | None, remedy: str
) -> ProfileFileError:
    return ProfileFileError((_fault(path, line, field, why, value, remedy),))
