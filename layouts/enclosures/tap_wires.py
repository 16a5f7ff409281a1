"""Lengths of the balance leads, from each tap to the protection board, as they are laid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack
from layouts.parts.shell import BoardPlace
from layouts.strips.joining import Interconnect
from layouts.wiring.ways import WireWay

__all__ = ["SLACK_MM", "BalanceLeadRun", "balance_lead_runs"]

SLACK_MM = 60.0  # to strip, to solder, to plug in and to bend; common practice, no source
ROUND_MM = 5.0  # no wire is cut to less


@dataclass(frozen=True, kw_only=True, slots=True)
class BalanceLeadRun:
    """One balance lead: tap 0 is pack minus, tap S pack plus."""

    number: int
    face: Face
    length_mm: float


def balance_lead_runs(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    board: BoardPlace,
    ways: Sequence[WireWay] = (),
) -> tuple[BalanceLeadRun, ...]:
    """Every wire by its way, where the enclosure has decided them; else along x out of its notch,
    then along y and z to the board's middle.

    The latter with ``SLACK_MM`` to spare and rounded up to 5 mm.
    """
    x1, y1, z1 = board.centre_mm
    cut_mm = {way.number: way.cut_mm for way in ways}
    wires = []
    for balance_lead in interconnect.balance_leads:
        x, y = balance_lead.tail_mm or cell_layout.xy_mm[balance_lead.cell].tolist()
        z = pack.lip_to_lip_mm if balance_lead.face is Face.UPPER else 0.0
        way = abs(x1 - x) + abs(y1 - y) + abs(z1 - z) + SLACK_MM
        length = cut_mm.get(f"B{balance_lead.number}", ROUND_MM * -(-way // ROUND_MM))
        wires.append(
            BalanceLeadRun(number=balance_lead.number, face=balance_lead.face, length_mm=length)
        )
    return tuple(wires)
