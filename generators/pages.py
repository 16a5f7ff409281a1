"""Drawings and report of a run: what is shown, gathered from plan, parts and proofs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from generators.drawings.enclosed_plan import enclosed_plan
from generators.drawings.linework import LineSheet, sheet_svg
from generators.drawings.pictures import Cans, PartPicture, PictureJob, Pictures
from generators.drawings.placing import placing_plan
from generators.drawings.plan import face_plan
from generators.drawings.pocket import pocket_section
from generators.drawings.shorts import short_pictures
from generators.drawings.wiring_plan import wiring_plan
from generators.exports.bill import BillRow, numbered_rows
from generators.made_part import MadePart, MeshedPart
from generators.packfile.faults import Caution
from generators.print_answer import PrintAnswer
from generators.proven import Proofs
from generators.report.case_cautions import case_cautions
from generators.report.commissioning import commissioning_html
from generators.report.cutting import cutting_figures, cutting_tables
from generators.report.electrical import electrical_tables
from generators.report.harness import harness_table, wiring_figure
from generators.report.label import label_figure, label_sheet
from generators.report.machine import asked_tables
from generators.report.maps import map_figures
from generators.report.metal_figures import metal_figures
from generators.report.order import after_building, order_of_work
from generators.report.overview import block_of, facts_of, lead_of, space_of
from generators.report.page import report_html
from generators.report.print_places import print_places
from generators.report.printing import printing_tables
from generators.report.second_holder import second_holder_tables
from generators.report.shaded import shaded_figures
from generators.report.values import Figure, PartRow, Report
from generators.report.wall_maps import wall_figures
from generators.report.welding import balance_lead_table, ladder_figure, weld_figures
from generators.shaded.painted import Painted
from generators.version import VERSION
from generators.welding import WeldSheets
from layouts.brackets.framed import pads_of_part
from layouts.checks import Check
from layouts.holders.second_holder import HolderFit
from layouts.pack import Face
from layouts.parts.part import Part
from layouts.parts.shell import Rect, ring_of
from layouts.planning.mass import Mass, printed_mass_g
from layouts.planning.pack_plan import PackPlan

__all__ = ["picture_job", "write_pages"]

# A pack of more cells is pulled apart with one holder tile of each face and its cells only:
# thousands of cylinders say nothing and take long to draw.
CANS_MOST = 400
# So many pieces of each kind get pictures of their own; the others look much like them.
PICTURED_MOST = 4

POCKET_CAPTION = (
    "Sections through a pocket of the lower holder with cell, ring and strip in place, at a "
    "positive end. Hatched: printed parts (ring: hatched finely); black: strip. Links are left out."
)

GENERAL_CAUTIONS = (
    "Lithium cells burn, and a burning cell can set its neighbours alight: no spacing or holder "
    "known stops that. Charge and work where a fire can be left to burn out; keep an exit clear.",
    "The pack cannot be switched off while it is built: cover what is not being worked on, take "
    "rings and watches off, check polarity before every weld, never bridge.",
    "Fuse the pack: the main fuse within 180 mm of pack plus, and each balance lead protected "
    "at its source end. Sleeve the bare strip tails and keep loose lead ends insulated.",
    "Fit the insulating rings first: a strip that crosses a bare positive rim shorts the cell.",
    "Checks cover what is drawn, not what was printed, welded or screwed: measure the prints, "
    "pull-test welds, load-test the brackets before anyone rides. Local codes and licensed "
    "practice come first.",
)


def picture_job(plan: PackPlan, made: Sequence[MeshedPart]) -> PictureJob:
    """What the drawing process needs; its work is bounded however many tiles there are."""
    cell, cell_layout = plan.pack.cell, plan.cell_layout
    large = _large(plan)
    pictured = _pictured(made)
    tiled = ("holder_lower", "holder_upper", "barrier")
    seen: set[str] = set()
    parts = []
    for one in made:
        role = one.part.role
        # of a large pack the first tile of each face alone, and no barriers
        left_out = large and role in tiled and (role in seen or role == "barrier")
        seen.add(role)
        if left_out and one.name not in pictured:
            continue
        parts.append(
            PartPicture(
                name=one.name,
                role=role,
                vertices_mm=one.mesh.vertices_mm,
                faces=one.mesh.faces,
                placed=() if left_out else one.part.placed,
                aside=_aside(plan, one.part) if role == "bracket" else (),
                alone=one.name in pictured,
                view=one.part.view,
                supports=tuple((loose.vertices_mm, loose.faces) for loose in one.supports),
            )
        )
    shown = cell_layout.xy_mm[cell_layout.tile == 0] if large else cell_layout.xy_mm
    return PictureJob(
        parts=tuple(parts),
        cans=Cans(xy_mm=shown[:CANS_MOST], diameter_mm=cell.diameter_mm, length_mm=cell.length_mm),
    )


def _aside(plan: PackPlan, part: Part) -> tuple[tuple[float, float], ...]:
    """The way out of the wall that each copy of a bracket stands on."""
    return tuple(plan.enclosure.pads[k].normal for k in pads_of_part(plan.bracket, part))


def _large(plan: PackPlan) -> bool:
    return len(plan.cell_layout.xy_mm) > CANS_MOST


def _pictured(made: Sequence[MeshedPart]) -> dict[str, int]:
    """Parts with pictures of their own, and of each kind's last one how many more there are."""
    kinds: dict[str, list[str]] = {}
    for one in made:
        kinds.setdefault(one.part.role, []).append(one.name)
    return {
        name: len(names) - PICTURED_MOST if k == PICTURED_MOST - 1 else 0
        for names in kinds.values()
        for k, name in enumerate(names[:PICTURED_MOST])
    }


def write_pages(
    folder: Path,
    plan: PackPlan,
    made: Sequence[MadePart],
    *,
    mass: Mass,
    checks: Sequence[Check],
    cautions: Sequence[Caution],
    bill: Sequence[BillRow],
    proven: Proofs,
    pictures: Pictures,
    painted: Painted,
    weld: WeldSheets,
    printed: PrintAnswer,
    fit: HolderFit,
    source_text: str,
) -> None:
    """Write drawings/*.svg, report.html and commissioning.html."""
    near = short_pictures(plan.pack, plan.cell_layout, plan.interconnect, plan.shorts)
    named = _drawings(plan, made, pictures, weld)
    label = label_sheet(plan)
    named["label"] = sheet_svg(label)
    maps = {} if _large(plan) else map_figures(plan)
    named |= {name: one.svg for name, one in maps.items()}
    named |= {f"short-{kind}": svg for kind, svg in near.items()}
    if plan.placed is not None:
        named["placing"] = placing_plan(plan.pack, plan.placed)
    drawings = folder / "drawings"
    drawings.mkdir()
    for name, svg in named.items():
        (drawings / f"{name}.svg").write_text(svg + "\n", encoding="utf-8")
    report = _report(
        plan,
        made,
        mass=mass,
        checks=checks,
        cautions=cautions,
        bill=bill,
        proven=proven,
        pictures=pictures,
        painted=painted,
        weld=weld,
        named=named,
        near=near,
        printed=printed,
        fit=fit,
        source_text=source_text,
        label=label,
        maps=tuple(maps.values()),
    )
    (folder / "report.html").write_text(report_html(report), encoding="utf-8")
    sheet = commissioning_html(plan, mass_kg=mass.total_g / 1000.0)
    (folder / "commissioning.html").write_text(sheet, encoding="utf-8")


def _drawings(
    plan: PackPlan, made: Sequence[MadePart], pictures: Pictures, weld: WeldSheets
) -> dict[str, str]:
    """SVG of each drawing that every pack has, by its file's name."""
    faces = _face_plans(plan)
    return {
        "upper-face": faces[Face.UPPER],
        "lower-face": faces[Face.LOWER],
        "exploded": pictures.exploded,
        "pocket": pocket_section(plan, made),
        **_enclosed(plan),
        "balance-leads": sheet_svg(weld.ladder),
        **{f"weld-plan-{face.value}": sheet_svg(sheet) for face, sheet in weld.plans.items()},
        **{f"{name}-above": svg for name, svg in pictures.above.items()},
        **{f"{name}-below": svg for name, svg in pictures.below.items()},
    }


def _enclosed(plan: PackPlan) -> dict[str, str]:
    """The plan of an enclosure with compartments, the wiring plan where ways are decided."""
    if plan.enclosure_set is None:
        return {}
    found = {"enclosure-plan": enclosed_plan(plan)} if plan.enclosure.compartments else {}
    if plan.enclosure.ways:
        found["wiring-plan"] = sheet_svg(wiring_plan(plan))
    return found


def _face_plans(plan: PackPlan) -> dict[Face, str]:
    surround: tuple[NDArray[np.float64], ...] = ()
    if plan.enclosure_set is not None:
        surround = (
            np.array(ring_of(plan.enclosure.shell.outer)),
            _corners(plan.enclosure.board.plan),
        )
    return {
        face: face_plan(
            plan.pack,
            plan.cell_layout,
            plan.interconnect,
            plan.cell_block.outline,
            face,
            surround=surround,
        )
        for face in (Face.UPPER, Face.LOWER)
    }


def _report(
    plan: PackPlan,
    made: Sequence[MadePart],
    *,
    mass: Mass,
    checks: Sequence[Check],
    cautions: Sequence[Caution],
    bill: Sequence[BillRow],
    proven: Proofs,
    pictures: Pictures,
    painted: Painted,
    weld: WeldSheets,
    named: Mapping[str, str],
    near: Mapping[str, str],
    printed: PrintAnswer,
    fit: HolderFit,
    source_text: str,
    label: LineSheet,
    maps: tuple[Figure, ...],
) -> Report:
    """All that the report shows; ``named``: drawings by file name, ``near``: of short checks."""
    return Report(
        name=plan.pack.name,
        tool=f"Cellstead {VERSION}",
        lead=lead_of(plan),
        block=block_of(plan, mass, proven),
        label=label_figure(plan, label),
        maps=maps,
        pack_file=source_text,
        facts=facts_of(plan, mass, proven, fit, printed.printing),
        space=space_of(plan, proven),
        checks=tuple(checks),
        cautions=_cautions(plan, cautions),
        notes=plan.notes,
        steps=(*order_of_work(plan), *after_building(plan)),
        plans=_face_figures(plan, named),
        enclosed=_enclosed_figure(plan, named),
        section=Figure(svg=named["pocket"], caption=POCKET_CAPTION),
        exploded=Figure(svg=pictures.exploded, caption=_exploded_caption(plan, made)),
        parts=_part_rows(plan, made, pictures),
        metal=metal_figures(plan),
        bill=numbered_rows(bill),
        shaded=shaded_figures(painted, plan.pack.name),
        electrical=electrical_tables(plan.pack, plan.electrical),
        machine=asked_tables(plan.pack, plan.electrical),
        welding=weld_figures(plan, weld, large=_large(plan)),
        ladder=ladder_figure(weld, large=_large(plan)),
        balance_leads=balance_lead_table(plan),
        wiring=wiring_figure(plan),
        harness=harness_table(plan),
        cutting=cutting_tables(plan.pack, plan.interconnect),
        nested=cutting_figures(plan.pack, plan.interconnect),
        shorts=_short_figures(near),
        placing=_placing_figure(named),
        printing=printing_tables(plan.pack, printed.printing),
        print_places=print_places(printed.printability.findings),
        walls=wall_figures(printed.printability),
        second_holder=second_holder_tables(fit),
    )


def _face_figures(plan: PackPlan, named: Mapping[str, str]) -> tuple[Figure, ...]:
    around = "" if plan.enclosure_set is None else " Dashed: tub and BMS board."
    return (
        Figure(svg=named["upper-face"], caption=f"Upper face.{around}"),
        Figure(
            svg=named["lower-face"],
            caption="Lower face, mirrored: as seen with the pack turned over about its long "
            f"axis.{around}",
        ),
    )


def _short_figures(near: Mapping[str, str]) -> tuple[Figure, ...]:
    return tuple(
        Figure(svg=svg, caption=f"Check short_{kind}, at worst case.") for kind, svg in near.items()
    )


def _placing_figure(named: Mapping[str, str]) -> Figure | None:
    """Cells placed in an outline; None where they lie on a lattice."""
    if "placing" not in named:
        return None
    return Figure(svg=named["placing"], caption="The space's plan, seen from above.")


def _enclosed_figure(plan: PackPlan, named: Mapping[str, str]) -> Figure | None:
    """An enclosure's compartments in plan; None of forms that have none."""
    stands = "" if plan.pack.space is None else ", in the plan of its space"
    if "enclosure-plan" not in named:
        return None
    return Figure(
        svg=named["enclosure-plan"],
        caption=f"The enclosure with its compartments from above{stands}.",
    )


def _cautions(plan: PackPlan, cautions: Sequence[Caution]) -> tuple[str, ...]:
    return (
        *(f"{caution.field}: {caution.text}" for caution in cautions),
        *plan.cautions,
        *case_cautions(plan),
        *GENERAL_CAUTIONS,
    )


def _corners(rect: Rect) -> NDArray[np.float64]:
    return np.array(
        [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)]
    )


def _exploded_caption(plan: PackPlan, made: Sequence[MadePart]) -> str:
    barriers = ", barriers" if plan.barriers and not _large(plan) else ""
    if plan.enclosure_set is None:
        tile = "one tile of " if _large(plan) else ""
        return f"From below: {tile}the lower holder, its cells{barriers}, the upper holder."
    brackets = "; brackets beside" if any(one.part.role == "bracket" for one in made) else ""
    if _large(plan):
        return (
            "From below: tub, one tile of the lower holder, its cells, the same tile of the "
            f"upper holder, lid{brackets}. The other tiles are not shown."
        )
    return f"From below: tub, lower holder, cells{barriers}, upper holder, lid{brackets}."


def _part_rows(plan: PackPlan, made: Sequence[MadePart], pictures: Pictures) -> tuple[PartRow, ...]:
    """What is printed."""
    pictured = _pictured(made)
    return tuple(
        _part_row(plan, one, pictures, pictured.get(one.name))
        for one in made
        if one.part.is_printed
    )


def _part_row(plan: PackPlan, one: MadePart, pictures: Pictures, others: int | None) -> PartRow:
    """``others``: pieces of the kind that are not drawn, mentioned with its last drawn one; None:
    not
    drawn itself.
    """
    low, high = one.box_mm
    more = f"; {others} more of this kind are not drawn" if others else ""
    return PartRow(
        name=one.name,
        count=len(one.part.placed),
        box_mm=(high[0] - low[0], high[1] - low[1], high[2] - low[2]),
        volume_mm3=one.solid_mm3,
        mass_g=printed_mass_g(plan.pack, one.solid_mm3),
        print_note=one.part.print_note,
        figures=()
        if others is None
        else (
            Figure(svg=pictures.above[one.name], caption=f"as printed, from above{more}"),
            Figure(svg=pictures.below[one.name], caption=f"as printed, from below{more}"),
        ),
    )
