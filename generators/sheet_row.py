"""A part of sheet metal in result.json: its files, and how it is cut and bent."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from layouts.pack import Pack
from layouts.parts.cut_plates import cut_plate_piece
from layouts.parts.metal_piece import MetalPiece
from layouts.parts.part import Part

__all__ = ["part_files", "piece_row", "plate_to_cut_rows", "sheet_row"]


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


def plate_to_cut_rows(pack: Pack, plain: Callable[[Any], Any]) -> dict[str, Any]:
    """Plates of the machine with their files and mass; nothing where there are none."""
    pieces = [cut_plate_piece(one) for one in pack.plates_to_cut]
    rows = [
        {
            "name": piece.name,
            "files": [f"metal/{piece.name}.{kind}" for kind in ("dxf", "svg")],
            "mass_g": plain(piece.mass_g),
            **piece_row(piece, plain),
        }
        for piece in pieces
    ]
    return {"metal_plates": rows} if rows else {}
