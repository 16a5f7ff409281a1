"""The command line: reads, calls and prints. What is heavy is loaded by the command that needs it.

Exit status: 0 all checks pass; 1 made, but a check fails; 2 the input or the output folder can't be
used; 3 an internal fault; stopped: 130 by the user, 143 by SIGTERM, 129 by SIGHUP."""

from __future__ import annotations

import argparse
import sys
import warnings
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from generators.commands.common import (
    HOLDS,
    begin,
    refusals,
    refuse_early,
    say_cautions,
    say_notes,
    take_allow_scripts,
    take_out_dir,
    tell_failed,
    with_scripts,
    writing,
)
from generators.messages import tell
from generators.signals import asked_to_stop, ending_signals
from generators.streams import guarded_streams
from generators.version import VERSION

if TYPE_CHECKING:
    from generators.makers import Makers
    from generators.packfile.faults import Caution
    from generators.packfile.resolve import ReadPack
    from generators.run import Outcome

# each a module of generators.commands
COMMANDS = ("place", "fit", "gauge", "suggest", "dummy", "sort", "page")
UNUSABLE, INTERNAL, STOPPED = 2, 3, 130
BY_SIGNAL = 128  # and the signal's number: what shells report too

NOT_LOOKED_AT = (
    "not looked at: what only a plan shows, such as places for cells, board, wires and screws, "
    "fit in the space, currents, fuse, temperatures and strength; cellstead make checks them"
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status; every error is reported on stderr in words."""
    with guarded_streams() as (output, _):
        status = _ended(argv)
        output.flush()
        trouble = output.trouble
        # a reader that has gone (``cellstead schema | head``) is no error of ours
        if trouble is not None and not isinstance(trouble, BrokenPipeError):
            tell(f"cellstead: output can't be written: {trouble.strerror or trouble}")
            status = status or UNUSABLE
        return status


def _ended(argv: Sequence[str] | None) -> int:
    """The command's exit status, whatever ends it."""
    try:
        with ending_signals():
            return _done(argv)
    except KeyboardInterrupt:  # while something else was being told
        return _told_stop()


def _done(argv: Sequence[str] | None) -> int:
    log_folder: list[Path] = []  # filled by the command once it knows where its log may lie
    try:
        arguments = _parser().parse_args(argv)
        status: int = arguments.run(arguments, log_folder)
    except SystemExit as stop:  # argparse: --help, --version, or a fault in the arguments
        return stop.code if isinstance(stop.code, int) else UNUSABLE
    except KeyboardInterrupt:
        return _told_stop()
    except Exception as error:
        return _told_stop() if asked_to_stop() else _told_trouble(error, log_folder)
    return status


def _told_stop() -> int:
    tell("cellstead: stopped; the last good result is kept")
    number = asked_to_stop()
    return STOPPED if number is None else BY_SIGNAL + number


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="cellstead",
        description="From one pack file to printable holders, an enclosure and brackets, all "
        "checked.",
        epilog="Status: 0 all checks pass; 1 a check fails; 2 the input or the output folder "
        "can't be used; 3 an internal fault; 129, 130 or 143 stopped.",
    )
    parser.add_argument("--version", action="version", version=f"cellstead {VERSION}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND", parser_class=_Parser)

    make = commands.add_parser("make", help="make all parts, proofs and the report of a pack file")
    make.add_argument(
        "file", nargs="?", metavar="FILE", help="pack file (default: the first example)"
    )
    take_allow_scripts(make)
    take_out_dir(make)
    make.add_argument(
        "--quick",
        action="store_true",
        help="cells placed in an outline: the first good answer instead of a long search",
    )
    make.set_defaults(run=_make)

    check = commands.add_parser("check", help="check whether a pack file is valid")
    check.add_argument("file", metavar="FILE", help="pack file")
    take_allow_scripts(check)
    check.set_defaults(run=_check)

    for module in COMMANDS:
        import_module(f"generators.commands.{module}").declare(commands)

    schema = commands.add_parser("schema", help="print the pack file's JSON Schema, for editors")
    schema.set_defaults(run=_schema)

    example = commands.add_parser(
        "example", help="print an example pack file, script or list of cells"
    )
    example.add_argument("name", nargs="?", metavar="NAME", help="which one (default: the first)")
    example.add_argument("--list", action="store_true", help="list the examples instead")
    example.set_defaults(run=_example)
    return parser


class _Parser(argparse.ArgumentParser):
    """Reports a fault in the arguments in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(UNUSABLE, f"{self.prog}: {message}, see {self.prog} --help\n")


def _make(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    from generators.forked_process import may_fork
    from generators.makers import started_makers

    # they load what they need while the file is read
    with started_makers(forked=may_fork()) as makers:
        return _made(arguments, log_folder, makers)


def _made(arguments: argparse.Namespace, log_folder: list[Path], makers: Makers) -> int:
    from generators.progress import progress

    read = with_scripts(_read(arguments.file), arguments)
    refuse_early(read)
    out_dir: Path = arguments.out
    begin(out_dir, read.pack.name, log_folder)
    from generators.run import make_pack
    from layouts.placing.values import Effort

    makers.begin()  # before the bar on a terminal, which has a thread
    # warnings wait, so that failing checks come first on stderr
    with (
        writing(out_dir),
        refusals(read),
        warnings.catch_warnings(record=True) as warned,
        progress() as report_progress,
    ):
        outcome = make_pack(
            read.pack,
            source_text=read.source_text,
            cautions=read.cautions,
            out_dir=out_dir,
            report_progress=report_progress,
            effort=Effort.QUICK if arguments.quick else Effort.BEST,
            changed=read.changed,
            makers=makers,
        )
    status = _told_outcome(outcome, read.cautions)
    for one in warned:
        tell(f"  warning: {one.message}")
    return status


def _told_outcome(outcome: Outcome, cautions: Sequence[Caution]) -> int:
    """Failing checks on stderr, their names in its first line; hours and the folder on stdout."""
    status = tell_failed(outcome.failed)
    say_cautions(cautions)
    say_notes(outcome.notes)
    print(outcome.printing)
    print(f"{outcome.folder}: {'written, see report.html' if status else 'everything holds'}")
    return status


def _check(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    read = with_scripts(_read(arguments.file), arguments)
    refuse_early(read)
    pack = read.pack
    print(
        f"{arguments.file}: valid: {pack.name}, {pack.series * pack.parallel} cells of "
        f"{pack.cell.format} as {pack.series}S{pack.parallel}P, {pack.lattice.value}"
    )
    say_cautions(read.cautions)
    print(NOT_LOOKED_AT)
    return HOLDS


def _schema(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    import json

    from generators.packfile.schema import pack_schema

    print(json.dumps(pack_schema(), indent=2))
    return HOLDS


def _example(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    from generators.packfile.examples import FIRST, example_files, example_names, example_text

    names = [*example_names(), *example_files()]
    if arguments.list:
        print("\n".join(names))
        return HOLDS
    name = (arguments.name or FIRST).removesuffix(".yaml")
    if name not in names:
        tell(f"cellstead example: no such example ({name}), give one of {', '.join(names)}")
        return UNUSABLE
    sys.stdout.write(example_text(name))
    return HOLDS


def _read(file: str | None) -> ReadPack:
    from generators.packfile.resolve import parse_pack, read_pack

    if file is not None:
        return read_pack(file)
    from generators.packfile.examples import FIRST, example_text

    return parse_pack(example_text(FIRST).encode(), f"{FIRST}.yaml")


def _told_trouble(error: Exception, log_folder: list[Path]) -> int:
    """Report what went wrong and return the status for it."""
    from generators.faultlog import write_log
    from generators.outfolder import OutputFolderError, has_no_room
    from generators.packfile.faults import PackFileError
    from layouts.errors import LibraryError

    if isinstance(error, PackFileError):
        tell("\n".join(error.lines()))
        if isinstance(error.__cause__, LibraryError):
            tell(f"  log: {write_log(error, log_folder[0] if log_folder else None)}")
        return UNUSABLE
    if isinstance(error, OutputFolderError):
        tell(f"cellstead: {error}")
        return UNUSABLE
    if isinstance(error, OSError) and has_no_room(error):
        where = f" ({error.filename})" if error.filename else ""
        tell(
            f"cellstead: a disk is full: {error.strerror}{where}, free some disk space, also for "
            "temporary files"
        )
        return UNUSABLE
    library = _lacking_library(error)
    if library is not None:
        tell(
            f"cellstead: the CAD kernel needs {library}, which is missing on this machine: "
            "apt-get install libgl1"
        )
        return INTERNAL
    log = write_log(error, log_folder[0] if log_folder else None)
    what = " ".join(f"{type(error).__name__}: {error}".split())[:200]
    tell(f"cellstead: internal fault: {what}; log: {log or 'none, no folder can be written'}")
    return INTERNAL


def _lacking_library(error: BaseException | None) -> str | None:
    """The display library that the kernel misses on a bare machine; None for another error.

    Debian's and Ubuntu's libgl1 brings both libGL and libX11.
    """
    while error is not None:
        words = str(error).split(":")[0].split()
        if isinstance(error, ImportError) and words and words[0].startswith(("libGL", "libX11")):
            return words[0]
        error = error.__cause__ or error.__context__
    return None
