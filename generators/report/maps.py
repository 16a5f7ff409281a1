"""Maps in the report: currents along strips and cells' temperatures, from the plan."""

from __future__ import annotations

from generators.drawings.flow_map import current_map, temperature_map
from generators.report.values import Figure
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan

__all__ = ["map_figures"]


def map_figures(plan: PackPlan) -> dict[str, Figure]:
    """By file name: currents of the upper and the lower face, temperatures."""
    of, can_mm = plan.electrical, plan.pack.cell.diameter_mm
    sheets = (
        " A sheet is counted as resistances between its can ends, and those between neighbours "
        "are drawn."
        if plan.interconnect.plates
        else ""
    )
    load = f"{of.reference.load_a:.1f} A"
    currents = {
        f"currents-{face.value}": Figure(
            svg=current_map(plan.cell_layout, plan.interconnect, face, of.link_a, can_mm=can_mm),
            caption=f"Currents along the {face.value} face at {load}: wider lines carry more; what "
            f"is below a tenth of the highest has no figure.{sheets}",
        )
        for face in (Face.UPPER, Face.LOWER)
    }
    warm = Figure(
        svg=temperature_map(plan.cell_layout, of.empty_c, can_mm=can_mm, about=f"empty at {load}"),
        caption=f"Cells from above when a full pack has just been emptied at {load}: an estimate, "
        "as good as the table of temperatures says.",
        tinted=True,
    )
    return {**currents, "temperatures": warm}
