"""The report: one self-contained page, from the verdict to the pack file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape

from generators.report.build_sheet import build_sheet_html
from generators.report.check_list import check_groups_html, source_list
from generators.report.document import document_html
from generators.report.head import title_block, verdict
from generators.report.markup import (
    ReportSection,
    contents,
    figure,
    one_scale,
    paragraphs,
    section_html,
    table,
    table_row,
    titled,
)
from generators.report.shaded import shaded_html
from generators.report.values import Figure, PartRow, PrintPlaces, Report

__all__ = ["report_html"]

FACES_WORDS = (
    "A positive end is marked with a ring (fit its insulating ring first) and +; a negative end "
    "with \N{MINUS SIGN}. The number is the group, 1 at pack minus. Links between groups are "
    "hatched; rows within a group are grey."
)
TIMES = " \N{MULTIPLICATION SIGN} "
# what fails is hatched by one pattern, wherever its bar stands
HATCH = (
    '<svg class="off" width="0" height="0" aria-hidden="true"><defs><pattern id="over" '
    'width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="3.4" height="5"/></pattern></defs></svg>'
)
FOOT = (
    "Printed parts are checked as drawn: measure the prints. This pack is not certified to any "
    "standard; local rules and licensed practice come first."
)


def report_html(report: Report) -> str:
    """The page as text; nothing from outside, and no script or style but its own."""
    rules: list[str] = []
    shown = [one for one in _sections(report, rules.append) if one.parts]
    body = [
        '<a class="skip" href="#checks">Skip to the checks</a>',
        HATCH,
        contents(shown),
        "<div>",
        title_block(report),
        "<main>",
        verdict(report),
        shaded_html(report.shaded.cutaway) if report.shaded else "",
        *map(section_html, shown),
        "</main>",
        f"<footer><p>Made by {escape(report.tool)}. {FOOT}</p></footer></div>",
    ]
    return document_html(
        f"{report.name}: design checks",
        "".join(body),
        styles=("report.css",),
        rules="".join(rules),
        scripts=("keep.js", "report.js"),
    )


def _sections(report: Report, style: Callable[[str], None]) -> tuple[ReportSection, ...]:
    """All sections in their order; ``style`` takes the rules that their drawings need."""
    return (
        ReportSection(title="Checks", parts=check_groups_html(report)),
        ReportSection(title="At a glance", parts=_facts(report.facts)),
        ReportSection(title="Cautions",
                parts=_within("cautions", paragraphs(report.cautions, kind="caution"))),
        ReportSection(title="Notes", parts=_within("cautions", paragraphs(report.notes))),
        ReportSection(title="Insufficient clearance", parts=_figures(report.shorts, "short")),
        ReportSection(title="Cell placement in the space", short="Cell placement",
                parts=_figures((report.placing,) if report.placing else (), "placing")),
        ReportSection(title="Assembly", parts=_assembly(report)),
        ReportSection(title="Faces: polarity, groups, strips and main leads", short="Both faces",
                parts=_faces(report, style)),
        ReportSection(title="Currents and temperatures on the pack", short="Currents, temperatures",
                parts=[one_scale(report.maps, "maps", style)] if report.maps else []),
        ReportSection(title="Currents, fuse, wire, heat",
                parts=_within("tables", [*map(titled, report.electrical)])),
        ReportSection(title="What the machine asks",
                parts=_within("tables", [*map(titled, report.machine)])),
        ReportSection(title="Weld plans and balance leads", short="Weld plans",
                parts=_weld(report, style)),
        ReportSection(title="Cutting list",
                parts=[*_within("tables", [*map(titled, report.cutting)]),
                       *_figures(report.nested, "cut")]),
        ReportSection(title="Build sheet", parts=build_sheet_html(report.steps, report.name)),
        ReportSection(title="Label",
                parts=[figure(report.label, "pack-label")] if report.label else []),
        ReportSection(title="Hours, filament and cost of the print", short="Hours and cost",
                parts=_within("tables", [*map(titled, report.printing)])),
        ReportSection(title="Does the second holder go on?", short="Second holder",
                parts=_within("tables", [*map(titled, report.second_holder)])),
        ReportSection(title="Printing: places to look at", short="Printing",
                parts=_print_places(report.print_places)),
        ReportSection(title="Thickness of walls", short="Walls", parts=_walls(report.walls)),
        ReportSection(title="Printed parts", parts=_parts(report.parts)),
        ReportSection(title="Sheet metal, for a shop", short="Sheet metal",
                parts=_figures(report.metal, "metal")),
        ReportSection(title="Bill of materials", parts=_bill(report.bill)),
        ReportSection(title="Sources", parts=source_list(report)),
        ReportSection(title="Pack file", parts=_pack_file(report)),
    )  # fmt: skip


def _within(kind: str, parts: Sequence[str]) -> list[str]:
    """The parts in a frame of their own, which paper sets in columns; no frame round nothing."""
    return [f'<div class="{kind}">{"".join(parts)}</div>'] if parts else []


def _facts(facts: Sequence[tuple[str, str]]) -> list[str]:
    rows = "".join(
        f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in facts
    )
    return [f'<dl class="facts">{rows}</dl>'] if rows else []


def _figures(figures: Sequence[Figure], at: str) -> list[str]:
    return [figure(one, f"{at}-{k}") for k, one in enumerate(figures)]


def _assembly(report: Report) -> list[str]:
    """The pack pulled apart, then its plan and the section through a pocket."""
    lines = [("enclosed", report.enclosed), ("pocket", report.section)]
    apart = (
        shaded_html(report.shaded.exploded)
        if report.shaded
        else figure(report.exploded, "exploded-view")
    )
    beside = "".join(figure(one, at) for at, one in lines if one is not None)
    return _within("assembled", [apart, f"<div>{beside}</div>"])


def _faces(report: Report, style: Callable[[str], None]) -> list[str]:
    return [
        *paragraphs([FACES_WORDS], kind="small"),
        one_scale(report.plans, "faces", style),
    ]


def _weld(report: Report, style: Callable[[str], None]) -> list[str]:
    return [
        *([one_scale(report.welding, "weld", style)] if report.welding else []),
        *([figure(report.ladder, "ladder")] if report.ladder else []),
        *([titled(report.balance_leads)] if report.balance_leads else []),
        *([figure(report.wiring, "wiring")] if report.wiring else []),
        *([titled(report.harness)] if report.harness else []),
    ]


def _print_places(places: PrintPlaces | None) -> list[str]:
    """All places in a table, then the layers that they lie on."""
    if places is None:
        return []
    drawn = "".join(_figures(places.figures, "place"))
    return [*_within("tables", [titled(places.table)]), f'<div class="places">{drawn}</div>']


def _walls(figures: Sequence[Figure]) -> list[str]:
    return [f'<div class="places">{"".join(_figures(figures, "wall"))}</div>'] if figures else []


def _parts(parts: Sequence[PartRow]) -> list[str]:
    headings = (
        "part",
        "count",
        "size as printed, mm",
        "volume, cm3",
        "mass at full infill, g",
        "print settings",
    )
    rows = [
        table_row(
            headings,
            (
                part.name,
                str(part.count),
                TIMES.join(f"{v:.1f}" for v in part.box_mm),
                f"{part.volume_mm3 / 1000:.1f}",
                f"{part.mass_g:.0f}",
                part.print_note,
            ),
        )
        for part in parts
    ]
    pictured = "".join(
        f'<div class="part"><h3>{escape(part.name)}</h3><div class="views">'
        f"{''.join(_figures(part.figures, f'part-{part.name}'))}</div></div>"
        for part in parts
        if part.figures
    )
    return [table(headings, rows), f'<div class="parts">{pictured}</div>'] if parts else []


def _bill(rows: Sequence[Sequence[str]]) -> list[str]:
    """Each row can be reached by its number, from the pictures."""
    if not rows:
        return []
    numbered = rows[0][0] == "no."
    body = [table_row(rows[0], row, at=f"bill-{row[0]}" if numbered else "") for row in rows[1:]]
    return [table(rows[0], body, kind="bill")]


def _pack_file(report: Report) -> list[str]:
    """The text that all of this follows from."""
    if not report.pack_file:
        return []
    return [
        '<p class="small">All of this page follows from it; saved as a file it makes the same '
        "again.</p>",
        f'<details class="file"><summary>{escape(report.name)}.yaml</summary>'
        f"<pre>{escape(report.pack_file)}</pre></details>",
    ]
