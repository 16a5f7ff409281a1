"""What each length of strip is made of, and the current rating of its metals."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.currents.strips import BUS_MATERIAL, LANDING_OHM
from layouts.electrical.flows import Shares
from layouts.electrical.plate_warmth import RISE_MOST_K, plate_rises_k
from layouts.formats import conductors
from layouts.heat.paths import metal_w_mk
from layouts.pack import Pack
from layouts.ratings.given import PRACTICE
from layouts.ratings.tables import table_rows
from layouts.strips.joining import BUS_SLOT_MM, Interconnect, Strip

__all__ = [
    "ConductorSection",
    "StripLimit",
    "density_limits",
    "link_sections",
    "section_of",
    "strip_limit",
]

DENSITY_SOURCE = f"{PRACTICE}, from memory: upper end of common practice for short strips"


@dataclass(frozen=True, kw_only=True, slots=True)
class ConductorSection:
    """The cross-section of one strip: its own metal, and copper soldered on where there is any.

    ``continuous_rating_a``: the current at which the first of its metals reaches its limit.
    ``heat_w_m_k``: what a metre of it conducts of heat, W m/K. ``ohm_mm``: resistance a
    millimetre at 20 C, ``per_kelvin`` its change."""

    width_mm: float
    own_mm2: float
    bus_mm2: float
    continuous_rating_a: float
    heat_w_m_k: float
    ohm_mm: float
    per_kelvin: float


@dataclass(frozen=True, kw_only=True, slots=True)
class StripLimit:
    """Pack current at which the first link or strip end comes to its limit.

    ``link``: which link, None where it is a strip's end to a main lead; ``strip``: its name;
    ``continuous_rating_a``: its rating; ``share_ratio``: its part of the pack's current."""

    pack_a: float
    strip: str
    link: int | None
    continuous_rating_a: float
    share_ratio: float
    source: str


@cache
def density_limits() -> dict[str, float]:
    """Continuous current density of strips of each material [A/mm2]."""
    return {row["material"]: float(row["a_mm2"]) for row in table_rows("strip_density")}


def section_of(pack: Pack, strip: Strip) -> ConductorSection:
    """One strip's section; current divides between its metals by their conductances."""
    own = strip.width_mm * strip.thickness_mm * strip.layers
    bus = max(strip.width_mm - BUS_SLOT_MM, 0.0) * strip.bus_mm
    known = conductors()
    metal, copper = known[pack.strip.material], known[BUS_MATERIAL]
    own_s, bus_s = own / metal.ohm_m, bus / copper.ohm_m
    whole = own_s + bus_s
    limits = density_limits()
    given = pack.strip.current_density_a_mm2
    dense = limits[pack.strip.material] if given is None else given
    bears = dense * own * whole / own_s
    if bus > 0:
        bears = min(bears, limits[BUS_MATERIAL] * bus * whole / bus_s)
    return ConductorSection(
        width_mm=strip.width_mm,
        own_mm2=own,
        bus_mm2=bus,
        continuous_rating_a=bears,
        heat_w_m_k=(metal_w_mk(metal.ohm_m) * own + metal_w_mk(copper.ohm_m) * bus) * 1e-6,
        ohm_mm=1e3 / whole,
        per_kelvin=(metal.per_kelvin * own_s + copper.per_kelvin * bus_s) / whole,
    )


def link_sections(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[list[tuple[str, ConductorSection]], NDArray[np.float64]]:
    """(strip's name, section) and length [mm] of every link, in the network's order."""
    found: list[tuple[str, ConductorSection]] = []
    lengths: list[float] = []
    kept: dict[tuple[float, float, int, float], ConductorSection] = {}
    for strip in interconnect.strips:
        key = (strip.width_mm, strip.thickness_mm, strip.layers, strip.bus_mm)
        section = kept.setdefault(key, section_of(pack, strip))
        xy = cell_layout.xy_mm[list(strip.cells)]
        found += [(strip.name, section)] * len(strip.links)
        if len(xy) > 1:
            lengths += np.hypot(*np.diff(xy, axis=0).T).tolist()
    return found, np.array(lengths)


def strip_limit(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, of: Shares
) -> StripLimit | None:
    """The link or strip end that limits the pack's current first; None where nothing flows in
    any strip. Ends to a main lead count where strips run out to it."""
    if interconnect.plates:
        return _plate_limit(cell_layout, interconnect, of)
    sections, _ = link_sections(pack, cell_layout, interconnect)
    source = "the given limit" if pack.strip.current_density_a_mm2 is not None else DENSITY_SOURCE
    best: StripLimit | None = None
    bears = np.array([section.continuous_rating_a for _, section in sections])
    with np.errstate(divide="ignore"):
        pack_a = bears / np.abs(of.link)
    if len(pack_a) and np.isfinite(pack_a.min()):
        k = int(np.argmin(pack_a))
        best = StripLimit(
            pack_a=float(pack_a[k]),
            strip=sections[k][0],
            link=k,
            continuous_rating_a=float(bears[k]),
            share_ratio=float(abs(of.link[k])),
            source=source,
        )
    leads = [strip for strip in interconnect.strips if strip.runs_out]
    ends = np.abs(of.tail[of.tail_ohm > LANDING_OHM])  # the others are no strips
    if leads and len(ends):
        # every lead strip has one section; which end belongs to which strip makes no difference
        end = section_of(pack, leads[0])
        share = float(ends.max())
        if best is None or end.continuous_rating_a / share < best.pack_a:
            best = StripLimit(
                pack_a=end.continuous_rating_a / share,
                strip=leads[0].name,
                link=None,
                continuous_rating_a=end.continuous_rating_a,
                share_ratio=share,
                source=source,
            )
    return best


def _plate_limit(cell_layout: CellLayout, interconnect: Interconnect, of: Shares) -> StripLimit:
    """The plate that is warmest over its can ends, and the pack's current at its limit."""
    rises = plate_rises_k(cell_layout, interconnect.plates, of, current_a=1.0)  # at one ampere
    worst = int(np.argmax(rises))
    pack_a = float(np.sqrt(RISE_MOST_K / rises[worst])) if rises[worst] > 0 else np.inf
    return StripLimit(
        pack_a=pack_a,
        strip=interconnect.plates[worst].name,
        link=None,
        continuous_rating_a=pack_a,
        share_ratio=1.0,
        source=f"{RISE_MOST_K:g} K over the can ends by the field in the sheet: judgement, no "
        "source",
    )
