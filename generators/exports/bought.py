"""What is bought besides cells, strip and screws: insulation, board, fuses and wires."""

from __future__ import annotations

import math

from generators.exports.bill import BillRow, sheet_row
from layouts.electrical.fuse_protection import FuseProtection
from layouts.enclosures.tap_wires import balance_lead_runs
from layouts.enclosures.wire_checks import FUSE_WITHIN_MM
from layouts.planning.pack_plan import PackPlan

__all__ = ["FUSE_WITHIN_MM", "electrical_rows", "fuse_size", "insulation_rows"]


SHEET_MM = 0.5  # leaves 3 of the default gas gap free; common practice, no source
PAPER_MM = 0.25  # common practice, no source


def insulation_rows(plan: PackPlan) -> list[BillRow]:
    """Sheets over both faces and the paper round the cells."""
    pack = plan.pack
    x0, y0, x1, y1 = plan.cell_block.box_mm
    if plan.enclosure_set is not None:
        x0, y0, x1, y1 = plan.enclosure.shell.cavity.bounds
    wide, deep = x1 - x0, y1 - y0
    over = (
        "one over each face; cut-outs for screws and strip ends"
        if plan.enclosure_set is None
        else "one fixed to the lid, one on the floor; cut-outs for pads, bosses, board rests "
        "and drains"
    )
    return [
        sheet_row(
            "insulating sheet",
            width_mm=wide,
            length_mm=deep,
            thick_mm=SHEET_MM,
            count=2,
            note=f"flame-rated; {over}",
        ),
        sheet_row(
            "insulating paper",
            width_mm=pack.cell.length_mm - 2 * pack.holder.depth_mm,
            length_mm=math.fsum(
                abs(arc.sweep_rad) * arc.radius_mm for arc in plan.cell_block.outline.arcs
            ),
            thick_mm=PAPER_MM,
            count=1,
            note="flame-rated; around the cells between the two holders",
        ),
    ]


def electrical_rows(plan: PackPlan) -> list[BillRow]:
    """Board, fuses and wires."""
    pack, electrical = plan.pack, plan.electrical
    return [
        BillRow(
            item="BMS board",
            size=" x ".join(f"{v:g}" for v in pack.bms.board_mm) + " mm at most",
            count=1,
            note=f"{pack.series} cells in series, {pack.cell.chemistry}",
        ),
        _main_fuse_row(electrical.fuse_protection),
        BillRow(
            item="main lead wire",
            size=f"{pack.leads.wire_mm2:g} mm2",
            count=round(_main_lead_mm(plan) / 1000.0, 2),
            unit="m",
            note=_main_lead_note(plan),
        ),
        BillRow(
            item="balance leads",
            size=_wire_lengths(plan),
            count=pack.series + 1,
            note=f"AWG {electrical.balance_leads.awg}; one per joint of the string, each with a "
            f"{electrical.balance_leads.choice.fuse.rating_a:g} A fuse at its source end",
        ),
        *_charge_fuse_rows(plan),
    ]


def _main_lead_mm(plan: PackPlan) -> float:
    """All of the main leads: along their ways inside, where these are decided, and outside."""
    pack = plan.pack
    ways = () if plan.enclosure_set is None else plan.enclosure.ways
    inside = sum(way.cut_mm for way in ways if way.number.startswith("M"))
    # pack minus's way goes on to the connector; pack plus's ends at the fuse
    return inside + (1 if ways else 2) * pack.leads.length_mm


def _main_lead_note(plan: PackPlan) -> str:
    if plan.enclosure_set is not None and plan.enclosure.ways:
        return "lengths in the harness table; plus sleeving for the strip tails"
    return "one length per terminal; plus sleeving for the strip tails"


def fuse_size(of: FuseProtection) -> str:
    """Rating, DC volts and breaking capacity: those given, else the least that are required."""
    fuse = of.fuse
    volts = (
        f"at least {_up(of.needs_dc_v, 0.1):g} V DC" if fuse.dc_v is None else f"{fuse.dc_v:g} V DC"
    )
    breaking = (
        f"breaking capacity at least {_up(of.needs_breaking_a, 1.0):g} A"
        if fuse.breaking_a is None
        else f"breaking capacity {fuse.breaking_a:g} A"
    )
    return f"{fuse.rating_a:g} A, {volts}, {breaking}"


def _up(value: float, step: float) -> float:
    """Rounded up to whole steps; float noise is no step."""
    return round(math.ceil(value / step - 1e-6) * step, 6)


def _main_fuse_row(of: FuseProtection) -> BillRow:
    where = f"within {FUSE_WITHIN_MM:.0f} mm of pack plus"
    if of.given:
        whose = "as given in the pack file"
    elif of.fits:
        whose = "proposed: none is given in the pack file"
    else:
        whose = "proposed, but it does not carry the current: see the report"
    return BillRow(item="main fuse", size=fuse_size(of), count=1, note=f"{whose}; {where}")


def _charge_fuse_rows(plan: PackPlan) -> list[BillRow]:
    """The fuse of the charge leads, where their section is given."""
    charging = plan.electrical.charging
    if charging.fuse is None or plan.pack.charger is None:
        return []
    volts_v = max(plan.pack.charger.volts_v, plan.electrical.fuse_protection.needs_dc_v)
    return [
        BillRow(
            item="charge port fuse",
            size=f"{charging.fuse.fuse.rating_a:g} A, at least {_up(volts_v, 0.1):g} V DC",
            count=1,
            note="at the pack's end of the charge leads",
        )
    ]


def _wire_lengths(plan: PackPlan) -> str:
    """Shortest and longest balance lead; nothing where the board's place is not known."""
    if plan.enclosure_set is None:
        return ""
    wires = balance_lead_runs(
        plan.pack, plan.cell_layout, plan.interconnect, plan.enclosure.board, plan.enclosure.ways
    )
    lengths = [wire.length_mm for wire in wires]
    return f"{min(lengths):g} to {max(lengths):g} mm long"
