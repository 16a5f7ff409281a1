"""The top of the report: title block, verdict and the nearest limits."""

from __future__ import annotations

from html import escape

from generators.report.limits import bar_svg, figure_text, nearest, percent_words
from generators.report.markup import blank
from generators.report.values import Report
from layouts.checks import Check

__all__ = ["check_at", "measured", "title_block", "verdict"]

NEAREST = 4
FAILS = "<strong>fails</strong> "
NOTHING_BUILT = "The design was checked as drawn. Nothing is built or tested yet."


def title_block(report: Report) -> str:
    """Name, what it is and its main figures, ruled as on a drawing, with blanks for who builds
    it."""
    cells = "".join(
        f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>"
        for name, value in report.block
    )
    blanks = "".join(
        f"<div><dt>{words}</dt><dd>{blank(words, report.name, words)}</dd></div>"
        for words in ("built by", "date")
    )
    return (
        f'<header class="block"><div class="name"><h1>{escape(report.name)}</h1>'
        f'<p class="lead">{escape(report.lead)}</p></div>'
        f"<dl>{cells}{blanks}<div><dt>designed with</dt><dd>{escape(report.tool)}</dd></div></dl>"
        "</header>"
    )


def verdict(report: Report) -> str:
    """How many checks hold, what fails with its fix, and the limits that are nearest."""
    failed = [check for check in report.checks if not check.holds]
    count = len(report.checks)
    said = (
        f"{len(failed)} of {count} design checks fail"
        if failed
        else f"All {count} design checks pass"
    )
    space = "".join(f"<p>{escape(text)}</p>" for text in report.space)
    fixes = "".join(
        f'<li><a href="#{check_at(report, check)}">{escape(check.about)}</a>: '
        f"{escape(measured(check))}. <b>Fix:</b> {escape(check.remedy)}.</li>"
        for check in failed
    )
    return (
        f'<section class="verdict{" fails" if failed else ""}" aria-labelledby="verdict">'
        f'<div class="said"><h2 id="verdict">{said}</h2><p>{NOTHING_BUILT}</p>{space}</div>'
        f"{_nearest(report)}{f'<ol class=fixes>{fixes}</ol>' if failed else ''}</section>"
    )


def _nearest(report: Report) -> str:
    rows = "".join(
        f"<li>{bar_svg(check)}<b>{percent_words(check)}</b><div>{'' if check.holds else FAILS}"
        f'<a href="#{check_at(report, check)}">{escape(check.about)}</a> '
        f"<span>{_of_limit(check)}</span></div></li>"
        for check in nearest(report.checks, NEAREST)
    )
    if not rows:
        return ""
    whole = all(check.holds for check in report.checks)
    title = "Nearest to their limits" if whole else "Furthest past their limits"
    return (
        f'<div class="nearest"><h3>{title}</h3>'
        f'<ul>{rows}</ul><p class="small">Share of the limit that is used; the mark is the limit.'
        "</p></div>"
    )


def check_at(report: Report, check: Check) -> str:
    """Address of a check's row on the page."""
    return f"check-{report.checks.index(check) + 1}"


def _of_limit(check: Check) -> str:
    if check.value is None or check.limit is None:
        return ""
    bound = "at least" if check.at_least else "at most"
    unit = escape(f" {check.unit}" if check.unit else "")
    return f"{figure_text(check.value)}{unit}, {bound} {figure_text(check.limit)}"


def measured(check: Check) -> str:
    """What was found of a failing check, and what is asked."""
    if check.value is None or check.limit is None:
        return "no"
    relation = "at least" if check.at_least else "at most"
    return (
        f"{figure_text(check.value)} {check.unit}, {relation} {figure_text(check.limit)} required"
    )
