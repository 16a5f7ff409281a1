"""One layer of held cells: its height, and whether a space is high enough for it."""

from __future__ import annotations

from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.spaces.space import Space

__all__ = ["check_deck", "deck_mm"]

FLOAT_MM = 1e-9  # noise in sums of millimetres


def deck_mm(pack: Pack) -> float:
    """Height of one layer: cells, lips, and the space for strips and gas over both faces."""
    return pack.lip_to_lip_mm + 2 * (pack.holder.lip_mm + pack.enclosure.gas_gap_mm)


def check_deck(pack: Pack, space: Space) -> None:
    """Raises PlanError where the space is lower than one layer."""
    deck, room = deck_mm(pack), space.box_mm[2]
    if room < deck - FLOAT_MM:
        raise PlanError(
            field="space",
            value=f"{room:.1f} mm high",
            why="is lower than one layer of held cells with the vent space over both faces",
            remedy=f"give at least {deck:.1f} mm",
        )
