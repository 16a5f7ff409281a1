"""A suggestion as a pack file: complete, commented, and the very pack that was planned."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from pathlib import Path

from layouts.pack import EnclosureStyle
from layouts.suggesting.ranking import Ranked
from layouts.suggesting.setting import Offer, Setting, pack_name

__all__ = ["NotWrittenError", "pack_text", "write_new"]

FORM_NOTES = {
    EnclosureStyle.FITTED: "walls follow cells, rooms and this space",
    EnclosureStyle.NONE: "cells placed in the space, which is the case",
}
# what to write down of a cell that a list leaves out, with the unit
ASSUMED = {"capacity_ah": "Ah", "continuous_a": "A", "internal_resistance_mohm": "mohm"}


def pack_text(
    one: Ranked,
    setting: Setting,
    space_lines: Sequence[str],
    machine_lines: Sequence[str] = (),
) -> str:
    """The pack file of a row; ``space_lines``: what it says of its space; ``machine_lines``: of the
    machine, where another pack file says it."""
    row, candidate = one.row, one.row.candidate
    offer = setting.offers[candidate.offer]
    base = setting.base
    name = pack_name(candidate, setting)
    words = "; ".join(one.reasons)
    lines = [
        f"# {offer.name} as {candidate.series}S{candidate.parallel}P on a "
        f"{candidate.lattice.value}: {row.energy_wh:.0f} Wh, {row.current_a:.3g} A by the cells' "
        f"own rating, about {row.mass_kg:.1f} kg.",
        f"# Suggested for the space below: {words}.",
        "# Every key that is not here has a default with a reason: cellstead schema prints them.",
        "",
        f"name: {name}",
        "",
        "cell:",
        *_cell_lines(offer),
        "",
        _noted(
            f"series: {candidate.series}",
            (
                f"{row.empty_v:.1f} V cut-off, {row.nominal_v:.1f} nominal, {row.full_v:.1f} "
                "full charge"
            ),
        ),
        _noted(
            f"parallel: {candidate.parallel}",
            f"{candidate.parallel * offer.cell.capacity_ah:.1f} Ah",
        ),
        f"lattice: {candidate.lattice.value}",
        "",
        "leads:",
        _noted(f'  side: "{row.fit.way.side.value}"', "side of the space where they exit"),
        _noted(f"  wire_mm2: {base.leads.wire_mm2:g}", "copper of each lead"),
        "",
    ]
    if candidate.form is not EnclosureStyle.TUB:
        lines += [
            "enclosure:",
            _noted(f"  style: {candidate.form.value}", FORM_NOTES[candidate.form]),
            "",
        ]
    lines += space_lines
    load = base.machine.load
    if machine_lines:
        lines += ["", *machine_lines]
    elif load is not None:
        note = "continuous current of the machine; add peak_a and ambient_c"
        lines += ["", "load:", _noted(f"  continuous_a: {load.continuous_a:g}", note)]
        if load.regeneration_a is not None:
            lines.append(_noted(f"  regeneration_a: {load.regeneration_a:g}", "of the motor"))
    return "\n".join(lines) + "\n"


def _cell_lines(offer: Offer) -> list[str]:
    """The cell's section: what was given, and what is assumed as comments."""
    given = dict(offer.given)
    lines = [f"  {key}: {_scalar(value)}" for key, value in given.items()]
    for key, unit in ASSUMED.items():
        if key not in given:
            value = getattr(offer.cell, key)
            lines.append(
                f"  # {key}: {value:g}   {unit} assumed from the size; write the data sheet's value"
            )
    return lines


def _scalar(value: object) -> str:
    """Text in quotes; numbers with all their digits, whole ones without a point; lists as JSON."""
    if isinstance(value, float) and value.is_integer():
        return repr(int(value))
    return repr(value) if isinstance(value, float) else json.dumps(value, ensure_ascii=False)


def _noted(line: str, note: str) -> str:
    """A line with a comment in a column of its own."""
    return f"{line:<28} # {note}"


class NotWrittenError(Exception):
    """A pack file can't be written; the message is one line."""


def write_new(file: Path, text: str) -> None:
    """Write a file that isn't there yet, whole or not at all.

    Raises NotWrittenError where something is there already, or where it can't be written.
    """
    try:
        with open(file, "x", encoding="utf-8") as stream:
            try:
                stream.write(text)
                stream.flush()
            except BaseException:
                os.unlink(file)
                raise
    except FileExistsError as error:
        raise NotWrittenError(
            f"exists already and is not replaced ({file}), give another name with --as"
        ) from error
    except (OSError, ValueError) as error:  # ValueError: a zero byte in the name
        why = getattr(error, "strerror", None) or str(error)
        raise NotWrittenError(
            f"can't be written: {why} ({file}), give another file with --as"
        ) from error
