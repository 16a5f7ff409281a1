"""Checks of the wires inside an enclosure, measured along the ways as they are drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence

from layouts.checks import Check
from layouts.parts.outlet import BEND_RATIO
from layouts.wiring.obstacles import Obstacle, Tube, WireRoom, nearest, own_reach_mm
from layouts.wiring.ways import WireWay, least_radius_mm, sampled_mm

__all__ = ["FUSE_WITHIN_MM", "WIRE_APART_MM", "wire_checks"]

PRACTICE = "common practice, no source"
WIRE_APART_MM = 0.5  # between a wire and anything else; judgement, no source
LOOKED_AT_MM = 0.5  # between the points of a way that are looked at
FUSE_WITHIN_MM = 180.0  # of wire between pack plus and the main fuse; common practice, no source
REMEDY = "thinner wires (leads.wire_mm2, charger.wire_mm2), or a shorter board (bms.board_mm)"
CHORDS = 1e-3  # the part of a radius that points 3 degrees apart on it may be off by


def wire_checks(
    ways: Sequence[WireWay], missing: Sequence[str], room: WireRoom, bodies: Sequence[Obstacle]
) -> tuple[Check, ...]:
    """Bends, free ways, and the length to the main fuse. ``missing``: wires without a way, and
    why."""
    return (wire_bends(ways), wire_ways(ways, missing, room, bodies), fuse_way(ways))


def wire_bends(ways: Sequence[WireWay]) -> Check:
    """Every bend's radius to its inner side, in outside diameters of its wire."""
    tightest = {w.number: least_radius_mm(w.line_mm) / w.outside_mm - 0.5 for w in ways}
    number = min(tightest, key=lambda k: tightest[k], default="")
    value = tightest.get(number, math.inf)
    straight = not math.isfinite(value)
    return Check(
        id="wire_bends",
        about="tightest bend of a wire, radius to its inner side in outside diameters",
        holds=value >= BEND_RATIO * (1.0 - CHORDS), value=None if straight else value,
        limit=BEND_RATIO, unit="", source=f"4 outside diameters: {PRACTICE}",
        where="" if straight else f"wire {number}",
        remedy=REMEDY,
    )  # fmt: skip


def wire_ways(
    ways: Sequence[WireWay], missing: Sequence[str], room: WireRoom, bodies: Sequence[Obstacle]
) -> Check:
    """Every wire's gap to walls, cells, screws' bosses, board and other wires."""
    worst, where = math.inf, ""
    tubes = {
        w.number: Tube(
            name=w.number, line_mm=sampled_mm(w.line_mm, LOOKED_AT_MM), radius_mm=w.outside_mm / 2
        )
        for w in ways
    }
    for way in ways:
        others = [tubes[o.number] for o in ways if o is not way and not (o.loom and way.loom)]
        gap, what, at = nearest(
            tubes[way.number].line_mm, room, [*bodies, *others], way.own,
            own_reach_mm(way.outside_mm),
        )  # fmt: skip
        gap -= way.outside_mm / 2
        if gap < worst:
            x, y, z = at.tolist()
            worst, where = gap, f"wire {way.number} at ({x:.0f}, {y:.0f}, {z:.0f}), {what}"
    if missing:
        worst, where = -math.inf, f"wire {missing[0]}"
    return Check(
        id="wire_ways", about="clearance of a wire on its way from everything else inside",
        holds=worst >= WIRE_APART_MM, value=worst if math.isfinite(worst) else None,
        limit=WIRE_APART_MM, unit="mm", source="geometry", where=where,
        remedy=REMEDY,
    )  # fmt: skip


def fuse_way(ways: Sequence[WireWay]) -> Check:
    """How much of the main lead no fuse protects."""
    long = next((w.cut_mm for w in ways if w.number == "M3"), math.inf)
    return Check(
        id="fuse_way", about="length of the lead between pack plus and the main fuse",
        holds=long <= FUSE_WITHIN_MM, value=long if math.isfinite(long) else None,
        limit=FUSE_WITHIN_MM, unit="mm", source=PRACTICE, at_least=False,
        remedy="thinner wires (leads.wire_mm2), or a shorter board (bms.board_mm)",
    )  # fmt: skip
