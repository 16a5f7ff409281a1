"""The files that a slicer reads, written from the parts' meshes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from generators.exports.stl import write_stl
from generators.exports.threemf import PrintObject, on_bed_matrix, write_3mf
from generators.made_part import MeshedPart
from layouts.parts.plates import Footprint, arrange_plates

__all__ = ["write_print_files"]


def write_print_files(
    folder: Path, name: str, made: Sequence[MeshedPart], bed_mm: tuple[float, float, float]
) -> None:
    """Write STL and 3MF of each part with its supports, and all on beds. OSError passes through.

    ``folder`` has its folder ``parts``; ``name``: of the pack."""
    parts = folder / "parts"
    for one in made:
        write_stl(parts / f"{one.name}.stl", one.printed)
        write_3mf(
            parts / f"{one.name}.3mf",
            [PrintObject(name=one.name, mesh=one.printed, colour=one.part.colour)],
            f"{name} {one.name}",
        )
    _write_beds(folder, name, made, bed_mm)


def _write_beds(
    folder: Path, name: str, made: Sequence[MeshedPart], bed: tuple[float, float, float]
) -> None:
    """All copies of all parts that fit the bed, arranged on as many beds as it takes."""
    boxes = {one.name: np.array(one.box_mm) for one in made}
    sizes = {name: box[1] - box[0] for name, box in boxes.items()}
    fitting = [
        one
        for one in made
        if min(sizes[one.name][:2]) <= min(bed[:2]) and max(sizes[one.name][:2]) <= max(bed[:2])
    ]
    if not fitting:
        return
    placed = arrange_plates(
        [
            Footprint(
                name=one.name,
                width_mm=float(sizes[one.name][0]),
                depth_mm=float(sizes[one.name][1]),
                count=len(one.part.placed),
            )
            for one in fitting
        ],
        bed_mm=(bed[0], bed[1]),
    )
    objects = [
        PrintObject(
            name=one.name,
            mesh=one.printed,
            colour=one.part.colour,
            places=tuple(
                on_bed_matrix(at, box_mm=boxes[one.name], bed_width_mm=bed[0])
                for at in placed
                if at.name == one.name
            ),
        )
        for one in fitting
    ]
    write_3mf(folder / "plates.3mf", objects, f"{name} plates")
