"""The report's weld plans and its table of balance leads."""

from __future__ import annotations

from generators.drawings.linework import sheet_svg
from generators.drawings.tap_ladder import balance_lead_rows
from generators.report.values import Figure, Table
from generators.welding import WeldSheets
from layouts.planning.pack_plan import PackPlan

__all__ = ["balance_lead_table", "ladder_figure", "weld_figures"]

WITHIN_MM = (170.0, 222.0)  # printed, so that heading and caption share a page with it
FILES = (
    "True size for A4 and letter: templates-a4.pdf and templates-letter.pdf in the folder "
    "templates; outlines to cut: the DXF files there."
)


def weld_figures(plan: PackPlan, weld: WeldSheets, *, large: bool) -> tuple[Figure, ...]:
    """Both weld plans; none of a ``large`` pack, where they would swell the page."""
    plates = plan.interconnect.plates
    each = (
        f"{plates[0].spots} spots on each can end"
        if plates
        else f"{plan.pack.strip.weld_spots} spots where a strip crosses a can end"
    )
    return tuple(
        Figure(
            svg=sheet_svg(sheet, within_mm=WITHIN_MM),
            caption=f"{sheet.title}. {each}. {FILES}",
        )
        for sheet in (() if large else weld.plans.values())
    )


def ladder_figure(weld: WeldSheets, *, large: bool) -> Figure:
    """The order of the balance leads; of a ``large`` pack it says where the weld plans are."""
    told = "Each balance lead and where it is soldered on; voltage against pack minus (bottom)."
    if large:
        told += f" Weld plans of large packs: in the folder drawings. {FILES}"
    return Figure(svg=sheet_svg(weld.ladder, within_mm=WITHIN_MM), caption=told)


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
        filled_in=True,
    )


def _volts(value: float) -> str:
    return f"{value:.1f}\N{NO-BREAK SPACE}V"
