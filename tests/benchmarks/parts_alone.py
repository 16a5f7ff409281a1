"""A run without pictures and without looks at layers: parts, proofs and files alone, timed.

``python -m tests.benchmarks.parts_alone make ...`` takes what the command line takes; what it
writes is no whole result. ``tests/benchmarks/whole_run.py`` calls it.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from typing import Any, Self

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"/>'


class LeftOut:
    """Stands for a process whose work is left out."""

    def __init__(self, *, forked: bool = False) -> None:
        pass

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def fork(self) -> None:
        """Nothing begins."""

    def start(self, *job: Any) -> None:
        """Nothing is done."""


class NoDraughtsman(LeftOut):
    """The same empty drawing of everything."""

    def result(self) -> Any:
        """Hand it out."""
        from generators.drawings.pictures import Pictures

        drawn: defaultdict[str, str] = defaultdict(lambda: SVG)
        return Pictures(above=drawn, below=drawn, exploded=SVG)


class NoPainter(LeftOut):
    """No pictures."""

    def result(self) -> Any:
        """Hand out nothing."""
        from generators.shaded.painted import Painted

        return Painted(pictures={}, names={}, undrawn={}, undrawn_names={})


class NoLayerJudge(LeftOut):
    """No checks of layers."""

    def result(self) -> Any:
        """Hand out nothing."""
        from layouts.printable.judging import Printability

        bed_mm2: defaultdict[str, float] = defaultdict(float)
        return Printability(checks=(), findings=(), walls=(), bed_mm2=bed_mm2)


def main() -> int:
    """Run the command without them; its exit status."""
    from generators import cli, makers

    stands_for = {"Draughtsman": NoDraughtsman, "Painter": NoPainter, "LayerJudge": NoLayerJudge}
    for name, left_out in stands_for.items():
        setattr(makers, name, left_out)
    return cli.main()


if __name__ == "__main__":
    sys.exit(main())
