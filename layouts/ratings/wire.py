"""Copper wire: gauge and section, ampacity by table, and voltage drop."""

from __future__ import annotations

from enum import Enum
from functools import cache
from math import exp, log, pi, sqrt

from layouts.checks import Check
from layouts.errors import PlanError
from layouts.formats import conductors
from layouts.ratings.given import MEMORY, PRACTICE, above_zero, any_number, at_most, counted
from layouts.ratings.tables import wire_rows

__all__ = [
    "AmpacityTable",
    "ambient_ratio",
    "ampacity_a",
    "ampacity_source",
    "awg_area_mm2",
    "awg_diameter_mm",
    "conductor_c",
    "copper_ohm_m",
    "nearest_awg",
    "table_range_mm2",
    "volts_lost_check",
    "volts_lost_v",
    "wire_current_check",
    "wire_ohm",
]

BASE_C = 30.0  # air that all tables here are given for (the tables' own headings)
LOST_RATIO = 0.03  # of the nominal volts, both conductors, at full load; common practice, no source
# Preferred sections, mm2: IEC 60228, from memory
# Wires lying together, by ABYC E-11 as reproduced by sellers of boat cable: (up to, factor)
MARINE_BUNDLES = ((2, 1.0), (3, 0.7), (6, 0.6), (24, 0.5))
THICKEST_AWG, THINNEST_AWG = -3, 40


class AmpacityTable(Enum):
    """Which table a wire's current is taken from; they answer different questions."""

    FREE_AIR = "free_air"  # one wire alone in free air
    BUNDLED = "bundled"  # many wires in a bundle, 700 circular mils per ampere
    CABLE_60 = "cable_60"  # up to three together, conductor up to 60 C
    CABLE_75 = "cable_75"  # the same up to 75 C
    CABLE_90 = "cable_90"  # the same up to 90 C: touches no printed part
    MARINE_105 = "marine_105"  # one wire of 105 C insulation: touches no printed part

    @property
    def source(self) -> str:
        """Where the table is from."""
        return _SOURCES[self]


_SOURCES = {
    AmpacityTable.FREE_AIR: "Handbook of Electronic Tables and Formulas, as reproduced",
    AmpacityTable.BUNDLED: "Handbook of Electronic Tables and Formulas, as reproduced",
    AmpacityTable.CABLE_60: "NFPA 70 (2023) table 310.16, 60 C, as reproduced",
    AmpacityTable.CABLE_75: "NFPA 70 (2023) table 310.16, 75 C, as reproduced",
    AmpacityTable.CABLE_90: "NFPA 70 (2023) table 310.16, 90 C, as reproduced",
    AmpacityTable.MARINE_105: "ABYC E-11, 105 C insulation, as reproduced",
}


def awg_diameter_mm(gauge: int) -> float:
    """Diameter of a solid wire, d = 0.127 * 92^((36 - n)/39) mm (ASTM B258).

    0 to -3 are 1/0 to 4/0. Raises ValueError beyond 4/0 and 40.
    """
    if not THICKEST_AWG <= gauge <= THINNEST_AWG:
        raise ValueError(f"a gauge lies between {THICKEST_AWG} (4/0) and {THINNEST_AWG}: {gauge}")
    return float(0.127 * 92.0 ** ((36 - gauge) / 39))


def awg_area_mm2(gauge: int) -> float:
    """Section of a solid wire [mm2] (ASTM B258)."""
    return pi / 4 * awg_diameter_mm(gauge) ** 2


def nearest_awg(area_mm2: float) -> int:
    """The thinnest gauge of at least that section. Raises ValueError above 4/0."""
    above_zero(area_mm2, "area_mm2")
    for gauge in range(THINNEST_AWG, THICKEST_AWG - 1, -1):
        if at_most(area_mm2, awg_area_mm2(gauge)):
            return gauge
    raise ValueError(f"{area_mm2:g} mm2 is above gauge 4/0")


def copper_ohm_m(temperature_c: float = 20.0) -> float:
    """Resistivity of annealed copper [ohm m], linear in temperature (IEC 60028, see the table)."""
    copper = conductors()["copper"]
    ratio = 1.0 + copper.per_kelvin * (any_number(temperature_c, "temperature_c") - 20.0)
    if ratio <= 0:
        raise ValueError(
            f"temperature_c {temperature_c:g} is far below the range of the linear formula"
        )
    return copper.ohm_m * ratio


def wire_ohm(*, area_mm2: float, length_mm: float, temperature_c: float = 20.0) -> float:
    """Resistance of a lead, both conductors, R = rho 2 L / A [ohm]; ``length_mm``: one way."""
    above_zero(area_mm2, "area_mm2")
    above_zero(length_mm, "length_mm")
    return copper_ohm_m(temperature_c) * 2 * length_mm * 1e3 / area_mm2


def volts_lost_v(
    *, current_a: float, area_mm2: float, length_mm: float, temperature_c: float = 20.0
) -> float:
    """Voltage drop in the lead, both conductors, U = I R [V]."""
    ohm = wire_ohm(area_mm2=area_mm2, length_mm=length_mm, temperature_c=temperature_c)
    return any_number(current_a, "current_a") * ohm


@cache
def _rows(table: AmpacityTable) -> tuple[tuple[float, float], ...]:
    """(section, current) of each row, thinnest first."""
    rows = (row for row in wire_rows() if row.table == table.value)
    return tuple(sorted((awg_area_mm2(row.awg), row.ampere) for row in rows))


@cache
def conductor_c(table: AmpacityTable) -> float:
    """Temperature that the conductor reaches at a table's current in its air [C]."""
    return next(row.conductor_c for row in wire_rows() if row.table == table.value)


def table_range_mm2(table: AmpacityTable) -> tuple[float, float]:
    """Thinnest and thickest section of a table [mm2]."""
    rows = _rows(table)
    return rows[0][0], rows[-1][0]


def ambient_ratio(table: AmpacityTable, ambient_c: float) -> float:
    """What is left of a table's current in hotter air: sqrt((Tc - Ta) / (Tc - 30)), never above 1.

    Heat given off is taken as in proportion to the temperature over the air. It gives back the
    factors that NFPA 70 310.15(B)(1) prints, as reproduced by a seller of wire.
    Raises PlanError where the air is as hot as the conductor may get.
    """
    hot = conductor_c(table)
    if any_number(ambient_c, "ambient_c") >= hot:
        raise PlanError(
            field="load.ambient_c",
            value=f"{ambient_c:g}",
            why=f"leaves the wire no current: its conductor is rated for {hot:g} C",
            remedy="a lower ambient temperature, or a table for insulation of a higher temperature",
        )
    return min(1.0, sqrt((hot - ambient_c) / (hot - BASE_C)))


def ampacity_a(
    area_mm2: float,
    *,
    table: AmpacityTable = AmpacityTable.CABLE_75,
    ambient_c: float = BASE_C,
    together: int = 2,
) -> float:
    """Ampacity of a copper wire, continuous [A].

    Between rows a power of the section is taken (straight in logarithms), beyond them nothing.
    ``together``: wires that carry current side by side; the marine table has factors for more
    than two, the cable tables hold up to three, the others say it by their name.
    Raises PlanError for sections the table doesn't have, ValueError for too many together.
    """
    above_zero(area_mm2, "area_mm2")
    rows = _rows(table)
    least, most = table_range_mm2(table)
    if not (at_most(least, area_mm2) and at_most(area_mm2, most)):
        raise PlanError(
            field="leads.wire_mm2",
            value=f"{area_mm2:g}",
            why=f"the table {table.value} goes from {least:.2f} to {most:.1f} mm2",
            remedy="use a wire within it, or another table",
        )
    factor = ambient_ratio(table, ambient_c) * _together_ratio(table, together)
    for (thin, low), (thick, high) in zip(rows, rows[1:], strict=False):
        if at_most(area_mm2, thick):
            part = log(area_mm2 / thin) / log(thick / thin)
            return factor * exp(log(low) + part * log(high / low))
    return factor * rows[-1][1]


def _together_ratio(table: AmpacityTable, together: int) -> float:
    counted(together, "together")
    if table is AmpacityTable.MARINE_105:
        for most, factor in MARINE_BUNDLES:
            if together <= most:
                return factor
        raise ValueError(f"the table {table.value} has no factor for {together} wires together")
    if table.value.startswith("cable") and together > 3:
        raise ValueError(f"the table {table.value} holds for up to three wires together")
    return 1.0


def ampacity_source(area_mm2: float, table: AmpacityTable) -> str:
    """Source of a section's current: the table's, and whether its rows there are from memory."""
    rows = sorted((awg_area_mm2(r.awg), r.known) for r in wire_rows() if r.table == table.value)
    below = [known for area, known in rows if at_most(area, area_mm2)][-1:]
    above = [known for area, known in rows if at_most(area_mm2, area)][:1]
    doubt = f"; this size {MEMORY}" if "memory" in (*below, *above) else ""
    return f"{table.source}{doubt}"


def wire_current_check(*, demand_a: float, ampacity_a: float, source: str) -> Check:
    """The ampacity of the main leads covers the load; ``source``: that of the ampacity."""
    return Check(
        id="wire_a",
        about="ampacity of the main leads covers the continuous load",
        holds=at_most(demand_a, ampacity_a),
        value=demand_a,
        limit=ampacity_a,
        unit="A",
        source=source,
        remedy="a thicker wire (leads.wire_mm2) or less load",
        at_least=False,
    )


def volts_lost_check(*, lost_v: float, nominal_v: float, lost_ratio: float = LOST_RATIO) -> Check:
    """Voltage drop of the main leads at the load demand."""
    limit = lost_ratio * above_zero(nominal_v, "nominal_v")
    return Check(
        id="wire_volts_lost_v",
        about="voltage drop in the main leads, both conductors, at the continuous load",
        holds=at_most(lost_v, limit),
        value=lost_v,
        limit=limit,
        unit="V",
        source=PRACTICE,
        remedy="a thicker (leads.wire_mm2) or shorter (leads.length_mm) wire",
        at_least=False,
    )
