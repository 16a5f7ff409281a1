"""Steady temperatures: the cells over the enclosure's inside, its outside over the air."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.heat.convection import plate_films_w_m2k
from layouts.heat.model import Case, HeatModel, network_of
from layouts.heat.network import factored
from layouts.heat.paths import core_k_w

__all__ = [
    "HOW_GOOD",
    "RISE_BAND_RATIO",
    "Rises",
    "Temperatures",
    "outside_k",
    "outside_w_k",
    "rises",
    "soaked_c",
    "steady",
    "steady_at",
]

ROUNDS_MOST = 60  # 5 to 10 do; a bend in the table of air costs a few more
AGREED_RATIO = 1e-12  # of the watts: near what sums over ten thousand cells hold to
FIRST_POWER, LEAST_POWER, MOST_POWER = 1.25, 0.8, 5.0  # of the rise that the watts grow with
RISE_BAND_RATIO = 0.3  # judgement, no source
HOW_GOOD = (
    "an estimate: the rise over ambient may be about 30 % higher or lower (judgement, no "
    "source). Each cell, the enclosure's inside and its outside have one temperature each, air "
    "inside is still, the walls of a closed bay are evenly warm, and heat through wires and "
    "brackets is neglected"
)


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Rises:
    """A pack's inside, solved once: how far each cell stands over the enclosure's inside.

    ``cell_k`` (N,), ``through_w``: what the cells send to it, both at the model's own load.
    """

    cell_k: NDArray[np.float64]
    through_w: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Temperatures:
    """Steady state.

    ``cell_c`` (N,): each can; ``core_c`` (N,): each cell's axis. ``enclosure_c``, ``outside_c``:
    inside and outside of the walls (both ambient where there are none). ``rise_k``: the hottest
    can over ambient. ``watts_in``: heat made and the sun's; ``watts_out``: what films and radiation
    carry off at these temperatures. ``rounds``: until the outside's temperature stood still.
    """

    cell_c: NDArray[np.float64]
    core_c: NDArray[np.float64]
    enclosure_c: float
    outside_c: float
    rise_k: float
    watts_in: float
    watts_out: float
    rounds: int

    @property
    def hottest_c(self) -> float:
        """Its can's temperature."""
        return float(self.cell_c.max())


def outside_w_k(case: Case, warmer_k: float, ambient_c: float) -> float:
    """All faces of the enclosure to the air, convection and radiation, W/K."""
    films = plate_films_w_m2k(warmer_k, ambient_c, high_mm=case.high_mm, plate_mm=case.plate_mm)
    areas = (case.side_mm2, case.top_mm2, case.bottom_mm2)
    return sum(film * area * 1e-6 for film, area in zip(films, areas, strict=True))


def outside_k(case: Case, watt: float, ambient_c: float) -> tuple[float, int]:
    """How far over the air the outside gives off ``watt``, and the rounds that took.

    Found on logarithms, where watts grow with the rise by a power of 1 (a fixed film) to 4
    (radiation alone): each round follows the power between the last two rises, until the watts
    agree to 1e-12. Raises ValueError where no face is free, or they never agree.
    """
    if case.side_mm2 + case.top_mm2 + case.bottom_mm2 <= 0:
        raise ValueError("no face of the enclosure is free")
    if watt <= 0:
        return 0.0, 0

    def excess(log_k: float) -> float:
        return math.log(outside_w_k(case, math.exp(log_k), ambient_c) / watt) + log_k

    last, before = 0.0, excess(0.0)
    log_k = last - before / FIRST_POWER
    for done in range(1, ROUNDS_MOST + 1):
        now = excess(log_k)
        if abs(now) <= AGREED_RATIO:
            return math.exp(log_k), done
        power = (now - before) / (log_k - last) if log_k != last else FIRST_POWER
        last, before = log_k, now
        log_k -= now / min(max(power, LEAST_POWER), MOST_POWER)
    raise ValueError(f"the outside's temperature did not settle within {ROUNDS_MOST} rounds")


def soaked_c(model: HeatModel) -> float:
    """What everything reaches without a load: the ambient temperature, or more in the sun."""
    if model.case is None:
        return model.ambient_c
    return model.ambient_c + outside_k(model.case, model.case.sun_w, model.ambient_c)[0]


def rises(model: HeatModel) -> Rises:
    """Solve the inside once; all else of a pack at any current follows from it."""
    network = network_of(model)
    cell_k = factored(network)(model.node_w)
    return Rises(cell_k=cell_k, through_w=float(network.held_w_k @ cell_k))


def steady(model: HeatModel) -> Temperatures:
    """Steady temperatures at the model's own load."""
    return steady_at(model, rises(model), 1.0)


def steady_at(model: HeatModel, solved: Rises, heat_ratio: float) -> Temperatures:
    """The same with all heat times ``heat_ratio``, the square of the currents' ratio."""
    ambient, case = model.ambient_c, model.case
    # from the network's own sum, so that a fault in it shows in the balance
    through = solved.through_w * heat_ratio
    passed = through + model.other_w * heat_ratio
    sun_w = 0.0 if case is None else case.sun_w
    if case is None:
        inside = outside = ambient
        rounds, watts_out = 0, passed
    else:
        rise, rounds = outside_k(case, passed + sun_w, ambient)
        outside = ambient + rise
        inside = outside + passed / case.wall_w_k
        watts_out = rise * outside_w_k(case, rise, ambient)
    cell_c = inside + solved.cell_k * heat_ratio
    core_k = core_k_w(length_mm=model.can.length_mm) * model.cell_w * heat_ratio
    return Temperatures(
        cell_c=cell_c,
        core_c=cell_c + core_k,
        enclosure_c=inside,
        outside_c=outside,
        rise_k=float(cell_c.max()) - ambient,
        watts_in=model.watts * heat_ratio + sun_w,
        watts_out=watts_out,
        rounds=rounds,
    )
