"""When a wire melts (Preece) or its insulation burns: heating without losses."""

from __future__ import annotations

from math import exp, log, sqrt

from layouts.checks import Check
from layouts.ratings.given import MEMORY, above_zero, any_number, at_most
from layouts.ratings.tables import adiabatic, preece_constants

__all__ = [
    "adiabatic_end_c",
    "adiabatic_k",
    "preece_a",
    "wire_fault_check",
    "withstood_s",
]

MM_IN = 25.4
PLASTIC_SHORT_C = 160.0  # end temperature of PVC in a short circuit, IEC 60364-5-54, from memory


def preece_a(*, diameter_mm: float, metal: str = "copper") -> float:
    """Current that melts a round wire in free air in the long run: I = C d^1.5, d in inches [A].

    W. H. Preece, Proc. Royal Society 1884 (title from memory); constants by the table. Holds
    for long bare wires, within tens of per cent.
    """
    return float(_preece(metal) * (above_zero(diameter_mm, "diameter_mm") / MM_IN) ** 1.5)


def _preece(metal: str) -> float:
    known = preece_constants()
    if metal not in known:
        raise ValueError(f"no constant of Preece for {metal!r}: there is {', '.join(known)}")
    return known[metal]


def adiabatic_k(*, from_c: float, to_c: float, metal: str = "copper") -> float:
    """Factor k of I = k A / sqrt(t) for heating without losses [A s^0.5/mm2].

    k = sqrt(Q (beta + 20)/rho20 ln((beta + Tf)/(beta + Ti))), which follows from a resistance
    that grows on a straight line; IEC 60364-5-54 annex A has the same. Constants by the table.
    """
    known = adiabatic()
    if metal not in known:
        raise ValueError(f"no heat of {metal!r}: there is {', '.join(known)}")
    data = known[metal]
    if not -data.beta_c < any_number(from_c, "from_c") < any_number(to_c, "to_c"):
        raise ValueError("to_c must be above from_c")
    rise = log((data.beta_c + to_c) / (data.beta_c + from_c))
    return sqrt(data.heat_j_k_mm3 * (data.beta_c + 20.0) / data.ohm_mm * rise)


def adiabatic_end_c(
    *, from_c: float, current_a: float, area_mm2: float, seconds: float, metal: str = "copper"
) -> float:
    """Temperature of a conductor after a current, heating without losses [C].

    ``adiabatic_k`` solved for the end: Tf = (beta + Ti) exp(I^2 t rho20 / (A^2 Q (beta + 20)))
    - beta; same source.
    """
    known = adiabatic()
    if metal not in known:
        raise ValueError(f"no heat of {metal!r}: there is {', '.join(known)}")
    data = known[metal]
    density = above_zero(current_a, "current_a") / above_zero(area_mm2, "area_mm2")
    heat = data.heat_j_k_mm3 * (data.beta_c + 20.0)
    power = density**2 * above_zero(seconds, "seconds") * data.ohm_mm / heat
    return (data.beta_c + any_number(from_c, "from_c")) * exp(power) - data.beta_c


def withstood_s(
    *,
    current_a: float,
    area_mm2: float,
    from_c: float = 75.0,
    to_c: float = PLASTIC_SHORT_C,
) -> float:
    """How long a copper wire withstands a fault before its insulation burns: t = (k A / I)^2 [s].

    Heating without losses, so on the safe side; ``adiabatic_k`` solved for the time.
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
        remedy="a thicker wire, or a smaller or faster fuse",
    )
