"""Thermal model of a pack: plain values, and the conductances that they make."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.heat.convection import air, narrow_radiation_w_m2k
from layouts.heat.network import HeatNetwork
from layouts.heat.paths import (
    along_cell_k_w,
    facing_factor,
    gap_w_m2k,
)

__all__ = ["Can", "Case", "Gaps", "HeatModel", "Held", "StripPaths", "at_load", "network_of"]

# the low end of natural convection in gas, 5 to 25 (Carleton University, Fire Dynamics I,
# lecture 4), and no radiation: the walls of a case of the user's own may be as warm as the cells
STILL_AIR_W_M2K = 5.0
LEAST_GAP_MM = 0.1  # parts that touch still have air between them; judgement, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class Can:
    """One cell's can; ``heat_j_k``: the cell's heat capacity."""

    diameter_mm: float
    length_mm: float
    heat_j_k: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Held:
    """The two holders' plastic: pockets of ``pocket_mm`` over ``depth_mm`` of each can's end.

    ``lip_mm``: thickness behind the can's end, open over a window of diameter ``window_mm``;
    ``wall_mm``: outside of the outermost pockets; ``site_mm2``: each cell's share of the outer
    face (honeycomb: pitch^2 sqrt(3)/2, grid: pitch^2); ``w_mk``: the plastic's conductivity.
    """

    pocket_mm: float
    depth_mm: float
    lip_mm: float
    window_mm: float
    wall_mm: float
    site_mm2: float
    w_mk: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Gaps:
    """Air inside the enclosure: ``side_mm`` (N,) from each can to the nearest wall, ``lower_mm``
    and ``upper_mm`` from the holders' outer faces to floor and lid."""

    side_mm: NDArray[np.float64]
    lower_mm: float
    upper_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Case:
    """The enclosure, its inside and its outside each one temperature.

    ``side_mm2``, ``top_mm2``, ``bottom_mm2``: outer faces that free air reaches (a face that
    lies on something: 0); ``high_mm``: height of the sides; ``plate_mm``: area / perimeter of
    top and bottom; ``wall_w_k``: through all walls, W/K; ``heat_j_k``: heat capacity, taken
    at its inside; ``sun_w``: taken up by its outside.
    """

    side_mm2: float
    top_mm2: float
    bottom_mm2: float
    high_mm: float
    plate_mm: float
    wall_w_k: float
    heat_j_k: float
    sun_w: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StripPaths:
    """Lengths of strip between two cells: ``cells`` (K, 2), ``w_k`` (K,), ``watt`` (K,) lost in
    each, half of which warms either cell."""

    cells: NDArray[np.int64]
    w_k: NDArray[np.float64]
    watt: NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class HeatModel:
    """N cells at a load of ``load_a``.

    ``neighbours`` (M, 2) and ``apart_mm`` (M,): touching pairs and their centres' distances;
    ``most_neighbours``: 6 on a honeycomb, 4 on a grid: what a cell lacks of it looks outwards.
    ``cell_w`` (N,): I^2 R of each. ``other_w``: made elsewhere inside at that load, as by the
    board. ``gaps`` None: no enclosure of its own, still air round the holders; ``case`` None: that
    air is at ``ambient_c``. ``inside_c``: temperature that the air and the radiation inside are
    taken at; both carry less when cold, so that ambient is on the safe side.
    """

    neighbours: NDArray[np.int64]
    apart_mm: NDArray[np.float64]
    most_neighbours: int
    load_a: float
    cell_w: NDArray[np.float64]
    strips: StripPaths
    can: Can
    held: Held
    gaps: Gaps | None
    case: Case | None
    ambient_c: float
    other_w: float = 0.0
    inside_c: float | None = None

    def __post_init__(self) -> None:
        if self.gaps is not None and self.case is None:
            raise ValueError("gaps need an enclosure")

    @property
    def node_w(self) -> NDArray[np.float64]:
        """(N,) watts that warm each cell: its own and half of each strip's on it."""
        watt = self.cell_w.astype(np.float64, copy=True)
        for column in (0, 1):
            np.add.at(watt, self.strips.cells[:, column], self.strips.watt / 2.0)
        return watt

    @property
    def watts(self) -> float:
        """All heat made inside."""
        return float(self.cell_w.sum() + self.strips.watt.sum() + self.other_w)


def at_load(model: HeatModel, load_a: float) -> HeatModel:
    """The same pack at another current: each cell keeps its share, heat goes with its square.

    Raises ValueError where the model's own current is 0 (its shares are unknown then).
    """
    if model.load_a <= 0:
        raise ValueError("the model's own current must be above zero")
    times = (load_a / model.load_a) ** 2
    return replace(
        model,
        load_a=load_a,
        cell_w=model.cell_w * times,
        strips=replace(model.strips, watt=model.strips.watt * times),
        other_w=model.other_w * times,
    )


def network_of(model: HeatModel) -> HeatNetwork:
    """Conductances of a pack: cell to cell, cell to the inside of the enclosure (or to the air)."""
    pairs = np.vstack([model.neighbours, model.strips.cells]).reshape(-1, 2).astype(np.int64)
    return HeatNetwork(
        pairs=pairs,
        pair_w_k=np.concatenate([_between_w_k(model), model.strips.w_k]),
        held_w_k=_outwards_w_k(model),
    )


def _inside_c(model: HeatModel) -> float:
    return model.ambient_c if model.inside_c is None else model.inside_c


def _lengths_m(model: HeatModel) -> tuple[float, float]:
    """Of a can: what both holders hold, and what is open between them."""
    held = min(2.0 * model.held.depth_mm, model.can.length_mm)
    return held / 1000.0, (model.can.length_mm - held) / 1000.0


def _between_w_k(model: HeatModel) -> NDArray[np.float64]:
    """(M,) between touching cells: through air and by radiation where they are open, through
    pocket air, web and pocket air where they are held. Raises ValueError without a web."""
    can, held, celsius = model.can, model.held, _inside_c(model)
    still = air(celsius).conductivity_w_mk
    held_m, open_m = _lengths_m(model)
    sector = 360.0 / model.most_neighbours
    facing = facing_factor(diameter_mm=can.diameter_mm, apart_mm=model.apart_mm, sector_deg=sector)
    shine = narrow_radiation_w_m2k(celsius) * math.pi * can.diameter_mm / 1000.0 * sector / 360.0
    web = facing_factor(diameter_mm=held.pocket_mm, apart_mm=model.apart_mm, sector_deg=sector)
    # across a pocket's play: a sector of a thin tube
    play = math.log(held.pocket_mm / can.diameter_mm) / (still * math.radians(sector))
    through = 1.0 / (1.0 / (held.w_mk * web) + 2.0 * play)
    return np.asarray((still * facing + shine) * open_m + through * held_m)


def _outwards_w_k(model: HeatModel) -> NDArray[np.float64]:
    """(N,) from each cell's side and ends to the inside of the enclosure, or to still air."""
    return _side_w_k(model) + _end_w_k(model)


def _side_w_k(model: HeatModel) -> NDArray[np.float64]:
    """(N,) the share of each can's side that no neighbour takes."""
    can, held, celsius = model.can, model.held, _inside_c(model)
    count = len(model.cell_w)
    have = np.bincount(model.neighbours.ravel(), minlength=count)
    share = np.clip(1.0 - have / model.most_neighbours, 0.0, 1.0)
    held_m, open_m = _lengths_m(model)
    round_m = math.pi * can.diameter_mm / 1000.0
    still, shine = air(celsius).conductivity_w_mk, narrow_radiation_w_m2k(celsius)
    play_mm = (held.pocket_mm - can.diameter_mm) / 2.0
    if model.gaps is None:
        bare = past = np.full(count, STILL_AIR_W_M2K)
    else:
        gap = np.maximum(model.gaps.side_mm, LEAST_GAP_MM)
        rest = np.maximum(gap - play_mm - held.wall_mm, LEAST_GAP_MM)
        bare = gap_w_m2k(gap, air_w_mk=still, radiation_w_m2k=shine)
        past = gap_w_m2k(rest, air_w_mk=still, radiation_w_m2k=shine)
    through = 1.0 / (play_mm / 1000.0 / still + held.wall_mm / 1000.0 / held.w_mk + 1.0 / past)
    return np.asarray(share * round_m * (bare * open_m + through * held_m))


def _end_w_k(model: HeatModel) -> float:
    """Both ends of one cell: its site's face of the holder, and the open window in it.

    The holder is taken to be as warm as the cells (it holds them over ``depth_mm``); metal in
    the window radiates too little to count.
    """
    can, held, celsius = model.can, model.held, _inside_c(model)
    still, shine = air(celsius).conductivity_w_mk, narrow_radiation_w_m2k(celsius)
    window_m2 = math.pi / 4.0 * held.window_mm**2 * 1e-6
    face_m2 = max(held.site_mm2 * 1e-6 - window_m2, 0.0)
    lip = held.lip_mm / 1000.0 / held.w_mk
    along = along_cell_k_w(diameter_mm=can.diameter_mm, length_mm=can.length_mm)
    total = 0.0
    for gap_mm in (
        (None, None)
        if model.gaps is None
        else (
            model.gaps.lower_mm,
            model.gaps.upper_mm,
        )
    ):
        if gap_mm is None:
            window = face = STILL_AIR_W_M2K
        else:
            gap = np.array([max(gap_mm, LEAST_GAP_MM)])
            face = float(gap_w_m2k(gap, air_w_mk=still, radiation_w_m2k=shine)[0])
            deep = gap + held.lip_mm
            window = float(gap_w_m2k(deep, air_w_mk=still, radiation_w_m2k=0.0)[0])
        end = window * window_m2 + face_m2 / (lip + 1.0 / face)
        total += 1.0 / (1.0 / end + along)
    return total
