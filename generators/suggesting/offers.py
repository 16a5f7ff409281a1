"""Cells to choose from: the built-in sizes, or a list of one's own in a CSV file.

A list's columns are keys of the pack file's cell section, checked by the same rules, and
optionally ``name`` and a price (``price``, ``price_eur``, ...).
"""

from __future__ import annotations

import csv
import io
import json
import math
import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from generators.packfile.cell_models import CellSection
from generators.packfile.faults import Fault, PackFileError, shown
from generators.packfile.messages import nearest
from generators.packfile.resolve import parse_pack
from layouts import defaults
from layouts.formats import CellFormat, cell_formats
from layouts.pack import Cell, Pack
from layouts.suggesting.setting import Offer

__all__ = ["Offers", "built_in_offers", "own_offer", "parse_offers", "read_offers"]

LARGEST_BYTES = 200_000
MOST_ROWS = 200  # a sweep over more would take minutes
LONGEST_NAME = 40
# What usual cells of every built-in size are sold as; nca has nmc's volts, lto is rare.
# Common practice, no source
BUILT_IN = ("nmc", "lfp")
NEEDED = ("format", "chemistry", "capacity_ah", "continuous_a", "mass_g")
WORDS = ("format", "chemistry")
GUESSED = {"capacity_ah": "Ah", "continuous_a": "A"}  # where a pack file leaves them out


@dataclass(frozen=True, kw_only=True, slots=True)
class Offers:
    """Cells to choose from. ``price_unit``: what prices are in, as the column says it; None where
    there are none. ``assumed``: what is a guess by size, for a person; empty where nothing is."""

    offers: tuple[Offer, ...]
    price_unit: str | None = None
    assumed: str = ""


def built_in_offers() -> Offers:
    """A plain cell of every built-in size, in the usual chemistries; figures by the size alone."""
    offers = tuple(
        _offer({"format": size, "chemistry": chemistry}, file="built-in", line=1)
        for size in cell_formats()
        for chemistry in BUILT_IN
    )
    told = (
        "capacity and current (1C) are assumed from the size; the data sheet takes precedence: "
        "list your cells with --cells"
    )
    return Offers(offers=offers, assumed=told)


def own_offer(pack: Pack, section: Mapping[str, Any]) -> Offers:
    """The one cell of a pack file; ``section``: the keys of its section ``cell``."""
    cell = pack.cell
    offer = Offer(
        name=f"{cell.format} {cell.chemistry}",
        cell=cell,
        size=_size(cell),
        given=tuple((key, value) for key, value in section.items() if value is not None),
    )
    missing = [
        f"{key} {getattr(cell, key):g} {unit}"
        for key, unit in GUESSED.items()
        if key not in section
    ]
    told = f"{' and '.join(missing)} assumed from the size: write the data sheet's values"
    return Offers(offers=(offer,), assumed=told if missing else "")


def read_offers(file: Path) -> Offers:
    """Cells from a CSV file. Raises PackFileError with all of its faults, one line each."""
    try:
        with open(file, "rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        raise _refused(os.fsdecode(file), 1, "can't be read", why, "give a CSV file") from error
    return parse_offers(data, os.fsdecode(file))


def parse_offers(data: bytes, file: str) -> Offers:
    """The same from a file's bytes; ``file`` is how messages call it."""
    if len(data) > LARGEST_BYTES:
        raise _refused(file, 1, "is too large", f"over {LARGEST_BYTES:,} bytes", "shorten the list")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(file, 1, "is not UTF-8 text", None, "save it as UTF-8 CSV") from error
    rows = _rows(text, file)
    if not rows:
        raise _refused(file, 1, "is empty", None, f"begin with a line {','.join(NEEDED)}")
    (head_line, header), body = rows[0], rows[1:]
    names = [name.strip() for name in header]
    price = _checked_header(names, head_line, file)
    if not body:
        raise _refused(file, head_line, "lists no cell", None, "add a line for each cell")
    if len(body) > MOST_ROWS:
        raise _refused(
            file, body[MOST_ROWS][0], "lists too many cells", f"{len(body)}", f"keep {MOST_ROWS}"
        )
    faults: list[Fault] = []
    offers: list[Offer] = []
    for line, cells in body:
        try:
            offers.append(_row(names, cells, price, file=file, line=line))
        except PackFileError as error:
            faults += error.faults
    if faults:
        raise PackFileError(file, faults)
    unit = None if price is None else price.removeprefix("price").strip("_") or "price"
    return Offers(offers=_named_apart(offers), price_unit=unit)


def _rows(text: str, file: str) -> list[tuple[int, list[str]]]:
    """Lines of the table with their numbers; empty lines and those that begin with # left out."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows = []
    line = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#"):
                rows.append((line, cells))
            line = reader.line_num + 1
    except csv.Error as error:
        raise _refused(
            file, line, "is not a CSV table", str(error), "write one line a cell, commas between"
        ) from error
    return rows


def _checked_header(names: list[str], line: int, file: str) -> str | None:
    """The price's column, if there is one. Raises PackFileError for columns that can't be used."""
    known = ["name", *CellSection.model_fields]
    faults = []
    if len(names) == 1 and ";" in names[0]:
        why, remedy = "uses ; as separator", "use commas as separators and points in numbers"
        raise _refused(file, line, why, None, remedy)
    prices = [name for name in names if name == "price" or name.startswith("price_")]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            remedy = "keep one of them"
            faults.append(_fault(line, "header", "has a column twice", name, remedy))
        elif name not in known and name not in prices:
            near = nearest(name, [*known, "price"])
            remedy = f"write {near}" if near else f"use {', '.join(known)} or price_..."
            faults.append(_fault(line, "header", "is not a known column", name, remedy))
    missing = [name for name in NEEDED if name not in names]
    if missing:
        remedy = "add them: the data sheet has the figures"
        faults.append(_fault(line, "header", "lacks columns", ", ".join(missing), remedy))
    if len(set(prices)) > 1:
        remedy = "keep one of them"
        faults.append(_fault(line, "header", "has several prices", ", ".join(prices), remedy))
    if faults:
        raise PackFileError(file, faults)
    return prices[0] if prices else None


def _row(names: list[str], cells: list[str], price: str | None, *, file: str, line: int) -> Offer:
    """One line as an offer. Raises PackFileError with the line's faults."""
    if len(cells) != len(names):
        why = f"has {len(cells)} values for {len(names)} columns"
        raise _refused(file, line, why, None, "put commas between values, quotes round commas")
    written = {name: cell.strip() for name, cell in zip(names, cells, strict=True) if cell.strip()}
    faults = [
        _fault(line, name, "is empty", None, "write the data sheet's value")
        for name in NEEDED
        if name not in written
    ]
    given: dict[str, str | float] = {}
    for name, text in written.items():
        if name in WORDS:
            given[name] = text
        elif name != "name":
            number = _number(text)
            if number is None:
                remedy = "write a number with a point, no unit"
                faults.append(_fault(line, name, "is not a number", text, remedy))
            elif name == price and number < 0:
                faults.append(_fault(line, name, "is below 0", text, "write the price of one cell"))
            else:
                given[name] = number
    name = written.get("name", "")
    if len(name) > LONGEST_NAME or not name.isprintable():
        remedy = f"write up to {LONGEST_NAME} plain characters"
        faults.append(_fault(line, "name", "is too long or holds control characters", name, remedy))
    cost = given.pop(price, None) if price is not None else None
    if faults:
        raise PackFileError(file, faults)
    offer = _offer(given, file=file, line=line)
    return replace(offer, name=name or offer.name, price=None if cost is None else float(cost))


def _offer(given: Mapping[str, str | float], *, file: str, line: int) -> Offer:
    """A cell by the rules of the pack file. Raises PackFileError, its faults on this line."""
    section = ", ".join(f"{json.dumps(key)}: {json.dumps(value)}" for key, value in given.items())
    text = f"name: cell\nseries: 1\nparallel: 1\ncell: {{{section}}}\n"
    try:
        cell = parse_pack(text.encode(), file).pack.cell
    except PackFileError as error:
        faults = [
            replace(fault, line=line, field=fault.field.removeprefix("cell."))
            for fault in error.faults
        ]
        raise PackFileError(file, faults) from error
    return Offer(
        name=f"{cell.format} {cell.chemistry}",
        cell=cell,
        size=_size(cell),
        given=tuple(given.items()),
    )


def _size(cell: Cell) -> CellFormat:
    """The can's starting values, as the pack file takes them."""
    known = cell_formats().get(cell.format)
    if known is not None:
        return known
    return defaults.can_size(cell.format, diameter_mm=cell.diameter_mm, length_mm=cell.length_mm)


def _named_apart(offers: list[Offer]) -> tuple[Offer, ...]:
    """Names made unique by a number where several cells have the same."""
    seen: dict[str, int] = {}
    found = []
    for offer in offers:
        seen[offer.name] = seen.get(offer.name, 0) + 1
        again = seen[offer.name]
        found.append(replace(offer, name=f"{offer.name} ({again})") if again > 1 else offer)
    return tuple(found)


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in text else None


def _fault(line: int, field: str, why: str, value: str | None, remedy: str) -> Fault:
    return Fault(line=line, field=field, why=why, value=value, remedy=remedy)


def _refused(file: str, line: int, why: str, value: str | None, remedy: str) -> PackFileError:
    told = None if value is None else shown(value)
    return PackFileError(file, [_fault(line, "file", why, told, remedy)])
