"""Values of a cell that no cell of its size and chemistry has: most likely mistyped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import pi

from layouts.ratings.tables import table_rows

__all__ = ["QUANTITIES", "Implausible", "implausible_values"]

# the quantity of the table that a key is judged by
QUANTITIES = {
    "capacity_ah": "capacity_ah_cm3",
    "continuous_a": "continuous_a_ah",
    "peak_a": "peak_a_ah",
    "charge_a": "charge_a_ah",
    "internal_resistance_mohm": "resistance_mohm_ah",
    "ac_resistance_mohm": "ac_resistance_mohm_ah",
    "mass_g": "mass_g_cm3",
    "empty_v": "empty_v",
    "nominal_v": "nominal_v",
    "full_v": "full_v",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Implausible:
    """A key's value outside of what cells of this size and chemistry lie within, in its unit."""

    key: str
    value: float
    least: float
    most: float


@cache
def _bands(chemistry: str) -> dict[str, tuple[float, float]]:
    rows = table_rows("cell_bands")
    known = {row["chemistry"] for row in rows}
    name = chemistry if chemistry in known else "other"
    return {
        row["quantity"]: (float(row["least"]), float(row["most"]))
        for row in rows
        if row["chemistry"] == name
    }


def implausible_values(
    values: Mapping[str, float],
    *,
    chemistry: str,
    diameter_mm: float,
    length_mm: float,
    capacity_ah: float,
) -> tuple[Implausible, ...]:
    """Of a cell's ``values`` by their keys those that lie outside the bands of the table.

    Common practice, from memory, no source: a caution, never a refusal."""
    volume_cm3 = pi / 4 * diameter_mm**2 * length_mm / 1000.0
    scales = {
        "capacity_ah": volume_cm3,
        "mass_g": volume_cm3,
        "continuous_a": capacity_ah,
        "peak_a": capacity_ah,
        "charge_a": capacity_ah,
        "internal_resistance_mohm": 1.0 / capacity_ah,
        "ac_resistance_mohm": 1.0 / capacity_ah,
    }
    bands = _bands(chemistry)
    found = []
    for key, value in values.items():
        least, most = (limit * scales.get(key, 1.0) for limit in bands[QUANTITIES[key]])
        if not least <= value <= most:
            found.append(Implausible(key=key, value=value, least=least, most=most))
    return tuple(found)
