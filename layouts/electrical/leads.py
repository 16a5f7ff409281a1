"""The main leads of a pack: their ampacity by which table, and their voltage drop."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.checks import Check
from layouts.heat.polymers import PolymerHeat
from layouts.pack import Pack
from layouts.ratings.given import MEMORY, PRACTICE, at_most
from layouts.ratings.melting import adiabatic_end_c
from layouts.ratings.wire import (
    BASE_C,
    AmpacityTable,
    ampacity_a,
    ampacity_source,
    conductor_c,
    nearest_awg,
    table_range_mm2,
    volts_lost_check,
    volts_lost_v,
    wire_current_check,
    wire_ohm,
)

__all__ = [
    "MainLeads",
    "lead_cautions",
    "lead_checks",
    "lead_inside_checks",
    "lead_peak_check",
    "main_leads",
    "table_for",
]


@dataclass(frozen=True, kw_only=True, slots=True)
class MainLeads:
    """Both main leads.

    ``awg``: the thinnest gauge of at least that section. ``table``: the one required, else the one
    that has the section, see ``asked_table``. ``ohm`` of both conductors at 20 C."""

    area_mm2: float
    awg: int
    length_mm: float
    table: AmpacityTable
    asked_table: AmpacityTable
    ambient_c: float
    continuous_rating_a: float
    source: str
    ohm: float


def table_for(area_mm2: float, asked: AmpacityTable) -> AmpacityTable:
    """The required table where it has that section, else: thinner wires as bundled, thicker ones
    by the cable table for 75 C."""
    least, most = table_range_mm2(asked)
    if least <= area_mm2 <= most:
        return asked
    return AmpacityTable.BUNDLED if area_mm2 < least else AmpacityTable.CABLE_75


def main_leads(pack: Pack) -> MainLeads:
    """The leads at the load's ambient temperature, else at that of the tables.

    Raises PlanError where the air is as hot as their conductor may get.
    """
    leads = pack.leads
    ambient = BASE_C if pack.load is None else pack.load.ambient_c
    table = table_for(leads.wire_mm2, leads.table)
    return MainLeads(
        area_mm2=leads.wire_mm2,
        awg=nearest_awg(leads.wire_mm2),
        length_mm=leads.length_mm,
        table=table,
        asked_table=leads.table,
        ambient_c=ambient,
        continuous_rating_a=ampacity_a(leads.wire_mm2, table=table, ambient_c=ambient),
        source=ampacity_source(leads.wire_mm2, table),
        ohm=wire_ohm(area_mm2=leads.wire_mm2, length_mm=leads.length_mm),
    )


def lead_checks(leads: MainLeads, *, demand_a: float, nominal_v: float) -> tuple[Check, ...]:
    """Ampacity and voltage drop of the leads at the load demand."""
    lost = volts_lost_v(current_a=demand_a, area_mm2=leads.area_mm2, length_mm=leads.length_mm)
    return (
        wire_current_check(
            demand_a=demand_a, ampacity_a=leads.continuous_rating_a, source=leads.source
        ),
        volts_lost_check(lost_v=lost, nominal_v=nominal_v),
    )


def lead_inside_checks(
    leads: MainLeads, *, demand_a: float, inside_c: float, plastic: PolymerHeat
) -> tuple[Check, ...]:
    """The leads in the enclosure's air: their ampacity there, and the plastic that they lie on.

    ``inside_c``: that air at the load when the pack is empty. The conductor's temperature is
    ambient and a rise in proportion to the current squared; its insulation is taken as as warm.
    """
    most_c = conductor_c(leads.table)
    inside_a, wire_c = 0.0, inside_c
    if inside_c < most_c:
        inside_a = ampacity_a(leads.area_mm2, table=leads.table, ambient_c=inside_c)
        wire_c = inside_c + (most_c - inside_c) * (demand_a / inside_a) ** 2
    return (
        Check(
            id="wire_inside_a",
            about=f"ampacity of the main leads in the enclosure's air of {inside_c:.0f} °C covers "
            "the continuous load",
            holds=at_most(demand_a, inside_a),
            value=demand_a,
            limit=inside_a,
            unit="A",
            source=leads.source,
            remedy="a thicker wire (leads.wire_mm2) or less load",
            at_least=False,
        ),
        Check(
            id="wire_plastic_c",
            about=f"main leads: temperature on the {plastic.material} that they lie on",
            holds=at_most(wire_c, plastic.most_c),
            value=wire_c,
            limit=plastic.most_c,
            unit="°C",
            source=f"{leads.source}; softening from the polymer_heat table, less a margin of "
            f"{plastic.softens_c - plastic.most_c:g} K: {PRACTICE}",
            remedy="a thicker wire (leads.wire_mm2), less load, or a material with a higher "
            "softening temperature (printer.material)",
            at_least=False,
        ),
    )


def lead_peak_check(
    leads: MainLeads, *, demand_a: float, peak_a: float, peak_s: float | None
) -> Check:
    """The conductor stays within its temperature through a peak after continuous load.

    Before it: the ambient temperature and a rise in proportion to the current squared, at the
    ampacity just the table's conductor temperature. Through it: heating without losses. Without a
    duration the peak counts as continuous.
    """
    most_c = conductor_c(leads.table)
    warm_c = leads.ambient_c + (most_c - leads.ambient_c) * _ratio(demand_a, leads) ** 2
    if peak_s is None:
        end_c = leads.ambient_c + (most_c - leads.ambient_c) * _ratio(peak_a, leads) ** 2
    else:
        end_c = adiabatic_end_c(
            from_c=warm_c, current_a=peak_a, area_mm2=leads.area_mm2, seconds=peak_s
        )
    return Check(
        id="wire_peak_c",
        about="main leads: conductor temperature at the end of the peak load",
        holds=at_most(end_c, most_c),
        value=end_c,
        limit=most_c,
        unit="°C",
        source=f"{leads.source}; heating without losses by IEC 60364-5-54 annex A, {MEMORY}",
        remedy="a thicker wire (leads.wire_mm2), or a lower or shorter peak",
        at_least=False,
    )


def _ratio(current_a: float, leads: MainLeads) -> float:
    return current_a / leads.continuous_rating_a


def lead_cautions(leads: MainLeads) -> tuple[str, ...]:
    """Where another table had to be used."""
    if leads.table is leads.asked_table:
        return ()
    return (
        f"leads: the table {leads.asked_table.value} has no wire of {leads.area_mm2:g} mm2; its "
        f"ampacity is taken from {leads.table.value}",
    )
