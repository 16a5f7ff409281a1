"""Pieces of the report's page: tables, figures, drawings side by side at one scale, sections."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from html import escape

from generators.report.values import Figure, Table

__all__ = [
    "ReportSection",
    "blank",
    "contents",
    "figure",
    "kept_as",
    "one_scale",
    "own_ids",
    "paragraphs",
    "section_html",
    "table",
    "table_row",
    "titled",
]

GAP_PX = 24.0  # between drawings side by side
PX_PER_MM = 96.0 / 25.4  # CSS Values and Units Level 3: 1in is 96px
LARGEST = 1.6  # times true size, on a wide screen
BARS_MM = (200.0, 100.0, 50.0, 20.0, 10.0, 5.0)
STACKED = 4  # columns from which a phone shows a row's cells below each other
BROAD = 7  # columns from which a table takes the whole width of a paper
BAR_SHARE = 0.45  # of the widest drawing, at most
NUMBER = re.compile(
    r"[<>]?[-+\N{MINUS SIGN}]?[\d.,]+( \N{MULTIPLICATION SIGN} [\d.,]+)*"
    r"( ?(%|\N{DEGREE SIGN}|\N{NO-BREAK SPACE}V))?"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class ReportSection:
    """A titled part of the page; with an empty ``parts`` it is left out. ``short``: its name in
    the contents, where that differs. ``at``: its address on the page."""

    title: str
    parts: Sequence[str]
    short: str = ""

    @property
    def at(self) -> str:
        """Address on the page, of its name in the contents."""
        return "-".join(re.findall(r"[a-z0-9]+", (self.short or self.title).lower()))


def section_html(section: ReportSection) -> str:
    """The section under its heading."""
    return (
        f'<section id="{section.at}" aria-labelledby="{section.at}-title">'
        f'<h2 id="{section.at}-title">{escape(section.title)}</h2>{"".join(section.parts)}'
        "</section>"
    )


def contents(sections: Sequence[ReportSection]) -> str:
    """Links to all sections."""
    rows = "".join(
        f'<li><a href="#{one.at}">{escape(one.short or one.title)}</a></li>' for one in sections
    )
    return (
        '<nav aria-label="Contents"><details id="contents" open><summary>Contents</summary>'
        f"<ol>{rows}</ol></details></nav>"
    )


def paragraphs(texts: Sequence[str], *, kind: str = "") -> list[str]:
    """One a text."""
    word = f' class="{kind}"' if kind else ""
    return [f"<p{word}>{escape(text)}</p>" for text in texts]


def table(headings: Sequence[str], rows: Sequence[str], *, kind: str = "", label: str = "") -> str:
    """A table of ready rows that scrolls by itself where it is too wide."""
    head = "".join(f'<th scope="col">{escape(text)}</th>' for text in headings)
    kinds = [kind] if kind else []
    kinds += ["stacked"] if len(headings) >= STACKED and kind != "checks" else []
    word = f' class="{" ".join(kinds)}"' if kinds else ""
    name = f' aria-label="{escape(label)}"' if label else ""
    return (
        f'<div class="wide"><table{word}{name}><thead><tr>{head}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def titled(one: Table) -> str:
    """A table under its title, with its note."""
    rows = [
        table_row(one.headings, row, filled_in=one.title if one.filled_in else "")
        for row in one.rows
    ]
    note = f'<p class="small">{escape(one.note)}</p>' if one.note else ""
    body = table(one.headings, rows, label=one.title)
    kind = "titled broad" if len(one.headings) >= BROAD else "titled"
    return f'<div class="{kind}"><h3>{escape(one.title)}</h3>{body}{note}</div>'


def table_row(
    headings: Sequence[str], entries: Sequence[str], *, at: str = "", filled_in: str = ""
) -> str:
    """One row, its figures to the right, each cell with its heading for a narrow screen.

    ``at``: the row's address on the page; ``filled_in``: name of the table whose empty cells are
    blanks to write into, "": they stay empty."""
    cells = []
    for heading, entry in zip(headings, entries, strict=True):
        kind = " class=n" if NUMBER.fullmatch(entry) else " class=empty" if not entry else ""
        shown = escape(entry)
        if filled_in and not entry:
            words = f"{heading}, {entries[0]}"
            kind, shown = "", blank(words, filled_in, words)
        cells.append(f'<td{kind} data-of="{escape(heading)}">{shown}</td>')
    return f"<tr{f' id={at}' if at else ''}>{''.join(cells)}</tr>"


def kept_as(*words: str) -> str:
    """Name under which the browser keeps a tick or a blank: it follows the text alone, so that a
    pack made again keeps what was done and asks anew for what changed."""
    return sha256("\n".join(words).encode()).hexdigest()[:12]


def blank(words: str, *kept: str) -> str:
    """A place to write into, kept by the browser; ``words``: what it is for."""
    return f'<input type="text" data-keep="{kept_as(*kept)}" aria-label="{escape(words)}">'


def own_ids(svg: str, prefix: str) -> str:
    """The picture with names of its own for its patterns and clips: a page has many pictures."""
    for name in sorted(set(re.findall(r'\bid="([^"]+)"', svg))):
        svg = svg.replace(f'id="{name}"', f'id="{prefix}{name}"')
        svg = svg.replace(f"url(#{name})", f"url(#{prefix}{name})")
        svg = svg.replace(f'href="#{name}"', f'href="#{prefix}{name}"')
    return svg


def figure(one: Figure, at: str) -> str:
    """A picture with its caption; ``at``: its address on the page."""
    kind = "tinted" if one.tinted else "line"
    return (
        f'<figure id="{at}" class="{kind}">{own_ids(one.svg, f"{at}-")}'
        f"<figcaption>{escape(one.caption)}</figcaption></figure>"
    )


def one_scale(
    figures: Sequence[Figure], at: str, style: Callable[[str], None], *, bar: bool = True
) -> str:
    """Drawings side by side, a millimetre the same in all of them, over a scale bar.

    Each grows by its own width as drawn; on a phone they stand below each other, the widest across
    the page. ``at``: address of the row on the page, ``style`` takes the rules that it needs."""
    wide = [float(_view_box(one.svg)[2]) for one in figures]
    total, most = sum(wide), max(wide)
    length = next((mm for mm in BARS_MM if mm <= BAR_SHARE * most), BARS_MM[-1])
    gaps = GAP_PX * (len(wide) - 1)
    style(f"#{at}{{max-width:{total * PX_PER_MM * LARGEST + gaps:.0f}px}}")
    for k, own in enumerate(wide):
        style(f"#{at}-{k}{{flex:{own:.3f} 1 0;--share:{100 * own / most:.4f}%}}")
    style(f"#{at}-bar{{--row:{length / total:.6f};--gaps:{gaps:g}px;--alone:{length / most:.6f}}}")
    shown = "".join(figure(one, f"{at}-{k}") for k, one in enumerate(figures))
    ruler = (
        f'<p class="ruler"><span id="{at}-bar" aria-hidden="true"></span>{length:g} mm, '
        f"{'both drawings' if len(wide) == 2 else 'all drawings'} at one scale</p>"
        if bar
        else ""
    )
    return f'<div class="scaled" id="{at}"><div class="side">{shown}</div>{ruler}</div>'


def _view_box(svg: str) -> list[str]:
    found = re.search(r'viewBox="([^"]*)"', svg)
    if found is None:
        raise ValueError("a drawing without a view box has no scale")
    return found[1].split()
