"""Cord and vent cover of an enclosure with a gasket, as things."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from generators.exports.bill import BillRow
from generators.shaded.bill_lookup import row_of
from generators.shaded.bought import turned_to
from generators.shaded.levels import ASIDE_MM, lift_mm
from generators.shaded.palette import Paint
from generators.shaded.shapes import prism
from generators.shaded.things import Placed, Thing
from layouts.enclosures.form import Seal
from layouts.planning.pack_plan import PackPlan
from layouts.slabs.profile import Arc

__all__ = ["seal_things"]

SQUEEZED_RATIO = 0.75  # of its diameter that a cord has under the closed lid; judgement, no source
OVER_VENT_MM = 8.0  # the cover over the opening, on each side; judgement, no source
PLATE_MM = 0.8  # common practice, no source
ARC_STEPS = 24


def seal_things(plan: PackPlan, bill: Sequence[BillRow]) -> Iterator[Thing]:
    """Nothing where the enclosure has no gasket."""
    seal = plan.enclosure.seal
    if seal is None:
        return
    rim, can = plan.enclosure.shell.z_rim_mm, plan.pack.cell.length_mm
    line = shapely.LinearRing(_points(seal))
    band = line.buffer(seal.cord_mm / 2)
    yield Thing(
        name="sponge cord",
        row=row_of(bill, "sponge cord"),
        paint=Paint.SILICONE,
        rides="tub",
        copies=(
            Placed(
                mesh=prism(band, rim - SQUEEZED_RATIO * seal.cord_mm, rim),
                place=np.eye(4),
                apart_mm=(0.0, 0.0, lift_mm("clamp", can)),
                rides_mm=(*line.coords[0], rim),
            ),
        ),
    )
    (x, y), (wide, high) = seal.vent_out, seal.vent_mm
    half_wide, half_high = wide / 2 + OVER_VENT_MM, high / 2 + OVER_VENT_MM
    out = np.array((x, y, 0.0))
    place = turned_to(out, np.asarray(seal.vent_at_mm))
    upright = abs(place[2, 0]) > abs(place[2, 1])  # whether the plate's first side stands upright
    a, b = (half_high, half_wide) if upright else (half_wide, half_high)
    far = ASIDE_MM["gland"]
    yield Thing(
        name="vent cover",
        row=row_of(bill, "vent cover"),
        paint=Paint.RING,
        rides="tub",
        copies=(
            Placed(
                mesh=prism(shapely.box(-a, -b, a, b), 0.0, PLATE_MM),
                place=place,
                apart_mm=(far * x, far * y, 0.0),
                rides_mm=seal.vent_at_mm,
            ),
        ),
    )


def _points(seal: Seal) -> list[tuple[float, float]]:
    """The cord's middle line in short chords."""
    points: list[tuple[float, float]] = []
    for way in seal.cord:
        if isinstance(way, Arc):
            turns = np.linspace(0.0, way.sweep_rad, ARC_STEPS, endpoint=False)
            points += [way.at(way.start_rad + float(turn)) for turn in turns]
        else:
            points.append(way.start)
    return points
