"""``cellstead suggest``: what would fit into a space, ranked, with the reasons."""

from __future__ import annotations

import argparse
import math
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from generators.suggesting.answers import Answers
    from generators.suggesting.given import Given
    from layouts.suggesting.setting import Setting
    from layouts.suggesting.sweep import SweepResult

from generators.commands.common import begin, say_notes, take_out_dir, writing

__all__ = ["declare"]

FITS, NOTHING, UNUSABLE = 0, 1, 2
MOST_JOBS = 256
LEAST_MM, GREATEST_MM = 20.0, 5000.0  # sides of a box, as in the pack file


def declare(commands: argparse._SubParsersAction[Any]) -> None:
    """Add the command's arguments."""
    parser = commands.add_parser(
        "suggest",
        help="list which cells, in which numbers, would fit into a space",
        description="Considers every sensible cell, number in series and parallel, lattice, "
        "enclosure and orientation, ranks what may fit by estimate, and has the planner confirm "
        "the best. A pack file gives its cell, load, controller and charger too. Writes "
        "DIR/NAME-suggest: suggestions.csv, suggestions.svg, suggest.json.",
        epilog="Status: 0 something fits; 1 nothing does, or nothing is confirmed; 2 the input "
        "or the output folder can't be used.",
    )
    _take_space(parser)
    _take_wishes(parser)
    _take_written(parser)
    _take_workers(parser)
    take_out_dir(parser)
    parser.set_defaults(run=_run, parser=parser)


def _take_space(parser: argparse.ArgumentParser) -> None:
    """The space, as a file or as a box."""
    parser.add_argument(
        "space",
        nargs="?",
        type=Path,
        metavar="SPACE",
        help="file of the space, or a pack file that has one",
    )
    parser.add_argument(
        "--box", type=_box, metavar="AxBxC", help="instead of a file: a box, inside dimensions, mm"
    )


def _take_wishes(parser: argparse.ArgumentParser) -> None:
    """What the pack shall be able to do, and of which cells, standing which way."""
    parser.add_argument("--volts", type=_positive, metavar="V", help="nominal voltage required")
    parser.add_argument(
        "--window",
        type=_window,
        metavar="LOW:HIGH",
        help="voltage range of the machine, cut-off to full charge",
    )
    parser.add_argument(
        "--charger", type=_positive, metavar="V", help="end voltage of a charger to be kept"
    )
    parser.add_argument("--wh", type=_positive, metavar="WH", help="minimum energy")
    parser.add_argument("--amps", type=_positive, metavar="A", help="minimum continuous current")
    parser.add_argument(
        "--regen",
        type=_positive,
        metavar="A",
        help="current that the motor returns when it brakes; goes with --amps",
    )
    parser.add_argument(
        "--cells",
        type=Path,
        metavar="FILE",
        help="CSV list of cells: format,chemistry,capacity_ah,continuous_a,mass_g and more keys "
        "of the pack file's cell section, name, price_...; default: the cell of the pack file "
        "that is given, else typical cells of the built-in sizes",
    )
    parser.add_argument(
        "--enclosure",
        choices=("any", "tub", "fitted", "none"),
        default="any",
        help="what encloses the cells (default: any: a tub, else walls that follow the space, else "
        "none)",
    )
    parser.add_argument(
        "--along",
        choices=("any", "x", "y", "z"),
        default="any",
        help="axis of the space along the cells (default: any)",
    )


def _take_written(parser: argparse.ArgumentParser) -> None:
    """The row whose pack file is written, and its name."""
    parser.add_argument(
        "--write", type=_count, metavar="ROW", help="write the pack file of this row"
    )
    parser.add_argument(
        "--as",
        dest="pack_file",
        type=Path,
        metavar="FILE",
        help=(
            "its name (default: the pack's, in the current folder); an existing file is never "
            "replaced"
        ),
    )


def _take_workers(parser: argparse.ArgumentParser) -> None:
    """Where the work is done."""
    parser.add_argument(
        "--jobs", type=_jobs, metavar="N", help="parallel processes (default: one per core)"
    )
    parser.add_argument(
        "--cluster",
        metavar="ADDRESS",
        help="Dask scheduler to use, such as tcp://host:8786; needs cellstead[cluster]",
    )


def _run(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    _complete(arguments)
    from generators.suggesting.answers import MARK, Answers, say, write_answers
    from generators.suggesting.given import GivenError
    from generators.suggesting.running import ClusterError

    try:
        given = _given(arguments)
    except GivenError as error:
        print(f"cellstead suggest: {error}", file=sys.stderr)
        return UNUSABLE
    name = f"{given.name}-suggest"
    begin(arguments.out, name, log_folder, holds=MARK)
    try:
        found = _swept(given.setting, arguments)
    except ClusterError as error:
        print(f"cellstead suggest: --cluster: {error}", file=sys.stderr)
        return UNUSABLE
    answers = Answers(given=given, found=found)
    with writing(arguments.out):
        notes = write_answers(answers, arguments.out, name)
    say(answers, sys.stdout, sys.stderr)
    say_notes(notes)
    print(f"{arguments.out / name}: written")
    status = FITS if answers.found.confirmed else NOTHING
    if arguments.write is not None:
        return _written(answers, arguments, status)
    return status


def _complete(arguments: argparse.Namespace) -> None:
    """Refuse, in one line, arguments that don't go together."""
    parser: argparse.ArgumentParser = arguments.parser
    if (arguments.space is None) == (arguments.box is None):
        parser.error("give the space: either a file or --box AxBxC")
    told = (arguments.volts, arguments.window, arguments.charger)
    if arguments.space is None and all(one is None for one in told):
        parser.error("give the voltage: --volts V, --window LOW:HIGH or --charger V")
    if arguments.regen is not None and arguments.amps is None and arguments.space is None:
        parser.error("--regen goes with --amps A")
    if arguments.pack_file is not None and arguments.write is None:
        parser.error("--as goes with --write ROW")
    if arguments.jobs is not None and arguments.cluster is not None:
        parser.error("--jobs is for this machine, --cluster for others: give one of them")


def _given(arguments: argparse.Namespace) -> Given:
    from generators.suggesting.given import given_box, given_file, make_given
    from layouts.pack import EnclosureStyle
    from layouts.suggesting.setting import FORMS, Asked, Axis

    where = given_box(arguments.box) if arguments.box else given_file(arguments.space)
    asked = Asked(
        volts_v=arguments.volts,
        window_v=arguments.window,
        energy_wh=arguments.wh,
        current_a=arguments.amps,
        regeneration_a=arguments.regen,
        charger_v=arguments.charger,
    )
    axes = (Axis.Z, Axis.X, Axis.Y) if arguments.along == "any" else (Axis(arguments.along),)
    one = arguments.enclosure
    forms = FORMS if one == "any" else (EnclosureStyle(one),)
    return make_given(where, asked, cells=arguments.cells, axes=axes, forms=forms)


def _swept(setting: Setting, arguments: argparse.Namespace) -> SweepResult:
    from generators.progress import progress
    from generators.suggesting.running import cores, on_cluster, over_processes
    from layouts.suggesting.sweep import sweep

    with progress() as report:
        if arguments.cluster is not None:
            with on_cluster(setting, arguments.cluster, report) as run:
                return sweep(setting, run)
        with over_processes(setting, arguments.jobs or cores(), report) as run:
            return sweep(setting, run)


def _written(answers: Answers, arguments: argparse.Namespace, status: int) -> int:
    """Write the pack file of the requested row."""
    from generators.suggesting.packtext import NotWrittenError, pack_text, write_new
    from layouts.suggesting.setting import pack_name

    rows = answers.found.rows
    if arguments.write > len(rows):
        there = f"rows 1 to {len(rows)}" if rows else "no row"
        print(
            f"cellstead suggest: --write: no such row ({arguments.write}), {there} can be written",
            file=sys.stderr,
        )
        return UNUSABLE
    one, given = rows[arguments.write - 1], answers.given
    file = arguments.pack_file or Path(f"{pack_name(one.row.candidate, given.setting)}.yaml")
    lines = given.where.lines_for(one.row.fit.way, file.parent)
    text = pack_text(one, given.setting, lines, given.machine_lines)
    try:
        write_new(file, text)
    except NotWrittenError as error:
        print(f"cellstead suggest: --write: {error}", file=sys.stderr)
        return UNUSABLE
    print(f"{file}: written; next: cellstead make {file}")
    return status


def _positive(text: str) -> float:
    value = _number(text)
    if value <= 0:
        raise argparse.ArgumentTypeError(f"must be more than 0 ({text})")
    return value


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"is not a number ({text})") from None
    if not math.isfinite(value):
        raise argparse.ArgumentTypeError(f"is not a number ({text})")
    return value


def _box(text: str) -> tuple[float, float, float]:
    sides = [_number(side) for side in text.replace("×", "x").split("x")]
    if len(sides) != 3:
        raise argparse.ArgumentTypeError(f"needs three sides ({text}), write them as 240x240x105")
    if not all(LEAST_MM <= side <= GREATEST_MM for side in sides):
        raise argparse.ArgumentTypeError(
            f"has a side that is not {LEAST_MM:g} to {GREATEST_MM:g} mm ({text})"
        )
    return sides[0], sides[1], sides[2]


def _window(text: str) -> tuple[float, float]:
    ends = [_positive(end) for end in text.split(":")]
    if len(ends) != 2 or ends[0] >= ends[1]:
        raise argparse.ArgumentTypeError(f"needs LOW:HIGH, the low end first ({text})")
    return ends[0], ends[1]


def _count(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,6}", text) or int(text) < 1:
        raise argparse.ArgumentTypeError(f"needs a row's number, from 1 up ({text})")
    return int(text)


def _jobs(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,4}", text) or not 1 <= int(text) <= MOST_JOBS:
        raise argparse.ArgumentTypeError(f"needs a number from 1 to {MOST_JOBS} ({text})")
    return int(text)
