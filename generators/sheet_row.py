"""A part of sheet metal in result.json: its files, and how it is cut and bent."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from layouts.parts.metal_piece import MetalPiece
from layouts.parts.part import Part

__all__ = ["part_files", "piece_row", "sheet_row"]


def part_files(part: Part) -> list[str]:
    """Of a printed part for slicer and CAD, of sheet metal for a shop."""
    if part.is_printed:
        return [f"parts/{part.name}.{kind}" for kind in ("step", "stl", "3mf")]
    return [f"metal/{part.name}.{kind}" for kind in ("step", "dxf", "svg")]


def sheet_row(part: Part, plain: Callable[[Any], Any]) -> dict[str, Any]:
    """Of a part of sheet metal: metal, flat size and bends; nothing of a printed one."""
    return {} if part.sheet is None else {"sheet_metal": piece_row(part.sheet, plain)}


def piece_row(piece: MetalPiece, plain: Callable[[Any], Any]) -> dict[str, Any]:
    """A piece as it is cut."""
    return {
        "metal": piece.metal,
        "thickness_mm": plain(piece.thickness_mm),
        "flat_mm": plain(piece.size_mm),
        "area_mm2": plain(piece.area_mm2),
        "bends": plain(piece.bends),
        "legs_mm": plain(piece.legs_mm),
        "kerf_mm": plain(piece.kerf_mm),
    }
