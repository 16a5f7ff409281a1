"""What a second process does with the kernel: the parts' solids, and the STEP files of them."""

from __future__ import annotations

from generators import files, making
from generators.made_part import LIBRARIES
from generators.second_process import serve_one
from generators.solid_job import SolidJob
from layouts.errors import told_by_field

__all__ = ["serve", "work_on_solids"]


def serve() -> None:
    """The process."""
    serve_one(work_on_solids)


def work_on_solids(job: SolidJob) -> tuple[float, ...]:
    """Make all solids and write their files; returns their volumes by the kernel [mm3].

    Raises OSError where a file can't be written, LibraryError, naming the field, where the kernel
    can't."""
    made = [making.solid_part(part) for part in job.parts]
    with told_by_field("lattice", what="the parts' files", libraries=LIBRARIES):
        files.write_files(job, made)
    return tuple(one.solid_mm3 for one in made)
