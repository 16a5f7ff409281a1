"""The folders ``templates`` and ``metal``: weld plans, strips and sheet metal at true size, written
by a second process.

The writers of DXF and PDF load slowly; the process loads them while parts are being made.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from generators.drawings.linework import LineSheet
from generators.exports.metal_files import write_metal_files
from generators.exports.paper import Paper
from generators.exports.sheet_dxf import write_sheet_dxf
from generators.exports.tiled_pdf import write_tiled_pdf
from generators.second_process import serve_one
from layouts.parts.metal_piece import MetalPiece

__all__ = ["TemplateJob", "serve", "write_templates"]


@dataclass(frozen=True, kw_only=True, slots=True)
class TemplateJob:
    """What is written into ``folder``, which exists.

    ``prints``: sheets of the PDFs, one file for each size of paper; ``drawings``: those written
    as DXF, each by its own name. ``metal``: pieces of sheet metal, into ``metal_folder``.
    """

    folder: Path
    name: str
    prints: tuple[LineSheet, ...]
    drawings: tuple[LineSheet, ...]
    metal: tuple[MetalPiece, ...] = ()
    metal_folder: Path | None = None


def write_templates(job: TemplateJob) -> None:
    """Write all files. OSError passes through."""
    for paper in Paper:
        write_tiled_pdf(
            job.folder / f"templates-{paper.value}.pdf",
            job.prints,
            name=job.name,
            title="weld plans and cutting templates",
            paper=paper,
        )
    for sheet in job.drawings:
        write_sheet_dxf(job.folder / f"{sheet.name}.dxf", sheet)
    if job.metal_folder is not None:
        write_metal_files(job.metal_folder, job.name, job.metal)


def serve() -> None:
    """The writing process; it loads what is slow to load before it waits for its job."""
    import ezdxf  # noqa: F401
    import reportlab.pdfgen.canvas  # noqa: F401

    serve_one(write_templates)
