"""What the processes that plan the printing and look at layers find."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.printable.judging import Printability
from layouts.printing.totals import PackPrint

__all__ = ["PrintAnswer"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PrintAnswer:
    """``printing``: beds, hours, filament and cost; ``printability``: checks, and each place that
    is hard to print."""

    printing: PackPrint
    printability: Printability
