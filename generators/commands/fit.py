"""``cellstead fit``: does the finished pack fit a space, and where is it tightest."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from generators.commands.common import (
    begin,
    refusals,
    say_cautions,
    take_allow_scripts,
    take_out_dir,
    tell_failed,
    with_scripts,
    writing,
)

__all__ = ["declare"]


def declare(commands: argparse._SubParsersAction[Any]) -> None:
    """Add the command's arguments."""
    parser = commands.add_parser(
        "fit",
        help="check whether the finished pack fits a space, and where it is tightest",
        description="Searches the pose with the largest minimum gap (turned at right angles or "
        "along walls, about any axis where that is too little) of the pack with brackets, screw "
        "heads and cable outlets in a space, against its true outline. Where the gap is small or "
        "there is none, says which turns were searched. Writes DIR/NAME-fit: fit.json, fit.svg.",
    )
    parser.add_argument("file", metavar="PACK", help="pack file")
    parser.add_argument(
        "space",
        nargs="?",
        metavar="SPACE",
        help="file of the space, or a mesh of the free space (default: the pack file's own)",
    )
    parser.add_argument(
        "--lid-room",
        action="store_true",
        help="require the service clearance for lid and screwdriver too",
    )
    take_allow_scripts(parser)
    take_out_dir(parser)
    parser.set_defaults(run=_run)


def _run(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    from generators.packfile.resolve import read_pack
    from generators.packfile.space_file import read_space
    from generators.progress import progress

    read = with_scripts(read_pack(arguments.file), arguments)
    space = None if arguments.space is None else read_space(arguments.space)
    out_dir: Path = arguments.out
    name = f"{read.pack.name}-fit"
    begin(out_dir, name, log_folder, holds="fit.json")
    with writing(out_dir), refusals(read), progress() as report_progress:
        from generators.fitting import fit_pack
        from generators.form_choice import outside_with_form

        outcome = fit_pack(
            read.pack,
            space,
            lid_room=arguments.lid_room,
            out_dir=out_dir,
            report_progress=report_progress,
            planned=lambda pack, there: outside_with_form(pack, there, read.changed),
        )
    status = tell_failed(outcome.failed)
    say_cautions(read.renamed)
    for line in outcome.told:
        print(line)
    print(f"{outcome.folder}: {'written, see fit.svg' if status else 'it fits'}")
    return status
