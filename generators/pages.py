"""Drawings and report of a run: what is shown, gathered from plan, parts and proofs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from generators.drawings.pictures import Cans, PartPicture, PictureJob, Pictures
from generators.drawings.plan import face_plan
from generators.drawings.pocket import pocket_section
from generators.exports.bill import HEADING, BillRow
from generators.making import MadePart
from generators.packfile.faults import Caution
from generators.parts.part import Part
from generators.proving import Proofs
from generators.report.page import Figure, PartRow, Report, report_html
from generators.version import VERSION
from layouts.checks import Check
from layouts.enclosure_values import Rect
from layouts.mass import Mass, printed_mass_g
from layouts.pack import Face
from layouts.pack_plan import PackPlan

__all__ = ["picture_job", "write_pages"]

# Drawings of fields beyond this many cells show no exploded cells: thousands of cylinders say nothing.
CANS_MOST = 400

GENERAL_CAUTIONS = (
    "Lithium cells burn, and a burning cell can set its neighbours alight: no spacing or holder "
    "known stops that. Charge and work where a fire can be left to burn out; keep a way out.",
    "The pack cannot be switched off while it is built: cover what is not being worked on, take "
    "rings and watches off, check polarity before every weld, never bridge.",
    "Fit the insulating rings first: a strip that crosses a bare positive rim shorts the cell.",
    "The enclosure is open: it sheds splashes and drains, it claims no protection class. Gas and "
    "flame leave by the slots under the lid's skirt: point them away from the rider.",
    "Checks cover what is drawn, not what was printed, welded or screwed: measure the prints, pull "
    "test welds, load the brackets before anyone rides. Local codes and licensed practice come first.",
)


def picture_job(plan: PackPlan, parts: Sequence[Part]) -> PictureJob:
    """What the drawing process needs."""
    cell = plan.pack.cell
    return PictureJob(
        parts=tuple(
            PartPicture(
                name=part.name, role=part.role, body=part.body, bores=part.bores,
                placed=part.placed,
            )
            for part in parts
        ),
        cans=Cans(
            xy_mm=plan.arrangement.xy_mm[:CANS_MOST],
            diameter_mm=cell.diameter_mm,
            length_mm=cell.length_mm,
        ),
    )


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
) -> None:
    """Write drawings/*.svg and report.html."""
    design = plan.enclosure
    surround = (_corners(design.outer), _corners(design.bay.board))
    plans = {
        face: face_plan(
            plan.pack, plan.arrangement, plan.joining, plan.core.outline, face, surround=surround
        )
        for face in (Face.UPPER, Face.LOWER)
    }
    section = pocket_section(plan, proven.placed)
    drawings = folder / "drawings"
    drawings.mkdir()
    named = {
        "upper-face": plans[Face.UPPER],
        "lower-face": plans[Face.LOWER],
        "exploded": pictures.exploded,
        "pocket": section,
        **{f"{name}-above": svg for name, svg in pictures.above.items()},
        **{f"{name}-below": svg for name, svg in pictures.below.items()},
    }
    for name, svg in named.items():
        (drawings / f"{name}.svg").write_text(svg + "\n", encoding="utf-8")
    report = Report(
        name=plan.pack.name,
        tool=f"Cellstead {VERSION}",
        lead=_lead(plan),
        facts=_facts(plan, mass, proven),
        space=_space(plan, proven),
        checks=tuple(checks),
        cautions=(*(caution.text for caution in cautions), *plan.cautions, *GENERAL_CAUTIONS),
        notes=plan.notes,
        plans=(
            Figure(svg=plans[Face.UPPER], caption="Upper face. Dashed: tub and BMS board."),
            Figure(
                svg=plans[Face.LOWER],
                caption="Lower face, mirrored: as you see it with the pack turned over about its "
                "long way. Dashed: tub and BMS board.",
            ),
        ),
        section=Figure(
            svg=section,
            caption="Cut through a pocket of the lower holder at a positive end, cell, ring and "
            "strip in place; the printed parts are hatched.",
        ),
        exploded=Figure(
            svg=pictures.exploded,
            caption="From below: tub, lower holder, cells, upper holder, lid; brackets beside.",
        ),
        parts=tuple(_part_row(plan, one, pictures) for one in made),
        bill=(HEADING, *(_bill_cells(row) for row in bill)),
    )
    (folder / "report.html").write_text(report_html(report), encoding="utf-8")


def _corners(rect: Rect) -> NDArray[np.float64]:
    return np.array(
        [(rect.x0, rect.y0), (rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1)]
    )


def _lead(plan: PackPlan) -> str:
    pack = plan.pack
    faces = plan.joining
    where = (
        f"both main leads leave the {faces.minus_face.value} face"
        if faces.minus_face is faces.plus_face
        else f"pack minus leaves the {faces.minus_face.value} face, pack plus the "
        f"{faces.plus_face.value} face"
    )
    return (
        f"{pack.series}S{pack.parallel}P of {pack.cell.format} ({pack.cell.chemistry}) on a "
        f"{pack.lattice.value}, {pack.series * pack.parallel} cells; {where}, towards +x."
    )


def _facts(plan: PackPlan, mass: Mass, proven: Proofs) -> tuple[tuple[str, str], ...]:
    pack, cell = plan.pack, plan.pack.cell
    volts = " / ".join(f"{pack.series * v:.1f}" for v in (cell.empty_v, cell.nominal_v, cell.full_v))
    hours = pack.parallel * cell.capacity_ah
    a, b, c = proven.size_mm
    return (
        ("volts empty / nominal / full", f"{volts} V"),
        ("capacity", f"{hours:.1f} Ah"),
        ("energy", f"{hours * pack.series * cell.nominal_v:.0f} Wh"),
        ("cells may give all the time", f"{pack.parallel * cell.continuous_a:.0f} A"),
        ("outside with brackets", f"{a:.0f} \N{MULTIPLICATION SIGN} {b:.0f} "
         f"\N{MULTIPLICATION SIGN} {c:.0f} mm"),
        ("mass (wires, BMS, screws not counted)", f"{mass.total_g / 1000:.2f} kg"),
        ("narrowest way for gas", f"{plan.gas.smallest_mm2:.0f} mm\N{SUPERSCRIPT TWO}"),
        ("printed plastic, solid", f"{mass.printed_g:.0f} g"),
    )


def _space(plan: PackPlan, proven: Proofs) -> tuple[str, ...]:
    space, fit = plan.pack.space, proven.box_fit
    if space is None or fit is None:
        return ("No space was given: give space.box_mm and the fit is checked too.",)
    a, b, c = space.box_mm
    gap = fit.smallest_gap_mm
    at = ", ".join(f"{v:.1f}" for v in fit.tightest_at_mm)
    word = "fits" if gap >= 0 else "does not fit"
    return (
        f"Space {a:g} \N{MULTIPLICATION SIGN} {b:g} \N{MULTIPLICATION SIGN} {c:g} mm: the pack {word}, "
        f"smallest gap {gap:.1f} mm towards {fit.tightest_direction}, at ({at}) in the space.",
    )


def _part_row(plan: PackPlan, one: MadePart, pictures: Pictures) -> PartRow:
    low, high = one.facts.box_mm
    return PartRow(
        name=one.name,
        count=len(one.part.placed),
        box_mm=(high[0] - low[0], high[1] - low[1], high[2] - low[2]),
        volume_mm3=one.solid_mm3,
        mass_g=printed_mass_g(plan.pack, one.solid_mm3),
        print_note=one.part.print_note,
        figures=(
            Figure(svg=pictures.above[one.name], caption="as printed, from above"),
            Figure(svg=pictures.below[one.name], caption="as printed, from below"),
        ),
    )


def _bill_cells(row: BillRow) -> tuple[str, ...]:
    return (row.item, row.size, f"{row.count:g}", row.unit, row.note)
