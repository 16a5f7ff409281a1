"""The weld drawings and cutting templates of a plan, gathered once for report and files."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from generators.drawings.cut_templates import piece_sheet, strip_templates
from generators.drawings.linework import LineSheet
from generators.drawings.plate_pieces import plate_piece_sheet, plate_templates
from generators.drawings.plate_plan import plate_weld_plan
from generators.drawings.tap_ladder import balance_lead_ladder
from generators.drawings.weld_plan import face_title, weld_plan
from generators.exports.templates import TemplateJob
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan
from layouts.strips.sheets import SheetShape, cut_pieces

__all__ = ["WeldSheets", "template_job", "weld_sheets"]


@dataclass(frozen=True, kw_only=True, slots=True)
class WeldSheets:
    """All of them: as seen by who welds, and as a machine cuts them, in the pack's own x and y."""

    plans: dict[Face, LineSheet]
    ladder: LineSheet
    templates: tuple[LineSheet, ...]
    flat: tuple[LineSheet, ...]


def weld_sheets(plan: PackPlan) -> WeldSheets:
    """Draw all sheets of a plan."""
    if plan.interconnect.plates:
        return _plate_sheets(plan)
    pack, cell_layout, interconnect = plan.pack, plan.cell_layout, plan.interconnect
    outline = plan.cell_block.outline
    plans = {
        face: weld_plan(pack, cell_layout, interconnect, outline, face)
        for face in (Face.LOWER, Face.UPPER)  # as they are welded
    }
    flat = {
        face: weld_plan(pack, cell_layout, interconnect, outline, face, mirrored=False)
        for face in Face
    }
    pieces = piece_sheet(
        pack,
        cell_layout,
        interconnect,
        cut_pieces(cell_layout, interconnect, SheetShape(pack.strip.shape)),
    )
    return WeldSheets(
        plans=plans,
        ladder=balance_lead_ladder(pack, interconnect),
        templates=strip_templates(pack, cell_layout, interconnect),
        flat=(
            *(replace(sheet, name=f"strips-{face.value}") for face, sheet in flat.items()),
            pieces,
        ),
    )


def _plate_sheets(plan: PackPlan) -> WeldSheets:
    """All sheets of a pack of plates."""
    pack, cell_layout, interconnect = plan.pack, plan.cell_layout, plan.interconnect

    def drawn(face: Face, *, for_a_machine: bool) -> LineSheet:
        mirrored = face is Face.LOWER and not for_a_machine
        return plate_weld_plan(
            pack, cell_layout, interconnect, plan.cell_block.outline, face,
            title=face_title(face, mirrored=mirrored), mirrored=mirrored, legend=not for_a_machine,
        )  # fmt: skip

    faces = (Face.LOWER, Face.UPPER)
    flat = {face: drawn(face, for_a_machine=True) for face in Face}
    return WeldSheets(
        plans={face: drawn(face, for_a_machine=False) for face in faces},
        ladder=balance_lead_ladder(pack, interconnect),
        templates=plate_templates(pack, cell_layout, interconnect),
        flat=(
            *(replace(sheet, name=f"strips-{face.value}") for face, sheet in flat.items()),
            plate_piece_sheet(pack, cell_layout, interconnect),
        ),
    )


def template_job(folder: Path, plan: PackPlan, sheets: WeldSheets) -> TemplateJob:
    """What is written into ``folder``, which exists."""
    return TemplateJob(
        folder=folder,
        name=plan.pack.name,
        prints=(*sheets.plans.values(), sheets.ladder, *sheets.templates),
        drawings=sheets.flat,
    )
