"""The table of sorted cells: written by ``cellstead sort``, named by ``measured_cells``."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Sequence

from generators.packfile.csv_table import CsvTable, number_in, read_csv_table
from generators.packfile.faults import Fault, PackFileError
from layouts.pack import MeasuredCells

__all__ = ["COLUMNS", "read_sorted_table", "sorted_table_text"]

COLUMNS = ("site", "group", "label", "x_mm", "y_mm", "upper_end", "capacity_ah", "direct_mohm",
           "measured_mohm", "rested_v")  # fmt: skip
NUMBERS = ("x_mm", "y_mm", "capacity_ah", "direct_mohm")
_AGAIN = "take measured_cells out of the pack file, run cellstead sort, then name its new table"


def sorted_table_text(
    measured: MeasuredCells,
    *,
    parallel: int,
    measured_mohm: Sequence[float],
    rested_v: Sequence[float],
) -> str:
    """The table's text, one line a site. Odd groups stand positive end up.

    ``measured_mohm``, ``rested_v`` (N,): as the list had them, for the reader's eye."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for k, label in enumerate(measured.labels):
        group = k // parallel + 1
        x, y = measured.xy_mm[k]
        writer.writerow(
            (
                k + 1, group, label, f"{x + 0.0:.3f}", f"{y + 0.0:.3f}",
                "plus" if group % 2 else "minus", f"{measured.capacity_ah[k]:.5g}",
                f"{measured.resistance_mohm[k]:.5g}", f"{measured_mohm[k]:.5g}",
                f"{rested_v[k]:.5g}",
            )
        )  # fmt: skip
    return out.getvalue()


def read_sorted_table(file: str | os.PathLike[str], *, series: int, parallel: int) -> MeasuredCells:
    """The cells on the sites of a pack. Raises PackFileError with all faults of the table."""
    table = read_csv_table(file, first_line=",".join(COLUMNS))
    lacking = [name for name in COLUMNS[:-2] if name not in table.headings]
    if lacking:
        fault = table.fault("header", f"lacks columns ({', '.join(lacking)})", _AGAIN)
        raise PackFileError(table.file, [fault])
    count = series * parallel
    if len(table.rows) != count:
        why = f"has {len(table.rows)} cells for a pack of {series}S{parallel}P, which has {count}"
        raise PackFileError(table.file, [table.fault("site", why, _AGAIN)])
    faults = _faults(table, parallel)
    if faults:
        raise PackFileError(table.file, faults)
    rows = [row for _, row in table.rows]
    return MeasuredCells(
        labels=tuple(row["label"] for row in rows),
        xy_mm=tuple((float(row["x_mm"]), float(row["y_mm"])) for row in rows),
        capacity_ah=tuple(float(row["capacity_ah"]) for row in rows),
        resistance_mohm=tuple(float(row["direct_mohm"]) for row in rows),
    )


def _faults(table: CsvTable, parallel: int) -> list[Fault]:
    """Sites in their order, groups of P, labels once, numbers above zero where they must be."""
    faults = []
    seen: set[str] = set()
    for k, (line, row) in enumerate(table.rows):
        group = k // parallel + 1
        if row["site"] != str(k + 1):
            faults.append(table.fault("site", f"is not {k + 1}", _AGAIN, line=line))
        if row["group"] != str(group):
            faults.append(table.fault("group", f"is not {group}", _AGAIN, line=line))
        if not row["label"] or row["label"] in seen:
            why = "stands there twice" if row["label"] else "is empty"
            faults.append(table.fault("label", why, _AGAIN, line=line))
        seen.add(row["label"])
        for name in NUMBERS:
            number = number_in(row[name])
            if number is None or (number <= 0 and name not in ("x_mm", "y_mm")):
                why = "is not a number above 0" if name in NUMBERS[2:] else "is not a number"
                faults.append(table.fault(name, why, _AGAIN, line=line))
    return faults
