"""When a wire melts or its insulation burns: Preece, Onderdonk, and heating without losses."""

from __future__ import annotations

from math import log, log10, sqrt

from layouts.checks import Check
from layouts.ratings.given import MEMORY, above_zero, any_number, at_most
from layouts.ratings.tables import adiabatic, preece_constants

__all__ = [
    "adiabatic_k",
    "circular_mils",
    "onderdonk_a",
    "preece_a",
    "preece_diameter_mm",
    "wire_fault_check",
    "withstood_s",
]

MM_IN = 25.4
CIRCULAR_MIL_MM2 = 3.141592653589793 / 4 * 0.0254**2
COPPER_MELTS_C = 1083.0  # as Onderdonk's formula takes it
SHORT_S = 10.0  # Onderdonk holds while next to no heat gets away: below about ten seconds
PLASTIC_SHORT_C = 160.0  # end temperature of PVC in a short circuit, IEC 60364-5-54, from memory


def preece_a(*, diameter_mm: float, metal: str = "copper") -> float:
    """Current that melts a round wire in free air in the long run: I = C d^1.5, d in inches [A].

    W. H. Preece, Proc. Royal Society 1884 (title from memory); constants by the table. Holds
    for long bare wires, within tens of per cent.
    """
    return float(_preece(metal) * (above_zero(diameter_mm, "diameter_mm") / MM_IN) ** 1.5)


def preece_diameter_mm(*, current_a: float, metal: str = "copper") -> float:
    """Diameter of the round wire that a current melts in the long run [mm]."""
    return float(MM_IN * (above_zero(current_a, "current_a") / _preece(metal)) ** (2 / 3))


def _preece(metal: str) -> float:
    known = preece_constants()
    if metal not in known:
        raise ValueError(f"no constant of Preece for {metal!r}: there is {', '.join(known)}")
    return known[metal]


def circular_mils(area_mm2: float) -> float:
    """Section in circular mils: discs of 0.001 inch diameter."""
    return above_zero(area_mm2, "area_mm2") / CIRCULAR_MIL_MM2


def onderdonk_a(
    *, area_mm2: float, seconds: float, ambient_c: float = 25.0, melts_c: float = COPPER_MELTS_C
) -> float:
    """Current that melts a copper wire within ``seconds``, no heat lost meanwhile [A].

    I = A sqrt(log10(1 + (Tm - Ta)/(234 + Ta)) / (33 t)), A in circular mils (I. M. Onderdonk;
    form from memory, as discussed by D. Brooks and J. Adam, PCD&F). The sum 234 + Ta is right:
    a circulated example subtracts. Raises ValueError above ten seconds, where heat gets away.
    """
    if above_zero(seconds, "seconds") > SHORT_S:
        raise ValueError(f"seconds must be at most {SHORT_S:g}: later, heat loss matters")
    if not -234.0 < any_number(ambient_c, "ambient_c") < any_number(melts_c, "melts_c"):
        raise ValueError("ambient_c must lie between -234 and the melting point")
    rise = log10(1.0 + (melts_c - ambient_c) / (234.0 + ambient_c))
    return circular_mils(area_mm2) * sqrt(rise / (33.0 * seconds))


def adiabatic_k(*, from_c: float, to_c: float, metal: str = "copper") -> float:
    """Factor k of I = k A / sqrt(t) for heating without losses [A s^0.5/mm2].

    k = sqrt(Q (beta + 20)/rho20 ln((beta + Tf)/(beta + Ti))), IEC 60364-5-54 annex A; its
    constants from memory.
    """
    known = adiabatic()
    if metal not in known:
        raise ValueError(f"no heat of {metal!r}: there is {', '.join(known)}")
    data = known[metal]
    if not -data.beta_c < any_number(from_c, "from_c") < any_number(to_c, "to_c"):
        raise ValueError("to_c must be above from_c")
    rise = log((data.beta_c + to_c) / (data.beta_c + from_c))
    return sqrt(data.heat_j_k_mm3 * (data.beta_c + 20.0) / data.ohm_mm * rise)


def withstood_s(
    *,
    current_a: float,
    area_mm2: float,
    from_c: float = 75.0,
    to_c: float = PLASTIC_SHORT_C,
) -> float:
    """How long a copper wire withstands a fault before its insulation burns: t = (k A / I)^2 [s].

    Heating without losses, so on the safe side. IEC 60364-4-43 (form from memory).
    """
    k = adiabatic_k(from_c=from_c, to_c=to_c)
    return (k * above_zero(area_mm2, "area_mm2") / above_zero(current_a, "current_a")) ** 2


def wire_fault_check(*, opens_at_a: float, opens_s: float, area_mm2: float) -> Check:
    """The wire withstands the slowest fault that its fuse reliably clears.

    ``opens_at_a``: the current from which the fuse reliably opens within ``opens_s``; at more it
    opens sooner and lets less energy through, so that this fault is the worst."""
    lasts = withstood_s(current_a=opens_at_a, area_mm2=area_mm2)
    return Check(
        id="wire_fault_s",
        about="conductor withstands the fault until the fuse clears (I2t)",
        holds=at_most(above_zero(opens_s, "opens_s"), lasts),
        value=lasts,
        limit=opens_s,
        unit="s",
        source=f"IEC 60364-5-54 annex A, {MEMORY}",
        how_to_mend="a thicker wire, or a smaller or faster fuse",
    )
