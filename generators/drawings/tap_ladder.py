"""The balance leads in order: the string of groups, each joint, its wire, place and volts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from generators.drawings.linework import (
    Layer,
    Lines,
    LineSheet,
    Mark,
    Words,
    boxed_words,
    line_sheet,
)
from generators.drawings.plate_plan import plate_numbers
from generators.drawings.weld_plan import balance_lead_strip, strip_numbers
from layouts.pack import Pack
from layouts.strips.joining import BalanceLead, Interconnect

__all__ = ["BalanceLeadRow", "balance_lead_ladder", "balance_lead_rows"]

STEP_MM = 9.0  # from one joint to the next
GROUP_MM = (26.0, 5.6)  # a group's box
WIRE_MM = 34.0  # from the string to a wire's flag
WORDS_MM, HEAD_MM = 3.0, 3.4
PLACE_MM, NOMINAL_MM, FULL_MM = 7.0, 78.0, 98.0  # columns, from the flag


@dataclass(frozen=True, kw_only=True, slots=True)
class BalanceLeadRow:
    """One balance lead in words, and its voltage against pack minus.

    ``net``: the poles that meet there; ``place``: face and strip, by number in welding order.
    """

    name: str
    net: str
    place: str
    nominal_v: float
    full_v: float


def balance_lead_rows(pack: Pack, interconnect: Interconnect) -> tuple[BalanceLeadRow, ...]:
    """Every balance lead from pack minus up: wire k is at plus of group k, minus of group k + 1."""
    rows = []
    for balance_lead in interconnect.balance_leads:
        k = balance_lead.number
        below = f"plus of group {k}" if k else "pack minus"
        above = f"minus of group {k + 1}" if k < pack.series else "pack plus"
        rows.append(
            BalanceLeadRow(
                name=f"B{k}",
                net=f"{below}, {above}",
                place=f"{balance_lead.face.value} face, {_place(pack, interconnect, balance_lead)}",
                nominal_v=k * pack.cell.nominal_v,
                full_v=k * pack.cell.full_v,
            )
        )
    return tuple(rows)


def _place(pack: Pack, interconnect: Interconnect, lead: BalanceLead) -> str:
    """The strip or plate that a balance lead is soldered to, by number in the order of welding."""
    for k, number in plate_numbers(pack, interconnect).items():
        plate = interconnect.plates[k]
        if plate.face is lead.face and plate.groups == lead.groups:
            where = "over the face" if lead.tail_mm is None else "its tail"
            return f"plate {number}, {'its bar' if plate.bar is not None else where}"
    k = balance_lead_strip(interconnect, lead)
    where = "notch" if lead.notch else "over the face"
    if interconnect.strips[k].runs_out:
        where = "its tail"
    return f"strip {strip_numbers(interconnect)[k]}, {where}"


def balance_lead_ladder(pack: Pack, interconnect: Interconnect) -> LineSheet:
    """The string drawn upright, pack minus at the bottom, a wire to the right from each joint."""
    marks: list[Mark] = []
    rows = balance_lead_rows(pack, interconnect)
    high = STEP_MM * (len(rows) - 1)
    marks.append(Lines(layer=Layer.LEADER, lines=(np.array([(0.0, 0.0), (0.0, high)]),)))
    wide, deep = GROUP_MM
    for group in range(1, pack.series + 1):
        y = (group - 0.5) * STEP_MM
        box = np.array(
            [
                (-wide / 2, y - deep / 2), (wide / 2, y - deep / 2),
                (wide / 2, y + deep / 2), (-wide / 2, y + deep / 2),
            ]
        )  # fmt: skip
        marks.append(Lines(layer=Layer.BOX, lines=(box,), closed=True))
        text = f"group {group}"
        marks.append(Words(at_mm=(0.0, y - 1.1), text=text, size_mm=WORDS_MM, anchor="middle"))
        for sign, up in (("+", 0.4), ("\N{MINUS SIGN}", -2.5)):
            at = (wide / 2 - 2.5, y + up)
            marks.append(Words(at_mm=at, text=sign, size_mm=WORDS_MM, anchor="middle"))
    for k, row in enumerate(rows):
        y = k * STEP_MM
        marks.append(Lines(layer=Layer.LEADER, lines=(np.array([(0.0, y), (WIRE_MM, y)]),)))
        dot = np.array([(-0.8, y), (0.0, y - 0.8), (0.8, y), (0.0, y + 0.8)])
        marks.append(Lines(layer=Layer.BALANCE_LEAD, lines=(dot,), closed=True))
        marks += boxed_words(row.name, (WIRE_MM, y), WORDS_MM, Layer.FLAG)
        for x, text in (
            (PLACE_MM, row.place), (NOMINAL_MM, f"{row.nominal_v:.1f} V"),
            (FULL_MM, f"{row.full_v:.1f} V"),
        ):  # fmt: skip
            marks.append(Words(at_mm=(WIRE_MM + x, y - 1.1), text=text, size_mm=WORDS_MM))
    top = high + 7.0
    for x, text in ((PLACE_MM, "soldered to"), (NOMINAL_MM, "nominal"), (FULL_MM, "full")):
        marks.append(Words(at_mm=(WIRE_MM + x, top), text=text, size_mm=WORDS_MM, bold=True))
    marks.append(Words(at_mm=(-wide / 2, top), text="Balance leads", size_mm=HEAD_MM, bold=True))
    return line_sheet("balance leads", "Balance leads in order, voltage against pack minus", marks)
