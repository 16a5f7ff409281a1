"""One run: from a pack to its folder of files, written beside and swapped in at the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, replace
from pathlib import Path

from generators.atomic_folder import written_beside
from generators.exports.bill import BillRow
from generators.exports.templates import TemplateJob
from generators.fixes.fixing import with_fixes
from generators.fixes.judging import Changed
from generators.fixes.refusals import with_tried_remedy
from generators.form_choice import plan_with_form
from generators.layer_work import LayerJob
from generators.made_part import LIBRARIES, MadePart, MeshedPart, meshed_part
from generators.makers import Makers, Painter, started_makers
from generators.packfile.faults import Caution
from generators.pages import picture_job, write_pages
from generators.print_answer import PrintAnswer
from generators.print_work import PrintJob
from generators.printed_bill import write_bill_of
from generators.proofs.alone import alone_checks
from generators.report.printing import printing_line
from generators.result import MARK, write_result
from generators.shaded.compile_state import COMPILING, is_compiled
from generators.shaded.painted import Painted, write_painted
from generators.solid_job import SolidJob
from generators.welding import WeldSheets, template_job, weld_sheets
from layouts.brackets.scripted import ScriptedBracket
from layouts.checks import Check
from layouts.errors import LibraryError, PlanError, told_by_field
from layouts.holders.second_holder import holder_fit
from layouts.pack import Pack
from layouts.parts.metal_piece import METAL
from layouts.placing.values import Effort
from layouts.planning.bed_items import bed_items
from layouts.planning.mass import Mass, mass_of, parts_mass
from layouts.planning.pack_plan import PackPlan, plan_checks
from layouts.planning.parts_list import metal_pieces, parts_of
from layouts.planning.solid_plates import solid_plates_mm

__all__ = ["Outcome", "make_pack"]

Progress = Callable[[str, float], None]


@dataclass(frozen=True, kw_only=True, slots=True)
class Outcome:
    """Where the files are, which checks do not hold, and what else to say; ``printing``: hours,
    filament and cost in a line."""

    folder: Path
    failed: tuple[Check, ...]
    printing: str
    notes: tuple[str, ...] = ()


def make_pack(
    pack: Pack,
    *,
    source_text: str,
    cautions: Sequence[Caution],
    out_dir: Path,
    report_progress: Progress,
    effort: Effort = Effort.BEST,
    changed: Changed | None = None,
    makers: Makers | None = None,
) -> Outcome:
    """Make everything of one pack in ``out_dir/<name>``.

    ``out_dir`` exists. ``effort``: of the search where cells are placed in an outline;
    ``changed``: the pack of the file with changed keys, for fixes that are tried before they are
    told, None: none is. ``makers``: processes that were started before, None: they are started
    now. All is written to a sibling folder first; the last good result is kept
    until the new one is whole. OSError, KeyboardInterrupt and PlanError (the pack can't be planned
    as its file has it) pass through, the sibling folder removed."""
    notes: list[str] = []
    with (
        written_beside(out_dir, pack.name, holds=MARK, notes=notes) as beside,
        started_makers() if makers is None else nullcontext(makers) as others,
    ):
        failed, printing = _write_all(
            pack, source_text, cautions, beside, report_progress, effort, changed, others
        )
    return Outcome(folder=out_dir / pack.name, failed=failed, notes=tuple(notes), printing=printing)


def _write_all(
    pack: Pack,
    source_text: str,
    cautions: Sequence[Caution],
    folder: Path,
    report_progress: Progress,
    effort: Effort,
    changed: Changed | None,
    makers: Makers,
) -> tuple[tuple[Check, ...], str]:
    """The checks that fail, and a line on hours, filament and cost."""
    report_progress("placing cells, strips and screws", 0.0)
    plan, changed = _planned(pack, effort, changed)
    weld = weld_sheets(plan)
    (folder / "templates").mkdir()
    makers.templates.start(_template_job(folder, plan, weld))
    report_progress("making parts", 0.05)
    meshed = [
        meshed_part(part, pack.printer if part.is_printed else None) for part in parts_of(plan)
    ]
    (folder / "parts").mkdir()
    makers.solids.start(solid_job(folder, plan, meshed))
    makers.meshes.start(plan, meshed, folder)
    makers.draughtsman.start(picture_job(plan, meshed))
    makers.painter.start(plan, meshed)
    makers.layers.start(layer_job(plan, meshed))
    makers.printing.start(print_job(folder, plan, meshed))
    fit = holder_fit(plan.pack, plan.cell_layout)
    made, bill, printed = _made_and_written(folder, plan, meshed, report_progress, makers)
    mass = _mass(plan, made)
    _write_source(folder, pack, source_text)
    report_progress("proving", 0.65)
    mass_kg = mass.total_g / 1000.0
    planned = plan_checks(plan, mass_kg=mass_kg)
    proven = makers.meshes.result()
    checks = (
        *planned,
        *proven.in_space,
        *alone_checks(made, proven.facts, pack.printer.bed_for_parts_mm),
        *proven.together,
        *printed.printability.checks,
    )
    if changed is not None:
        checks = with_fixes(checks, plan, mass_kg=mass_kg, changed=changed)
    painted = _painted(folder, makers.painter, bill, report_progress)
    report_progress("drawing and reporting", 0.85)
    write_pages(
        folder, plan, made, mass=mass, checks=checks, cautions=cautions, bill=bill, proven=proven,
        pictures=makers.draughtsman.result(), painted=painted, weld=weld, printed=printed,
        fit=fit, source_text=source_text,
    )  # fmt: skip
    makers.templates.finish()
    write_result(
        folder, plan, made, mass=mass, checks=checks, proven=proven, printed=printed, fit=fit
    )
    report_progress("done", 1.0)
    return tuple(check for check in checks if not check.holds), printing_line(printed.printing)


def _template_job(folder: Path, plan: PackPlan, weld: WeldSheets) -> TemplateJob:
    """Templates, and the files of sheet metal, whose folder is made where there is any."""
    pieces = metal_pieces(plan)
    if pieces:
        (folder / METAL).mkdir()
    job = template_job(folder / "templates", plan, weld)
    return replace(job, metal=pieces, metal_folder=folder / METAL if pieces else None)


def _mass(plan: PackPlan, made: Sequence[MadePart]) -> Mass:
    """Of the finished parts: printed ones by their solids, sheet metal by its flat pattern."""
    printed = [one.solid_mm3 * len(one.part.placed) for one in made if one.part.is_printed]
    _, metal_g = parts_mass(one.part for one in made)
    return mass_of(plan.pack, plan.interconnect, printed, sheet_metal_g=metal_g)


def _write_source(folder: Path, pack: Pack, source_text: str) -> None:
    """The pack file, and its bracket's script."""
    (folder / "pack.yaml").write_text(source_text, encoding="utf-8")
    given = pack.mount.given
    if isinstance(given, ScriptedBracket):
        (folder / given.name).write_text(given.source, encoding="utf-8")


def print_job(folder: Path, plan: PackPlan, meshed: Sequence[MeshedPart]) -> PrintJob:
    """What is to be printed."""
    printed = tuple(one for one in meshed if one.part.is_printed)
    return PrintJob(
        name=plan.pack.name,
        printer=plan.pack.printer,
        meshed=printed,
        solid_mm=solid_plates_mm(plan),
        folder=folder,
    )


def layer_job(plan: PackPlan, meshed: Sequence[MeshedPart]) -> LayerJob:
    """What layers are looked at."""
    parts = tuple(one.part for one in meshed if one.part.is_printed)
    return LayerJob(parts=parts, printer=plan.pack.printer, bed_items=bed_items(plan, parts))


def _painted(
    folder: Path, painter: Painter, bill: Sequence[BillRow], report_progress: Progress
) -> Painted:
    """The shaded pictures, written; the first run has to wait for their code."""
    if not is_compiled():
        report_progress(COMPILING, 0.8)
    painted = painter.result()
    painted.refuse_other_rows([(row.item, row.size) for row in bill])
    write_painted(folder / "pictures", painted)
    return painted


def solid_job(folder: Path, plan: PackPlan, meshed: Sequence[MeshedPart]) -> SolidJob:
    """What the kernel makes."""
    return SolidJob(
        name=plan.pack.name,
        parts=tuple(one.part for one in meshed),
        cells_mm=plan.cell_layout.xy_mm,
        can_diameter_mm=plan.pack.cell.diameter_mm,
        can_length_mm=plan.pack.cell.length_mm,
        folder=folder,
    )


def _made_and_written(
    folder: Path,
    plan: PackPlan,
    meshed: Sequence[MeshedPart],
    report_progress: Progress,
    makers: Makers,
) -> tuple[list[MadePart], tuple[BillRow, ...], PrintAnswer]:
    """The parts with their solids' volumes, the bill, and what is told of printing."""
    report_progress("making solids and files", 0.1)
    made = [
        MadePart(
            part=one.part,
            mesh=one.mesh,
            supports=one.supports,
            for_printer=one.for_printer,
            solid_mm3=volume_mm3,
        )
        for one, volume_mm3 in zip(meshed, makers.solids.result(), strict=True)
    ]
    report_progress("planning the printing", 0.4)
    printed = PrintAnswer(printing=makers.printing.result(), printability=makers.layers.result())
    with told_by_field("lattice", what="the parts' files", libraries=LIBRARIES):
        return made, write_bill_of(folder, plan, made, printed.printing), printed


def _planned(
    pack: Pack, effort: Effort, changed: Changed | None
) -> tuple[PackPlan, Changed | None]:
    """The plan, and the file with changed keys from then on; where there is no plan the refusal
    tells a change that was tried."""
    try:
        return plan_with_form(pack, changed, effort=effort)
    except LibraryError:  # no key of the pack's is at fault, and its cause belongs in the log
        raise
    except PlanError as error:
        told = error if changed is None else with_tried_remedy(error, pack, changed)
        if told is error:
            raise
        raise told from error
