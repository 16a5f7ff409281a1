"""What a second process does for printing: beds and their files, hours, filament and cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from generators.exports.plates import PlateObject, bed_parts, lay_on_beds, write_plates
from generators.made_part import MeshedPart
from generators.meshes.mesh import Mesh, joined_mesh
from generators.second_process import serve_one
from layouts.printer_spec import Printer
from layouts.printing.totals import PackPrint, pack_print

__all__ = ["PrintJob", "serve", "work_on_printing"]

HOLDERS = ("holder_lower", "holder_upper")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PrintJob:
    """``name``: of the pack; ``solid_mm``: as of ``pack_print``; ``folder``: of the run."""

    name: str
    printer: Printer
    meshed: tuple[MeshedPart, ...]
    solid_mm: Mapping[str, float]
    folder: Path


def serve() -> None:
    """The process."""
    serve_one(work_on_printing)


def _turned(one: MeshedPart) -> Mesh | None:
    """What is written of copies that lie a quarter turn round, None: the same."""
    if one.for_printer is None or one.for_printer.turns_alike:
        return None
    return joined_mesh(one.written_bodies(quarter_turned=True))


def work_on_printing(job: PrintJob) -> PackPrint:
    """Write one file a bed; estimate all parts. OSError passes through.

    Both holders lie the same way round: a printer's axes differ a little in scale, and their
    pockets must stand over each other."""
    objects = [
        PlateObject(
            name=one.name,
            mesh=one.written,
            bodies=one.written_bodies(),
            turned_mesh=_turned(one),
            colour=one.part.colour,
            count=len(one.part.placed),
            kin="holder" if one.part.role in HOLDERS else "",
        )
        for one in job.meshed
    ]
    on_bed = bed_parts(objects)
    laid, refused = lay_on_beds(on_bed, job.printer)
    write_plates(job.folder, job.name, objects, laid)
    parts = [one.part for one in job.meshed]
    return pack_print(
        parts,
        job.printer,
        laid,
        refused=refused,
        solid_mm=job.solid_mm,
        plan_mm2={one.name: one.plan.area for one in on_bed},
    )
