"""The folder ``metal``: what a shop needs to cut, drill and bend pieces of sheet metal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from generators.drawings.linework import sheet_svg
from generators.drawings.metal_plan import metal_sheet
from generators.exports.metal_dxf import write_metal_dxf
from generators.exports.paper import Paper
from generators.exports.tiled_pdf import write_tiled_pdf
from layouts.parts.metal_piece import MetalPiece

__all__ = ["write_metal_files"]


def write_metal_files(folder: Path, name: str, pieces: Sequence[MetalPiece]) -> None:
    """Write DXF and drawing of each piece, and all drawings on paper, into ``folder``.

    OSError passes through. ``name``: of the pack."""
    sheets = [metal_sheet(piece) for piece in pieces]
    for piece, sheet in zip(pieces, sheets, strict=True):
        write_metal_dxf(folder / f"{piece.name}.dxf", piece)
        (folder / f"{piece.name}.svg").write_text(sheet_svg(sheet) + "\n", encoding="utf-8")
    for paper in Paper:
        write_tiled_pdf(
            folder / f"drawings-{paper.value}.pdf", sheets, name=name, title="sheet metal",
            paper=paper,
        )  # fmt: skip
