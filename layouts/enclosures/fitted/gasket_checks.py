"""Checks of a gasket: squeeze of its cord, bends, lid screws, cable outlets, vent and pressure."""

from __future__ import annotations

import math

import shapely

from layouts.brackets.strength import SAFETY, strength_limit_mpa
from layouts.checks import Check
from layouts.enclosures.fitted.clamp_strength import screw_holds_n
from layouts.enclosures.fitted.gasket import Flange
from layouts.enclosures.fitted.gasket_lid import (
    SEALS_RATIO,
    lid_under_pressure,
    pulls_n,
    squeeze_left,
    widest_mm,
)
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.groove import LEAST_LAND_MM, bend_radius_mm
from layouts.enclosures.vent import hot_gas_kg_m3, hot_gas_l, vent_need_mm2
from layouts.pack import GasketSpec, Pack
from layouts.slabs.profile import Arc, Loop

__all__ = ["gasket_checks"]

PRACTICE = "common practice, no source"
FINE_MM = 0.02  # what chords may be off by
SEALS_FROM = 0.5  # a gland's seal holds wires from so much of the largest on; from memory
LESS = "a smaller enclosure.gasket.opens_at_kpa"


def gasket_checks(pack: Pack, sizes: FittedSizes) -> tuple[Check, ...]:
    """None in the open form."""
    gasket, flange = pack.enclosure.gasket, sizes.shell.flange
    if gasket is None or flange is None:
        return ()
    return (
        gasket_squeeze(pack, flange, sizes),
        gasket_bend(pack, flange),
        gasket_screws(flange, sizes),
        gasket_pull(pack, gasket, flange, sizes),
        gasket_outlets(sizes),
        vent_area(gasket, sizes),
        vent_pressure(pack, gasket, sizes),
    )


def gasket_squeeze(pack: Pack, flange: Flange, sizes: FittedSizes) -> Check:
    """The lid's edge does not lift off the cord between two screws."""
    levels, span = sizes.shell.levels, widest_mm(sizes.shell.screws)
    left = squeeze_left(pack, flange, span, levels.lid_mm - levels.rim_mm)
    return Check(
        id="gasket_squeeze",
        about="squeeze of the gasket's cord midway between two lid screws, as the vent opens",
        holds=left >= SEALS_RATIO, value=100 * left, limit=100 * SEALS_RATIO, unit="%",
        source="beam on an elastic bed (Hetenyi, from memory), as wide as the flange; sponge of "
        f"medium firmness, from memory; {100 * SEALS_RATIO:g} % still seal: {PRACTICE}",
        remedy=f"a thicker enclosure.lid_mm, or {LESS}", where=f"screws {span:.0f} mm apart",
    )  # fmt: skip


def gasket_bend(pack: Pack, flange: Flange) -> Check:
    """The cord is bent no narrower than it takes, on a closed way."""
    limit = bend_radius_mm(pack.enclosure)
    value = min(_tightest_mm(flange.groove_inner, 1.0), _tightest_mm(flange.groove_outer, -1.0))
    return Check(
        id="gasket_bend", about="least inner bend radius of the gasket's groove",
        holds=value >= limit - FINE_MM, value=value, limit=limit, unit="mm",
        source="enclosure.gasket.bend_radius_mm; 1.5 of the cord's diameter from memory, no source",
        remedy="a softer or thinner cord, with its enclosure.gasket.bend_radius_mm",
    )  # fmt: skip


def _tightest_mm(loop: Loop, turning: float) -> float:
    """Least radius of a loop's bends to the left (1) or to the right (-1)."""
    radii = [
        one.radius_mm for one in loop if isinstance(one, Arc) and one.sweep_rad * turning > 0.0
    ]
    return min(radii, default=math.inf)


def gasket_screws(flange: Flange, sizes: FittedSizes) -> Check:
    """All lid screws stand outside the cord, with plastic between their holes and its groove."""
    groove = loop_polygon(flange.groove_outer)
    shapely.prepare(groove)
    off = {
        screw: -1.0 if groove.contains(at) else groove.distance(at) - screw.hole_radius_mm
        for screw in sizes.shell.screws
        for at in [shapely.Point(screw.at_mm)]
    }
    worst = min(off, key=lambda one: off[one])
    return Check(
        id="gasket_screws", about="plastic between the gasket's groove and the lid screws outside",
        holds=off[worst] >= LEAST_LAND_MM - FINE_MM, value=off[worst], limit=LEAST_LAND_MM,
        unit="mm", source=PRACTICE, remedy="a wider enclosure.gasket.flange_mm",
        where="screw at ({:.0f}, {:.0f})".format(*worst.at_mm),
    )  # fmt: skip


def gasket_pull(pack: Pack, gasket: GasketSpec, flange: Flange, sizes: FittedSizes) -> Check:
    """No lid screw is pulled harder than its insert or thread bears."""
    screws = sizes.shell.screws
    pulls = dict(zip(screws, pulls_n(gasket, flange, screws), strict=True))
    worst = max(pulls, key=lambda one: pulls[one] / screw_holds_n(pack, one))
    value, limit = pulls[worst], screw_holds_n(pack, worst)
    return Check(
        id="gasket_pull", about="pull of cord and gas on a lid screw's thread, as the vent opens",
        holds=value <= limit, value=value, limit=limit, unit="N",
        source="largest edge force of a square plate, from memory; shear of a printed cylinder "
        f"round insert or thread, from memory, a quarter of it for years and 1.5 of safety: "
        f"{PRACTICE}",
        remedy=LESS, at_least=False,
        where="screw at ({:.0f}, {:.0f})".format(*worst.at_mm)
        + ("" if worst.insert else ", without an insert"),
    )  # fmt: skip


def gasket_outlets(sizes: FittedSizes) -> Check:
    """Every cable is thick enough for the seal of its gland."""
    off = {hole: hole.wire_mm / hole.gland.wire_mm for hole in sizes.holes}
    worst = min(off, key=lambda one: off[one])
    limit = SEALS_FROM * worst.gland.wire_mm
    return Check(
        id="gasket_outlets", about="outside of the cable that its gland seals least",
        holds=worst.wire_mm >= limit, value=worst.wire_mm, limit=limit, unit="mm",
        source=f"{SEALS_FROM:g} of the largest that the gland takes, from memory, no source",
        remedy="a larger leads.outside_mm: a thicker cable", where=worst.purpose,
    )  # fmt: skip


def vent_area(gasket: GasketSpec, sizes: FittedSizes) -> Check:
    """The vent lets out one cell's gas at the pressure that opens it."""
    vent = sizes.vent
    value, limit = 0.0 if vent is None else vent.area_mm2, vent_need_mm2(gasket)
    return Check(
        id="vent_area", about="opening of the vent, for one cell that vents without ignition",
        holds=value >= limit, value=value, limit=limit, unit="mm2",
        source=f"orifice formula, {hot_gas_l(gasket):.1f} l at {gasket.gas_c:g} C within "
        f"{gasket.within_s:g} s, {hot_gas_kg_m3(gasket):.2f} kg/m3, {gasket.opens_at_kpa:g} kPa; "
        "gas and pressure by enclosure.gasket",
        remedy="a larger enclosure.gasket.vent_mm, or leave it out",
    )  # fmt: skip


def vent_pressure(pack: Pack, gasket: GasketSpec, sizes: FittedSizes) -> Check:
    """Lid and floor bear the pressure that opens the vent."""
    levels, bending = sizes.shell.levels, lid_under_pressure(gasket, sizes.shell)
    lid, floor = levels.lid_mm - levels.rim_mm, levels.floor_mm - levels.under_mm
    value, limit = bending.stress_mpa(min(lid, floor)), strength_limit_mpa(pack)
    name = "lid" if lid <= floor else "floor"
    return Check(
        id="vent_pressure", about="bending stress of lid or floor as the vent opens",
        holds=value <= limit, value=value, limit=limit, unit="MPa",
        source="series of the simply supported plate (from memory), inner box of the walls; lowest "
        f"printed tensile strength along the layers (materials table) divided by {SAFETY:g}, "
        f"{PRACTICE}",
        remedy=f"{LESS}, or a thicker enclosure.{name}_mm", at_least=False, where=name,
    )  # fmt: skip
