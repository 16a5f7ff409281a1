"""The main fuse: the given or the proposed one, against short circuits and the wire."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layouts.checks import Check
from layouts.electrical.cycled import own_peak_a, pulses_of
from layouts.electrical.leads import MainLeads
from layouts.pack import Load, Pack
from layouts.ratings.cycle import Pulse
from layouts.ratings.fuse import (
    OPENS_S,
    Fuse,
    choose_fuse,
    fuse_breaking_check,
    fuse_continuous_a,
    fuse_load_check,
    fuse_needs,
    fuse_opens_at_a,
    fuse_opens_check,
    fuse_peak_check,
    fuse_volts_check,
    fuse_wire_check,
)
from layouts.ratings.fuse_pulses import carries_times_rating, fuse_pulse_checks, rating_for
from layouts.ratings.limits import Ratings
from layouts.ratings.melting import wire_fault_check, withstood_s
from layouts.ratings.short_circuit import (
    AlternatingResistance,
    LeastFault,
    ShortCircuit,
    least_fault,
    prospective,
)

__all__ = [
    "FuseProtection",
    "choose_fuse_protection",
    "fuse_protection_cautions",
    "fuse_protection_checks",
]

WITHIN = ", within about 180 mm of pack plus (distance: common practice, no source)"


@dataclass(frozen=True, kw_only=True, slots=True)
class FuseProtection:
    """The fuse and the faults that it must clear.

    ``given``: by the pack file; else ``reason`` says why that rating is proposed, and ``fits``
    whether it carries the load and protects the wire. ``needs``: its other required ratings in
    words, ``needs_dc_v`` and ``needs_breaking_a`` in figures.
    ``withstands_s``: how long the wires withstand the prospective current before their insulation
    is damaged; the fuse must be quicker."""

    fuse: Fuse
    given: bool
    fits: bool
    continuous_rating_a: float
    reason: str
    needs: str
    needs_dc_v: float
    needs_breaking_a: float
    short: ShortCircuit
    least: LeastFault
    resistance: AlternatingResistance
    withstands_s: float


def choose_fuse_protection(
    pack: Pack,
    leads: MainLeads,
    *,
    resistance: AlternatingResistance,
    strips_ac_ohm: float,
    strips_ohm: float,
    ratings: Ratings,
    highest_v: float,
) -> FuseProtection:
    """The fuse for ``ratings``, and the most and the least that flows into a short circuit.

    ``strips_ohm``: strips and welds between the main terminals to direct current, in series with
    the cells, ``strips_ac_ohm`` beside the cells' 1 kHz resistance. ``highest_v``: of the full
    pack, or of what a braking motor raises it to."""
    cell, pulses = pack.cell, pulses_of(pack.load)
    short = prospective(
        series=pack.series,
        parallel=pack.parallel,
        full_v=cell.full_v,
        resistance=resistance,
        strips_ohm=strips_ac_ohm,
    )
    least = least_fault(
        series=pack.series,
        parallel=pack.parallel,
        empty_v=cell.empty_v,
        dc_mohm=cell.internal_resistance_mohm,
        strips_ohm=strips_ohm,
        area_mm2=leads.area_mm2,
        length_mm=leads.length_mm,
    )
    fuse, fits = pack.fuse, True
    if fuse is not None:
        reason = f"{fuse.rating_a:g} A: the given fuse"
    else:
        choice = choose_fuse(
            continuous_a=ratings.reference_a,
            wire_a=leads.continuous_rating_a,
            peak_a=own_peak_a(pack.load, ratings.peak_a),
            pulses=_pulse_words(pulses),
            protects=lambda one: all(c.holds for c in _protection_checks(one, leads, least)),
        )
        fuse, fits, reason = choice.fuse, choice.fits, choice.reason
    return FuseProtection(
        fuse=fuse,
        given=pack.fuse is not None,
        fits=fits,
        continuous_rating_a=fuse_continuous_a(fuse.rating_a),
        reason=reason,
        needs=fuse_needs(highest_v=highest_v, short_circuit_a=short.current_a) + WITHIN,
        needs_dc_v=highest_v,
        needs_breaking_a=short.current_a,
        short=short,
        least=least,
        resistance=resistance,
        withstands_s=withstood_s(area_mm2=leads.area_mm2, current_a=short.current_a),
    )


def fuse_protection_checks(
    of: FuseProtection, leads: MainLeads, ratings: Ratings, load: Load | None = None
) -> tuple[Check, ...]:
    """Checks of the fuse; a proposed one passes the same as one that is given.

    ``load``: pulses of its duty cycle are checked each by its time."""
    found: list[Check | None] = [
        fuse_volts_check(of.fuse, highest_v=of.needs_dc_v),
        fuse_breaking_check(of.fuse, short_circuit_a=of.short.current_a, assumed=of.short.assumed),
        *_protection_checks(of.fuse, leads, of.least),
    ]
    if ratings.demand_a is not None:
        found.append(fuse_load_check(of.fuse, demand_a=ratings.demand_a))
    peak_a = own_peak_a(load, ratings.peak_a)
    if peak_a is not None:
        found.append(fuse_peak_check(of.fuse, peak_a=peak_a))
    found += fuse_pulse_checks(of.fuse, pulses_of(load))
    return tuple(check for check in found if check is not None)


def _pulse_words(pulses: Sequence[Pulse]) -> tuple[float, str] | None:
    """The least rating that carries all pulses, and why."""
    found = rating_for(pulses)
    if found is None:
        return None
    rating_a, worst = found
    times = carries_times_rating(worst.seconds)
    return rating_a, f"pulses of {worst.amps:g} A for {worst.seconds:g} s, {times:.2f} times it"


def _protection_checks(fuse: Fuse, leads: MainLeads, least: LeastFault) -> tuple[Check, ...]:
    """What its rating must keep, whatever the load: the wire, and the minimum fault."""
    return (
        fuse_wire_check(fuse, wire_a=leads.continuous_rating_a),
        fuse_opens_check(fuse, least_fault_a=least.current_a),
        wire_fault_check(
            opens_at_a=fuse_opens_at_a(fuse), opens_s=OPENS_S, area_mm2=leads.area_mm2
        ),
    )


def fuse_protection_cautions(of: FuseProtection) -> tuple[str, ...]:
    """What isn't known of the fuse, and what no usual one does."""
    said = []
    if not of.given:
        said.append(f"fuse: none is given; proposed: {of.reason}; {of.needs}")
        if not of.fits:
            said.append(
                "fuse: no standard rating carries the current, protects the main leads and clears "
                "the minimum fault current: use thicker or shorter leads, or less current"
            )
    else:
        lacking = []
        if of.fuse.dc_v is None:
            lacking.append("its DC voltage rating")
        if of.fuse.breaking_a is None:
            lacking.append("its breaking capacity")
        if lacking:
            said.append(f"fuse: {' and '.join(lacking)} not given; required: {of.needs}")
    if of.short.assumed:
        said.append(
            f"short circuit: the cells' 1 kHz resistance is not given, {of.resistance.mohm:.3g} "
            f"mohm ({of.resistance.source})"
        )
    return tuple(said)
