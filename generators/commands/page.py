"""``cellstead page``: a pack file in a browser, from the space in the machine to finished files."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

__all__ = ["declare"]

UNUSABLE = 2
HOST = "127.0.0.1"
PORT = 8230


def declare(commands: argparse._SubParsersAction[Any]) -> None:
    """Add the command's arguments."""
    parser = commands.add_parser(
        "page",
        help="open a pack file in a browser: draw the space, find a pack, make it",
        description="Serves a page to this machine alone (127.0.0.1). It reads and writes files "
        "of one folder: that of FILE, or the current one. Stop it with Ctrl-C. Needs the extra "
        "cellstead[page].",
    )
    parser.add_argument("file", nargs="?", type=Path, metavar="FILE", help="pack file to open")
    parser.add_argument(
        "--port", type=_port, default=PORT, metavar="N", help=f"its port (default: {PORT})"
    )
    parser.add_argument(
        "--no-browser", action="store_true", help="only print the address, open no browser"
    )
    parser.add_argument(
        "--out",
        type=Path,
        metavar="DIR",
        help="where to write results (default: out in the folder)",
    )
    parser.set_defaults(run=_run)


def _port(text: str) -> int:
    if not text.isdecimal() or not 1024 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"needs a number from 1024 to 65535 ({text})")
    return int(text)


def _run(arguments: argparse.Namespace, log_folder: list[Path]) -> int:
    file: Path | None = arguments.file
    if file is not None and not file.is_file():
        print(f"cellstead page: there is no such file ({file})", file=sys.stderr)
        return UNUSABLE
    try:
        from generators.page.serving import PortTakenError, serve
    except ModuleNotFoundError as error:
        print(
            f'cellstead page: needs the package {error.name}: pip install "cellstead[page]"',
            file=sys.stderr,
        )
        return UNUSABLE
    folder = (Path.cwd() if file is None else file.parent).resolve()
    try:
        serve(
            folder,
            (arguments.out or folder / "out").resolve(),
            first=None if file is None else file.name,
            host=HOST,
            port=arguments.port,
            opens_browser=not arguments.no_browser,
        )
    except PortTakenError:
        print(
            f"cellstead page: the port is in use ({arguments.port}): is the page running already? "
            "Else give another one with --port",
            file=sys.stderr,
        )
        return UNUSABLE
    return 0
