"""The bill of a whole plan: the same rows whether volumes are those of solids or of drawings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from generators.drawings.metal_plan import finish_words
from generators.exports.bill import BillRow, bill_rows, printed_row
from generators.exports.bill_of_printing import printing_rows_ahead
from generators.exports.bought import electrical_rows, insulation_rows
from generators.made_part import MeshedPart
from layouts.parts.metal_piece import METAL, MetalPiece
from layouts.planning.pack_plan import PackPlan
from layouts.planning.parts_list import metal_pieces

__all__ = ["SHEET_METAL", "PrintedCount", "bill_ahead", "whole_bill"]

SHEET_METAL, METAL_PLATE = "sheet metal part", "metal plate of the machine"


@dataclass(frozen=True, kw_only=True, slots=True)
class PrintedCount:
    """One printed part as the bill counts it; ``told``: in its note, of how it is printed."""

    name: str
    count: int
    volume_mm3: float
    told: str


def whole_bill(
    plan: PackPlan, printed: Iterable[PrintedCount], printing: Iterable[BillRow]
) -> tuple[BillRow, ...]:
    """All rows; ``printed``: in the order of the plan's parts; ``printing``: of all together."""
    pack = plan.pack
    enclosing = plan.enclosure.bill if plan.enclosure_set else ()
    mounting = plan.bracket.bought if plan.enclosure_set else ()
    pieces = metal_pieces(plan)
    return bill_rows(
        pack,
        plan.cell_layout,
        plan.interconnect,
        screw_uses=plan.screw_uses,
        printed=[
            *(
                printed_row(
                    one.name,
                    count=one.count,
                    volume_mm3=one.volume_mm3,
                    material=pack.printer.material,
                    note=f"{one.told}; parts/{one.name}.3mf",
                )
                for one in printed
            ),
            *printing,
            *(metal_row(piece) for piece in pieces),
        ],
        others=[
            *insulation_rows(plan),
            *electrical_rows(plan),
            *(BillRow(item=item.item, size="", count=float(item.count)) for item in enclosing),
            *(BillRow(item=one.item, size=one.size, count=float(one.count)) for one in mounting),
        ],
    )


def bill_ahead(plan: PackPlan, meshed: Iterable[MeshedPart]) -> tuple[BillRow, ...]:
    """The same rows by item and size before parts are made and hours known: counts of what is
    printed and notes are not those of the bill."""
    return whole_bill(
        plan,
        [
            PrintedCount(name=one.name, count=len(one.part.placed), volume_mm3=0.0, told="")
            for one in meshed
            if one.part.is_printed
        ],
        printing_rows_ahead(plan.pack),
    )


def metal_row(piece: MetalPiece) -> BillRow:
    """Pieces of sheet metal, for a shop."""
    bent = f", {len(piece.bends)} bend each" if piece.bends else ""
    return BillRow(
        item=SHEET_METAL if piece.bends else METAL_PLATE,
        size=f"{piece.name}, {piece.metal} {piece.thickness_mm:g} mm",
        count=piece.count,
        note=f"flat {piece.size_mm[0]:.1f} x {piece.size_mm[1]:.1f} mm{bent}, "
        f"{piece.mass_g:.1f} g each, {piece.mass_g * piece.count:.1f} g in all; {METAL}/"
        f"{piece.name}.dxf and .svg; {finish_words(piece.metal)}",
    )
