"""The folder of sorted cells: table, plan, labels and figures."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generators.drawings.cell_labels import label_plan, label_sheets
from generators.drawings.linework import sheet_svg
from generators.exports.paper import Paper
from generators.exports.tiled_pdf import FOOT_MM, write_tiled_pdf
from generators.own_files import file_rows
from generators.packfile.cell_lot import CellList
from generators.packfile.sorted_table import sorted_table_text
from layouts.pack import Pack
from layouts.planning.sorted_cells import CurrentSpread, SortedCells, measured_cells
from layouts.sorting.lot import Rejected
from layouts.sorting.spread import GroupSpread

__all__ = ["MARK", "TABLE", "Sorting", "write_sorting"]

MARK = "sort.json"  # the file by which an earlier result is known
TABLE = "sorted-cells.csv"
MOST_ON_PAPER = 1_000  # cells of a plan at true size: more take dozens of pages
DIGITS = 6  # of Ah and ratios: far below what a tester tells


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Sorting:
    """A list of cells, what was rejected of it, and where the others go."""

    pack: Pack
    cells: CellList
    rejected: tuple[Rejected, ...]
    found: SortedCells


def write_sorting(folder: Path, of: Sorting, *, paper: Paper) -> None:
    """Write all files into ``folder``, which exists; ``MARK`` last. OSError passes through."""
    pack, lot, found = of.pack, of.cells.lot, of.found
    measured = measured_cells(pack, lot, found)
    cells = found.cell.tolist()
    table = sorted_table_text(
        measured,
        parallel=pack.parallel,
        measured_mohm=lot.resistance_mohm[cells].tolist(),
        rested_v=lot.rested_v[cells].tolist(),
    )
    (folder / TABLE).write_text(table, encoding="utf-8")
    plan = label_plan(
        found.cell_layout,
        measured.labels,
        can_mm=pack.cell.diameter_mm,
        legend=_legend(of),
    )
    (folder / "plan.svg").write_text(sheet_svg(plan) + "\n", encoding="utf-8")
    sheets = label_sheets(
        measured.labels, found.cell_layout.group, room_mm=paper.room_mm(foot_mm=FOOT_MM)
    )
    if len(cells) <= MOST_ON_PAPER:
        write_tiled_pdf(
            folder / "plan.pdf", [plan], name=pack.name, title="sorted cells", paper=paper
        )
    write_tiled_pdf(folder / "labels.pdf", sheets, name=pack.name, title="labels", paper=paper)
    text = json.dumps(_row(of) | {"files": file_rows(folder, but=MARK)}, indent=1,
                      ensure_ascii=False, allow_nan=False)  # fmt: skip
    (folder / MARK).write_text(text + "\n", encoding="utf-8")


def _legend(of: Sorting) -> tuple[str, ...]:
    to = of.found.sorted
    return (
        f"{of.pack.series} groups of {of.pack.parallel}, {to.smallest_ah:.3f} to "
        f"{to.largest_ah:.3f} Ah",
    )


def _row(of: Sorting) -> dict[str, Any]:
    """Everything found, as JSON's own kinds."""
    pack, lot, found = of.pack, of.cells.lot, of.found
    groups = found.cell.reshape(pack.series, pack.parallel)
    return {
        "pack": pack.name,
        "series": pack.series,
        "parallel": pack.parallel,
        "cells_listed": len(lot.labels),
        "resistance_measured": "direct current" if lot.direct_current else "1 kHz",
        "rejected": [
            {"label": lot.labels[one.cell], "line": of.cells.lines[one.cell],
             "reasons": list(one.reasons)}
            for one in of.rejected
        ],
        "spare": _labels(lot.labels, found.spare.tolist()),
        "as_listed": _rounded(found.listed),
        "random_mean": _rounded(found.random),
        "sorted": _rounded(found.sorted),
        "current_spread": None if found.currents is None else _rounded(found.currents),
        "groups": [
            {
                "group": g,
                "capacity_ah": round(float(lot.capacity_ah[group].sum()), DIGITS),
                "resistance_ratio": round(_ptp_ratio(lot.resistance_mohm[group]), DIGITS),
                "labels": _labels(lot.labels, group.tolist()),
            }
            for g, group in enumerate(groups, start=1)
        ],
    }  # fmt: skip


def _ptp_ratio(values: NDArray[np.float64]) -> float:
    return float(np.ptp(values) / values.mean())


def _rounded(of: GroupSpread | CurrentSpread) -> dict[str, float]:
    return {name: round(value, DIGITS) for name, value in asdict(of).items()}


def _labels(labels: Sequence[str], cells: Sequence[int]) -> list[str]:
    return [labels[k] for k in cells]
