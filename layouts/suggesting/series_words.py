"""Why a pack has so many cells in series, in words."""

from __future__ import annotations

from layouts.suggesting.setting import Asked, Offer

__all__ = ["series_words"]


def series_words(offer: Offer, series: int, asked: Asked) -> str:
    """What decides a number in series: every requirement with the volts that meet it, and where one
    cell more would leave the machine's window."""
    cell = offer.cell
    full, nominal, empty = (series * v for v in (cell.full_v, cell.nominal_v, cell.empty_v))
    words = []
    low, high = asked.window_v or (None, None)
    if high is not None:
        told = f"{full:.1f} V full, {high:g} V at most"
        if full + cell.full_v > high:
            told += f" ({series + 1}S: {full + cell.full_v:.1f} V)"
        words.append(told)
    if low is not None:
        words.append(f"{nominal:.1f} V nominal and {empty:.1f} V empty, {low:g} V at least")
    if asked.charger_v is not None:
        words.append(f"the charger ends at {asked.charger_v:g} V, the pack at {full:.1f} V")
    if asked.regeneration_a is not None and high is not None:
        words.append(
            f"{high - full:.1f} V are left for {asked.regeneration_a:g} A that the motor returns"
        )
    if asked.volts_v is not None:
        words.append(f"{nominal:.1f} V nominal, {asked.volts_v:g} V required")
    return f"{series}S of {offer.name}: {'; '.join(words)}"
