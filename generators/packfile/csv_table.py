"""A CSV table with one line a cell: headings known whatever their case and brackets."""

from __future__ import annotations

import csv
import io
import math
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass

from generators.packfile.faults import Fault, PackFileError, shown

__all__ = ["CsvTable", "number_in", "read_csv_table", "refused"]

LARGEST_BYTES = 5_000_000
MOST_ROWS = 10_000  # cells of the largest pack


@dataclass(frozen=True, kw_only=True, slots=True)
class CsvTable:
    """``headings`` as they are known, ``written`` as they stand in the file, in line ``line``;
    ``rows``: line and entries by heading of each cell."""

    file: str
    line: int
    headings: tuple[str, ...]
    written: tuple[str, ...]
    rows: tuple[tuple[int, dict[str, str]], ...]

    def fault(self, heading: str, why: str, remedy: str, *, line: int | None = None) -> Fault:
        """A fault of a whole column, or of its entry in a line; its value as it is written."""
        value = None
        if line is None:
            written = dict(zip(self.headings, self.written, strict=True)).get(heading)
            value = None if written == heading else written
        else:
            value = next((row[heading] for at, row in self.rows if at == line), None)
        return Fault(
            line=line or self.line, field=heading, why=why, value=value or None, remedy=remedy
        )


def refused(file: str, line: int, why: str, value: str | None, remedy: str) -> PackFileError:
    """A table that can't be used as a whole."""
    told = None if value is None else shown(value)
    return PackFileError(file, [Fault(line=line, field="file", why=why, value=told, remedy=remedy)])


def number_in(text: str) -> float | None:
    """The number that an entry holds; None for anything else."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in text else None


def read_csv_table(file: str | os.PathLike[str], *, first_line: str) -> CsvTable:
    """The table in a file; lines that are empty or begin with # are passed over.

    ``first_line``: what to write first where nothing is there. Raises PackFileError, also where
    the file can't be opened."""
    name = os.fsdecode(file)
    try:
        with open(file, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        raise refused(name, 1, "can't be read", why, "give the path of a CSV file") from error
    if len(data) > LARGEST_BYTES:
        raise refused(name, 1, "is too large", f"over {LARGEST_BYTES:,} bytes", "shorten the list")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise refused(name, line, "is not UTF-8 text", None, "save it as UTF-8 CSV") from error
    rows = _rows(text, name)
    if not rows:
        raise refused(name, 1, "is empty", None, f"begin with a line {first_line}")
    (line, heads), body = rows[0], rows[1:]
    if len(heads) == 1 and ";" in heads[0]:
        remedy = "use commas as separators and points in numbers"
        raise refused(name, line, "uses ; as separator", None, remedy)
    if not body:
        raise refused(name, line, "lists no cell", None, "add a line for each cell")
    if len(body) > MOST_ROWS:
        told = f"{len(body):,}"
        raise refused(name, body[MOST_ROWS][0], "lists too many cells", told, f"keep {MOST_ROWS:,}")
    return _table(name, line, heads, body)


def _rows(text: str, file: str) -> list[tuple[int, list[str]]]:
    """Line and entries, without the spaces round them, of each line that says something."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows, line = [], 1
    try:
        for entries in reader:
            if any(entry.strip() for entry in entries) and not entries[0].lstrip().startswith("#"):
                rows.append((line, [entry.strip() for entry in entries]))
            line = reader.line_num + 1
    except csv.Error as error:
        raise refused(
            file, line, "is not a CSV table", str(error), "write one line a cell, commas between"
        ) from error
    return rows


def _table(
    file: str, line: int, heads: Sequence[str], body: Sequence[tuple[int, list[str]]]
) -> CsvTable:
    headings = tuple(_known(head) for head in heads)
    faults = [
        Fault(line=line, field="header", why="has a column twice", value=name or "''",
              remedy="keep one of them")
        for name in dict.fromkeys(headings)
        if headings.count(name) > 1
    ]  # fmt: skip
    for at, entries in body:
        if len(entries) != len(heads):
            why = f"has {len(entries)} entries for {len(heads)} columns"
            remedy = "put commas between entries, quotes round commas, points in numbers"
            told = ",".join(entries)
            faults.append(Fault(line=at, field="row", why=why, value=told, remedy=remedy))
    if faults:
        raise PackFileError(file, faults)
    rows = tuple((at, dict(zip(headings, entries, strict=True))) for at, entries in body)
    return CsvTable(file=file, line=line, headings=headings, written=tuple(heads), rows=rows)


def _known(heading: str) -> str:
    """A heading as it is known: ``Capacity (mAh)`` is ``capacity_mah``."""
    plain = heading.lower().replace("\N{GREEK CAPITAL LETTER OMEGA}".lower(), "ohm")
    plain = plain.replace("\N{OHM SIGN}".lower(), "ohm")
    return re.sub(r"[^a-z0-9]+", "_", plain).strip("_")
