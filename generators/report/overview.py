"""The report's title block and what it tells at a glance, from plan and proofs."""

from __future__ import annotations

from generators.proven import Proofs
from generators.report.electrical import LIMITS, electrical_facts
from generators.report.printing import printing_fact
from generators.report.second_holder import second_holder_line
from layouts.holders.second_holder import HolderFit
from layouts.planning.mass import Mass
from layouts.planning.pack_plan import PackPlan
from layouts.plates.labour import joint_labour, labour_words
from layouts.printing.totals import PackPrint

__all__ = ["block_of", "facts_of", "lead_of", "space_of"]

TIMES = " \N{MULTIPLICATION SIGN} "


def lead_of(plan: PackPlan) -> str:
    """The pack in a sentence."""
    pack = plan.pack
    faces = plan.interconnect
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


def block_of(plan: PackPlan, mass: Mass, proven: Proofs) -> tuple[tuple[str, str], ...]:
    """What the title block tells beside name and blanks."""
    pack, ratings = plan.pack, plan.electrical.ratings
    a, b, c = proven.size_mm
    fit = proven.box_fit
    limiting = LIMITS[ratings.limited_by].split(",")[0]
    return (
        ("cells", f"{pack.series}S{pack.parallel}P of {pack.cell.format}, {pack.cell.chemistry}"),
        ("voltage, nominal / full", f"{ratings.nominal_v:.1f} / {ratings.full_v:.1f} V"),
        ("capacity, energy", f"{ratings.capacity_ah:.1f} Ah, {ratings.energy_wh:.0f} Wh"),
        (f"current, limited by {limiting}", f"{ratings.pack_continuous_a:.1f} A"),
        ("outside", f"{a:.0f}{TIMES}{b:.0f}{TIMES}{c:.0f} mm"),
        ("mass, without wires and screws", f"{mass.total_g / 1000:.2f} kg"),
        *(() if fit is None else (("smallest gap in the space", f"{fit.smallest_gap_mm:.1f} mm"),)),
    )


def facts_of(
    plan: PackPlan, mass: Mass, proven: Proofs, fit: HolderFit, printing: PackPrint
) -> tuple[tuple[str, str], ...]:
    """Name and value of all that is told at a glance."""
    a, b, c = proven.size_mm
    return (
        *electrical_facts(plan.electrical),
        (
            "outside with brackets" if plan.enclosure_set else "held cells, vent space included",
            f"{a:.0f}{TIMES}{b:.0f}{TIMES}{c:.0f} mm",
        ),
        ("mass (without wires, BMS, screws)", f"{mass.total_g / 1000:.2f} kg"),
        *_gas_fact(plan),
        _labour_fact(plan),
        second_holder_line(fit),
        printing_fact(printing),
        ("printed plastic at full infill", f"{mass.printed_g:.0f} g"),
        *_metal_fact(mass),
    )


def _metal_fact(mass: Mass) -> tuple[tuple[str, str], ...]:
    if not mass.sheet_metal_g:
        return ()
    return (("brackets of sheet metal", f"{mass.sheet_metal_g:.0f} g"),)


def _labour_fact(plan: PackPlan) -> tuple[str, str]:
    labour = joint_labour(plan.pack, plan.interconnect)
    return (
        "work on the joints (minutes judged)",
        f"{labour_words(labour)}, about {labour.minutes:.0f} min",
    )


def _gas_fact(plan: PackPlan) -> tuple[tuple[str, str], ...]:
    if plan.enclosure_set is None:
        return ()
    return (("minimum vent cross-section", f"{plan.gas.smallest_mm2:.0f} mm\N{SUPERSCRIPT TWO}"),)


def space_of(plan: PackPlan, proven: Proofs) -> tuple[str, ...]:
    """How the pack goes into its space, in sentences."""
    space, fit = plan.pack.space, proven.box_fit
    if space is None or fit is None:
        return ("No space given: give space to have the fit checked.",)
    a, b, c = space.box_mm
    gap = fit.smallest_gap_mm
    at = ", ".join(f"{v:.1f}" for v in fit.tightest_at_mm)
    word = "fits" if gap >= 0 else "does not fit"
    kind = "Space" if space.is_box else "Space, overall"
    stay_out = ", ".join(solid.name for solid in space.keep_out)
    said = [
        f"{kind} {a:g} \N{MULTIPLICATION SIGN} {b:g} \N{MULTIPLICATION SIGN} {c:g} mm: the pack "
        f"{word}, smallest gap {gap:.1f} mm towards {fit.tightest_direction}, at ({at}) in "
        "the space."
    ]
    if stay_out:
        said.append(f"Keep-outs: {stay_out}.")
    if not plan.placed:
        said.append("Cables and service clearance for the lid: see cellstead fit.")
    return tuple(said)
