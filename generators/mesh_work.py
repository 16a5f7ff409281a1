"""What a second process does with the parts' meshes: files to print, then the proofs."""

from __future__ import annotations

from pathlib import Path

from generators.exports.print_files import write_print_files
from generators.made_part import LIBRARIES, MeshedPart
from generators.proven import Proofs
from generators.proving import proofs
from generators.second_process import serve_one
from layouts.errors import told_by_field
from layouts.planning.pack_plan import PackPlan

__all__ = ["serve", "work_on_meshes"]


def serve() -> None:
    """The process."""
    serve_one(_done)


def work_on_meshes(plan: PackPlan, meshed: tuple[MeshedPart, ...], folder: Path) -> Proofs:
    """Write STL and 3MF of what is printed into ``folder``, which has its folder ``parts``; prove
    all parts.

    Raises OSError where a file can't be written, LibraryError where a geometry library can't."""
    printed = [one for one in meshed if one.part.is_printed]
    write_print_files(folder, plan.pack.name, printed)
    with told_by_field("lattice", what="the parts' proofs", libraries=LIBRARIES):
        return proofs(plan, meshed)


def _done(job: tuple[PackPlan, tuple[MeshedPart, ...], Path]) -> Proofs:
    return work_on_meshes(*job)
