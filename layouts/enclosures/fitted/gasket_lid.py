"""How far cord and gas lift the lid between two screws, and what they pull on these.

The lid's edge is a beam as wide as the flange that is held at both screws and rests on the cord:
the rest of the lid, which stiffens it, is not counted. Cord pushes by its squeeze, gas on the whole
lid when the vent opens.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from layouts.brackets.strength import strength_limit_mpa
from layouts.enclosures.fitted.gasket import Flange
from layouts.enclosures.fitted.lid_screws import LidScrew
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.shell import ShellPlan
from layouts.enclosures.fitted.thickness import MOST_MM, has_screw
from layouts.enclosures.stiffness import PlateBending, SquareLoad, bent_by
from layouts.formats import materials
from layouts.pack import GasketSpec, Pack
from layouts.parts.shell import Rect

__all__ = [
    "SEALS_RATIO", "EdgeLoad", "edge_load", "lid_under_pressure", "lift_mm", "pulls_n",
    "sealed_enough", "squeeze_left", "widest_mm",
]  # fmt: skip

# Upper end of what closed-cell sponge of medium firmness takes at a quarter of its height (ASTM
# D1056, grade 2: 35 to 63 kPa), from memory; taken as rising evenly from 0
CORD_MPA, CORD_AT = 0.063, 0.25
SEALS_RATIO = 0.10  # squeeze that still seals; common practice, no source
EDGE_PEAK = 1.7  # largest over mean force on a square plate's edge, handbook value from memory


@dataclass(frozen=True, kw_only=True, slots=True)
class EdgeLoad:
    """Forces on each mm of the lid's edge.

    ``cord_n_mm``: of the cord as squeezed by the lid on the flange; ``spring_n_mm2``: by how much
    it falls with each mm that the lid lifts; ``gas_n_mm``: of the gas when the vent opens."""

    cord_n_mm: float
    spring_n_mm2: float
    gas_n_mm: float

    @property
    def all_n_mm(self) -> float:
        """Together."""
        return self.cord_n_mm + self.gas_n_mm


def edge_load(gasket: GasketSpec, flange: Flange) -> EdgeLoad:
    """On the lid's edge: cord, and gas on what lies within it."""
    squeezed = gasket.cord_mm - flange.groove.deep_mm
    cord = CORD_MPA / CORD_AT * squeezed  # by its share of the diameter, over the diameter's width
    inside = loop_polygon(flange.cord)
    gas = EDGE_PEAK * gasket.opens_at_kpa / 1000.0 * inside.area / inside.length
    return EdgeLoad(cord_n_mm=cord, spring_n_mm2=cord / squeezed, gas_n_mm=gas)


def lift_mm(load_n_mm: float, spring_n_mm2: float, span_mm: float, stiff_n_mm2: float) -> float:
    """Middle's lift of a beam held at both ends on an elastic bed, under an even load [mm].

    q / k (1 - 2 (sinh a cos a + cosh a sin a) / (sinh 2a + sin 2a)), a = L / 2 (k / 4 E I)^(1/4)
    (Hetenyi, Beams on Elastic Foundation, from memory)."""
    a = span_mm / 2 * (spring_n_mm2 / (4.0 * stiff_n_mm2)) ** 0.25
    held = 2.0 * (math.sinh(a) * math.cos(a) + math.cosh(a) * math.sin(a))
    return load_n_mm / spring_n_mm2 * (1.0 - held / (math.sinh(2.0 * a) + math.sin(2.0 * a)))


def widest_mm(screws: tuple[LidScrew, ...]) -> float:
    """Distance of the two neighbouring lid screws that are farthest apart."""
    places = np.array([one.at_mm for one in screws])
    return float(np.hypot(*(np.roll(places, -1, axis=0) - places).T).max())


def squeeze_left(pack: Pack, flange: Flange, span_mm: float, lid_mm: float) -> float:
    """What is left of the cord's squeeze, over its diameter, midway between two screws when the
    vent opens; below 0 the lid stands off the cord."""
    gasket = pack.enclosure.gasket
    assert gasket is not None
    load = edge_load(gasket, flange)
    modulus = materials()[pack.printer.material].modulus_mpa
    stiff = modulus * flange.groove.flange_mm * lid_mm**3 / 12.0
    lift = lift_mm(load.all_n_mm, load.spring_n_mm2, span_mm, stiff)
    return (gasket.cord_mm - flange.groove.deep_mm - lift) / gasket.cord_mm


def pulls_n(gasket: GasketSpec, flange: Flange, screws: tuple[LidScrew, ...]) -> list[float]:
    """Pull on each lid screw when the vent opens: half of the edge on both its sides [N]."""
    places = np.array([one.at_mm for one in screws])
    after = np.hypot(*(np.roll(places, -1, axis=0) - places).T)
    edge = (after + np.roll(after, 1)) / 2
    load = edge_load(gasket, flange).all_n_mm
    return [float(load * one) for one in edge]


def lid_under_pressure(gasket: GasketSpec, shell: ShellPlan) -> PlateBending:
    """The lid, or floor, as the box round the walls' inside, under the vent's opening pressure."""
    x0, y0, x1, y1 = loop_polygon(shell.inner.loop).bounds
    plate = Rect(x0=x0, y0=y0, x1=x1, y1=y1)
    force = gasket.opens_at_kpa / 1000.0 * (x1 - x0) * (y1 - y0)
    return bent_by(plate, [SquareLoad(area=plate, force_n=force)])


def sealed_enough(pack: Pack, shell: ShellPlan) -> Pack:
    """The pack with a lid of whole layers that keeps the cord squeezed and bears the vent's opening
    pressure, where its file leaves the thickness open; at most ``MOST_MM``."""
    case, gasket, flange = pack.enclosure, pack.enclosure.gasket, shell.flange
    if gasket is None or flange is None or "lid_mm" not in case.by_load:
        return pack
    span, bending = widest_mm(shell.screws), lid_under_pressure(gasket, shell)
    limit, layer, thick = strength_limit_mpa(pack), pack.printer.layer_mm, case.lid_mm

    def holds(lid_mm: float) -> bool:
        seals = squeeze_left(pack, flange, span, lid_mm) >= SEALS_RATIO
        return seals and bending.stress_mpa(lid_mm) <= limit

    while thick < MOST_MM - layer / 2 and not (
        holds(thick) and has_screw(replace(case, lid_mm=thick))
    ):
        thick = round(thick + layer, 6)
    return replace(pack, enclosure=replace(case, lid_mm=thick))
