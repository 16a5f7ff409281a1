"""One 3MF a bed, which a slicer takes as it is: every part in its place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from generators.exports.threemf import PrintObject, write_3mf
from generators.meshes.mesh import Mesh
from generators.meshes.plan import meshes_plan
from layouts.printer_spec import Printer
from layouts.printing.beds import BED_GAP_MM, BedPart, OnBed, bed_of, laid_on_beds, plate_file

__all__ = ["PlateObject", "bed_parts", "lay_on_beds", "write_plates"]

QUARTER = " a quarter turn round"  # of objects that are drawn for their way round on the bed


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PlateObject:
    """One kind of part: ``bodies`` as they are printed, ``mesh`` all of them as one. ``kin``: of
    those that lie the same way round, "" for none. ``turned_mesh``: in place of ``mesh`` where
    a copy lies a quarter turn round, None: the same."""

    name: str
    mesh: Mesh
    bodies: tuple[Mesh, ...]
    colour: tuple[float, float, float]
    count: int
    kin: str = ""
    turned_mesh: Mesh | None = None


def bed_parts(objects: Sequence[PlateObject]) -> tuple[BedPart, ...]:
    """What each kind of part covers of a bed."""
    return tuple(
        BedPart(name=one.name, plan=meshes_plan(one.bodies), count=one.count, kin=one.kin)
        for one in objects
    )


def lay_on_beds(
    parts: Sequence[BedPart], printer: Printer
) -> tuple[tuple[OnBed, ...], tuple[str, ...]]:
    """Where every copy lies, and the names of parts that no bed takes."""
    return laid_on_beds(
        parts,
        bed_of(printer),
        edge_mm=printer.edge_mm + printer.brim_mm,
        gap_mm=max(BED_GAP_MM, 2.0 * printer.brim_mm),
    )


def write_plates(
    folder: Path, title: str, objects: Sequence[PlateObject], laid: Sequence[OnBed]
) -> None:
    """Write one file a bed into ``folder``. OSError passes through."""
    if not laid:
        return
    (folder / plate_file(0)).parent.mkdir()
    known = {one.name: one for one in objects}
    for bed in sorted({one.bed for one in laid}):
        copies: dict[str, list[OnBed]] = {}
        for one in laid:
            if one.bed == bed:
                turned = known[one.name].turned_mesh is not None and one.turn_deg % 180 != 0
                copies.setdefault(f"{one.name}{QUARTER}" if turned else one.name, []).append(one)
        write_3mf(folder / plate_file(bed), _printed(known, copies), f"{title} plate {bed + 1}")


def _printed(
    known: Mapping[str, PlateObject], copies: Mapping[str, Sequence[OnBed]]
) -> list[PrintObject]:
    objects = []
    for name, laid in copies.items():
        kind = known[laid[0].name]
        turned = kind.turned_mesh if name.endswith(QUARTER) else None
        mesh = kind.mesh if turned is None else turned
        places = tuple(_matrix(one, mesh) for one in laid)
        objects.append(PrintObject(name=name, mesh=mesh, colour=kind.colour, places=places))
    return objects


def _matrix(one: OnBed, mesh: Mesh) -> NDArray[np.float64]:
    """The lowest point comes to z = 0."""
    placed = one.matrix()
    placed[2, 3] = -float(mesh.vertices_mm[:, 2].min())
    return placed
