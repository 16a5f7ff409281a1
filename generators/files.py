"""Every file of a run that comes from solids and meshes, and the bill of materials."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from generators.exports.assembly import write_assembly
from generators.exports.bill import BillRow, bill_rows, printed_row, write_bill
from generators.exports.bought import electrical_rows, insulation_rows
from generators.exports.step import (
    StepKind,
    StepPlace,
    cylinder_solid,
    mute_kernel,
    write_part_step,
)
from generators.exports.stl import write_stl
from generators.exports.threemf import PrintObject, on_bed_matrix, write_3mf
from generators.made_part import MadePart
from layouts.parts.plates import Footprint, arrange_plates
from layouts.planning.pack_plan import PackPlan

__all__ = ["write_files"]

CELL_COLOUR = (0.86, 0.83, 0.74)


def write_files(folder: Path, plan: PackPlan, made: Sequence[MadePart]) -> tuple[BillRow, ...]:
    """Write parts, plates, assembly and bill into ``folder``; returns the bill's rows."""
    mute_kernel()
    parts = folder / "parts"
    parts.mkdir()
    for one in made:
        part = one.part
        write_part_step(
            parts / f"{one.name}.step", one.name, StepKind(solid=one.shape, colour=part.colour)
        )
        write_stl(parts / f"{one.name}.stl", one.mesh)
        write_3mf(
            parts / f"{one.name}.3mf",
            [PrintObject(name=one.name, mesh=one.mesh, colour=part.colour)],
            f"{plan.pack.name} {one.name}",
        )
    _write_plates(folder, plan, made)
    _write_assembly(folder, plan, made)
    rows = _bill(plan, made)
    write_bill(folder / "bill.csv", rows)
    return rows


def _write_plates(folder: Path, plan: PackPlan, made: Sequence[MadePart]) -> None:
    """All copies of all parts that fit the bed, arranged on as many beds as it takes."""
    bed = plan.pack.printer.bed_mm
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
            mesh=one.mesh,
            colour=one.part.colour,
            places=tuple(
                on_bed_matrix(at, box_mm=boxes[one.name], bed_width_mm=bed[0])
                for at in placed
                if at.name == one.name
            ),
        )
        for one in fitting
    ]
    write_3mf(folder / "plates.3mf", objects, f"{plan.pack.name} plates")


def _write_assembly(folder: Path, plan: PackPlan, made: Sequence[MadePart]) -> None:
    """Everything printed in its place, with the cells, from the parts' own files."""
    cell = plan.pack.cell
    files = {one.name: folder / "parts" / f"{one.name}.step" for one in made}
    places = []
    for one in made:
        many = len(one.part.placed) > 1
        for k, matrix in enumerate(one.part.placed, start=1):
            name = f"{one.name}-{k}" if many else one.name
            places.append(StepPlace(name=name, kind=one.name, matrix=matrix))
    digits = len(str(len(plan.cell_layout.xy_mm)))
    for k, (x, y) in enumerate(plan.cell_layout.xy_mm.tolist(), start=1):
        matrix = np.eye(4)
        matrix[:2, 3] = x, y
        places.append(StepPlace(name=f"cell-{k:0{digits}d}", kind="cell", matrix=matrix))
    with tempfile.TemporaryDirectory(dir=folder) as beside:
        files["cell"] = Path(beside) / "cell.step"
        can = cylinder_solid(diameter_mm=cell.diameter_mm, length_mm=cell.length_mm)
        write_part_step(files["cell"], "cell", StepKind(solid=can, colour=CELL_COLOUR))
        write_assembly(folder / "assembly.step", files, places, plan.pack.name)


def _bill(plan: PackPlan, made: Sequence[MadePart]) -> tuple[BillRow, ...]:
    pack = plan.pack
    printed = [
        printed_row(
            one.name,
            count=len(one.part.placed),
            volume_mm3=one.solid_mm3,
            material=pack.printer.material,
            note=f"parts/{one.name}.3mf",
        )
        for one in made
    ]
    enclosing = plan.enclosure.bill if plan.enclosure_set else ()
    return bill_rows(
        pack,
        plan.cell_layout,
        plan.interconnect,
        screw_uses=plan.screw_uses,
        printed=printed,
        others=[
            *insulation_rows(plan),
            *electrical_rows(plan),
            *(BillRow(item=item.item, size="", count=float(item.count)) for item in enclosing),
        ],
    )
