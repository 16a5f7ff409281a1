"""Lengths of the balance leads, from each tap to the protection board, as they are laid."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.cells.arrangement import Arrangement
from layouts.pack import Face, Pack
from layouts.parts.shell import BoardPlace
from layouts.strips.joining import Joining

__all__ = ["SLACK_MM", "TapWire", "tap_wires"]

SLACK_MM = 60.0  # to strip, to solder, to plug in and to bend; common practice, no source
ROUND_MM = 5.0  # no wire is cut to less


@dataclass(frozen=True, kw_only=True, slots=True)
class TapWire:
    """One balance lead: tap 0 is pack minus, tap S pack plus."""

    number: int
    face: Face
    length_mm: float


def tap_wires(
    pack: Pack, arrangement: Arrangement, joining: Joining, board: BoardPlace
) -> tuple[TapWire, ...]:
    """Every wire along x out of its notch, then along y and z to the board's middle.

    With ``SLACK_MM`` to spare and rounded up to 5 mm.
    """
    x1, y1, z1 = board.centre_mm
    wires = []
    for tap in joining.taps:
        x, y = arrangement.xy_mm[tap.cell].tolist()
        z = pack.lip_to_lip_mm if tap.face is Face.UPPER else 0.0
        way = abs(x1 - x) + abs(y1 - y) + abs(z1 - z) + SLACK_MM
        length = ROUND_MM * -(-way // ROUND_MM)
        wires.append(TapWire(number=tap.number, face=tap.face, length_mm=length))
    return tuple(wires)
