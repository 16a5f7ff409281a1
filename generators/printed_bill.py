"""The bill of materials of a run, with its printed parts as they were made."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from generators.exports.bill import BillRow, write_bill
from generators.exports.bill_of_printing import each_words, printing_rows
from generators.exports.whole_bill import PrintedCount, whole_bill
from generators.made_part import MadePart
from layouts.planning.pack_plan import PackPlan
from layouts.printing.totals import PackPrint

__all__ = ["write_bill_of"]


def write_bill_of(
    folder: Path, plan: PackPlan, made: Sequence[MadePart], printing: PackPrint
) -> tuple[BillRow, ...]:
    """Write the bill into ``folder``; returns its rows."""
    printed = [one for one in made if one.part.is_printed]
    rows = whole_bill(
        plan,
        [
            PrintedCount(
                name=one.name,
                count=len(one.part.placed),
                volume_mm3=one.solid_mm3,
                told=each_words(row),
            )
            for one, row in zip(printed, printing.parts, strict=True)
        ],
        printing_rows(plan.pack, printing),
    )
    write_bill(folder / "bill.csv", rows)
    return rows
