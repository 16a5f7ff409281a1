"""Measured cells from a CSV list of the builder's own tester, every fault at its line."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np

from generators.packfile.csv_table import CsvTable, number_in, read_csv_table
from generators.packfile.faults import Fault, PackFileError
from layouts.pack import Cell
from layouts.ratings.plausible import implausible_values
from layouts.sorting.lot import MeasuredLot

__all__ = ["AC", "DC", "CellList", "read_cell_list"]

FIRST_LINE = "label,capacity_mah,ac_resistance_mohm,rested_v"
LONGEST_LABEL = 16  # characters: more can't be read on a cell of the plan
DC, AC = "internal_resistance_mohm", "ac_resistance_mohm"  # as the pack file calls them
CAPACITIES = {"capacity_ah": 1.0, "capacity_mah": 1e-3}  # in Ah
VOLTS = "rested_v"
# Another unit is out by a thousand; no cell that is merely bad is out by so much
UNIT_RATIO = 100.0
OVER_FULL = 1.05  # of the full voltage: the most that a tester reads too much; judgement, no source

_KIND = f"write {AC} for a 1 kHz meter, {DC} for a measurement with direct current, in mohm"
# How a heading is known that is not quite one of ours, and how it is to be written
_NEARLY = (
    ("label", ("label", "cell", "name", "id"), "write label: what stands on each cell"),
    ("capacity", ("capacity",), "write capacity_mah or capacity_ah: the unit belongs to it"),
    ("resistance", ("resistance", "impedance", "ir", "ohm"), _KIND),
    (VOLTS, ("rested", "volt", "ocv"), f"write {VOLTS}: volts after the rest"),
)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CellList:
    """A list that is sound. ``lines``: of each cell; ``unread``: columns that are not used;
    ``written``: each cell's resistance column."""

    file: str
    lot: MeasuredLot
    lines: tuple[int, ...]
    unread: tuple[str, ...]


def read_cell_list(file: str | os.PathLike[str], cell: Cell) -> CellList:
    """The cells of a list. ``cell``: of the pack file, by which units are checked.

    Raises PackFileError with all faults of the list."""
    table = read_csv_table(file, first_line=FIRST_LINE)
    capacity, resistance = _columns(table)
    faults: list[Fault] = list(_label_faults(table))
    read = {name: _numbers(table, name, faults) for name in (capacity, resistance, VOLTS)}
    if faults:
        raise PackFileError(table.file, faults)
    times = CAPACITIES[capacity]
    ah = [value * times for value in read[capacity]]
    faults += _unit_faults(table, capacity, ah, cell, "capacity_ah", times)
    faults += _unit_faults(table, resistance, read[resistance], cell, resistance, 1.0)
    faults += _volts_faults(table, read[VOLTS], cell)
    if faults:
        raise PackFileError(table.file, faults)
    lot = MeasuredLot(
        labels=tuple(row["label"] for _, row in table.rows),
        capacity_ah=np.array(ah),
        resistance_mohm=np.array(read[resistance]),
        rested_v=np.array(read[VOLTS]),
        direct_current=resistance == DC,
    )
    used = {"label", capacity, resistance, VOLTS}
    unread = tuple(
        written
        for name, written in zip(table.headings, table.written, strict=True)
        if name not in used and written
    )
    lines = tuple(line for line, _ in table.rows)
    return CellList(file=table.file, lot=lot, lines=lines, unread=unread)


def _columns(table: CsvTable) -> tuple[str, str]:
    """Headings of capacity and resistance. Raises PackFileError where one lacks or is doubtful."""
    known = {
        "label": ("label",),
        "capacity": tuple(CAPACITIES),
        "resistance": (DC, AC),
        VOLTS: (VOLTS,),
    }
    faults, found = [], {}
    for what, likely, remedy in _NEARLY:
        given = [name for name in known[what] if name in table.headings]
        if len(given) == 1:
            found[what] = given[0]
        elif given:
            faults.append(table.fault(given[1], f"stands beside {given[0]}", "keep one of the two"))
        else:
            near = _near(table.headings, likely)
            if near is None:
                why = "is missing from the first line"
                faults.append(table.fault(" or ".join(known[what]), why, remedy))
            else:
                faults.append(table.fault(near, "is not a known column", remedy))
    if faults:
        raise PackFileError(table.file, faults)
    return found["capacity"], found["resistance"]


def _near(headings: Sequence[str], likely: Sequence[str]) -> str | None:
    """The first heading that has one of the words in it; short words count as wholes."""
    ours = {"label", *CAPACITIES, DC, AC, VOLTS}
    for heading in headings:
        parts = heading.split("_")
        for word in likely:
            if heading not in ours and (word in parts or (len(word) > 3 and word in heading)):
                return heading
    return None


def _label_faults(table: CsvTable) -> list[Fault]:
    faults = []
    first: dict[str, int] = {}
    for line, row in table.rows:
        label = row["label"]
        if not label:
            remedy = "write what stands on the cell"
            faults.append(table.fault("label", "is empty", remedy, line=line))
        elif len(label) > LONGEST_LABEL or not label.isprintable() or not _latin(label):
            why = f"is longer than {LONGEST_LABEL} characters, or has signs that can't be printed"
            remedy = "write a short label of letters and digits, on the cell too"
            faults.append(table.fault("label", why, remedy, line=line))
        elif label in first:
            why, remedy = f"stands in line {first[label]} too", "give every cell a label of its own"
            faults.append(table.fault("label", why, remedy, line=line))
        first.setdefault(label, line)
    return faults


def _latin(text: str) -> bool:
    """Whether the PDF's standard fonts have all letters."""
    return all(ord(one) < 256 for one in text)


def _numbers(table: CsvTable, heading: str, faults: list[Fault]) -> list[float]:
    values = []
    for line, row in table.rows:
        value = number_in(row[heading])
        if value is None:
            why = "is not a number" if row[heading] else "is empty"
            remedy = "write a number with a point, no unit, or delete the cell's line"
            faults.append(table.fault(heading, why, remedy, line=line))
        elif value < 0 or (value == 0 and heading in (DC, AC)):
            why = "is below 0" if value < 0 else "is 0"
            faults.append(table.fault(heading, why, "measure the cell again", line=line))
        else:
            values.append(value)
    return values


def _unit_faults(
    table: CsvTable, heading: str, values: Sequence[float], cell: Cell, key: str, times: float
) -> list[Fault]:
    """A column whose median no cell of that kind has, else single values of another unit.

    ``values`` in the unit of the pack file's ``key``; ``times``: from the column's unit."""
    middle = median(values)
    band = implausible_values(
        {key: middle},
        chemistry=cell.chemistry,
        diameter_mm=cell.diameter_mm,
        length_mm=cell.length_mm,
        capacity_ah=cell.capacity_ah,
    )
    if band:
        least, most = band[0].least / times, band[0].most / times
        why = (
            f"has a median of {middle / times:.4g}, where cells of {cell.format} and "
            f"{cell.chemistry} have {least:.3g} to {most:.3g} (common practice, no source)"
        )
        remedy = "check the column's unit, and format and chemistry of the pack file's cell"
        return [table.fault(heading, why, remedy)]
    return [
        table.fault(
            heading,
            f"is out by more than {UNIT_RATIO:g} times from the median of {middle / times:.4g}",
            "write it in the column's unit, or measure the cell again",
            line=line,
        )
        for (line, _), value in zip(table.rows, values, strict=True)
        if value > middle * UNIT_RATIO or 0 < value < middle / UNIT_RATIO
    ]


def _volts_faults(table: CsvTable, values: Sequence[float], cell: Cell) -> list[Fault]:
    middle, most = median(values), cell.full_v * OVER_FULL
    if middle > most:
        why = f"has a median of {middle:.4g}, where a full cell has {cell.full_v:g} V"
        remedy = "write volts, and check the chemistry of the pack file's cell"
        return [table.fault(VOLTS, why, remedy)]
    return [
        table.fault(
            VOLTS,
            f"is more than {most:.3g} V, above a full cell's {cell.full_v:g}",
            "write volts, or recycle the cell",
            line=line,
        )
        for (line, _), value in zip(table.rows, values, strict=True)
        if value > most
    ]
