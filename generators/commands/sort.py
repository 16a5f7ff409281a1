"""``cellstead sort``: measured cells to groups of even capacity, every cell to its site."""

from __future__ import annotations

import argparse
import math
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from generators.commands.common import (
    HOLDS,
    begin,
    refusals,
    say_cautions,
    say_notes,
    take_allow_scripts,
    take_out_dir,
    take_paper,
    with_scripts,
    writing,
)

if TYPE_CHECKING:
    from generators.packfile.cell_lot import CellList
    from generators.packfile.faults import PackFileError
    from generators.sorting.making import Sorting
    from layouts.sorting.lot import Rejected

__all__ = ["declare"]

MOST_NAMED = 12  # labels in one line
ASIDE_RATIO = 0.05  # of the pack file's capacity: noted, since the load was chosen by that
MOST_TOLD = 20  # rejected cells with their reasons


def declare(commands: argparse._SubParsersAction[Any]) -> None:
    """Add the command's arguments."""
    parser = commands.add_parser(
        "sort",
        help="sort measured cells into a pack's groups, and tell each its site",
        description="Sorts cells by what a tester measured: groups of even capacity, like "
        "resistances within each, every cell at its site. CELLS has the columns label, "
        "capacity_mah (or capacity_ah), ac_resistance_mohm at 1 kHz (or "
        "internal_resistance_mohm with direct current), rested_v. Writes DIR/NAME-sort: "
        "sorted-cells.csv, plan.svg and labels.pdf at true size, plan.pdf up to 1,000 cells, "
        "sort.json.",
        epilog="A cell outside of a band is rejected, with the reason. The bands are common "
        "practice, no source: all cells charged alike, then rested alike, two weeks or more.",
    )
    parser.add_argument("cells", metavar="CELLS", help="CSV list of the measured cells")
    parser.add_argument("file", metavar="PACK", help="pack file")
    parser.add_argument(
        "--capacity-below",
        type=_percent,
        default=10.0,
        metavar="PERCENT",
        help="reject cells further below the median capacity (default: 10)",
    )
    parser.add_argument(
        "--resistance-off",
        type=_percent,
        default=10.0,
        metavar="PERCENT",
        help="reject cells further from the median resistance (default: 10)",
    )
    parser.add_argument(
        "--volts-off",
        type=_millivolts,
        default=20.0,
        metavar="MV",
        help="reject cells rested further from the median voltage, mV (default: 20)",
    )
    take_paper(parser, "plan and labels")
    parser.add_argument(
        "--quick",
        action="store_true",
        help="cells placed in an outline: the first good answer, as with make --quick",
    )
    take_allow_scripts(parser)
    take_out_dir(parser)
    parser.set_defaults(run=_run)


def _run(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    from generators.atomic_folder import written_beside
    from generators.exports.paper import Paper
    from generators.packfile.cell_lot import read_cell_list
    from generators.packfile.resolve import read_pack
    from generators.sorting.making import MARK, TABLE, Sorting, write_sorting
    from layouts.placing.values import Effort
    from layouts.planning.sorted_cells import sort_cells
    from layouts.sorting.lot import LotBands, rejected_cells

    read = with_scripts(read_pack(arguments.file), arguments)
    pack = read.pack
    cells = read_cell_list(arguments.cells, pack.cell)
    bands = LotBands(
        capacity_below_ratio=arguments.capacity_below / 100.0,
        resistance_off_ratio=arguments.resistance_off / 100.0,
        volts_off_v=arguments.volts_off / 1000.0,
    )
    rejected = rejected_cells(cells.lot, bands, empty_v=pack.cell.empty_v)
    needed = pack.series * pack.parallel
    if len(cells.lot.labels) - len(rejected) < needed:
        raise _too_few(cells, rejected, needed)
    name = f"{pack.name}-sort"
    begin(arguments.out, name, log_folder, holds=MARK)
    with refusals(read):
        effort = Effort.QUICK if arguments.quick else Effort.BEST
        found = sort_cells(pack, cells.lot, _kept(cells, rejected), effort=effort)
    sorting = Sorting(pack=pack, cells=cells, rejected=rejected, found=found)
    notes: list[str] = []
    with (
        writing(arguments.out),
        written_beside(arguments.out, name, holds=MARK, notes=notes) as beside,
    ):
        write_sorting(beside, sorting, paper=Paper(arguments.paper))
    say_cautions(read.renamed)
    _tell(sorting, arguments.out / name)
    say_notes(notes)
    table = os.path.relpath(arguments.out / name / TABLE, os.path.dirname(arguments.file) or ".")
    written = table.replace(os.sep, "/")
    print(f"next: in {arguments.file}, write measured_cells: {written}, then cellstead make")
    return HOLDS


def _kept(cells: CellList, rejected: tuple[Rejected, ...]) -> Any:
    """The cells that are not rejected, by their places in the list."""
    import numpy as np

    return np.setdiff1d(np.arange(len(cells.lot.labels)), [one.cell for one in rejected])


def _too_few(cells: CellList, rejected: tuple[Rejected, ...], needed: int) -> PackFileError:
    """How many cells lack, and why each that was rejected was."""
    from generators.packfile.faults import Fault, PackFileError

    listed = len(cells.lot.labels)
    left = listed - len(rejected)
    first = Fault(
        line=1,
        field="cells",
        why=f"are too few: {needed} needed, {listed} listed, {len(rejected)} rejected, "
        f"{needed - left} missing",
        value=None,
        remedy=f"add {needed - left} good cells to the list",
    )
    reasons = [
        Fault(
            line=cells.lines[one.cell],
            field="rejected",
            why="; ".join(one.reasons),
            value=cells.lot.labels[one.cell],
            remedy="measure it again, or leave it out",
        )
        for one in rejected
    ]
    return PackFileError(cells.file, [first, *reasons])


def _tell(of: Sorting, folder: Path) -> None:
    """Figures before and after, on stdout."""
    from statistics import median

    pack, labels, found = of.pack, of.cells.lot.labels, of.found
    used = pack.series * pack.parallel
    print(
        f"{folder}: {used} cells of {len(labels)} in {pack.series} groups of {pack.parallel}, "
        f"{len(of.rejected)} rejected, {len(found.spare)} spare"
    )
    for one in of.rejected[:MOST_TOLD]:
        print(f"rejected: {labels[one.cell]}: {'; '.join(one.reasons)}")
    if len(of.rejected) > MOST_TOLD:
        print(f"rejected: {len(of.rejected) - MOST_TOLD} more, see sort.json")
    if len(found.spare):
        print(f"spare: {_named([labels[k] for k in found.spare.tolist()])}")
    before, by_chance, after = found.listed, found.random, found.sorted
    print(
        f"capacity of the pack (smallest group): {before.smallest_ah:.3f} Ah in the order of the "
        f"list, {by_chance.smallest_ah:.3f} in random order (mean), {after.smallest_ah:.3f} sorted"
    )
    print(
        f"groups differ in capacity by {_percents(before.capacity_ratio)} as listed, "
        f"{_percents(by_chance.capacity_ratio)} in random order, "
        f"{_percents(after.capacity_ratio)} sorted"
    )
    print(
        f"cells of a group differ in resistance by {_percents(before.resistance_ratio)} as listed, "
        f"{_percents(by_chance.resistance_ratio)} in random order, "
        f"{_percents(after.resistance_ratio)} sorted (mean of the groups)"
    )
    if found.currents is not None and pack.parallel > 1:
        print(
            f"currents in the worst group differ by {_percents(found.currents.listed)} as listed, "
            f"{_percents(found.currents.sorted)} sorted, {_percents(found.currents.alike)} with "
            "cells all alike"
        )
    middle, given = float(median(of.cells.lot.capacity_ah.tolist())), pack.cell.capacity_ah
    if abs(middle / given - 1.0) > ASIDE_RATIO:
        print(f"note: the median capacity is {middle:.3g} Ah, cell.capacity_ah is {given:.3g}")
    if of.cells.unread:
        print(f"note: columns not read: {_named(of.cells.unread)}")


def _named(names: Any) -> str:
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


def _percents(ratio: float) -> str:
    return f"{100 * ratio:.2g} %" if ratio < 0.1 else f"{100 * ratio:.0f} %"


def _percent(text: str) -> float:
    return _within(text, 0.5, 90.0, "percent")


def _millivolts(text: str) -> float:
    return _within(text, 1.0, 1000.0, "mV")


def _within(text: str, least: float, most: float, unit: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not least <= value <= most:
        raise argparse.ArgumentTypeError(f"must be {least:g} to {most:g} {unit} ({text})")
    return value
