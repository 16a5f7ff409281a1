"""The suggestions as a table: on the terminal, as CSV, and as plain values for JSON."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any, TextIO

from layouts.pack import EnclosureStyle
from layouts.suggesting.ranking import Ranked
from layouts.suggesting.rows import Row
from layouts.suggesting.setting import Offer

__all__ = ["MOST_SHOWN", "checks_word", "csv_text", "plan_word", "row_values", "say_table"]

MOST_SHOWN = 30
LATTICE_WORDS = {
    EnclosureStyle.TUB: "{}",
    EnclosureStyle.FITTED: "{}, fitted",
    EnclosureStyle.NONE: "{}, cells alone",
}


def checks_word(row_failed: tuple[str, ...] | None) -> str:
    """What the checks of the plan say, in a word or by name."""
    if row_failed is None:
        return "not run"
    return " ".join(row_failed) or "hold"


def plan_word(row: Row) -> str:
    """How much of a row is planned."""
    if row.by_estimate:
        return "estimate"
    return "outside" if row.failed is None else "confirmed"


def row_values(one: Ranked, offers: Sequence[Offer], price_unit: str | None) -> dict[str, Any]:
    """A row's figures by column, rounded to what they are good for."""
    row, candidate, fit = one.row, one.row.candidate, one.row.fit
    offer = offers[candidate.offer]
    values: dict[str, Any] = {
        "row": one.number,
        "cell": offer.name,
        "format": offer.cell.format,
        "chemistry": offer.cell.chemistry,
        "series": candidate.series,
        "parallel": candidate.parallel,
        "cells": candidate.cells,
        "lattice": candidate.lattice.value,
        "enclosure": candidate.form.value,
        "plan": plan_word(row),
        "cells_along": fit.way.axis.value,
        "leads_side": fit.way.side.value,
        "turn_deg": round(fit.angle_deg, 2),
        "empty_v": round(row.empty_v, 2),
        "nominal_v": round(row.nominal_v, 2),
        "full_v": round(row.full_v, 2),
        "energy_wh": round(row.energy_wh, 1),
        "current_a": round(row.current_a, 2),
        "mass_kg": round(row.mass_kg, 3),
        "smallest_gap_mm": None if row.by_estimate else round(fit.gap_mm, 2),
    }
    for axis, size in zip("xyz", row.size_mm, strict=True):
        values[f"outside_{axis}_mm"] = None if row.by_estimate else round(size, 1)
    if price_unit is not None:
        values[f"cost_{price_unit}"] = None if row.cost is None else round(row.cost, 2)
    values |= {
        "score": round(one.score, 4),
        "beaten_by": one.beaten_by,
        "checks": checks_word(row.failed),
        "reasons": "; ".join(one.reasons),
    }
    return values


def csv_text(rows: Sequence[Ranked], offers: Sequence[Offer], price_unit: str | None) -> str:
    """All rows as CSV; None becomes empty."""
    table = [row_values(one, offers, price_unit) for one in rows]
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, fieldnames=list(table[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(table)
    return out.getvalue()


def say_table(
    rows: Sequence[Ranked], offers: Sequence[Offer], price_unit: str | None, stream: TextIO
) -> None:
    """The first ``MOST_SHOWN`` rows: a table on a terminal, aligned columns elsewhere."""
    heads = ["row", "cell", "pack", "lattice", "V", "Wh", "A", "kg", "spare mm"]
    heads += [f"cost {price_unit}"] if price_unit is not None else []
    heads += ["why"]
    lines = [_cells(one, offers, price_unit) for one in rows[:MOST_SHOWN]]
    if stream.isatty():
        _say_rich(heads, lines, stream)
    else:
        widths = [max(len(line[k]) for line in [heads, *lines]) for k in range(len(heads))]
        for line in [heads, *lines]:
            padded = [
                cell.ljust(width) if k in (1, 3, len(heads) - 1) else cell.rjust(width)
                for k, (cell, width) in enumerate(zip(line, widths, strict=True))
            ]
            print("  ".join(padded).rstrip(), file=stream)
    if len(rows) > MOST_SHOWN:
        print(f"{len(rows) - MOST_SHOWN} more in suggestions.csv", file=stream)


def _cells(one: Ranked, offers: Sequence[Offer], price_unit: str | None) -> list[str]:
    row, candidate = one.row, one.row.candidate
    cells = [
        str(one.number),
        offers[candidate.offer].name,
        f"{candidate.series}S{candidate.parallel}P",
        LATTICE_WORDS[candidate.form].format(candidate.lattice.value),
        f"{row.nominal_v:.1f}",
        f"{row.energy_wh:.0f}",
        f"{row.current_a:.3g}",
        f"{row.mass_kg:.2f}",
        plan_word(row) if row.by_estimate else f"{row.fit.gap_mm:.1f}",
    ]
    if price_unit is not None:
        cells.append("" if row.cost is None else f"{row.cost:.2f}")
    return [*cells, "; ".join(one.reasons)]


def _say_rich(heads: Sequence[str], lines: Sequence[Sequence[str]], stream: TextIO) -> None:
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for k, head in enumerate(heads):
        table.add_column(
            head,
            justify="left" if k in (1, 3, len(heads) - 1) else "right",
            overflow="fold",
        )
    for line in lines:
        table.add_row(*(Text(cell) for cell in line))  # names are no markup
    Console(file=stream).print(table)
