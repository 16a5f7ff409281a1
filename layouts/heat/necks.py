"""When a short neck of sheet between two cold sheets melts.

Formulas for long wires do not hold for it: its heat leaves by its ends. Metals conduct heat in
proportion to electricity (Wiedemann and Franz, k rho = L T), so that in steady state a voltage
alone sets how hot a neck of any shape gets, T^2 = T0^2 + V^2 / (4 L) in kelvin (Kohlrausch; Holm,
Electric Contacts: formula and titles from memory). Current and ohms follow from there with a
resistivity on a straight line. What air takes off is left out: it is a few per cent of a
millimetre-sized neck's heat.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from math import acos, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_banded

from layouts.formats import conductors
from layouts.heat.convection import KELVIN
from layouts.heat.paths import LORENZ_W_OHM_K2
from layouts.ratings.given import above_zero
from layouts.ratings.tables import table_rows

__all__ = ["NeckMetal", "adiabatic_s", "melting_a", "melting_v", "melts_after_s", "neck_metal"]

POINTS = 32  # of the rule of Gauss and Legendre: the integrand is smooth
PARTS = 24  # of half a neck
STEP_RATIO = 0.01  # by which the hottest place, in kelvin, warms up in one step
# of melting, above which it counts as molten: the last kelvins are approached without end
NEAR_RATIO = 0.999


@dataclass(frozen=True, kw_only=True, slots=True)
class NeckMetal:
    """``ohm_m`` at 20 C with its change per kelvin, ``heat_j_k_m3``: of a volume."""

    ohm_m: float
    per_kelvin: float
    melting_c: float
    heat_j_k_m3: float

    def ratio(self, kelvin: NDArray[np.float64]) -> NDArray[np.float64]:
        """Resistivity at temperatures in kelvin over that at 20 C."""
        return np.asarray(1.0 + self.per_kelvin * (kelvin - KELVIN - 20.0))


@cache
def neck_metal(material: str) -> NeckMetal:
    """A metal of the table of conductors. Raises ValueError where its melting point is not known.

    Source: ``layouts/tables/neck_metals.csv``."""
    rows = {row["material"]: row for row in table_rows("neck_metals")}
    if material not in rows:
        raise ValueError(f"no melting point of {material!r}: there is {', '.join(rows)}")
    known, row = conductors()[material], rows[material]
    return NeckMetal(
        ohm_m=known.ohm_m,
        per_kelvin=known.per_kelvin,
        melting_c=float(row["melting_c"]),
        heat_j_k_m3=float(row["heat_j_k_mm3"]) * 1e9,
    )


def melting_v(metal: NeckMetal, *, ends_c: float) -> float:
    """Volts between the ends of a neck whose middle just melts, ends at ``ends_c`` [V]."""
    hot, cold = metal.melting_c + KELVIN, ends_c + KELVIN
    return 2.0 * sqrt(LORENZ_W_OHM_K2 * (hot**2 - cold**2))


def melting_a(metal: NeckMetal, *, ohm: float, ends_c: float) -> float:
    """Current that melts the middle of a neck of ``ohm`` at 20 C in the long run [A].

    I = (2/R) sqrt(L) rho20 int T / (rho(T) sqrt(Tm^2 - T^2)) dT from the ends' temperature to the
    melting point Tm; with T = Tm cos(a) the integrand is smooth."""
    hot = metal.melting_c + KELVIN
    span = acos((ends_c + KELVIN) / hot)
    at, weight = np.polynomial.legendre.leggauss(POINTS)
    kelvin = hot * np.cos(span * (at + 1.0) / 2.0)
    integral = float(weight @ (kelvin / metal.ratio(kelvin))) * span / 2.0
    return 2.0 * sqrt(LORENZ_W_OHM_K2) * integral / above_zero(ohm, "ohm")


def adiabatic_s(metal: NeckMetal, *, amps: float, area_mm2: float, from_c: float) -> float:
    """How long a current heats a section to its melting point where no heat leaves [s].

    t = Q / (j^2 rho20 a) ln(rho(Tm) / rho(T0)): heating without losses, resistivity on a straight
    line. The heat of fusion is not in it."""
    density = above_zero(amps, "amps") / above_zero(area_mm2, "area_mm2") * 1e6
    ends = np.array([from_c, metal.melting_c]) + KELVIN
    rise = float(np.diff(np.log(metal.ratio(ends)))[0])
    return metal.heat_j_k_m3 * rise / (density**2 * metal.ohm_m * metal.per_kelvin)


def melts_after_s(
    metal: NeckMetal,
    *,
    amps_at: Callable[[float], float],
    area_mm2: float,
    length_mm: float,
    ends_c: float,
    most_s: float,
) -> float | None:
    """When the middle of a straight neck reaches its melting point [s]; None: not in ``most_s``.

    ``amps_at``: the current by the neck's own ohms, which grow as it heats up. Finite volumes along
    half the neck, its end held at ``ends_c``; each step is solved with the heat at its begin."""
    wide_m = length_mm / 2000.0 / PARTS
    area_m2 = area_mm2 * 1e-6
    kelvin = np.full(PARTS, ends_c + KELVIN)  # from the end to the middle
    molten = NEAR_RATIO * (metal.melting_c + KELVIN)
    spent_s = 0.0
    while spent_s < most_s:
        ohm_m = metal.ohm_m * metal.ratio(kelvin)
        amps = amps_at(2.0 * float(ohm_m.sum()) * wide_m / area_m2)
        heat = (amps / area_m2) ** 2 * ohm_m / metal.heat_j_k_m3  # K/s in each part
        flows = _flows(metal, kelvin, ends_c + KELVIN, wide_m)
        change = heat - flows @ np.append(ends_c + KELVIN, kelvin)
        fastest = float(np.abs(change / kelvin).max())
        step_s = min(STEP_RATIO / fastest if fastest > 0 else most_s, most_s - spent_s)
        before = float(kelvin[-1])
        kelvin = _stepped(flows, kelvin, heat, ends_c + KELVIN, step_s)
        if kelvin[-1] >= molten:
            return spent_s + step_s * (molten - before) / float(kelvin[-1] - before)
        spent_s += step_s
        if spent_s >= most_s:
            break
    return None


def _flows(
    metal: NeckMetal, kelvin: NDArray[np.float64], end: float, wide_m: float
) -> NDArray[np.float64]:
    """(n, n + 1) change of each part in K/s by conduction, per kelvin of the end and of each part,
    negative: what leaves."""
    whole = np.append(end, kelvin)
    conducts = LORENZ_W_OHM_K2 * whole / (metal.ohm_m * metal.ratio(whole))
    between = (conducts[:-1] + conducts[1:]) / 2.0
    between[0] *= 2.0  # half a part to the end
    rate = between / (wide_m**2 * metal.heat_j_k_m3)
    n = len(kelvin)
    found = np.zeros((n, n + 1))
    rows = np.arange(n)
    found[rows, rows] -= rate
    found[rows, rows + 1] += rate
    found[rows[:-1], rows[1:]] += rate[1:]
    found[rows[:-1], rows[1:] + 1] -= rate[1:]
    return found


def _stepped(
    flows: NDArray[np.float64],
    kelvin: NDArray[np.float64],
    heat: NDArray[np.float64],
    end: float,
    step_s: float,
) -> NDArray[np.float64]:
    """The parts after a step, conduction by where they are then."""
    inner = np.eye(len(kelvin)) + step_s * flows[:, 1:]
    banded = np.zeros((3, len(kelvin)))
    banded[0, 1:] = np.diag(inner, 1)
    banded[1] = np.diag(inner)
    banded[2, :-1] = np.diag(inner, -1)
    right = kelvin + step_s * (heat - flows[:, 0] * end)
    return np.asarray(solve_banded((1, 1), banded, right))
