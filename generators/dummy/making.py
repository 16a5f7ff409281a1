"""One mock-up: its pieces and sheets written beside and swapped in, measured and reported."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from generators.atomic_folder import written_beside
from generators.dummy.card import CardPiece
from generators.dummy.card_parts import bracket_pieces, drill_plans, head_pieces, outlet_pieces
from generators.dummy.compare import (
    OutsideMesh,
    compare,
    outer_surface,
    share_check,
    surface_check,
)
from generators.dummy.guide import card_guide, print_guide
from generators.dummy.outside import MockupOutside, bare_outside, outside_of
from generators.dummy.pieces import PrintedPiece, lines_of, pieces_of
from generators.dummy.sections import united
from generators.dummy.sheets_dxf import write_sheets_dxf
from generators.dummy.sheets_pdf import write_sheets_pdf
from generators.dummy.unfold import WallProjection, blocks_of, body_pieces
from generators.exports.paper import Paper
from generators.exports.plates import PlateObject, bed_parts, lay_on_beds, write_plates
from generators.exports.stl import write_stl
from generators.exports.threemf import PrintObject, write_3mf
from generators.fixes.judging import Changed
from generators.form_choice import plan_with_form
from generators.made_part import MadePart
from generators.making import made_part
from generators.own_files import file_rows
from generators.proofs.mesh_facts import mesh_facts
from generators.proofs.meshes import MeshFacts
from generators.result import check_row, plain
from layouts.brackets.framed import FrameBrackets, NoBrackets
from layouts.checks import Check, worst_of
from layouts.errors import PlanError
from layouts.pack import Pack
from layouts.parts.fasteners import Into
from layouts.planning.pack_plan import PackPlan
from layouts.planning.parts_list import parts_of

__all__ = ["MARK", "CardSet", "DummyOutcome", "Wanted", "card_set", "make_dummy", "printed_pieces"]

MARK = "dummy.json"  # the file by which an earlier result is known
COLOUR = (0.80, 0.82, 0.84)
FLOW_MM_S = 50.0  # mean speed of a quick print's lines; common practice, no source
SAME_MM = 1e-6

Progress = Callable[[str, float], None]


@dataclass(frozen=True, kw_only=True, slots=True)
class Wanted:
    """What is required. ``card_mm``: thickness of the card."""

    printed: bool = True
    sheets: bool = True
    card_mm: float = 3.0
    paper: Paper = Paper.A4


@dataclass(frozen=True, kw_only=True, slots=True)
class DummyOutcome:
    """Where the files are, which checks do not hold, and the figures to report."""

    folder: Path
    failed: tuple[Check, ...]
    told: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CardSet:
    """All card pieces, and the blocks that stand out of the walls."""

    pieces: tuple[CardPiece, ...]
    blocks: tuple[WallProjection, ...]


def make_dummy(
    pack: Pack,
    wanted: Wanted,
    *,
    out_dir: Path,
    report_progress: Progress,
    changed: Changed | None = None,
) -> DummyOutcome:
    """Make the mock-up of a pack in ``out_dir/<name>-dummy``; ``out_dir`` exists.

    ``changed``: the pack of the file with changed keys, for the enclosure's form where the file
    leaves it open.

    Raises PlanError where the pack can't be planned or has no enclosure. That, OSError and
    KeyboardInterrupt pass through, the last good result left as it was.
    """
    report_progress("planning the pack", 0.0)
    plan, _ = plan_with_form(pack, changed)
    if plan.enclosure_set is None:
        raise PlanError(
            field="enclosure.style",
            value=pack.enclosure.style.value,
            why="has no outside of its own for a mock-up",
            remedy="write tub",
        )
    _refuse_unlike_brackets(plan)
    report_progress("drawing its parts", 0.1)
    made = [made_part(part) for part in parts_of(plan)]
    report_progress("deriving its outside", 0.3)
    outside = outside_of(plan, made)
    row: dict[str, Any] = {"pack": pack.name}
    checks: list[Check] = []
    told: list[str] = []
    name = f"{pack.name}-dummy"
    with written_beside(out_dir, name, holds=MARK, notes=told) as beside:
        if wanted.printed:
            report_progress("making printed pieces", 0.4)
            pieces = printed_pieces(plan, made, outside)
            _write_pieces(beside, plan, pieces)
            report_progress("comparing with the pack", 0.6)
            row["print"], told_print, checks = _measured(plan, made, pieces)
            told.append(told_print)
        if wanted.sheets:
            report_progress("unfolding", 0.9)
            row["sheets"], told_sheets = _write_sheets(beside, plan, outside, wanted)
            told.append(told_sheets)
        row["checks"] = [check_row(check) for check in checks]
        row["files"] = file_rows(beside, but=MARK)
        text = json.dumps(row, indent=1, ensure_ascii=False)
        (beside / MARK).write_text(text + "\n", encoding="utf-8")
        report_progress("done", 1.0)
    return DummyOutcome(
        folder=out_dir / name,
        failed=tuple(check for check in checks if not check.holds),
        told=tuple(told),
    )


def _refuse_unlike_brackets(plan: PackPlan) -> None:
    """A mock-up has one bracket, copied."""
    bracket = plan.bracket
    if isinstance(bracket, NoBrackets):
        field, what = "mount.hold", "there are none"
    elif isinstance(bracket, FrameBrackets) and len(bracket.designs) > 1:
        field, what = "mount.frame", f"these are of {len(bracket.designs)} sizes"
    else:
        return
    raise PlanError(
        field=field,
        why=f"a mock-up is made with brackets that are all alike, and {what}",
        remedy="delete the key for the mock-up: its brackets then stand on mount.holes_mm",
    )


def printed_pieces(
    plan: PackPlan, made: Sequence[MadePart], outside: MockupOutside
) -> tuple[PrintedPiece, ...]:
    """All pieces to print."""
    first = next(one for one in plan.bracket.screws if one.into is not Into.FRAME)
    onto = outside.brackets[0].part.placed[0][:3, :3].T @ -first.out
    return pieces_of(
        outside,
        [one for one in plan.bracket.screws if one.on == 1],
        plan.pack.printer,
        (float(onto[0]), float(onto[1]), float(onto[2])),
    )


def dummy_surface(pieces: Sequence[PrintedPiece]) -> OutsideMesh:
    """The outside of all pieces put together."""
    return outer_surface(
        united(solid for one in pieces if one.measured for solid in one.pressed_on())
    )


def piece_checks(facts: MeshFacts, *, bed_mm: tuple[float, float, float]) -> tuple[Check, ...]:
    """A piece's mesh is closed and faces outwards, and it fits the printer."""
    low, high = (np.array(corner) for corner in facts.box_mm)
    size = high - low
    over = max(float(sorted(size[:2])[k] - sorted(bed_mm[:2])[k]) for k in range(2))
    over = max(over, float(size[2]) - bed_mm[2])
    remedy = "a fault of the tool, not of the pack file: keep the file and the log"
    sound = facts.watertight and facts.volume
    return (
        Check(
            id="dummy_watertight", about=f"{facts.name}: the mesh is closed and oriented outwards",
            holds=sound, value=float(sound), limit=1.0, unit="", source="geometry",
            remedy=remedy, where=facts.name,
        ),
        Check(
            id="dummy_fits_bed", about=f"{facts.name}: overhang over the bed",
            holds=over <= SAME_MM, value=over, limit=0.0, unit="mm", source="geometry",
            remedy="a larger printer.bed_mm", at_least=False, where=facts.name,
        ),
    )  # fmt: skip


def _measured(
    plan: PackPlan, made: Sequence[MadePart], pieces: Sequence[PrintedPiece]
) -> tuple[dict[str, Any], str, list[Check]]:
    """The print's figures as JSON's own kinds, one line of them, and its checks."""
    bed = plan.pack.printer.bed_mm
    facts = [mesh_facts(one.name, one.mesh.vertices_mm, one.mesh.faces) for one in pieces]
    alone = worst_of(check for one in facts for check in piece_checks(one, bed_mm=bed))
    apart = compare(outer_surface(bare_outside(plan, made)), dummy_surface(pieces))
    volume = sum(one.volume_mm3 * one.count for one in pieces)
    whole = sum(one.solid_mm3 * len(one.part.placed) for one in made)
    checks = [share_check(volume, whole), surface_check(apart), *alone]
    lines = lines_of(plan.pack.printer)
    hours = volume / (lines.wall_mm * lines.layer_mm * FLOW_MM_S) / 3600.0
    row = {
        "volume_mm3": plain(volume),
        "share_of_pack": plain(volume / whole),
        "line_mm": lines.wall_mm,
        "layer_mm": lines.layer_mm,
        "hours_about": round(hours, 1),
        "outside": plain(apart),
        "pieces": [
            {
                "name": one.name, "count": one.count, "note": one.note,
                "volume_mm3": plain(one.volume_mm3), "placed": plain(one.placed),
                "stands_for_outside": one.measured,
            }
            for one in pieces
        ],
    }  # fmt: skip
    worst = max(apart.to_dummy_mm, apart.to_pack_mm)
    told = (
        f"print: {sum(one.count for one in pieces)} pieces, {100 * volume / whole:.1f} % of the "
        f"pack's filament, about {math.ceil(hours)} h; outside within {worst:.2f} mm"
    )
    return row, told, checks


def _write_pieces(folder: Path, plan: PackPlan, pieces: Sequence[PrintedPiece]) -> None:
    """STL and 3MF of every piece, all on plates, and the guide."""
    into = folder / "print"
    into.mkdir()
    name = plan.pack.name
    for one in pieces:
        write_stl(into / f"{one.name}.stl", one.mesh)
        write_3mf(
            into / f"{one.name}.3mf",
            [PrintObject(name=one.name, mesh=one.mesh, colour=COLOUR)],
            f"{name} dummy {one.name}",
        )
    objects = [
        PlateObject(
            name=one.name, mesh=one.mesh, bodies=(one.mesh,), colour=COLOUR, count=one.count
        )
        for one in pieces
    ]
    laid, _ = lay_on_beds(bed_parts(objects), plan.pack.printer)
    write_plates(into, f"{name} dummy", objects, laid)
    guide = print_guide(plan, pieces, lines_of(plan.pack.printer))
    (into / "guide.txt").write_text("\n".join(guide) + "\n", encoding="utf-8")


def card_set(plan: PackPlan, outside: MockupOutside, card_mm: float) -> CardSet:
    """Everything to be cut, and the drilling plan."""
    shell = plan.enclosure.shell
    blocks = blocks_of(outside, shell)
    pieces = (
        *body_pieces(outside, shell, blocks, card_mm),
        *bracket_pieces(plan.bracket, card_mm),
        *head_pieces(outside.heads, card_mm),
        *outlet_pieces(outside.outlets),
        *drill_plans(shell, plan.bracket),
    )
    return CardSet(pieces=pieces, blocks=blocks)


def _write_sheets(
    folder: Path, plan: PackPlan, outside: MockupOutside, wanted: Wanted
) -> tuple[dict[str, Any], str]:
    cards = card_set(plan, outside, wanted.card_mm)
    guide = card_guide(plan, cards.pieces, cards.blocks, wanted.card_mm)
    pages = write_sheets_pdf(
        folder / "sheets.pdf", cards.pieces, name=plan.pack.name, paper=wanted.paper, text=guide
    )
    write_sheets_dxf(folder / "sheets.dxf", cards.pieces)
    row = {
        "card_mm": wanted.card_mm,
        "paper": wanted.paper.value,
        "pages": pages,
        "pieces": [
            {"name": one.name, "title": one.title, "count": one.count,
             "size_mm": [round(v, 2) for v in one.size_mm]}
            for one in cards.pieces
        ],
    }  # fmt: skip
    count = sum(one.count for one in cards.pieces if not one.paper)
    return row, f"sheets: {count} pieces of card {wanted.card_mm:g} mm on {pages} pages"
