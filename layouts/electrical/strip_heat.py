"""How much warmer than the cans the strips get: uniformly heated fins between two welds.

A strip's end to a main lead is half of such a fin: no heat is taken to leave by the wire. On the
safe side: one face of the strip alone is in air.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.electrical.fin import fin_rise_k
from layouts.electrical.flows import Shares
from layouts.electrical.plate_warmth import plate_rises_k
from layouts.electrical.sections import ConductorSection, link_sections, section_of
from layouts.formats import conductors
from layouts.heat.model import STILL_AIR_W_M2K
from layouts.pack import Pack
from layouts.strips.joining import Interconnect

__all__ = ["StripRise", "strip_rise"]

MODEL = (
    "uniformly heated fin between two welds at can temperature, still air on one face; "
    "resistivity at the hottest can's temperature"
)


@dataclass(frozen=True, kw_only=True, slots=True)
class StripRise:
    """The strip that is warmest over the cans it is welded to, at ``load_a``.

    ``rise_k`` over the cans; ``temperature_c`` with the hottest can. ``link``: None for an end.
    """

    load_a: float
    rise_k: float
    temperature_c: float
    strip: str
    link: int | None
    model: str = MODEL


def strip_rise(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    of: Shares,
    *,
    load_a: float,
    can_c: float,
) -> StripRise | None:
    """The warmest strip or plate at a load, cans at ``can_c``; None where a pack has none."""
    if interconnect.plates:
        return _plate_rise(pack, cell_layout, interconnect, of, load_a=load_a, can_c=can_c)
    sections, lengths = link_sections(pack, cell_layout, interconnect)
    found: list[tuple[float, str, int | None]] = []
    if len(sections):
        # heat a metre and section decide: of each section the link with the most current
        squared = of.link_a(load_a) ** 2
        most: dict[int, int] = {}
        for k, (_, section) in enumerate(sections):
            best = most.setdefault(id(section), k)
            if squared[k] > squared[best]:
                most[id(section)] = k
        for k in most.values():
            name, section = sections[k]
            rise = _rise_k(section, float(squared[k]), float(lengths[k]), can_c)
            found.append((rise, name, k))
    leads = [strip for strip in interconnect.strips if strip.runs_out]
    if leads:
        end_a = float(np.abs(of.tail).max()) * load_a
        for strip in leads:
            tail = float(np.hypot(*(np.asarray(strip.end_mm) - cell_layout.xy_mm[strip.cells[-1]])))
            rise = _rise_k(section_of(pack, strip), end_a**2, 2.0 * tail, can_c)
            found.append((rise, strip.name, None))
    if not found:
        return None
    rise, name, link = max(found, key=lambda one: one[0])
    return StripRise(load_a=load_a, rise_k=rise, temperature_c=can_c + rise, strip=name, link=link)


def _rise_k(section: ConductorSection, squared_a2: float, length_mm: float, can_c: float) -> float:
    warm = 1.0 + section.per_kelvin * (can_c - 20.0)
    return fin_rise_k(
        w_m=squared_a2 * section.ohm_mm * 1e3 * warm,
        length_m=length_mm / 1000.0,
        width_m=section.width_mm / 1000.0,
        heat_w_m_k=section.heat_w_m_k,
        film_w_m2k=STILL_AIR_W_M2K,
    )


def _plate_rise(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    of: Shares,
    *,
    load_a: float,
    can_c: float,
) -> StripRise:
    """The warmest plate: by the field in the sheet, its resistivity at the cans' temperature."""
    rises = plate_rises_k(
        cell_layout, interconnect.plates, of, current_a=1.0
    )  # at one ampere and 20 C
    worst = int(np.argmax(rises))
    plate = interconnect.plates[worst]
    warm = max(1.0 + conductors()[one.material].per_kelvin * (can_c - 20.0) for one in plate.layers)
    rise = float(rises[worst]) * load_a**2 * warm
    return StripRise(
        load_a=load_a, rise_k=rise, temperature_c=can_c + rise, strip=plate.name, link=None
    )
