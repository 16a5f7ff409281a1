"""``cellstead dummy``: the finished pack's outside, to print or to cut from card."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import Any

from generators.commands.common import (
    begin,
    refusals,
    say_cautions,
    take_allow_scripts,
    take_out_dir,
    take_paper,
    tell_failed,
    with_scripts,
    writing,
)

__all__ = ["declare"]

LEAST_CARD_MM, MOST_CARD_MM = 0.3, 8.0


def declare(commands: argparse._SubParsersAction[Any]) -> None:
    """Add the command's arguments."""
    parser = commands.add_parser(
        "dummy",
        help="make a fit-up mock-up of the finished pack, to test its fit first",
        description="Makes the pack's outside (tub, lid, brackets, screw heads, cable outlets "
        "with their bends) as thin shells to print and as flat sheets to cut from "
        "card, with the drilling marks for the frame. Writes DIR/NAME-dummy: print/ "
        "(STL, 3MF, guide.txt), sheets.pdf, sheets.dxf, dummy.json. Default without "
        "--print or --sheets: both.",
    )
    parser.add_argument("file", metavar="FILE", help="pack file")
    parser.add_argument("--print", action="store_true", help="only the printed pieces")
    parser.add_argument("--sheets", action="store_true", help="only the card sheets")
    parser.add_argument(
        "--card",
        type=_card,
        default=3.0,
        metavar="MM",
        help="thickness of the card (default: 3)",
    )
    take_paper(parser, "the sheets")
    take_allow_scripts(parser)
    take_out_dir(parser)
    parser.set_defaults(run=_run)


def _card(text: str) -> float:
    try:
        card = float(text)
    except ValueError:
        card = math.nan
    if not LEAST_CARD_MM <= card <= MOST_CARD_MM:
        raise argparse.ArgumentTypeError(
            f"must be a thickness of {LEAST_CARD_MM:g} to {MOST_CARD_MM:g} mm ({text})"
        )
    return card


def _run(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    from generators.dummy.making import MARK, Wanted, make_dummy
    from generators.exports.paper import Paper
    from generators.packfile.resolve import read_pack
    from generators.progress import progress

    read = with_scripts(read_pack(arguments.file), arguments)
    out_dir: Path = arguments.out
    name = f"{read.pack.name}-dummy"
    begin(out_dir, name, log_folder, holds=MARK)
    both = arguments.print == arguments.sheets
    wanted = Wanted(
        printed=both or arguments.print,
        sheets=both or arguments.sheets,
        card_mm=arguments.card,
        paper=Paper(arguments.paper),
    )
    with writing(out_dir), refusals(read), progress() as report_progress:
        outcome = make_dummy(
            read.pack,
            wanted,
            out_dir=out_dir,
            report_progress=report_progress,
            changed=read.changed,
        )
    status = tell_failed(outcome.failed)
    say_cautions(read.renamed)
    for line in outcome.told:
        print(line)
    print(f"{outcome.folder}: {'written' if status else 'everything holds'}")
    return status
