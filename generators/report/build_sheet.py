"""The build sheet on the page: steps with boxes that keep their ticks, blanks for readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from html import escape

from generators.report.markup import kept_as, titled
from generators.report.values import Stage

__all__ = ["build_sheet_html"]

KEPT = (
    "Ticks and readings stay in this browser on this machine, by the text of each step: a pack "
    "made again keeps them, and asks anew for what changed. The printed sheet shows them."
)


def build_sheet_html(stages: Sequence[Stage], pack_name: str) -> list[str]:
    """All stages in order, below a line that counts the ticks."""
    if not stages:
        return []
    steps = sum(len(stage.steps) for stage in stages if stage.ticked)
    count = (
        f'<p class="count"><output id="done" data-of="{steps}">{steps} steps</output> '
        f'<button type="button" id="untick">Clear all ticks</button></p>'
    )
    return [
        f'<p class="small kept">{KEPT}</p>{count}<div class="stages">',
        *(_stage(stage, pack_name) for stage in stages),
        "</div>",
    ]


def _stage(stage: Stage, pack_name: str) -> str:
    rows = "".join(
        _ticked(step, stage.title, pack_name) if stage.ticked else f"<li>{escape(step)}</li>"
        for step in stage.steps
    )
    kind = "ol" if stage.ticked else "ul"
    tables = "".join(titled(replace(one, filled_in=True)) for one in stage.tables)
    return (
        f'<div class="stage"><h3>{escape(stage.title)}</h3><{kind} class="steps">{rows}</{kind}>'
        f"{tables}</div>"
    )


def _ticked(step: str, title: str, pack_name: str) -> str:
    kept = kept_as(pack_name, title, step)
    return (
        f'<li><label><input type="checkbox" data-keep="{kept}"><span>{escape(step)}</span>'
        "</label></li>"
    )
