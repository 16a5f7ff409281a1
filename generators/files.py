"""Every file of a run that comes from solids."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from generators.exports.assembly import write_assembly
from generators.exports.step import (
    StepKind,
    StepPlace,
    cylinder_solid,
    mute_kernel,
    write_part_step,
)
from generators.making import SolidPart
from generators.solid_job import SolidJob
from layouts.parts.metal_piece import METAL

__all__ = ["write_files"]

CELL_COLOUR = (0.86, 0.83, 0.74)
SIZE_DIGITS = 6  # a column's size from its box: float noise left out


def write_files(job: SolidJob, made: Sequence[SolidPart]) -> None:
    """Write STEP of parts and assembly; ``made``: the job's parts."""
    mute_kernel()
    with tempfile.TemporaryDirectory(dir=job.folder) as beside:
        printed = [one for one in made if one.part.is_printed]
        alone = _write_parts(job.folder / "parts", printed, Path(beside))
        bent = [one for one in made if not one.part.is_printed]
        alone |= _write_parts(job.folder / METAL, bent, Path(beside))
        _write_assembly(job, made, alone)


def _write_parts(parts: Path, made: Sequence[SolidPart], beside: Path) -> dict[str, Path]:
    """Write each part's file; returns where each stands without what is printed with it."""
    files = {}
    for one in made:
        alone = (beside if one.part.supports else parts) / f"{one.name}.step"
        write_part_step(alone, one.name, StepKind(solid=one.shape, colour=one.part.colour))
        if one.part.supports:
            _write_with_supports(parts / alone.name, one, alone, beside)
        files[one.name] = alone
    return files


def _write_with_supports(path: Path, one: SolidPart, alone: Path, beside: Path) -> None:
    """Write a part and the columns that are printed with it, each a product of its own."""
    files, places = {one.name: alone}, [StepPlace(name=one.name, kind=one.name, matrix=np.eye(4))]
    for k, support in enumerate(one.part.supports, start=1):
        (x0, y0, z0), (x1, y1, z1) = support.box_mm()
        size = (round(x1 - x0, SIZE_DIGITS), round(z1 - z0, SIZE_DIGITS))
        kind = f"column-{size[0]:g}-{size[1]:g}"
        if kind not in files:
            files[kind] = beside / f"{one.name}-{kind}.step"
            column = cylinder_solid(diameter_mm=size[0], length_mm=size[1])
            write_part_step(
                files[kind], "support-pin", StepKind(solid=column, colour=one.part.colour)
            )
        matrix = np.eye(4)
        matrix[:3, 3] = (x0 + x1) / 2, (y0 + y1) / 2, z0
        places.append(StepPlace(name=f"support-pin-{k}", kind=kind, matrix=matrix))
    write_assembly(path, files, places, one.name)


def _write_assembly(job: SolidJob, made: Sequence[SolidPart], alone: Mapping[str, Path]) -> None:
    """Every part in its place, with the cells; ``alone``: the parts' own files."""
    files = dict(alone)
    places = []
    for one in made:
        many = len(one.part.placed) > 1
        for k, matrix in enumerate(one.part.placed, start=1):
            name = f"{one.name}-{k}" if many else one.name
            places.append(StepPlace(name=name, kind=one.name, matrix=matrix))
    digits = len(str(len(job.cells_mm)))
    for k, (x, y) in enumerate(job.cells_mm.tolist(), start=1):
        matrix = np.eye(4)
        matrix[:2, 3] = x, y
        places.append(StepPlace(name=f"cell-{k:0{digits}d}", kind="cell", matrix=matrix))
    with tempfile.TemporaryDirectory(dir=job.folder) as beside:
        files["cell"] = Path(beside) / "cell.step"
        can = cylinder_solid(diameter_mm=job.can_diameter_mm, length_mm=job.can_length_mm)
        write_part_step(files["cell"], "cell", StepKind(solid=can, colour=CELL_COLOUR))
        write_assembly(job.folder / "assembly.step", files, places, job.name)
