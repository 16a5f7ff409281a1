"""What all commands that write a folder share: where to write, errors in words, what fails."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from generators.packfile.faults import Caution
    from generators.packfile.resolve import ReadPack
    from layouts.checks import Check

__all__ = [
    "FAILS",
    "HOLDS",
    "begin",
    "refusals",
    "refuse_early",
    "say_cautions",
    "say_notes",
    "take_allow_scripts",
    "take_out_dir",
    "take_paper",
    "tell_failed",
    "with_scripts",
    "writing",
]

HOLDS, FAILS = 0, 1


def take_out_dir(parser: argparse.ArgumentParser) -> None:
    """Add ``--out``."""
    parser.add_argument(
        "--out",
        type=Path,
        default=Path("out"),
        metavar="DIR",
        help="where to write the result folder (default: out)",
    )


def take_paper(parser: argparse.ArgumentParser, what: str) -> None:
    """Add ``--paper``, the size of what is to be printed."""
    parser.add_argument(
        "--paper",
        choices=("a4", "letter"),
        default="a4",
        help=f"paper size of {what} (default: a4)",
    )


def take_allow_scripts(parser: argparse.ArgumentParser) -> None:
    """Add ``--allow-scripts``."""
    parser.add_argument(
        "--allow-scripts",
        action="store_true",
        help="run the pack file's bracket script: it may do all that you may, so read it first",
    )


def with_scripts(read: ReadPack, arguments: argparse.Namespace) -> ReadPack:
    """The pack with what its script gives, where it has one and the arguments allow it.

    Raises PackFileError where it may not be run, or gives no bracket.
    """
    if read.pack.mount.script is None:
        return read
    from generators.scripts.running import with_bracket

    return with_bracket(read, allowed=arguments.allow_scripts)


def begin(out_dir: Path, name: str, log_folder: list[Path], *, holds: str = "result.json") -> None:
    """Make sure that the folder can be written, put right what a killed run has left, and say where
    a fault's log will lie.

    ``holds``: the file by which an earlier result is known. Raises OutputFolderError.
    """
    from generators.atomic_folder import recover
    from generators.faultlog import is_log
    from generators.outfolder import prepare

    prepare(out_dir, name, holds=holds)
    say_notes(recover(out_dir, name, holds=holds))
    log = out_dir / f"{name}.log"
    if is_log(log):
        log.unlink()  # an older run's fault is no longer reported
    log_folder.append(log)


@contextmanager
def writing(out_dir: Path) -> Iterator[None]:
    """Turns an OSError of the output folder into OutputFolderError; others pass through."""
    from generators.outfolder import output_trouble

    try:
        yield
    except OSError as error:
        trouble = output_trouble(error, out_dir)
        if trouble is None:
            raise
        raise trouble from error


def refuse_early(read: ReadPack) -> None:
    """Raises PackFileError with all that keeps a pack from being planned, as far as its values
    alone tell."""
    from layouts.planning.early import early_refusals

    errors = early_refusals(read.pack)
    if errors:
        raise read.refused(*errors)


@contextmanager
def refusals(read: ReadPack) -> Iterator[None]:
    """Turns a plan's refusal into a fault at its line of the pack file."""
    from layouts.errors import PlanError

    try:
        yield
    except PlanError as error:
        raise read.refused(error) from error


def tell_failed(failed: Sequence[Check]) -> int:
    """Checks that do not hold on stderr, their names in its first line; the exit status."""
    from generators.messages import tell, told_check

    if not failed:
        return HOLDS
    tell("failed checks: " + ", ".join(dict.fromkeys(check.id for check in failed)))
    for check in failed:
        tell(told_check(check))
    return FAILS


def say_notes(notes: Sequence[str]) -> None:
    """What a command did to files besides its own, one line each on stdout."""
    for note in notes:
        print(f"note: {note}")


def say_cautions(cautions: Sequence[Caution]) -> None:
    """One line each on stdout; the exit status does not follow from them."""
    for caution in cautions:
        print(f"caution: {caution.told()}")
