"""What a second process finds in the parts' layers: whether they can be printed as drawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from generators.second_process import serve_one
from layouts.parts.part import Part
from layouts.printable.bed_item import BedItem
from layouts.printable.judging import Printability, printability
from layouts.printer_spec import Printer

__all__ = ["LayerJob", "serve", "work_on_layers"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LayerJob:
    """``bed_items``: by part, what goes through its first layer when the pack is built."""

    parts: tuple[Part, ...]
    printer: Printer
    bed_items: Mapping[str, Sequence[BedItem]]


def serve() -> None:
    """The process."""
    serve_one(work_on_layers)


def work_on_layers(job: LayerJob) -> Printability:
    """Look at the layers of all parts."""
    return printability(job.parts, job.printer, job.bed_items)
