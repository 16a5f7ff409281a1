"""What the fusible necks of plates can and can't do: when they melt, and what melts them.

A cell that is shorted inside takes current from the others of its group through its own neck. The
neck parts that one cell from them, at one cell's volts. It breaks no current of the whole pack.
"""

from __future__ import annotations

from dataclasses import dataclass

from layouts.checks import Check
from layouts.currents.strips import weld_spots_ohm
from layouts.electrical.flows import Shares
from layouts.electrical.plate_warmth import WARM_C
from layouts.formats import conductors
from layouts.heat.necks import NeckMetal, adiabatic_s, melting_a, melts_after_s, neck_metal
from layouts.pack import Pack
from layouts.strips.joining import Interconnect
from layouts.strips.plate import BusPlate

__all__ = [
    "CellFuseRating",
    "NeckTime",
    "cell_fuse_cautions",
    "cell_fuse_checks",
    "cell_fuse_rating",
    "cell_fuse_words",
]

PEAK_OF_MELTING_RATIO = 0.4  # what is often near melting ages; judgement, no source
OPENS_MOST_S = 1.0  # a shorted cell heats for no longer; judgement, no source
LEAST_PARALLEL = 6  # cells in a group; judgement, no source
FAULTS_A = (150.0, 300.0)  # at which times are told
COLD_C = 20.0  # the ends of a neck when a fault begins: what takes longest
JUDGED = "judgement, no source"
BASIS = (
    "voltage and temperature of a neck between cold sheets (Kohlrausch, Holm; formula from "
    "memory), constants at 20 C from memory"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class NeckTime:
    """When a constant current melts the neck; None: not within ``OPENS_MOST_S``."""

    amps: float
    adiabatic_s: float
    melts_s: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class CellFuseRating:
    """The necks of a pack of plates, all of one size.

    ``ohm`` at 20 C: of a straight neck, in the plates with the least sheet. ``melts_a``: current
    that melts the weakest in the long run, with can ends at 60 C and all heat leaving by them
    through the sheet as it lies; ``melts_most_a``: between sheets that stay as cold as these.
    ``peak_a``: most that a cell carries. ``driven_a``: current that the others of a group
    drive at first into a cell shorted inside; ``opens_s``: until that melts its neck, in the plates
    with the most sheet, None: not within ``OPENS_MOST_S``; ``each_other_a``: through the neck of
    each of the others at first. ``times``: at constant currents, the most sheet."""

    width_mm: float
    length_mm: float
    count: int
    ohm: float
    melts_a: float
    melts_most_a: float
    peak_a: float
    driven_a: float
    each_other_a: float
    opens_s: float | None
    times: tuple[NeckTime, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Necks:
    """The necks of one plate: their metal, section and ohms straight; least current that melts."""

    metal: NeckMetal
    area_mm2: float
    ohm: float
    melts_a: float


def cell_fuse_rating(
    pack: Pack, interconnect: Interconnect, of: Shares, *, most_a: float
) -> CellFuseRating | None:
    """None where there are no necks. ``most_a``: the largest current of the pack."""
    fused = [plate for plate in interconnect.plates if plate.cell_fuses]
    if pack.strip.cell_fuse_mm is None or not fused:
        return None
    width_mm, length_mm = pack.strip.cell_fuse_mm
    necks = [_necks_of(plate) for plate in fused]
    strong = min(necks, key=lambda one: one.ohm)
    volts, beside_ohm = _fault(pack, fused[0].spots, strong.ohm)
    driven_a = volts / (beside_ohm + strong.ohm)

    def melts_s(amps: float | None) -> float | None:
        return melts_after_s(
            strong.metal,
            amps_at=lambda ohm: volts / (beside_ohm + ohm) if amps is None else amps,
            area_mm2=strong.area_mm2,
            length_mm=length_mm,
            ends_c=COLD_C,
            most_s=OPENS_MOST_S,
        )

    return CellFuseRating(
        width_mm=width_mm,
        length_mm=length_mm,
        count=sum(len(plate.cell_fuses) for plate in fused),
        ohm=max(one.ohm for one in necks),
        melts_a=min(one.melts_a for one in necks),
        melts_most_a=max(melting_a(one.metal, ohm=one.ohm, ends_c=WARM_C) for one in necks),
        peak_a=most_a * float(abs(of.cell).max()),
        driven_a=driven_a,
        each_other_a=driven_a / (pack.parallel - 1),
        opens_s=melts_s(None),
        times=tuple(
            NeckTime(
                amps=amps,
                adiabatic_s=adiabatic_s(
                    strong.metal, amps=amps, area_mm2=strong.area_mm2, from_c=COLD_C
                ),
                melts_s=melts_s(amps),
            )
            for amps in FAULTS_A
        ),
    )


def _necks_of(plate: BusPlate) -> _Necks:
    """The weakest neck of a plate: from its can end to all others, sheet counted."""
    metal = neck_metal(plate.layers[0].material)
    fuse = plate.cell_fuses[0]
    area_mm2 = fuse.width_mm * plate.thickness_mm
    necked = [plate.cells.index(one.cell) for one in plate.cell_fuses]
    laid_ohm = 1.0 / float(min(plate.conducts.field.conductance[k, k] for k in necked))
    return _Necks(
        metal=metal,
        area_mm2=area_mm2,
        ohm=conductors()[plate.layers[0].material].ohm_m * fuse.length_mm * 1e3 / area_mm2,
        melts_a=melting_a(metal, ohm=laid_ohm, ends_c=WARM_C),
    )


def _fault(pack: Pack, spots: int, neck_ohm: float) -> tuple[float, float]:
    """Volts and ohms beside its own neck of the current into a shorted cell.

    On the safe side: the others are empty, and the short leaves the cell's own resistance."""
    welds_ohm = 2.0 * weld_spots_ohm(pack, spots)
    cell_ohm = pack.cell.internal_resistance_mohm / 1000.0 + welds_ohm
    others_ohm = (cell_ohm + neck_ohm) / (pack.parallel - 1)
    return pack.cell.empty_v, others_ohm + cell_ohm


def cell_fuse_checks(of: CellFuseRating | None) -> tuple[Check, ...]:
    """A cell's peak leaves its neck whole, a shorted cell melts its own and no other's; nothing
    without necks."""
    if of is None:
        return ()
    limit_a = PEAK_OF_MELTING_RATIO * of.melts_a
    opens = of.opens_s
    return (
        Check(
            id="cell_fuse_peak_a",
            about=f"peak current of a cell against {PEAK_OF_MELTING_RATIO:g} of what melts its "
            "fusible neck in the long run",
            holds=of.peak_a <= limit_a,
            value=of.peak_a,
            limit=limit_a,
            unit="A",
            source=f"{BASIS}; ratio: {JUDGED}",
            remedy="a wider or shorter neck (strip.cell_fuse_mm), more cells in parallel, or no "
            "necks",
            at_least=False,
        ),
        Check(
            id="cell_fuse_opens_s",
            about="the other cells of a group melt the fusible neck of a cell shorted inside",
            holds=opens is not None,
            value=opens,
            limit=OPENS_MOST_S,
            unit="s",
            source=f"{BASIS}; empty group, short of the cell's own resistance, cold neck; time "
            "limit: judgement",
            remedy="a narrower or longer neck (strip.cell_fuse_mm), more cells in parallel, or no "
            "necks: these do not open",
            at_least=False,
        ),
        Check(
            id="cell_fuse_others_a",
            about="current through the neck of each other cell of a group into one shorted inside, "
            "against what melts the weakest in the long run",
            holds=of.each_other_a <= of.melts_a,
            value=of.each_other_a,
            limit=of.melts_a,
            unit="A",
            source=f"{BASIS}; empty group, short of the cell's own resistance, cold necks",
            remedy="more cells in parallel share it, or no necks: sound cells would be parted, too",
            at_least=False,
        ),
    )


def cell_fuse_cautions(pack: Pack, of: CellFuseRating | None) -> tuple[str, ...]:
    """Where the others of a group are few."""
    if of is None or pack.parallel >= LEAST_PARALLEL:
        return ()
    return (
        f"fusible necks: with {pack.parallel} cells in parallel each other one carries "
        f"{of.each_other_a:.0f} A of the {of.driven_a:.0f} A into a shorted one, and its own neck "
        f"runs hot: use {LEAST_PARALLEL} cells or more ({JUDGED})",
    )


def cell_fuse_words(of: CellFuseRating | None) -> tuple[str, ...]:
    """What the necks do, for the report and the build sheet; nothing without necks."""
    if of is None:
        return ()
    times = ", ".join(_time_words(one) for one in of.times)
    melted = (
        f"which does not melt its neck within {OPENS_MOST_S:g} s"
        if of.opens_s is None
        else f"which melts its neck in about {1e3 * of.opens_s:.0f} ms"
    )
    return (
        f"Fusible necks {of.width_mm:g} x {of.length_mm:g} mm on {of.count} positive ends: "
        f"{1e3 * of.ohm:.2f} mohm each when cold, melting at {of.melts_a:.0f} to "
        f"{of.melts_most_a:.0f} A in steady state, {times}. A cell carries {of.peak_a:.1f} A at "
        "most.",
        "A neck separates one shorted cell, one cell's volts, from its group: the others drive "
        f"{of.driven_a:.0f} A into it at first, {melted} (calculated with an empty group; within "
        "tens of per cent; cut-offs inside the cells are not counted). It never breaks the pack's "
        "voltage and is no replacement for the main fuse. A pack with a melted neck is taken out "
        "of use.",
    )


def _time_words(one: NeckTime) -> str:
    if one.melts_s is None:
        return f"not within {OPENS_MOST_S:g} s at {one.amps:g} A"
    return f"after {1e3 * one.melts_s:.0f} ms at {one.amps:g} A"
