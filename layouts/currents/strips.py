"""The network that a pack's strips make, as they are laid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.cells.sharing import Sharing
from layouts.currents.network import Flow, Network, solve
from layouts.formats import conductors
from layouts.pack import Face, Pack
from layouts.strips.joining import BUS_SLOT_MM, Interconnect, Strip
from layouts.strips.joints import face_of_ends, net_of_group
from layouts.strips.plate import SPOTS_UNDER_LAYERS, BusPlate

__all__ = [
    "GroupedCells",
    "StripNetwork",
    "demand_or_rated_a",
    "face_column",
    "ohm_per_mm",
    "pack_network",
    "placed_sharing",
    "plate_network",
    "sharing",
    "spread_ratio",
    "strip_network",
    "strip_nodes",
    "touching_network",
    "weld_spots_ohm",
]


class GroupedCells(Protocol):
    """What a network needs to know of placed and grouped cells."""

    @property
    def xy_mm(self) -> NDArray[np.float64]:
        """(N, 2) centres."""
        ...

    @property
    def group(self) -> NDArray[np.int64]:
        """(N,) 1 to S; odd groups stand positive end up."""
        ...

    @property
    def neighbours(self) -> NDArray[np.int64]:
        """(M, 2) touching pairs."""
        ...


# All strip ends meet in the lead at once: a joint's own resistance, so that none is nothing.
LANDING_OHM = 1e-6
BUS_MATERIAL = "copper"


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StripNetwork:
    """A network of cells and strips, and which of its links are what.

    The first ``strip_links`` are lengths of strip between two cells, in the order of the joining's
    strips and their links; then ``welds``, two a cell (lower end, upper end); the rest connect the
    main leads."""

    network: Network
    strip_links: int
    welds: int

    def strips_of(self, each_link: NDArray[np.float64]) -> NDArray[np.float64]:
        """The strips' part of something that is given for every link."""
        return each_link[: self.strip_links]

    def welds_of(self, each_link: NDArray[np.float64]) -> NDArray[np.float64]:
        """The welds' part, (N, 2) lower and upper."""
        return each_link[self.strip_links : self.strip_links + self.welds].reshape(-1, 2)


def strip_nodes(cells: GroupedCells) -> NDArray[np.int64]:
    """(N, 2) node of the strips welded to each cell's lower and upper end."""
    return np.arange(2 * len(cells.xy_mm), dtype=np.int64).reshape(-1, 2)


def pack_network(
    pack: Pack,
    cells: GroupedCells,
    links: NDArray[np.int64],
    ohm: NDArray[np.float64],
    *,
    minus: Sequence[tuple[int, float]],
    plus: Sequence[tuple[int, float]],
    cell_mohm: float | NDArray[np.float64] | None = None,
    weld_ohm: NDArray[np.float64] | None = None,
) -> StripNetwork:
    """All of it; ``minus``, ``plus``: strip nodes that the leads connect to, each with its ohms.

    ``cell_mohm``: others than the pack's own; ``weld_ohm`` (N, 2): of the welds on each lower and
    upper end, None: as the pack has its spots."""
    count = len(cells.xy_mm)
    mohm = pack.cell.internal_resistance_mohm if cell_mohm is None else cell_mohm
    at_strip = strip_nodes(cells)
    can_nodes = at_strip + 2 * count
    minus_node, plus_node = 4 * count, 4 * count + 1
    up = cells.group % 2 == 1
    if weld_ohm is None:
        weld_ohm = np.full((count, 2), weld_spots_ohm(pack, pack.strip.weld_spots))
    landings = [(minus_node, node, ohms) for node, ohms in minus]
    landings += [(node, plus_node, ohms) for node, ohms in plus]
    network = Network(
        nodes=4 * count + 2,
        link_nodes=np.vstack(
            [
                links.reshape(-1, 2),
                np.column_stack([at_strip.ravel(), can_nodes.ravel()]),
                np.array([one[:2] for one in landings], dtype=np.int64).reshape(-1, 2),
            ]
        ).astype(np.int64),
        link_ohm=np.concatenate(
            [ohm, weld_ohm.ravel(), [max(one[2], LANDING_OHM) for one in landings]]
        ),
        cell_nodes=np.column_stack(
            [
                np.where(up, can_nodes[:, 0], can_nodes[:, 1]),
                np.where(up, can_nodes[:, 1], can_nodes[:, 0]),
            ]
        ),
        cell_v=np.full(count, pack.cell.nominal_v),
        cell_ohm=np.broadcast_to(mohm, count) / 1000.0,
        minus=minus_node,
        plus=plus_node,
    )
    return StripNetwork(network=network, strip_links=len(ohm), welds=2 * count)


def weld_spots_ohm(pack: Pack, spots: int) -> float:
    """Of so many weld spots side by side."""
    return pack.strip.weld_spot_mohm / 1000.0 / spots


def _plate_weld_ohm(pack: Pack, plate: BusPlate) -> float:
    """From a can end into a plate. Copper beneath nickel gets its current by the spots beside its
    hole; on the safe side all of it goes through them."""
    ohm = weld_spots_ohm(pack, plate.spots)
    return ohm if plate.pierced is None else ohm + weld_spots_ohm(pack, SPOTS_UNDER_LAYERS)


def plate_network(
    pack: Pack,
    cell_layout: CellLayout,
    plates: Sequence[BusPlate],
    *,
    cell_mohm: float | NDArray[np.float64] | None = None,
    whole: bool = False,
) -> StripNetwork:
    """Plates as ``strip_network`` has strips: each plate's links one after the other."""
    nodes = strip_nodes(cell_layout)
    pairs, ohms = [np.zeros((0, 2), dtype=np.int64)], [np.zeros(0)]
    ends: dict[bool, list[tuple[int, float]]] = {True: [], False: []}
    weld_ohm = np.full(nodes.shape, weld_spots_ohm(pack, plates[0].spots))
    for plate in plates:
        column = face_column(plate.face)
        weld_ohm[list(plate.cells), column] = _plate_weld_ohm(pack, plate)
        pairs.append(nodes[plate.conducts.pairs, column])
        ohms.append(plate.conducts.ohm)
        if plate.is_end:
            landing = [(int(nodes[cell, column]), ohm) for cell, ohm in plate.conducts.landing]
            if whole:
                landing = _whole_group(cell_layout, plate.groups[0], column)
            ends[plate.is_minus] = landing
    return pack_network(
        pack,
        cell_layout,
        np.concatenate(pairs),
        np.concatenate(ohms),
        minus=ends[True],
        plus=ends[False],
        cell_mohm=cell_mohm,
        weld_ohm=weld_ohm,
    )


def strip_network(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    *,
    cell_mohm: float | NDArray[np.float64] | None = None,
    whole: bool = False,
) -> StripNetwork:
    """Every length of strip between two welds is one link, every weld another.

    The main leads connect to the ends of all strips that run out, joined by a bar without
    resistance; where none runs out, or all is ``whole``, on every cell of the end group.
    ``cell_mohm``: another resistance of the cells than the data sheet's for direct current: one
    for all, or (N,) each cell's own."""
    if interconnect.plates:
        return plate_network(
            pack, cell_layout, interconnect.plates, cell_mohm=cell_mohm, whole=whole
        )
    nodes = strip_nodes(cell_layout)
    pairs: list[tuple[int, int]] = []
    ohm: list[float] = []
    tails: dict[Face, list[tuple[int, float]]] = {Face.LOWER: [], Face.UPPER: []}
    for strip in interconnect.strips:
        column = face_column(strip.face)
        per_mm = ohm_per_mm(pack, strip)
        xy = cell_layout.xy_mm[list(strip.cells)]
        steps = np.hypot(*np.diff(xy, axis=0).T) if len(xy) > 1 else np.zeros(0)
        for (i, j), step in zip(strip.links, steps.tolist(), strict=True):
            pairs.append((int(nodes[i, column]), int(nodes[j, column])))
            ohm.append(per_mm * step)
        if strip.runs_out:
            tail = float(np.hypot(*(np.asarray(strip.end_mm) - xy[-1])))
            tails[strip.face].append((strip.cells[-1], per_mm * tail))
    series = int(cell_layout.group.max())
    landed = []
    for group, face in ((1, interconnect.minus_face), (series, interconnect.plus_face)):
        column = face_column(face)
        node = net_of_group(np.array([group]), face)[0]
        mine = [
            (int(nodes[cell, column]), ohms)
            for cell, ohms in tails[face]
            if net_of_group(cell_layout.group[[cell]], face)[0] == node
        ]
        landed.append(_whole_group(cell_layout, group, column) if whole or not mine else mine)
    return pack_network(
        pack,
        cell_layout,
        np.array(pairs, dtype=np.int64).reshape(-1, 2),
        np.array(ohm),
        minus=landed[0],
        plus=landed[1],
        cell_mohm=cell_mohm,
    )


def ohm_per_mm(pack: Pack, strip: Strip) -> float:
    """Resistance of a strip a millimetre, all its layers, at 20 C.

    Copper on it counts without the width of its slots, along the whole strip: a little too much.
    """
    known = conductors()
    siemens_mm = (
        strip.width_mm * strip.thickness_mm * strip.layers / known[pack.strip.material].ohm_m
    )
    siemens_mm += max(strip.width_mm - BUS_SLOT_MM, 0.0) * strip.bus_mm / known[BUS_MATERIAL].ohm_m
    return 1e3 / siemens_mm


def face_column(face: Face) -> int:
    """Column of a face in ``strip_nodes``."""
    return 1 if face is Face.UPPER else 0


def _whole_group(cells: GroupedCells, group: int, column: int) -> list[tuple[int, float]]:
    """Strip nodes of every cell of a group on a face, for a collector bar."""
    nodes = strip_nodes(cells)[cells.group == group, column]
    return [(int(node), LANDING_OHM) for node in nodes]


def touching_network(pack: Pack, cells: GroupedCells) -> StripNetwork:
    """The same with a link over every touching pair of one potential on each face.

    What strips could do at best; leads connect to every cell of the end groups."""
    nodes = strip_nodes(cells)
    strip = pack.strip
    pairs = cells.neighbours.reshape(-1, 2)
    apart = np.hypot(*(cells.xy_mm[pairs[:, 0]] - cells.xy_mm[pairs[:, 1]]).T)
    ohm_m = conductors()[strip.material].ohm_m
    per_mm = ohm_m * 1e3 / (strip.link_width_mm * strip.thickness_mm * strip.layers)
    found, ohm = [], []
    for face in (Face.LOWER, Face.UPPER):
        node = net_of_group(cells.group, face)
        same = node[pairs[:, 0]] == node[pairs[:, 1]]
        found.append(nodes[pairs[same], face_column(face)])
        ohm.append(per_mm * apart[same])
    series = int(cells.group.max())
    return pack_network(
        pack,
        cells,
        np.vstack(found),
        np.concatenate(ohm),
        minus=_whole_group(cells, 1, 0),
        plus=_whole_group(cells, series, face_column(face_of_ends(series)[1])),
    )


def sharing(cells: GroupedCells, network: StripNetwork, load_a: float) -> Sharing:
    """Spread and loss of a network at a load; main terminals are no strips."""
    flow: Flow = solve(network.network, load_a)
    return Sharing(
        load_a=load_a,
        spread_ratio=spread_ratio(cells.group, flow.cell_a),
        strip_loss_w=float(network.strips_of(flow.link_w).sum()),
        hottest_link_a=float(np.abs(network.strips_of(flow.link_a)).max(initial=0.0)),
    )


def spread_ratio(group: NDArray[np.int64], cell_a: NDArray[np.float64]) -> float:
    """(largest - smallest) / mean current within a group, of the worst group; 0 = even."""
    at = group - 1
    series = int(at.max()) + 1
    low, high = np.full(series, np.inf), np.full(series, -np.inf)
    np.minimum.at(low, at, cell_a)
    np.maximum.at(high, at, cell_a)
    mean = np.bincount(at, weights=cell_a) / np.bincount(at)
    return float(((high - low) / np.abs(mean)).max())


def placed_sharing(pack: Pack, cells: GroupedCells) -> Sharing:
    """Before strips are laid: a link over every touching pair, collector bars at both ends.

    At the load demand, else at the cells' own rating."""
    return sharing(cells, touching_network(pack, cells), demand_or_rated_a(pack))


def demand_or_rated_a(pack: Pack) -> float:
    """The load demand, else P times the cell's own rating [A]."""
    """The required current; else, also for a load in watts, the cells' rating."""
    demand_a = None if pack.load is None else pack.load.continuous_a
    return pack.parallel * pack.cell.continuous_a if demand_a is None else demand_a
