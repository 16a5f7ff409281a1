"""What a person sees who waits: a bar on a terminal, nothing elsewhere."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

__all__ = ["Progress", "progress"]

Progress = Callable[[str, float], None]


@contextmanager
def progress() -> Iterator[Progress]:
    """A bar with the stage's name where stderr is a terminal, else silence.

    Gives ``report(stage, share)``: what begins now, and how much of the whole is done, 0 to 1.
    """
    if not sys.stderr.isatty():
        yield lambda stage, share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (BarColumn(bar_width=30), TextColumn("{task.description}"), TimeElapsedColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("start", total=1.0)

        def report(stage: str, share: float) -> None:
            bar.update(task, description=stage, completed=share)

        yield report
