"""Card pieces as a DXF drawing in millimetres, for a machine that cuts."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from generators.dummy.card import CardPiece
from generators.dummy.layout import laid_in_rows
from generators.exports.dxf_file import write_dxf

if TYPE_CHECKING:
    from ezdxf.document import Drawing

__all__ = ["LAYERS", "write_sheets_dxf"]

SHEET_MM = 600.0  # rows of pieces are no wider, where no piece is
# Layer, colour by the format's index, line type
LAYERS = {
    "CUT": (7, "CONTINUOUS"),
    "FOLD": (5, "DASHED"),
    "FOLD_BACK": (6, "DASHDOT"),
    "PLACE": (8, "DOT"),
    "DRILL": (3, "CONTINUOUS"),
    "TEXT": (8, "CONTINUOUS"),
}


def write_sheets_dxf(path: Path, pieces: Sequence[CardPiece]) -> None:
    """Write all copies of all pieces (paper templates too) beside each other, R2010.

    The bytes depend on the pieces alone.
    """
    from ezdxf.enums import TextEntityAlignment
    from ezdxf.math import Vec2

    def draw(document: Drawing) -> None:
        for name, (colour, line_type) in LAYERS.items():
            document.layers.add(name, color=colour, linetype=line_type)
        space = document.modelspace()
        for piece in laid_in_rows(pieces, SHEET_MM):
            for lines, layer, closed in (
                (piece.cuts, "CUT", True), (piece.folds, "FOLD", False),
                (piece.back_folds, "FOLD_BACK", False), (piece.places, "PLACE", False),
            ):  # fmt: skip
                for line in lines:
                    space.add_lwpolyline(line, close=closed, dxfattribs={"layer": layer})
            for drill in piece.drills:
                at, arm = Vec2(drill.x_mm, drill.y_mm), drill.hole_diameter_mm / 2 + 2.5
                space.add_circle(at, drill.hole_diameter_mm / 2, dxfattribs={"layer": "DRILL"})
                for way in (Vec2(arm, 0.0), Vec2(0.0, arm)):
                    space.add_line(at - way, at + way, dxfattribs={"layer": "DRILL"})
            for label in piece.labels:
                text = space.add_text(
                    label.text, height=label.size_mm, rotation=90.0 if label.turned else 0.0,
                    dxfattribs={"layer": "TEXT"},
                )  # fmt: skip
                text.set_placement(
                    (label.x_mm, label.y_mm), align=TextEntityAlignment.MIDDLE_CENTER
                )

    write_dxf(path, draw, line_types=True)
