"""Cell formats, chemistries, screws and materials: typed records made from the tables."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TypeVar

_Record = TypeVar("_Record")


@dataclass(frozen=True, kw_only=True, slots=True)
class CellFormat:
    """Starting values for one can size (sources in the table)."""

    format: str
    diameter_mm: float
    longest_mm: float
    clearance_mm: float
    web_mm: float
    window_mm: float
    depth_mm: float
    row_width_mm: float
    link_width_mm: float
    wide_width_mm: float
    mass_g: float
    ring_hole_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Chemistry:
    """Volts of one cell (sources in the table)."""

    chemistry: str
    empty_v: float
    nominal_v: float
    full_v: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Screw:
    """One metric screw with its hole, head, nut, heat-set insert and plain washer."""

    screw: str
    clearance_diameter_mm: float
    head_diameter_mm: float
    head_high_mm: float
    key_mm: float
    nut_flats_mm: float
    nut_high_mm: float
    insert_hole_diameter_mm: float
    insert_deep_mm: float
    boss_diameter_mm: float
    washer_diameter_mm: float
    washer_high_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class LowHead:
    """The button head of a metric screw (ISO 7380-1)."""

    screw: str
    head_diameter_mm: float
    head_high_mm: float
    key_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Material:
    """One printing material; ``strength_mpa``: lowest tensile strength in the layers,
    ``modulus_mpa``: lowest tensile modulus there, ``across_mpa``: lowest strength across them."""

    material: str
    density_g_cm3: float
    strength_mpa: float
    modulus_mpa: float
    across_mpa: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetMetal:
    """One sheet metal by its designation; ``kind``: steel, stainless or aluminium.

    ``yield_mpa``: least yield strength; ``k_factor``: from the inside of a bend to the line that
    keeps its length, over the thickness; ``least_radius_ratio``: least inside radius over the
    thickness; ``stock_mm``: thicknesses that shops keep, rising."""

    metal: str
    kind: str
    density_g_cm3: float
    modulus_mpa: float
    yield_mpa: float
    k_factor: float
    least_radius_ratio: float
    stock_mm: tuple[float, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Conductor:
    """One strip material: resistivity at 20 C and its change per kelvin (sources in the table)."""

    material: str
    ohm_m: float
    per_kelvin: float


@cache
def _rows(table: str) -> tuple[dict[str, str], ...]:
    text = files("layouts.tables").joinpath(f"{table}.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return tuple(csv.DictReader(lines))


def _records(kind: type[_Record], table: str, key: str) -> dict[str, _Record]:
    made = {}
    for row in _rows(table):
        values = {name: text if name == key else float(text) for name, text in row.items()}
        made[row[key]] = kind(**values)
    return made


@cache
def cell_formats() -> dict[str, CellFormat]:
    """All known can sizes by their trade name."""
    return _records(CellFormat, "cell_formats", "format")


@cache
def chemistries() -> dict[str, Chemistry]:
    """All known chemistries by name."""
    return _records(Chemistry, "chemistries", "chemistry")


@cache
def screws() -> dict[str, Screw]:
    """All known screws by thread."""
    return _records(Screw, "screws", "screw")


@cache
def low_heads() -> dict[str, LowHead]:
    """Button heads of all known screws by thread."""
    return _records(LowHead, "low_heads", "screw")


@cache
def materials() -> dict[str, Material]:
    """All known printing materials by name."""
    return _records(Material, "materials", "material")


@cache
def softening_c() -> dict[str, float]:
    """Temperature at which each printing material softens."""
    return {row["material"]: float(row["softens_c"]) for row in _rows("polymer_heat")}


@cache
def conductors() -> dict[str, Conductor]:
    """All known strip materials by name."""
    return _records(Conductor, "conductors", "material")


@cache
def sheet_metals() -> dict[str, SheetMetal]:
    """All known sheet metals by designation."""
    return {
        row["metal"]: SheetMetal(
            metal=row["metal"],
            kind=row["kind"],
            density_g_cm3=float(row["density_g_cm3"]),
            modulus_mpa=float(row["modulus_mpa"]),
            yield_mpa=float(row["yield_mpa"]),
            k_factor=float(row["k_factor"]),
            least_radius_ratio=float(row["least_radius_ratio"]),
            stock_mm=tuple(float(one) for one in row["stock_mm"].split()),
        )
        for row in _rows("sheet_metals")
    }
