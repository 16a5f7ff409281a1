"""Ampacity, melting and heating of wire: typed records made from the tables."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

__all__ = ["Adiabatic", "WireRow", "adiabatic", "preece_constants", "table_rows", "wire_rows"]


@dataclass(frozen=True, kw_only=True, slots=True)
class WireRow:
    """Ampacity of a wire of one gauge by one table.

    ``conductor_c``: the temperature that the conductor then reaches; ``known``: "found" where
    the row was seen in public pages, "memory" where it was not.
    """

    table: str
    conductor_c: float
    awg: int
    ampere: float
    known: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Adiabatic:
    """What heats a metal without losses: J/(K mm3), C, ohm mm (sources in the table)."""

    metal: str
    heat_j_k_mm3: float
    beta_c: float
    ohm_mm: float


@cache
def table_rows(table: str) -> tuple[dict[str, str], ...]:
    """Rows of a table of ``layouts.tables``, its comments left out."""
    text = files("layouts.tables").joinpath(f"{table}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


@cache
def wire_rows() -> tuple[WireRow, ...]:
    """All rows of the ampacity tables, in the order of the file."""
    return tuple(
        WireRow(
            table=row["table"],
            conductor_c=float(row["conductor_c"]),
            awg=int(row["awg"]),
            ampere=float(row["ampere"]),
            known=row["known"],
        )
        for row in table_rows("ampacity")
    )


@cache
def preece_constants() -> dict[str, float]:
    """Preece's constant of each metal [A, diameter in inches]."""
    return {row["metal"]: float(row["preece_a_in"]) for row in table_rows("fusing")}


@cache
def adiabatic() -> dict[str, Adiabatic]:
    """What heats each metal without losses."""
    return {
        row["metal"]: Adiabatic(
            metal=row["metal"],
            heat_j_k_mm3=float(row["heat_j_k_mm3"]),
            beta_c=float(row["beta_c"]),
            ohm_mm=float(row["ohm_mm"]),
        )
        for row in table_rows("adiabatic")
    }
