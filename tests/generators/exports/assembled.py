"""Assemblies for tests: by this project from part files, and by the kernel as a reference."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from OCP.gp import gp_Trsf
from OCP.TopLoc import TopLoc_Location

from generators.exports.assembly import write_assembly
from generators.exports.step import (
    StepKind,
    StepPlace,
    _add,
    _name,
    _new_document,
    _write,
    write_part_step,
)


def write_step(
    path: Path, kinds: Mapping[str, StepKind], places: Sequence[StepPlace], title: str
) -> None:
    """Each kind's part file beside ``path``, then the assembly from them."""
    files = {}
    for name, kind in kinds.items():
        files[name] = path.parent / f"{path.stem}-part-{name}.step"
        write_part_step(files[name], name, kind)
    write_assembly(path, files, places, title)


def write_by_kernel(
    path: Path, kinds: Mapping[str, StepKind], places: Sequence[StepPlace], title: str
) -> None:
    """The same assembly written by the kernel itself."""
    document, shapes, colours = _new_document()
    labels = {name: _add(shapes, colours, name, kind) for name, kind in kinds.items()}
    root = shapes.NewShape()
    _name(root, title)
    for place in places:
        turned = gp_Trsf()
        turned.SetValues(*np.asarray(place.matrix, dtype=np.float64)[:3].ravel().tolist())
        _name(shapes.AddComponent(root, labels[place.kind], TopLoc_Location(turned)), place.name)
    shapes.UpdateAssemblies()
    _write(path, document, title)
