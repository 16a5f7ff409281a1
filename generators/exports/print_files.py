"""The files that a slicer reads, written from the parts' meshes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from generators.exports.stl import write_stl
from generators.exports.threemf import PrintObject, write_3mf
from generators.made_part import MeshedPart

__all__ = ["write_part_files", "write_print_files"]


def write_print_files(folder: Path, name: str, made: Sequence[MeshedPart]) -> None:
    """Write STL and 3MF of each part with its supports, as the printer needs them.

    OSError passes through. ``folder`` has its folder ``parts``; ``name``: of the pack."""
    parts = folder / "parts"
    for one in made:
        write_part_files(parts, name, one)


def write_part_files(folder: Path, name: str, one: MeshedPart) -> None:
    """The same of one part, into ``folder`` itself."""
    write_stl(folder / f"{one.name}.stl", one.written)
    write_3mf(
        folder / f"{one.name}.3mf",
        [PrintObject(name=one.name, mesh=one.written, colour=one.part.colour)],
        f"{name} {one.name}",
    )
