"""The heat model of a planned pack, from its cells, strips, holders and enclosure."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.formats import conductors, materials
from layouts.heat.model import Can, Case, Gaps, HeatModel, Held, StripPaths
from layouts.heat.paths import CELL_HEAT_J_KGK, metal_w_mk, strip_w_k
from layouts.heat.polymers import PolymerHeat
from layouts.heat.surroundings import bay_walls, in_bay, in_bay_alone, in_sun
from layouts.heat.temperature_limits import heat_limits
from layouts.pack import Lattice, Pack
from layouts.parts.shell import Shell
from layouts.strips.joining import Interconnect

__all__ = ["Walls", "heat_model"]

ROOM_TEMPERATURE_C = 25.0  # where no load says the ambient temperature


@dataclass(frozen=True, kw_only=True, slots=True)
class Walls:
    """An enclosure as heat sees it: its shell, and the volume of all its printed parts."""

    shell: Shell
    plastic_mm3: float


def heat_model(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    walls: Walls | None,
    *,
    load_a: float,
    cell_a: NDArray[np.float64],
    link_w: NDArray[np.float64],
    other_w: float = 0.0,
) -> HeatModel:
    """The pack under ``load_a``.

    ``cell_a`` (N,): current of each cell; ``link_w`` (K,): watts lost in each length of strip,
    in the order of ``interconnect.strips`` and each strip's ``links``, or of the plates' links.
    ``walls`` None: the held cells in still air. ``other_w``: heat made elsewhere inside. Raises
    ValueError where ``link_w`` has another length, PlanError for a material without values, and a
    closed bay without walls.
    """
    cells = np.array(
        [pair for strip in interconnect.strips for pair in strip.links], dtype=np.int64
    ).reshape(-1, 2)
    cells = np.vstack([cells, *(plate.conducts.pairs for plate in interconnect.plates)])
    if len(link_w) != len(cells):
        raise ValueError(f"{len(cells)} lengths of strip, but watts for {len(link_w)}")
    pairs = cell_layout.neighbours.reshape(-1, 2)
    polymer = heat_limits(pack).polymer
    grid = pack.lattice is Lattice.GRID
    ambient_c = ROOM_TEMPERATURE_C if pack.load is None else pack.load.ambient_c
    return HeatModel(
        neighbours=pairs,
        apart_mm=_apart_mm(cell_layout, pairs),
        most_neighbours=4 if grid else 6,
        load_a=load_a,
        cell_w=cell_a**2 * pack.each_cell_mohm / 1000.0,
        strips=StripPaths(
            cells=cells, w_k=_strip_w_k(pack, cell_layout, interconnect), watt=link_w
        ),
        can=Can(
            diameter_mm=pack.cell.diameter_mm,
            length_mm=pack.cell.length_mm,
            heat_j_k=pack.cell.mass_g / 1000.0 * CELL_HEAT_J_KGK,
        ),
        held=Held(
            pocket_mm=pack.pocket_mm,
            depth_mm=pack.holder.depth_mm,
            lip_mm=pack.holder.lip_mm,
            window_mm=pack.holder.window_mm,
            wall_mm=pack.holder.wall_mm,
            site_mm2=pack.pitch_mm**2 * (1.0 if grid else math.sqrt(3.0) / 2.0),
            w_mk=polymer.conductivity_w_mk,
        ),
        gaps=None if walls is None else _gaps(pack, cell_layout, walls.shell),
        case=_surrounded(pack, walls, polymer, ambient_c=ambient_c),
        ambient_c=ambient_c,
        other_w=other_w,
    )


def _apart_mm(cell_layout: CellLayout, pairs: NDArray[np.int64]) -> NDArray[np.float64]:
    steps = cell_layout.xy_mm[pairs[:, 1]] - cell_layout.xy_mm[pairs[:, 0]]
    return np.asarray(np.hypot(steps[:, 0], steps[:, 1]))


def _strip_w_k(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> NDArray[np.float64]:
    """(K,) each length of strip, from weld to weld."""
    ohm_m = conductors()[pack.strip.material].ohm_m
    found: list[float] = []
    for strip in interconnect.strips:
        pairs = np.array(strip.links, dtype=np.int64).reshape(-1, 2)
        section = strip.width_mm * strip.thickness_mm * strip.layers
        found += [
            strip_w_k(ohm_m=ohm_m, section_mm2=section, length_mm=length)
            for length in _apart_mm(cell_layout, pairs).tolist()
        ]
    # a plate's links conduct heat as they do electricity, metal by metal (Wiedemann and Franz)
    plates = [metal_w_mk(1.0) / plate.conducts.ohm for plate in interconnect.plates]
    return np.concatenate([np.array(found), *plates])


def _gaps(pack: Pack, cell_layout: CellLayout, shell: Shell) -> Gaps:
    nearest = shapely.distance(shapely.points(cell_layout.xy_mm), shell.cavity.exterior)
    return Gaps(
        side_mm=nearest - pack.cell.diameter_mm / 2.0,
        lower_mm=-pack.holder.lip_mm - shell.z_floor_mm,
        upper_mm=shell.z_rim_mm - (pack.lip_to_lip_mm + pack.holder.lip_mm),
    )


def _surrounded(
    pack: Pack, walls: Walls | None, polymer: PolymerHeat, *, ambient_c: float
) -> Case | None:
    """What is between the pack's inside and the ambient air, and the sun on it."""
    cooling = pack.cooling
    bay = bay_walls(cooling, pack.space)
    if walls is not None:
        case = _case(pack, walls, polymer)
        if bay is not None:
            case = in_bay(case, bay, ambient_c=ambient_c)
    elif bay is not None:
        case = in_bay_alone(bay, below_free=cooling.below_free)
    else:
        return None
    return in_sun(case, cooling.sun)


def _case(pack: Pack, walls: Walls, polymer: PolymerHeat) -> Case:
    """Walls, lid and a floor with air below pass heat: what stands out would only help. All
    plastic stores it."""
    shell = walls.shell
    outer, inner = shell.outer, shell.cavity
    below_free = pack.cooling.below_free
    # mm2 / mm = 1/1000 of m2 / m
    through = (
        inner.length * shell.inside_mm / shell.wall_mm
        + (inner.area / shell.floor_mm if below_free else 0.0)
        + inner.area / shell.lid_mm
    ) / 1000.0
    grams = walls.plastic_mm3 / 1000.0 * materials()[pack.printer.material].density_g_cm3
    side_mm2 = outer.length * shell.high_mm
    return Case(
        side_mm2=side_mm2,
        top_mm2=outer.area,
        bottom_mm2=outer.area if below_free else 0.0,
        high_mm=shell.high_mm,
        plate_mm=outer.area / outer.length,
        wall_w_k=polymer.conductivity_w_mk * through,
        heat_j_k=grams / 1000.0 * polymer.heat_j_kgk,
    )
