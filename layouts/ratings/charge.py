"""Charger against pack, cells and board; the temperatures in which cells may work."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.checks import Check
from layouts.formats import chemistries
from layouts.ratings.given import PRACTICE, above_zero, any_number, at_most, counted

__all__ = [
    "Charger",
    "TemperatureWindow",
    "ambient_check",
    "charge_current_check",
    "charger_chemistry_check",
    "charger_low_caution",
    "charger_volts_check",
    "temperature_window",
    "temperature_words",
]

# All common practice, no source; a data sheet takes precedence
CHARGE_C = (0.0, 45.0)
DISCHARGE_LEAST_C = -20.0
CHARGE_RATE = 0.5  # of the capacity an hour, where the cell's charge current isn't given
FULL_V = 0.01  # of a cell's full volts within which two chemistries are charged alike
LOW_V = 0.05  # a cell: a charger so far below leaves a tenth of the charge or so


@dataclass(frozen=True, kw_only=True, slots=True)
class Charger:
    """A charger: volts that it ends at, its amps, and the chemistry that it is sold for, if any.

    ``wire_mm2``: copper section of its wires within the pack; None: not said.
    """

    volts_v: float
    amps_a: float
    chemistry: str | None = None
    wire_mm2: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class TemperatureWindow:
    """Cell temperatures for charge and discharge [C]; ``source`` of those not given."""

    charge_c: tuple[float, float]
    discharge_c: tuple[float, float]
    source: str


def temperature_window(
    *,
    max_c: float,
    charge_c: tuple[float, float] | None = None,
    discharge_least_c: float | None = None,
) -> TemperatureWindow:
    """The data sheet's window, else charge 0 to 45 C and discharge -20 C to ``max_c``.

    Raises ValueError where a window is empty.
    """
    low, high = CHARGE_C if charge_c is None else charge_c
    least = DISCHARGE_LEAST_C if discharge_least_c is None else discharge_least_c
    high = min(any_number(high, "charge_c"), any_number(max_c, "max_c"))
    if any_number(low, "charge_c") >= high:
        raise ValueError(f"charge_c: {low:g} to {high:g} C is not a valid range")
    if any_number(least, "discharge_least_c") >= max_c:
        raise ValueError(f"discharge_least_c: {least:g} to {max_c:g} C is not a valid range")
    given = charge_c is not None and discharge_least_c is not None
    return TemperatureWindow(
        charge_c=(low, high),
        discharge_c=(least, max_c),
        source="the cell's data sheet" if given else PRACTICE,
    )


def temperature_words(window: TemperatureWindow) -> str:
    """The window in a sentence for the builder."""
    (c0, c1), (d0, d1) = window.charge_c, window.discharge_c
    return (
        f"charge only with the cells between {c0:g} and {c1:g} C, discharge between {d0:g} and "
        f"{d1:g} C ({window.source})"
    )


def ambient_check(window: TemperatureWindow, *, ambient_c: float) -> Check:
    """Surroundings of the load lie in the window for discharge."""
    low, high = window.discharge_c
    cold = any_number(ambient_c, "ambient_c") < low
    return Check(
        id="ambient_c",
        about=f"ambient temperature within the cells' discharge range ({low:g} to {high:g} C)",
        holds=not cold and at_most(ambient_c, high),
        value=ambient_c,
        limit=low if cold else high,
        unit="C",
        source=window.source,
        remedy="heat or cool the pack, or use other cells",
        at_least=cold,
    )


def charger_volts_check(charger: Charger, *, series: int, full_v: float) -> Check:
    """The charger ends at no more than the pack's full volts; ``full_v`` of one cell."""
    limit = counted(series, "series") * above_zero(full_v, "full_v")
    return Check(
        id="charger_v",
        about="charger end voltage at most the pack's full-charge voltage",
        holds=at_most(above_zero(charger.volts_v, "charger.volts_v"), limit),
        value=charger.volts_v,
        limit=limit,
        unit="V",
        source="the cell's data sheet",
        remedy=f"a charger for {series} cells of {full_v:g} V: {limit:.2f} V",
        at_least=False,
    )


def charger_low_caution(charger: Charger, *, series: int, full_v: float) -> str | None:
    """What to say of a charger that ends well below the full volts; else None."""
    full = counted(series, "series") * above_zero(full_v, "full_v")
    if at_most(full - series * LOW_V, above_zero(charger.volts_v, "charger.volts_v")):
        return None
    return (
        f"the charger ends at {charger.volts_v:g} V, the pack is full at {full:.1f} V: it is "
        "never fully charged, and a board that balances near full charge never balances"
    )


def charger_chemistry_check(charger: Charger, *, chemistry: str, full_v: float) -> Check | None:
    """The charger is made for cells of those full volts; None where it names no chemistry.

    Chemistries of the table are alike where a cell is full at the same volts; others where
    their names are the same.
    """
    if charger.chemistry is None:
        return None
    known = chemistries().get(charger.chemistry)
    if known is None or chemistry == charger.chemistry:
        alike = chemistry == charger.chemistry
    else:
        alike = abs(known.full_v - above_zero(full_v, "full_v")) <= FULL_V
    return Check(
        id="charger_chemistry",
        about=f"the charger, for {charger.chemistry}, suits the pack's chemistry ({chemistry})",
        holds=alike,
        value=None,
        limit=None,
        unit="",
        source="full-charge voltage per cell of both chemistries",
        remedy=f"a charger for {chemistry}",
    )


def charge_current_check(
    charger: Charger,
    *,
    parallel: int,
    capacity_ah: float,
    cell_charge_a: float | None = None,
    board_charge_a: float | None = None,
    wire_charge_a: float | None = None,
) -> Check:
    """Cells, board and wires take the charger's current; the least of them is the limit.

    ``capacity_ah`` of one cell: half of it an hour where its charge current isn't given.
    """
    counted(parallel, "parallel")
    assumed = cell_charge_a is None
    one = CHARGE_RATE * above_zero(capacity_ah, "capacity_ah")
    one = one if cell_charge_a is None else above_zero(cell_charge_a, "cell_charge_a")
    limits = [(one * parallel, "cells, assumed" if assumed else "cells")]
    for value, name in ((board_charge_a, "board"), (wire_charge_a, "charge leads")):
        if value is not None:
            limits.append((above_zero(value, name), name))
    limit, least = min(limits)
    return Check(
        id="charger_a",
        about=f"charge current at most what cells, board and leads are rated for (lowest: {least})",
        holds=at_most(above_zero(charger.amps_a, "charger.amps_a"), limit),
        value=charger.amps_a,
        limit=limit,
        unit="A",
        source=PRACTICE if least == "cells, assumed" else "data sheets",
        remedy=f"a charger of at most {limit:.1f} A",
        at_least=False,
    )
