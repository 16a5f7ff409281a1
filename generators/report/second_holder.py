"""Whether the second holder goes on: a line and two tables of the report."""

from __future__ import annotations

from generators.report.values import Table
from layouts.holders.second_holder import ENOUGH, SURE, HolderFit

__all__ = ["second_holder_line", "second_holder_tables"]


def second_holder_line(fit: HolderFit) -> tuple[str, str]:
    """Chance at the pockets' clearance, and the clearance recommended."""
    return (
        "second holder goes on by hand (chance)",
        f"{_percent(fit.chance)} at {fit.clearance_mm:g} mm clearance; {100 * SURE:.0f} % takes "
        f"{fit.recommended_mm:.2f} mm",
    )


def second_holder_tables(fit: HolderFit) -> tuple[Table, Table]:
    """Chance against clearance, and what raises or lowers it."""
    spreads = (
        f"printer.spread: {', '.join(fit.measured)} by the pack file, the others judged"
        if fit.measured
        else "all spreads are judged, none is measured: see printer.spread"
    )
    tiles = f", in {fit.tiles} tiles" if fit.tiles > 1 else ""
    return (
        Table(
            title="By clearance",
            headings=("holder.clearance_mm", "chance that it goes on"),
            rows=tuple((f"{one:.2f}", _percent(chance)) for one, chance in fit.by_clearance),
            note=f"All {fit.cells} cans at once{tiles}, both holders printed alike: drawn by "
            f"chance, upper holder shifted and turned by least squares; {spreads}. Clearance "
            f"needed for {100 * SURE:.0f} %: {fit.recommended_mm:.2f}; by squares (RSS) "
            f"{fit.rss_mm:.2f}; with every error at its limit {fit.worst_mm:.2f}. The check asks "
            f"for {100 * ENOUGH:.0f} %.",
        ),
        Table(
            title="What lowers it",
            headings=("if", "chance", f"clearance for {100 * SURE:.0f} %"),
            rows=tuple(
                (one.what, _percent(one.chance), f"{one.clearance_mm:.2f}") for one in fit.cases
            ),
            note="To raise it, first print the fit gauge (cellstead gauge) and compensate holes "
            "that come out too small; leave both holders the same way round on the bed, and print "
            "them one after the other from one spool; a larger clearance comes last, since cans "
            "then stand looser.",
        ),
    )


def _percent(chance: float) -> str:
    """No chance is told as certain."""
    if chance > 0.995:
        return "over 99 %"
    return f"{100 * chance:.0f} %" if chance >= 0.01 else "under 1 %"
