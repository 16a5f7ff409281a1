"""The report: one self-contained page that begins with failed checks and their fixes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files

from generators.report.shaded import ShadedFigures, shaded_html
from layouts.checks import Check

__all__ = ["Figure", "PartRow", "Report", "Stage", "Table", "report_html"]

FACES_WORDS = (
    "A positive end is marked with a ring (fit its insulating ring first) and +; a negative end "
    "with \N{MINUS SIGN}. The number is the group, 1 at pack minus. Links between groups are "
    "hatched; rows within a group are grey."
)
TIMES = " \N{MULTIPLICATION SIGN} "


@dataclass(frozen=True, kw_only=True, slots=True)
class Figure:
    """A picture (SVG text) and what it shows."""

    svg: str
    caption: str


@dataclass(frozen=True, kw_only=True, slots=True)
class PartRow:
    """One printed part as the report lists it."""

    name: str
    count: int
    box_mm: tuple[float, float, float]
    volume_mm3: float
    mass_g: float
    print_note: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A titled table and a line below it; ``note`` "" for none."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Stage:
    """A titled run of steps of the build sheet; ``ticked``: each has a box to tick.

    ``tables``: to be filled in, below the steps."""

    title: str
    steps: tuple[str, ...]
    ticked: bool = True
    tables: tuple[Table, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Report:
    """All that the page shows; nothing is computed on it.

    ``steps``: the build sheet in order. ``welding``: weld plans and the order of the balance leads,
    ``balance_leads`` their voltages; ``cutting``: lists of strips and plates, ``nested``: plates on
    their stock. ``shorts``: where bare metal comes too near, nothing where all holds. ``placing``:
    cells placed in the space's outline. ``printing``: hours, filament and cost.
    ``machine``: what it asks by its mass, speed and slopes. ``shaded``: the pack as it looks, None:
    not drawn."""

    name: str
    tool: str
    lead: str
    facts: tuple[tuple[str, str], ...]
    space: tuple[str, ...]
    checks: tuple[Check, ...]
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    steps: tuple[Stage, ...]
    plans: tuple[Figure, ...]
    section: Figure | None
    exploded: Figure
    parts: tuple[PartRow, ...]
    bill: Sequence[Sequence[str]]  # first row: headings
    electrical: tuple[Table, ...] = ()
    welding: tuple[Figure, ...] = ()
    balance_leads: Table | None = None
    cutting: tuple[Table, ...] = ()
    nested: tuple[Figure, ...] = ()
    shorts: tuple[Figure, ...] = ()
    placing: Figure | None = None
    printing: tuple[Table, ...] = ()
    shaded: ShadedFigures | None = None
    machine: tuple[Table, ...] = ()


def report_html(report: Report) -> str:
    """The page as text; no link, no script, nothing from outside."""
    css = files("generators.report").joinpath("report.css").read_text(encoding="utf-8")
    body = [
        f"<h1>{escape(report.name)}</h1>",
        f'<p class="lead">{escape(report.lead)}</p>',
        _verdict(report),
        shaded_html(report.shaded.cutaway) if report.shaded else "",
        _facts(report.facts),
        _section("Hours, filament and cost of the print", [*map(_titled, report.printing)]),
        _section("Cautions", [_caution(text) for text in report.cautions]),
        _section("Insufficient clearance", [*map(_figure, report.shorts)]),
        _section(
            "Cell placement in the space", [_figure(report.placing)] if report.placing else []
        ),
        _section(
            "Faces: polarity, groups, strips and main leads",
            [
                f'<p class="small">{FACES_WORDS}</p>',
                '<div class="pair">' + "".join(map(_figure, report.plans)) + "</div>",
            ],
        ),
        _section("Assembly", _assembly(report)),
        _section("What the machine asks", [*map(_titled, report.machine)]),
        _section("Currents, fuse, wire, heat", [*map(_titled, report.electrical)]),
        _section(
            "Weld plans and balance leads",
            [
                *map(_figure, report.welding),
                *([_titled(report.balance_leads)] if report.balance_leads else []),
            ],
        ),
        _section(
            "Cutting list",
            [*map(_titled, report.cutting), *map(_figure, report.nested)],
        ),
        _section("Build sheet", [*map(_stage, report.steps)]),
        _section("Notes", [f"<p>{escape(text)}</p>" for text in report.notes]),
        _section("Printed parts", [_parts_table(report.parts), *map(_part, report.parts)]),
        _section(
            "Checks",
            [
                '<p class="small">Cells are numbered from 1, as cell-1, cell-2, ... in '
                "assembly.step and in the order of result.json: by group, then along its rows.</p>",
                _checks_table(report.checks),
            ],
        ),
        _section("Bill of materials", [_bill(report.bill)]),
        f'<p class="small">Made by {escape(report.tool)}. Printed parts are checked as drawn: '
        "measure the prints. This pack is not certified to any standard; local rules and "
        "licensed practice come first.</p>",
    ]
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" '
        'content="width=device-width, initial-scale=1"><meta name="color-scheme" '
        f'content="light dark"><title>{escape(report.name)}: design '
        f"checks</title><style>{css}</style></head><body>{''.join(body)}</body></html>\n"
    )


def _assembly(report: Report) -> list[str]:
    """The pack pulled apart, as it looks and in lines, then the section through a pocket."""
    return [
        *([shaded_html(report.shaded.exploded)] if report.shaded else []),
        _figure(report.exploded),
        *([_figure(report.section)] if report.section else []),
    ]


def _section(title: str, parts: Sequence[str]) -> str:
    return f"<section><h2>{escape(title)}</h2>{''.join(parts)}</section>" if parts else ""


def _verdict(report: Report) -> str:
    failed = [check for check in report.checks if not check.holds]
    space = "".join(f"<p>{escape(text)}</p>" for text in report.space)
    if not failed:
        return (
            f'<div class="verdict"><strong>Design checks: all {len(report.checks)} '
            f"pass.</strong> <span>Nothing is built or tested yet.</span>{space}</div>"
        )
    rows = "".join(
        f"<li><b>{escape(check.about)}</b>: {escape(_measured(check))}. Fix: "
        f"{escape(check.remedy)}.</li>"
        for check in failed
    )
    return (
        f'<div class="verdict fails"><strong>Design checks: {len(failed)} of '
        f"{len(report.checks)} fail.</strong>{space}<ul>{rows}</ul></div>"
    )


def _measured(check: Check) -> str:
    if check.value is None or check.limit is None:
        return "no"
    relation = "at least" if check.at_least else "at most"
    return (
        f"{_figure_text(check.value)} {check.unit}, {relation} {_figure_text(check.limit)} required"
    )


def _figure_text(value: float) -> str:
    if value == 0 or 1e-3 <= abs(value) < 1e6:
        return f"{value:.4g}"
    return f"{value:.1e}"


def _facts(facts: Sequence[tuple[str, str]]) -> str:
    rows = "".join(f"<li>{escape(name)}<b>{escape(value)}</b></li>" for name, value in facts)
    return f'<ul class="facts">{rows}</ul>'


def _caution(text: str) -> str:
    return f'<div class="caution"><p>{escape(text)}</p></div>'


def _stage(stage: Stage) -> str:
    box = "<span class=box></span>" if stage.ticked else ""
    rows = "".join(f"<li>{box}<span>{escape(step)}</span></li>" for step in stage.steps)
    kind = "ol" if stage.ticked else "ul"
    return (
        f'<div class="stage"><h3>{escape(stage.title)}</h3>'
        f'<{kind} class="steps">{rows}</{kind}></div>{"".join(map(_titled, stage.tables))}'
    )


def _figure(figure: Figure) -> str:
    return f"<figure>{figure.svg}<figcaption>{escape(figure.caption)}</figcaption></figure>"


def _part(part: PartRow) -> str:
    figures = "".join(map(_figure, part.figures))
    return f'<h3>{escape(part.name)}</h3><div class="pair">{figures}</div>' if figures else ""


def _table(headings: Sequence[str], rows: Sequence[str]) -> str:
    head = "".join(f"<th>{escape(text)}</th>" for text in headings)
    body = "".join(rows)
    return (
        f'<div class="wide"><table><thead><tr>{head}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>"
    )


def _titled(table: Table) -> str:
    rows = [
        "<tr>" + "".join(f"<td>{escape(entry)}</td>" for entry in row) + "</tr>"
        for row in table.rows
    ]
    note = f'<p class="small">{escape(table.note)}</p>' if table.note else ""
    return f"<h3>{escape(table.title)}</h3>{_table(table.headings, rows)}{note}"


def _parts_table(parts: Sequence[PartRow]) -> str:
    rows = [
        f"<tr><td>{escape(part.name)}</td><td class=n>{part.count}</td>"
        f"<td class=n>{TIMES.join(f'{v:.1f}' for v in part.box_mm)}</td>"
        f"<td class=n>{part.volume_mm3 / 1000:.1f}</td><td class=n>{part.mass_g:.0f}</td>"
        f"<td>{escape(part.print_note)}</td></tr>"
        for part in parts
    ]
    return _table(
        [
            "part",
            "count",
            "size as printed, mm",
            "volume, cm3",
            "mass at full infill, g",
            "print settings",
        ],
        rows,
    )


def _checks_table(checks: Sequence[Check]) -> str:
    rows = []
    for check in checks:
        value = "" if check.value is None else _figure_text(check.value)
        limit = "" if check.limit is None else _figure_text(check.limit)
        bound = "\N{GREATER-THAN OR EQUAL TO}" if check.at_least else "\N{LESS-THAN OR EQUAL TO}"
        rows.append(
            f"<tr{'' if check.holds else ' class=fails'}>"
            f"<td>{'pass' if check.holds else 'FAIL'}</td>"
            f"<td>{escape(check.about)}</td><td class=n>{value} {escape(check.unit)}</td>"
            f"<td class=n>{bound} {limit}</td><td>{escape(check.source)}</td></tr>"
        )
    return _table(["", "what", "measured", "limit", "source"], rows)


def _bill(rows: Sequence[Sequence[str]]) -> str:
    return _table(
        rows[0],
        [
            "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>"
            for row in rows[1:]
        ],
    )
