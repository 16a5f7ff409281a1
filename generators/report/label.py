"""What the label on the finished pack says, from its plan."""

from __future__ import annotations

from generators.drawings.linework import LineSheet, sheet_svg
from generators.drawings.pack_label import (
    LABEL_SIZES_MM,
    LabelFacts,
    label_size_mm,
    pack_label,
)
from generators.report.values import Figure
from layouts.planning.pack_plan import PackPlan

__all__ = ["label_facts", "label_figure", "label_sheet"]

DEGREE = "\N{DEGREE SIGN}C"
MINUS = "\N{MINUS SIGN}"
RIM_MM = 12.0  # of the lid, kept for its screws and their heads


def label_sheet(plan: PackPlan) -> LineSheet:
    """The label in the largest size that lies within the lid's screws."""
    return pack_label(label_facts(plan), _size(plan)[0])


def label_figure(plan: PackPlan, sheet: LineSheet) -> Figure:
    """The label in the report, at true size on paper, and where it goes."""
    (wide, high), lies_on = _size(plan)
    where = (
        "it goes on the lid, within its screws"
        if lies_on and plan.enclosure_set is not None
        else "it is larger than the top within the lid's screws: put it on a side, or fold it over "
        "an edge between two lines of text"
        if plan.enclosure_set is not None
        else "it goes on the case"
    )
    return Figure(
        svg=sheet_svg(sheet),
        caption=f"{wide:g} x {high:g} mm, also in drawings/label.svg: print at 100 % and measure "
        f"the bar. Write date and builder with a pen that lasts, cover it with clear "
        f"film; {where}.",
    )


def _size(plan: PackPlan) -> tuple[tuple[float, float], bool]:
    """Of the label, and whether it lies on the pack's top; a case of one's own takes the first."""
    if plan.enclosure_set is None:
        return LABEL_SIZES_MM[0], True
    x0, y0, x1, y1 = plan.enclosure.shell.outer.bounds
    return label_size_mm((x1 - x0 - 2.0 * RIM_MM, y1 - y0 - 2.0 * RIM_MM))


def label_facts(plan: PackPlan) -> LabelFacts:
    """Volts, charge, energy and what it may be used with; date and builder are left to write."""
    of, pack = plan.electrical, plan.pack
    ratings, cell = of.ratings, pack.cell
    low, high = (f"{v:g}".replace("-", MINUS) for v in of.charging.window.charge_c)
    fuse = of.fuse_protection.fuse
    volts = "" if fuse.dc_v is None else f", {fuse.dc_v:g} V DC"
    charger = (
        f"at most {of.charging.charge_a:g} A"
        if of.charging.charger_given
        else f"at most {of.charging.charge_a:.1f} A"
    )
    shock = of.touch.exceeds
    return LabelFacts(
        name=pack.name,
        title="LITHIUM-ION BATTERY",
        figures=(
            f"{ratings.nominal_v:.1f} V", f"{ratings.capacity_ah:.1f} Ah",
            f"{ratings.energy_wh:.0f} Wh",
        ),
        uses=(
            f"{pack.series}S{pack.parallel}P of {cell.format}, {cell.chemistry.upper()}. Full "
            f"{ratings.full_v:.1f} V, empty {ratings.empty_v:.1f} V.",
            f"Load at most {ratings.pack_continuous_a:.1f} A. "
            f"Main fuse {fuse.rating_a:g} A{volts}.",
            f"Charge with a charger for {ratings.full_v:.1f} V, {charger}, attended, at {low} to "
            f"{high} {DEGREE}.",
        ),
        cautions=(
            "Home-made, not certified. It can burn: do not open, crush, wet or short it, nor heat "
            f"it above {cell.max_c:g} {DEGREE}.",
            *(
                (f"Up to {of.touch.highest_v:.0f} V DC: electric shock.",)
                if shock
                else ()
            ),
            "After a fall, wetting, smoke or hissing: keep away, take it outdoors only if that is "
            "safe, call the fire service.",
            "Never into household waste.",
        ),
        blanks=("Built by", "Date", "No."),
        shock=shock,
    )  # fmt: skip
