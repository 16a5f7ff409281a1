"""The report's weld plans and its table of balance leads."""

from __future__ import annotations

from generators.drawings.linework import sheet_svg
from generators.drawings.tap_ladder import balance_lead_rows
from generators.report.page import Figure, Table
from generators.welding import WeldSheets
from layouts.planning.pack_plan import PackPlan

__all__ = ["balance_lead_table", "weld_figures"]

WITHIN_MM = (170.0, 222.0)  # printed, so that heading and caption share a page with it


def weld_figures(plan: PackPlan, weld: WeldSheets, *, large: bool) -> tuple[Figure, ...]:
    """Both weld plans, and the order of the balance leads.

    ``large``: the plans of a pack of so many cells would swell the page; it says where they are.
    """
    files = (
        "True size for A4 and letter: templates-a4.pdf and templates-letter.pdf in the folder "
        "templates; outlines to cut: the DXF files there."
    )
    plates = plan.interconnect.plates
    each = (
        f"{plates[0].spots} spots on each can end"
        if plates
        else f"{plan.pack.strip.weld_spots} spots where a strip crosses a can end"
    )
    plans = [
        Figure(
            svg=sheet_svg(sheet, within_mm=WITHIN_MM),
            caption=f"{sheet.title}. {each}. {files}",
        )
        for sheet in (() if large else weld.plans.values())
    ]
    told = "Each balance lead and where it is soldered on; voltage against pack minus (bottom)."
    if large:
        told += f" Weld plans of large packs: in the folder drawings. {files}"
    return (*plans, Figure(svg=sheet_svg(weld.ladder, within_mm=WITHIN_MM), caption=told))


def balance_lead_table(plan: PackPlan) -> Table:
    """Every balance lead's voltage, nominal and full, with a column for the measured one."""
    rows = balance_lead_rows(plan.pack, plan.interconnect)
    return Table(
        title="Voltage of each balance lead against pack minus",
        headings=("lead", "joins", "soldered to", "nominal", "full", "as measured"),
        rows=tuple(
            (row.name, row.net, row.place, _volts(row.nominal_v), _volts(row.full_v), "")
            for row in rows
        ),
        note="Measure them in order at the open balance connector, before the BMS is connected.",
    )


def _volts(value: float) -> str:
    return f"{value:.1f}\N{NO-BREAK SPACE}V"
