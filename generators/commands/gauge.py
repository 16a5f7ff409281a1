"""``cellstead gauge``: the fit gauge to print, and the printer's profile from what it tells."""

from __future__ import annotations

import argparse
import math
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from generators.commands.common import (
    HOLDS,
    begin,
    refusals,
    say_cautions,
    say_notes,
    take_out_dir,
    take_paper,
    writing,
)

if TYPE_CHECKING:
    from generators.gauges.form import FilledForm
    from generators.packfile.faults import PackFileError
    from layouts.gauges.values import PrinterMeasured

__all__ = ["declare"]

POCKETS = 5
LEAST_STEP_MM, MOST_STEP_MM, LEAST_APART_MM = -1.0, 2.0, 0.02
LEAST_CAN_MM, MOST_CAN_MM = 5.0, 60.0


def declare(commands: argparse._SubParsersAction[Any]) -> None:
    """Add the command's arguments."""
    parser = commands.add_parser(
        "gauge",
        help="make a fit gauge to print, and read the printer's profile from it",
        description="Makes a printed part with five pockets for the can, holes, slots, walls and "
        "lengths for a calliper, and a sheet that tells how it is measured. Writes "
        "DIR/NAME-gauge: fit-gauge (STL, 3MF, STEP), sheet.pdf, readings.yaml to fill in, "
        "gauge.json. With --read it turns filled forms into DIR/printer-profile.yaml, which a "
        "pack file takes by printer.profile.",
    )
    parser.add_argument("file", nargs="?", metavar="FILE", help="pack file")
    parser.add_argument(
        "--read",
        nargs="+",
        metavar="READINGS",
        help="filled forms, one a print, in place of FILE: write the printer's profile",
    )
    parser.add_argument(
        "--can",
        type=_can,
        metavar="MM",
        help="diameter of your can as measured (default: cell.diameter_mm of the pack file)",
    )
    parser.add_argument(
        "--steps",
        type=_step,
        nargs=POCKETS,
        metavar="MM",
        help="what the five pockets are wider than the can (default: 0.0 0.1 0.2 0.3 0.4)",
    )
    take_paper(parser, "the sheet")
    take_out_dir(parser)
    parser.set_defaults(run=_run, refuse=parser.error)


def _run(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    if (arguments.file is None) == (arguments.read is None):
        arguments.refuse("give either a pack file, or --read with filled forms")
    if arguments.read is not None:
        if arguments.can is not None or arguments.steps is not None:
            arguments.refuse("--can and --steps are for a new gauge, not for --read")
        return _read(arguments)
    steps = arguments.steps
    if steps is not None and any(
        after - before < LEAST_APART_MM - 1e-9
        for before, after in zip(steps, steps[1:], strict=False)
    ):
        given = " ".join(f"{one:g}" for one in steps)
        arguments.refuse(f"--steps must rise by {LEAST_APART_MM:g} or more each ({given})")
    return _make(arguments, log_folder)


def _make(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    from generators.atomic_folder import written_beside
    from generators.exports.paper import Paper
    from generators.gauges.making import FORM, MARK, write_gauge
    from generators.packfile.resolve import read_pack
    from layouts.gauges.sizes import STEPS_MM, gauge_sizes

    read = read_pack(arguments.file)
    name = f"{read.pack.name}-gauge"
    with refusals(read):
        sizes = gauge_sizes(read.pack, can_mm=arguments.can, steps_mm=arguments.steps or STEPS_MM)
    begin(arguments.out, name, log_folder, holds=MARK)
    notes: list[str] = []
    with (
        refusals(read),
        writing(arguments.out),
        written_beside(arguments.out, name, holds=MARK, notes=notes) as beside,
    ):
        outcome = write_gauge(beside, read.pack, sizes, paper=Paper(arguments.paper))
    say_cautions(read.renamed)
    if arguments.can is None:
        print(
            f"note: pockets begin at cell.diameter_mm, {sizes.can_mm:g} mm: measure your can, and "
            "give --can where it differs"
        )
    say_notes(notes)
    folder = arguments.out / name
    print(f"{folder}: written. {outcome.told}")
    print(f"next: print it, fill in {folder / FORM}, then cellstead gauge --read {folder / FORM}")
    return HOLDS


def _read(arguments: argparse.Namespace) -> int:
    from generators.gauges.profile import ONE_PRINT, profile_text, told_values, write_profile
    from layouts.gauges.reading import mean_of

    if len({os.path.realpath(file) for file in arguments.read}) < len(arguments.read):
        arguments.refuse("--read: the same file twice is still one print")
    forms, found = _printers(arguments.read)
    measured = mean_of(found)
    with writing(arguments.out):
        arguments.out.mkdir(parents=True, exist_ok=True)
        path, notes = write_profile(arguments.out, profile_text(measured, forms))
    for key, value, comment in told_values(measured):
        print(f"{key}: {value} ({comment})")
    say_notes(measured.notes)
    if len(forms) == 1:
        say_notes([ONE_PRINT])
    say_notes(notes)
    print(f"{path}: written")
    print(
        f"next: in your pack file, write printer: {{profile: {path.as_posix()}}}, the path "
        "relative to that file's folder"
    )
    return HOLDS


def _printers(files: Sequence[str]) -> tuple[list[FilledForm], list[PrinterMeasured]]:
    """What each form tells. Raises PackFileError where one can't be used; faults of the others are
    told before."""
    from generators.gauges.form import read_form
    from generators.messages import tell
    from generators.packfile.faults import PackFileError, shown_file
    from layouts.gauges.reading import read_gauge
    from layouts.gauges.values import ReadingError

    forms: list[FilledForm] = []
    found: list[PrinterMeasured] = []
    refused: list[PackFileError] = []
    for file in files:
        try:
            form = read_form(file)
            forms.append(form)
            found.append(read_gauge(form.drawn, form.readings))
        except ReadingError as error:
            refused.append(form.refused(error))
        except PackFileError as error:
            refused.append(error)
    refused += [
        form.refused(
            ReadingError(
                field="filament",
                why=f"is another one than {shown_file(forms[0].file)} has",
                remedy="read each filament's gauges by themselves, or write the same words",
            )
        )
        for form in forms
        if form.filament != forms[0].filament
    ]
    if refused:
        for one in refused[:-1]:
            tell("\n".join(one.lines()))
        raise refused[-1]
    return forms, found


def _can(text: str) -> float:
    return _within(text, LEAST_CAN_MM, MOST_CAN_MM, "a diameter")


def _step(text: str) -> float:
    value = _within(text, LEAST_STEP_MM, MOST_STEP_MM, "a step")
    if abs(100 * value - round(100 * value)) > 1e-6:  # as it stands on the gauge
        raise argparse.ArgumentTypeError(f"must be whole hundredths of a mm ({text})")
    return value


def _within(text: str, least: float, most: float, what: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not least <= value <= most:
        raise argparse.ArgumentTypeError(f"must be {what} of {least:g} to {most:g} mm ({text})")
    return value
