"""Places that are hard to print, as the report shows them: a table, and a picture a layer."""

from __future__ import annotations

from collections.abc import Sequence

from generators.drawings.print_marks import print_marks
from generators.report.values import Figure, PrintPlaces, Table
from layouts.printable.finding import PrintFinding, Severity
from layouts.printable.judging import PRINT_CHECKS

__all__ = ["print_places"]

PICTURES_MOST = 16  # those that fail come first; the others are told in words
FINE_BELOW_MM = 10.0  # lengths are told to a hundredth
TOLD_MOST = 4  # texts in a caption


def print_places(findings: Sequence[PrintFinding]) -> PrintPlaces | None:
    """All findings, those of one kind on one layer of a part together; None where there are
    none."""
    if not findings:
        return None
    groups = _grouped(findings)
    figures = tuple(
        Figure(svg=print_marks(group), caption=_caption(group), tinted=True)
        for group in groups[:PICTURES_MOST]
    )
    left = len(groups) - len(figures)
    more = f" {left} further layers are not drawn." if left else ""
    table = Table(
        title="By layer",
        headings=("", "what", "part", "worst", "limit", "place of the worst, mm", "places"),
        rows=tuple(_row(group) for group in groups),
        note="Places are in the coordinates of the part's file: as printed, z = 0 on the bed. What "
        "fails needs support or another shape; what warns prints, less neatly. Filled: fails; "
        "hatched: warns; grey: the layer that it lies on, or the one below where something begins "
        f"over nothing.{more} All places: print_findings in result.json.",
    )
    return PrintPlaces(table=table, figures=figures)


def _grouped(findings: Sequence[PrintFinding]) -> list[list[PrintFinding]]:
    groups: dict[tuple[Severity, str, str, float], list[PrintFinding]] = {}
    for one in findings:
        key = (one.severity, one.kind, one.part, round(one.at_mm[2], 3))
        groups.setdefault(key, []).append(one)
    return [_worst_first(group) for group in groups.values()]


def _worst_first(group: list[PrintFinding]) -> list[PrintFinding]:
    """Those farthest beyond their limit first."""
    return sorted(group, key=lambda one: -abs(one.value - one.limit))


def _title(kind: str) -> str:
    return next(check.title for check in PRINT_CHECKS if check.id == kind)


def _row(group: Sequence[PrintFinding]) -> tuple[str, ...]:
    worst = group[0]
    return (
        worst.severity.value,
        _title(worst.kind),
        worst.part,
        f"{_figure(worst)} {worst.unit}",
        f"{worst.limit:g} {worst.unit}",
        ", ".join(f"{value:.1f}" for value in worst.at_mm),
        str(len(group)),
    )


def _figure(one: PrintFinding) -> str:
    fine = one.unit == "mm" and abs(one.value) < FINE_BELOW_MM
    return f"{one.value:.{2 if fine else 1}f}"


def _caption(group: Sequence[PrintFinding]) -> str:
    worst = group[0]
    told: dict[str, list[int]] = {}
    for k, one in enumerate(group, start=1):
        told.setdefault(one.what, []).append(k)
    words = [f"{_numbers(numbers)}: {what}" for what, numbers in list(told.items())[:TOLD_MOST]]
    more = "; others less" if len(told) > len(words) else ""
    return (
        f"{_title(worst.kind).capitalize()}, {worst.severity.value}: {worst.part} at z "
        f"{worst.at_mm[2]:g} mm. {'; '.join(words)}{more}."
    )


def _numbers(numbers: Sequence[int]) -> str:
    """1, 3 to 5: runs are drawn together."""
    runs: list[list[int]] = []
    for k in numbers:
        if runs and runs[-1][-1] == k - 1:
            runs[-1].append(k)
        else:
            runs.append([k])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)
