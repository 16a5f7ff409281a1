"""The folder of the fit gauge: the part to print, its sheet, the form of readings."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from generators.exports.paper import Paper
from generators.exports.print_files import write_part_files
from generators.exports.step import StepKind, write_part_step
from generators.exports.tiled_pdf import FOOT_MM, write_tiled_pdf
from generators.gauges.form import form_text
from generators.gauges.sheet import gauge_sheets
from generators.making import made_part
from generators.own_files import file_rows
from layouts.gauges.drawing import gauge_part
from layouts.gauges.sizes import GaugeSizes, gauge_settings
from layouts.gauges.values import drawn_of
from layouts.pack import Pack
from layouts.printing.estimate import PrintEffort, effort_of
from layouts.printing.lines import part_lines
from layouts.printing.sections import layer_stack
from layouts.printing.settings import settings_words

__all__ = ["FORM", "MARK", "GaugeOutcome", "write_gauge"]

MARK = "gauge.json"  # the file by which an earlier result is known
FORM = "readings.yaml"


@dataclass(frozen=True, kw_only=True, slots=True)
class GaugeOutcome:
    """What there is to tell of a gauge."""

    effort: PrintEffort
    told: str


def write_gauge(folder: Path, pack: Pack, sizes: GaugeSizes, *, paper: Paper) -> GaugeOutcome:
    """Write all files into ``folder``, which exists; ``MARK`` last. OSError passes through.

    Raises PlanError where the gauge can't be drawn."""
    part = gauge_part(sizes)
    made = made_part(part)
    settings = gauge_settings(pack.printer)
    stack = layer_stack(part, pack.printer.layer_mm)
    effort = effort_of(part_lines(stack, settings), pack.printer)
    printed = (
        f"About {60 * effort.hours:.0f} min and {effort.filament_g:.0f} g with "
        f"{settings_words(settings)}"
    )
    write_part_files(folder, pack.name, made)
    write_part_step(
        folder / f"{part.name}.step", part.name, StepKind(solid=made.shape, colour=part.colour)
    )
    write_tiled_pdf(
        folder / "sheet.pdf",
        gauge_sheets(sizes, printed, room_mm=paper.room_mm(foot_mm=FOOT_MM)),
        name=pack.name,
        title="fit gauge",
        paper=paper,
    )
    (folder / FORM).write_text(form_text(pack.name, drawn_of(sizes)), encoding="utf-8")
    row = {
        "pack": pack.name,
        "can_mm": sizes.can_mm,
        "steps_mm": list(sizes.steps_mm),
        "hours": round(effort.hours, 3),
        "filament_g": round(effort.filament_g, 2),
        "files": file_rows(folder, but=MARK),
    }
    text = json.dumps(row, indent=1, ensure_ascii=False, allow_nan=False)
    (folder / MARK).write_text(text + "\n", encoding="utf-8")
    return GaugeOutcome(effort=effort, told=printed)
