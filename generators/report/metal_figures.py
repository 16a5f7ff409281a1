"""The report's drawings of sheet metal, for a shop."""

from __future__ import annotations

from generators.drawings.linework import sheet_svg
from generators.drawings.metal_plan import metal_sheet
from generators.report.values import Figure
from layouts.planning.pack_plan import PackPlan
from layouts.planning.parts_list import metal_pieces

__all__ = ["metal_figures"]


def metal_figures(plan: PackPlan) -> tuple[Figure, ...]:
    """The workshop drawing of each piece of sheet metal; none where all is printed."""
    return tuple(
        Figure(
            svg=sheet_svg(metal_sheet(piece)),
            caption=(
                f"{piece.name}: flat pattern at true size, seen on the face that is bent towards "
                "you, and the bent piece."
                if piece.bends
                else f"{piece.name}: at true size; no part of the pack."
            )
            + " Files for a shop are in metal/.",
        )
        for piece in metal_pieces(plan)
    )
