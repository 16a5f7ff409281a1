"""The report's list of checks, folded by groups, and the sources that they refer to."""

from __future__ import annotations

from html import escape

from generators.report.check_groups import CheckGroup, grouped
from generators.report.head import check_at
from generators.report.limits import (
    bar_svg,
    figure_text,
    is_at_limit,
    nearest,
    percent_words,
)
from generators.report.markup import table
from generators.report.values import Report
from layouts.checks import Check

__all__ = ["check_groups_html", "source_list", "sources_of"]

READ = (
    "Open a group for its figures. A bar shows how much of the limit is used: the mark is the "
    "limit, past it the check fails and the bar is hatched. A figure set to its limit on purpose "
    "has no bar. Temperatures count from 0 \N{DEGREE SIGN}C. Numbers in brackets: the sources."
)
NUMBERED = (
    "Cells are numbered from 1, as cell-1, cell-2, ... in assembly.step and in the order of "
    "result.json: by group, then along its rows."
)
HEADINGS = ("", "what", "found", "limit", "used", "source")


def check_groups_html(report: Report) -> list[str]:
    """All groups, open where one fails; a line on how to read them first."""
    sources = sources_of(report.checks)
    return [
        f'<p class="small">{READ} {NUMBERED}</p>',
        *(_group(report, group, sources) for group in grouped(report.checks)),
    ]


def sources_of(checks: tuple[Check, ...]) -> dict[str, int]:
    """The number of each source, by its text, in the order in which the groups name them."""
    texts = (check.source for group in grouped(checks) for check in group.checks)
    return {text: k for k, text in enumerate(dict.fromkeys(texts), start=1)}


def source_list(report: Report) -> list[str]:
    """Every source with how many checks take it."""
    counts: dict[str, int] = {}
    for check in report.checks:
        counts[check.source] = counts.get(check.source, 0) + 1
    rows = "".join(
        f'<li id="source-{number}">{escape(text)} <span>({counts[text]} '
        f"check{'' if counts[text] == 1 else 's'})</span></li>"
        for text, number in sources_of(report.checks).items()
    )
    return [f'<ol class="sources">{rows}</ol>'] if rows else []


def _group(report: Report, group: CheckGroup, sources: dict[str, int]) -> str:
    worst = nearest(group.checks, 1)
    bar = bar_svg(worst[0]) if worst else ""
    rows = [_row(report, check, sources) for check in group.checks]
    return (
        f'<details class="group"{" open" if group.failed else ""}><summary>'
        f"<h3>{escape(group.title)}</h3><span>{escape(_told(group))}</span>{bar}</summary>"
        f"{table(HEADINGS, rows, kind='checks', label=group.title)}</details>"
    )


def _told(group: CheckGroup) -> str:
    """The group in a line."""
    count = len(group.checks)
    said = f"{group.failed} of {count} fail" if group.failed else f"all {count} pass"
    worst = nearest(group.checks, 1)
    if worst and not group.failed:
        said += f", at most {percent_words(worst[0])} of a limit used"
    chosen = sum(is_at_limit(check) and bool(check.unit) for check in group.checks)
    return said + (f"; {chosen} set to the limit" if chosen else "")


def _row(report: Report, check: Check, sources: dict[str, int]) -> str:
    value = "" if check.value is None else f"{figure_text(check.value)} {check.unit}".strip()
    bound = "\N{GREATER-THAN OR EQUAL TO}" if check.at_least else "\N{LESS-THAN OR EQUAL TO}"
    limit = "" if check.limit is None else f"{bound} {figure_text(check.limit)}"
    where = f" <span>{escape(check.where)}</span>" if check.where else ""
    fix = "" if check.holds else f"<br><b>Fix:</b> {escape(check.remedy)}."
    number = sources[check.source]
    return (
        f'<tr id="{check_at(report, check)}"{"" if check.holds else " class=fails"}>'
        f'<td class="state">{"pass" if check.holds else "FAIL"}</td>'
        f'<td class="about">{escape(check.about)}{where}{fix}</td>'
        f"<td class=n>{escape(value)}</td><td class=n>{limit}</td>"
        f'<td class="share">{bar_svg(check)}<span>{percent_words(check)}</span></td>'
        f'<td class="source"><a href="#source-{number}" title="{escape(check.source)}">'
        f"[{number}]</a></td></tr>"
    )
