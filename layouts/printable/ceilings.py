"""Level undersides over nothing: what no line carries, and how far the others reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.printable.bridging import Bridge, best_bridge, bridge_of, mitred
from layouts.printable.finding import Look, PrintCheck, PrintFinding, Severity
from layouts.printable.layers import PartLayers, Step
from layouts.printable.limits import (
    BRIDGE_FAILS_MM,
    BRIDGE_WARNS_MM,
    FREE_MM2,
    FREE_SHARE,
    PRACTICE,
)

__all__ = ["BRIDGES", "CEILINGS", "Ceiling", "ceilings_of", "is_broad"]

LINE_SLACK_MM = 0.04  # a piece narrower than a line less this is half carried by the layer below
GROWN_SLACK = 1.001  # faces at exactly 45 degrees stay within what the layer below carries
ALIKE = 0.01  # shares that differ by less are the same
ARCH_LAYERS = 4  # in which the crown of a bore closes whose sides are too flat to stand alone
AROUND_MM = 2.0  # what may carry a piece lies within so much of its box
PIN_NOISE_MM = 0.01  # two sections of a pin differ by less
PIN_REACH_MM, PIN_REACH_LAYERS = 0.4, 2.0  # the larger: a loose pin carries what lies so far above


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Ceiling:
    """One piece over nothing, in the layer ``step.layer``."""

    step: Step
    piece: BaseGeometry
    bridge: Bridge


def is_broad(piece: BaseGeometry, line_mm: float) -> bool:
    """Whether a line fits into a piece."""
    return not piece.buffer(LINE_SLACK_MM / 2.0 - line_mm / 2.0).is_empty


def ceilings_of(layers: PartLayers) -> tuple[Ceiling, ...]:
    """All pieces of a layer that the one below, grown by its height, does not carry.

    Pieces narrower than a line are left out: the layer below carries half of each."""
    return layers.once("ceilings", _all_ceilings)


def _all_ceilings(layers: PartLayers) -> tuple[Ceiling, ...]:
    found = []
    known: dict[tuple[float, ...], Bridge] = {}
    all_pins = layers.pins()
    for step in layers.steps():
        pins = _pins_under(layers, step, all_pins)
        # nothing rests beside a pin that is still there one layer below: it is loose
        below_mm = layers.floor_mm(step.layer) - layers.layer_mm / 2.0
        loose = shapely.union_all(
            [plan.buffer(PIN_NOISE_MM) for plan, top in all_pins if top > below_mm]
        )
        for rough in layers.more(step.above, step.below):
            if not is_broad(rough, layers.printer.line_wide_mm):
                continue
            near = _near(layers.section(step.below), rough).difference(loose)
            carried = shapely.union_all([mitred(near, GROWN_SLACK * layers.layer_mm), *pins])
            for piece in shapely.get_parts(shapely.difference(rough, carried)):
                if is_broad(piece, layers.printer.line_wide_mm):
                    bridge = _bridge(piece, shapely.union_all([near, *pins]), layers, step, known)
                    one = Ceiling(step=step, piece=piece, bridge=bridge)
                    arch = _arch(one, layers) if _is_free(one) else None
                    found.append(one if arch is None else replace(one, bridge=arch))
    return tuple(found)


def _arch(ceiling: Ceiling, layers: PartLayers) -> Bridge | None:
    """The bridge from side to side of a crown that closes within a few layers, where all of it
    rests and is short: each side of it alone has a free edge for these layers only."""
    layer = ceiling.step.layer
    numbers = {*layers.stack.of[layer : layer + ARCH_LAYERS + 1]}
    x0, y0, x1, y1 = ceiling.piece.bounds
    pad = BRIDGE_WARNS_MM
    cut = (x0 - pad, y0 - pad, x1 + pad, y1 + pad)
    above = [shapely.clip_by_rect(layers.section(one), *cut) for one in numbers]
    below = shapely.clip_by_rect(layers.section(ceiling.step.below), *cut)
    crown = shapely.difference(shapely.union_all(above), mitred(below, layers.layer_mm))
    crowns = shapely.get_parts(crown)
    touching = crowns[shapely.intersects(crowns, ceiling.piece)]
    bridges = [bridge_of(one, below, layer_mm=layers.layer_mm) for one in touching]
    carried = all(one.carried > 1.0 - FREE_SHARE for one in bridges)
    if not bridges or not carried or max(one.span_mm for one in bridges) > BRIDGE_WARNS_MM:
        return None
    return max(bridges, key=lambda one: one.span_mm)


def _near(section: BaseGeometry, piece: BaseGeometry) -> BaseGeometry:
    x0, y0, x1, y1 = piece.bounds
    return shapely.clip_by_rect(
        section, x0 - AROUND_MM, y0 - AROUND_MM, x1 + AROUND_MM, y1 + AROUND_MM
    )


def _pins_under(
    layers: PartLayers, step: Step, pins: Sequence[tuple[BaseGeometry, float]]
) -> list[BaseGeometry]:
    """Plans of the loose pins that end right below a layer."""
    middle = layers.floor_mm(step.layer) + layers.layer_mm / 2.0
    reach = max(PIN_REACH_MM, PIN_REACH_LAYERS * layers.layer_mm) + layers.layer_mm / 2.0
    return [plan for plan, top in pins if middle - reach <= top < middle]


def _bridge(
    piece: BaseGeometry,
    below: BaseGeometry,
    layers: PartLayers,
    step: Step,
    known: dict[tuple[float, ...], Bridge],
) -> Bridge:
    """Webs of a holder repeat: the same piece with the same surroundings is judged once."""
    x0, y0, x1, y1 = piece.bounds
    around, own = _near(below, piece), _near(layers.section(step.above), piece)
    key = tuple(
        round(float(one), 2)
        for one in (piece.area, piece.length, x1 - x0, y1 - y0, around.area, around.length)
    )
    if key not in known:
        known[key] = best_bridge(
            piece, own, around, line_mm=layers.printer.line_wide_mm, layer_mm=layers.layer_mm
        )
    return known[key]


def _look_for_free(layers: PartLayers) -> Look:
    ceilings = [(one.bridge.free_mm2, one) for one in ceilings_of(layers)]
    counted = [free for free, one in ceilings if free > FREE_SHARE * one.piece.area]
    findings = [
        _finding(
            layers,
            one,
            CEILINGS.id,
            f"{free:.1f} of {one.piece.area:.1f} mm2 begin over nothing, no line with both ends "
            "on something carries them",
            free,
            "mm2",
            FREE_MM2,
            Severity.FAILS,
        )
        for free, one in ceilings
        if _is_free(one)
    ]
    return Look(worst=max(counted, default=0.0), findings=tuple(findings))


def _is_free(ceiling: Ceiling) -> bool:
    """Whether too much of a piece is not carried; how far lines over the rest of it reach is of
    no account then."""
    free = ceiling.bridge.free_mm2
    return free > FREE_MM2 and free > FREE_SHARE * float(ceiling.piece.area)


def _look_for_spans(layers: PartLayers) -> Look:
    spans = [(one.bridge.span_mm, one) for one in ceilings_of(layers) if not _is_free(one)]
    slack = layers.layer_mm  # ends are counted from where the layer below stops carrying
    findings = [
        _finding(
            layers,
            one,
            BRIDGES.id,
            f"lines of {span:.1f} mm over nothing, {_way_words(one.bridge)}",
            span,
            "mm",
            BRIDGE_FAILS_MM if span > BRIDGE_FAILS_MM else BRIDGE_WARNS_MM,
            Severity.FAILS if span > BRIDGE_FAILS_MM else Severity.WARNS,
        )
        for span, one in spans
        if span > BRIDGE_WARNS_MM + slack
    ]
    return Look(worst=max((span for span, _ in spans), default=0.0), findings=tuple(findings))


def _way_words(bridge: Bridge) -> str:
    if bridge.turn_deg is None:
        return "along the rims"
    return f"at {bridge.turn_deg:.0f} degrees to x"


def _finding(
    layers: PartLayers,
    ceiling: Ceiling,
    kind: str,
    what: str,
    value: float,
    unit: str,
    limit: float,
    severity: Severity,
) -> PrintFinding:
    at = ceiling.piece.representative_point()
    return PrintFinding(
        kind=kind,
        part=layers.part.name,
        what=what,
        at_mm=(at.x, at.y, layers.floor_mm(ceiling.step.layer)),
        value=value,
        unit=unit,
        limit=limit,
        severity=severity,
        region=ceiling.piece,
        outline=layers.section(ceiling.step.below),
    )


CEILINGS = PrintCheck(
    id="print_ceilings",
    title="free ceiling",
    about="largest piece of a level underside that is printed over nothing, with a free end",
    limit=FREE_MM2,
    unit="mm2",
    source=PRACTICE,
    remedy="let the slicer set support beneath the marked place; in a bracket's script lean the "
    "underside at 45 degrees, or let it end on material at both sides",
    look=_look_for_free,
)
BRIDGES = PrintCheck(
    id="print_bridges",
    title="long bridge",
    about="longest bridge, printed in lines from one side to the other",
    limit=BRIDGE_FAILS_MM,
    unit="mm",
    source=PRACTICE,
    remedy="let the slicer set support beneath the marked place; in a bracket's script set a rib "
    "beneath it",
    look=_look_for_spans,
)
