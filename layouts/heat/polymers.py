"""What printed materials stand and how they carry heat: typed records made from the table."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

__all__ = ["MARGIN_K", "PolymerHeat", "polymer_heats"]

MARGIN_K = 20.0  # a part under load stays so far below softening; common practice, from memory


@dataclass(frozen=True, kw_only=True, slots=True)
class PolymerHeat:
    """One printing material; sources in the table's first line.

    ``softens_by``: what its softening temperature is.
    """

    material: str
    softens_c: float
    softens_by: str
    conductivity_w_mk: float
    heat_j_kgk: float

    @property
    def most_c(self) -> float:
        """Highest temperature of the hottest can that a holder is to touch."""
        return self.softens_c - MARGIN_K


@cache
def polymer_heats() -> dict[str, PolymerHeat]:
    """All known printing materials by name."""
    text = files("layouts.tables").joinpath("polymer_heat.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return {
        row["material"]: PolymerHeat(
            material=row["material"],
            softens_c=float(row["softens_c"]),
            softens_by=row["softens_by"],
            conductivity_w_mk=float(row["conductivity_w_mk"]),
            heat_j_kgk=float(row["heat_j_kgk"]),
        )
        for row in rows
    }
