"""What a sweep found: files of the result, the terminal, cautions, what came closest."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, TextIO

from generators.atomic_folder import written_beside
from generators.own_files import file_rows
from generators.suggesting.given import SEEN, Given
from generators.suggesting.plot import plot
from generators.suggesting.table import csv_text, row_values, say_table
from generators.version import VERSION
from layouts.pack import EnclosureStyle
from layouts.ratings.touch_voltage import DRY_V
from layouts.suggesting.rows import Row
from layouts.suggesting.series_words import series_words
from layouts.suggesting.setting import LEAD_A_MM2, LEADS_MM2, Asked, Offer
from layouts.suggesting.sweep import SweepResult

__all__ = ["MARK", "Answers", "cautions", "nearest_words", "say", "write_answers"]

MOST_WHY = 8  # lines about numbers in series
MARK = "suggest.json"  # by which a folder is known as one of ours


@dataclass(frozen=True, kw_only=True, slots=True)
class Answers:
    """What was given and what was found."""

    given: Given
    found: SweepResult


def write_answers(answers: Answers, out_dir: Path, name: str) -> tuple[str, ...]:
    """Write ``out_dir/name``: suggest.json, and where something fits the CSV and the plot; returns
    what there is to say of the folder.

    Raises OSError and OutputFolderError; the last good result then stays as it was.
    """
    given, found = answers.given, answers.found
    offers, unit = given.setting.offers, given.offers.price_unit
    notes: list[str] = []
    with written_beside(out_dir, name, holds=MARK, notes=notes) as beside:
        if found.rows:
            table = csv_text(found.rows, offers, unit)
            (beside / "suggestions.csv").write_text(table, encoding="utf-8", newline="")
            picture = plot(found.rows, offers, title=f"Packs that fit {given.name}")
            (beside / "suggestions.svg").write_text(picture, encoding="utf-8")
        row = _values(answers) | {"files": file_rows(beside, but=MARK)}
        text = json.dumps(row, indent=1, ensure_ascii=False)
        (beside / MARK).write_text(text + "\n", encoding="utf-8")
    return tuple(notes)


def _values(answers: Answers) -> dict[str, Any]:
    given, found = answers.given, answers.found
    offers, unit = given.setting.offers, given.offers.price_unit
    return {
        "tool": {"name": "cellstead", "version": VERSION},
        "space": {"name": given.name, "box_mm": list(given.where.space.box_mm)},
        "asked": asdict(given.setting.asked),
        "cells": [
            {"name": offer.name, **dict(offer.given), "price": offer.price} for offer in offers
        ],
        "series": why_series(answers),
        "looked_at": found.looked_at,
        "planned": found.planned,
        "left_out": found.left_out,
        "twins": found.twins,
        "refused": found.refused,
        "not_asked": found.open,
        "rows": [row_values(one, offers, unit) for one in found.rows],
        "nearest": None if found.nearest is None else nearest_words(found.nearest, answers),
        "cautions": list(cautions(answers)),
    }


def say(answers: Answers, out: TextIO, err: TextIO) -> None:
    """The table and the cautions; where nothing fits, what came nearest, on ``err``."""
    given, found = answers.given, answers.found
    if given.offers.assumed:
        print(f"caution: cells: {given.offers.assumed}", file=out if found.confirmed else err)
    if not found.rows:
        print(f"nothing fits: {nothing_words(answers)}", file=err)
        return
    if not found.confirmed:
        print(
            f"nothing is confirmed: the planner refused {found.refused} of the packs that may fit "
            f"by estimate, and was not asked about {found.open}: require less, or list fewer cells",
            file=err,
        )
    planned = sum(not one.row.by_estimate for one in found.rows)
    print(
        f"{planned} layouts fit {given.name} and {len(found.rows) - planned} may by estimate, of "
        f"{found.planned} packs planned and {found.looked_at} considered; for "
        f"{asked_words(given.setting.asked)}:",
        file=out,
    )
    say_table(found.rows, given.setting.offers, given.offers.price_unit, out)
    for line in why_series(answers):
        print(line, file=out)
    for caution in cautions(answers):
        if not caution.startswith("cells: "):  # said before all else
            print(f"caution: {caution}", file=out)


def why_series(answers: Answers) -> list[str]:
    """Why the rows have so many cells in series, a line for each cell and number."""
    setting = answers.given.setting
    pairs = dict.fromkeys(
        (one.row.candidate.offer, one.row.candidate.series) for one in answers.found.rows
    )
    lines = [series_words(setting.offers[k], s, setting.asked) for k, s in pairs]
    return [*lines[:MOST_WHY], *([f"{len(lines) - MOST_WHY} more"] if lines[MOST_WHY:] else [])]


def asked_words(asked: Asked) -> str:
    """The requirements, in a phrase."""
    words = []
    if asked.volts_v is not None:
        words.append(f"{asked.volts_v:g} V nominal")
    if asked.window_v is not None:
        low, high = asked.window_v
        ends = [f"{low:g} V or more"] if low is not None else []
        ends += [f"{high:g} V or less"] if high is not None else []
        words.append(" and ".join(ends) if len(ends) == 1 else f"{low:g} to {high:g} V")
    if asked.charger_v is not None:
        words.append(f"a charger that ends at {asked.charger_v:g} V")
    if asked.energy_wh is not None:
        words.append(f"{asked.energy_wh:g} Wh or more")
    if asked.current_a is not None:
        words.append(f"{asked.current_a:.3g} A or more")
    if asked.regeneration_a is not None:
        words.append(f"{asked.regeneration_a:g} A returned by the motor")
    return ", ".join(words)


def cautions(answers: Answers) -> Iterator[str]:
    """Notes before relying on any row, each once."""
    given, found = answers.given, answers.found
    if given.offers.assumed:
        yield f"cells: {given.offers.assumed}"
    for note in given.where.space.notes:
        yield f"space: {note}"
    if not given.where.space.is_box:
        yield (
            "space: only upright cells are considered, as a pack file can't turn its space; "
            "turn the space's file to lay them on their side"
        )
    if not found.rows:
        return
    yield (
        "A: the cells' own rating; strips, leads, board, fuse and temperature may allow less, "
        "see cellstead make"
    )
    yield (
        "spare mm: clearance around tub, lid, brackets and screw heads; cable bends behind the "
        "glands and service clearance for the lid are extra: see cellstead fit"
    )
    if any(one.row.by_estimate for one in found.rows):
        yield (
            "estimate: nothing of such a row is planned; its kg is by the cells', and the planner "
            "may refuse it: write it and make it, or require more so that fewer rows are left"
        )
    if any(one.row.candidate.form is EnclosureStyle.NONE for one in found.rows):
        yield (
            "no enclosure: cells placed in the space, which is then the case: see the README, "
            "without an enclosure"
        )
    high = max(one.row.full_v for one in found.rows)
    if high > DRY_V:
        yield (
            f"voltage: up to {high:.1f} V at full charge, above {DRY_V:g} V: dangerous to touch; "
            "cover every live part, weld group by group, never work alone"
        )
    amps = given.setting.asked.current_a
    if amps is not None and amps / LEAD_A_MM2 > LEADS_MM2[-1]:
        yield (
            f"leads: {amps:g} A is above the ampacity of one wire of {LEADS_MM2[-1]:g} mm2: use two"
        )
    failed = [one.number for one in found.rows if one.row.failed]
    if failed:
        yield f"checks: {len(failed)} rows have a failed check; they come last"
    if found.left_out:
        yield (
            f"{found.left_out} more packs may fit and were not planned: require more energy or "
            "current, or list fewer cells"
        )


def nothing_words(answers: Answers) -> str:
    """Why there is no row, and what would come nearest."""
    found = answers.found
    told = [] if found.nearest is None else [nearest_words(found.nearest, answers)]
    if found.refused:
        told.append(
            f"a fitted enclosure or cells alone may go in by estimate, and the planner refused all "
            f"{found.refused} that it was asked about"
        )
    if found.advice:
        told.append(f"the least fitted one: {found.advice}")
    if told:
        return "; ".join(told)
    asked, offers = answers.given.setting.asked, answers.given.setting.offers
    near = min(offers, key=lambda offer: _off(offer, asked))
    series = _nearest_series(near, asked)
    cell = near.cell
    return (
        f"no cell of the list meets {asked_words(asked)} with 10,000 cells or fewer; closest in "
        f"voltage is {series}S of {near.name}: {series * cell.empty_v:.1f} V cut-off, "
        f"{series * cell.nominal_v:.1f} nominal, {series * cell.full_v:.1f} full"
    )


def _wanted_v(asked: Asked) -> float:
    if asked.volts_v is not None:
        return asked.volts_v
    if asked.charger_v is not None:
        return asked.charger_v
    assert asked.window_v is not None  # one of the three is always given
    ends = [volts for volts in asked.window_v if volts is not None]
    return sum(ends) / len(ends)


def _nearest_series(offer: Offer, asked: Asked) -> int:
    return max(1, round(_wanted_v(asked) / offer.cell.nominal_v))


def _off(offer: Offer, asked: Asked) -> float:
    volts = _nearest_series(offer, asked) * offer.cell.nominal_v
    return abs(volts / _wanted_v(asked) - 1)


def nearest_words(row: Row, answers: Answers) -> str:
    """What comes nearest to fitting, and by how much it misses."""
    given = answers.given
    candidate, fit = row.candidate, row.fit
    offer = given.setting.offers[candidate.offer]
    pack = (
        f"{candidate.series}S{candidate.parallel}P of {offer.name} on a {candidate.lattice.value}"
    )
    if row.refused:
        return f"{pack} can't be planned: {row.refused}"
    seen = SEEN[fit.way.axis].split(", ")
    short = [
        f"{-spare:.1f} mm along {axis}"
        for spare, axis in zip(fit.spare_mm, seen, strict=True)
        if spare < 0
    ]
    if not short:
        short = [f"{-fit.gap_mm:.1f} mm on some side"]
    standing = f"cells along {fit.way.axis.value}, leads to {fit.way.side.value}"
    return f"closest is {pack}, {standing}: it is too large by {', '.join(short)}"
