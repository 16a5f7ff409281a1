"""How freely a vented cell's gas can leave: out of its weld window, and from there to the outside.

A cell vents at its positive end. From there the gas goes through what strips leave free of the weld
window, then along the gap between holder and floor (lid), between all neighbouring cells' sites at
once, out of the cell block into the electronics compartment on the +x side, past the board, through
the slots in the wall's top edge and down behind the drip skirt. Over the upper face it also reaches
the -x wall's slots. The greatest flow through this network, with free sections as capacities, is
the section of its narrowest cut (max-flow min-cut theorem).

What one cell needs follows from its gas by the orifice formula, at a pressure for the window, which
metal and a stiff lip surround, and a lower one for the enclosure, which must not burst. One cell
that vents without ignition is meant: no promise is made about fire, or about several cells.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, maximum_flow

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.form import Enclosure
from layouts.pack import Face, Lattice, Pack
from layouts.parts.shell import Shell
from layouts.slabs.areas import polygon_disc_area_mm2
from layouts.strips.joining import Interconnect
from layouts.strips.lip import positive_end
from layouts.strips.vent_area import GAS_L_AH, GAS_S, WINDOW_PA, vent_area_mm2

SHEET_MM = 0.5  # insulating sheet fixed to lid and floor; common practice, no source
ENCLOSURE_PA = 3_000.0  # in the tub: what a screwed lid of printed plastic withstands
UNITS_MM2 = 0.01  # flows are counted in these, as whole numbers
ENOUGH = 10**9  # a section that never binds, in those units
MOST_STARTS = 200  # positive ends a face that are followed one by one; above, the narrowest
SAME_WAY = math.cos(math.radians(20.0))  # a neighbour across a widened seam lies a little aside

GAP, WAY_OUT = "gap over the cell ends", "exit from the cell block"
ROOM, SLOTS, SKIRT = "space beside the board", "slots", "gap behind the drip skirt"


@dataclass(frozen=True, kw_only=True, slots=True)
class GasWay:
    """The narrowest vent path of a pack.

    ``smallest_mm2``: free section of the narrowest cut between the window of ``worst_cell`` (index
    into the arrangement), whose positive end lies on ``face``, and the outside. ``bottleneck``:
    what that cut goes through. ``window_mm2``: the least free weld window over a positive end,
    that of ``window_cell`` on ``window_face``. ``cell_ah``: capacity of one cell.
    """

    smallest_mm2: float
    worst_cell: int
    face: Face
    bottleneck: str
    window_mm2: float
    window_cell: int
    window_face: Face
    cell_ah: float


@dataclass(slots=True)
class _Network:
    """Directed sections between numbered places, each of a kind."""

    start: list[int] = field(default_factory=list)
    end: list[int] = field(default_factory=list)
    section: list[int] = field(default_factory=list)
    kind: list[str] = field(default_factory=list)

    def add(self, start: int, end: int, section_mm2: float, kind: str) -> None:
        self.start.append(start)
        self.end.append(end)
        self.section.append(min(ENOUGH, max(0, round(section_mm2 / UNITS_MM2))))
        self.kind.append(kind)


def free_windows_mm2(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face
) -> NDArray[np.float64]:
    """(N,) area of each weld window of a face that no strip covers, exact [mm2].

    Of a positive end under a plate, within the hole of its ring: gas goes through both. Strips are
    wider spaced and lift singly: their rings' holes are not counted."""
    strips = interconnect.laid(face)
    radius = pack.holder.window_mm / 2
    ring = min(radius, pack.holder.ring_hole_mm / 2) if interconnect.plates else radius
    radii = np.where(positive_end(cell_layout, face), ring, radius)
    free = np.asarray(math.pi * radii**2)
    if not strips:
        return free
    quads = np.array([strip.shape for strip in strips], dtype=np.object_)
    near = shapely.points(cell_layout.xy_mm)
    cell, strip = shapely.STRtree(quads).query(near, predicate="dwithin", distance=radius)
    known: dict[tuple[float, bytes], float] = {}
    for k, own in enumerate(radii.tolist()):
        x, y = cell_layout.xy_mm[k]
        frame = shapely.box(x - radius, y - radius, x + radius, y + radius)
        parts = shapely.intersection(quads[strip[cell == k]], frame)
        covering = shapely.transform(shapely.union_all(parts), lambda xy, at=(x, y): xy - at)
        # the same strips lie over many cells: their area is found once
        shape = shapely.to_wkb(shapely.normalize(shapely.set_precision(covering, 1e-7)))
        key = (own, shape)
        if key not in known:
            known[key] = polygon_disc_area_mm2(covering, (0.0, 0.0), own)
        free[k] -= known[key]
    return free


def gas_way(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, enclosure: Enclosure
) -> GasWay:
    """The smallest vent cross-section from the worst cell to the outside.

    Above ``MOST_STARTS`` positive ends on a face only those with the least section round their
    site are followed: all farther cuts are shared by their neighbours.
    """
    found: list[tuple[float, int, Face, str]] = []
    narrowest: list[tuple[float, int, Face]] = []
    for face in (Face.LOWER, Face.UPPER):
        up = cell_layout.positive_up if face is Face.UPPER else ~cell_layout.positive_up
        ends = np.flatnonzero(up)
        if not len(ends):
            continue
        windows = free_windows_mm2(pack, cell_layout, interconnect, face)[ends]
        least = int(np.argmin(windows))
        narrowest.append((float(windows[least]), int(ends[least]), face))
        network = _network(pack, cell_layout, enclosure, face)
        around = np.zeros(len(cell_layout.xy_mm))
        for start, section in zip(network.start, network.section, strict=True):
            if start < len(around):
                around[start] += section * UNITS_MM2
        for cell in ends[np.argsort(around[ends], kind="stable")][:MOST_STARTS].tolist():
            smallest, bottleneck = _from(network, len(around), cell)
            found.append((smallest, cell, face, bottleneck))
    smallest, cell, face, bottleneck = min(found, key=lambda one: one[0])
    window, window_cell, window_face = min(narrowest, key=lambda one: one[0])
    return GasWay(
        smallest_mm2=smallest, worst_cell=cell, face=face, bottleneck=bottleneck,
        window_mm2=window, window_cell=window_cell, window_face=window_face,
        cell_ah=pack.cell.capacity_ah,
    )  # fmt: skip


def _network(pack: Pack, cell_layout: CellLayout, enclosure: Enclosure, face: Face) -> _Network:
    """Sites 0..N-1, then the outside N, the compartment N+1, and the places up to the outside."""
    n = len(cell_layout.xy_mm)
    outside, room, before_slots, behind_skirt, left_slots, left_skirt = range(n, n + 6)
    network = _Network()
    height = _free_height_mm(pack, enclosure.shell, face)
    xy = cell_layout.xy_mm
    hexagon = pack.lattice is Lattice.HONEYCOMB
    edge = pack.pitch_mm / math.sqrt(3) if hexagon else pack.pitch_mm
    passages = enclosure.gas_passages
    discs = passages.blocked[face]
    for i, j in cell_layout.neighbours.tolist():
        way = (xy[j] - xy[i]) / np.hypot(*(xy[j] - xy[i]))
        section = height * _open_mm((xy[i] + xy[j]) / 2, way, edge, discs)
        network.add(i, j, section, GAP)
        network.add(j, i, section, GAP)
    for cell, way, middle in _rim_edges(cell_layout, pack.pitch_mm, 6 if hexagon else 4):
        section = height * _open_mm(middle, way, edge, discs)
        to_right = not _shadowed(xy, cell, middle, 1.0, pack.pitch_mm)
        to_left = not _shadowed(xy, cell, middle, -1.0, pack.pitch_mm)
        aside = min(middle[1] - passages.y_mm[0], passages.y_mm[1] - middle[1])
        if way[0] > 0.4 and to_right:
            network.add(cell, room, section, WAY_OUT)
        elif way[0] < -0.4 and to_left and face is Face.UPPER:
            network.add(cell, left_slots, section, WAY_OUT)
        elif abs(way[0]) < 0.1 and to_right and aside > edge / 2:
            # beside open cavity an edge's right half leads past the last cell to the compartment
            network.add(cell, room, section / 2, WAY_OUT)
    past_board = ENOUGH * UNITS_MM2 if face is Face.UPPER else passages.compartment_mm2
    network.add(room, before_slots, past_board, ROOM)
    right, left = passages.plus_x, passages.minus_x
    network.add(before_slots, behind_skirt, right.wide_mm * right.high_mm, SLOTS)
    network.add(behind_skirt, outside, right.behind_mm2, SKIRT)
    # at the -x wall only as much of a slot serves as stands beside the gap under the lid
    network.add(left_slots, left_skirt, left.wide_mm * min(height, left.high_mm), SLOTS)
    network.add(left_skirt, outside, left.behind_mm2, SKIRT)
    return network


def _free_height_mm(pack: Pack, shell: Shell, face: Face) -> float:
    """Between the holder's outer face and the sheet on floor or lid [mm]."""
    if face is Face.UPPER:
        gap = shell.z_rim_mm - pack.lip_to_lip_mm - pack.holder.lip_mm
    else:
        gap = -pack.holder.lip_mm - shell.z_floor_mm
    return max(0.0, gap - SHEET_MM)


def _open_mm(
    middle: NDArray[np.float64],
    way: NDArray[np.float64],
    edge_mm: float,
    discs: NDArray[np.float64],
) -> float:
    """Length of a site's edge, square to ``way``, that no pad or boss stands on."""
    along = np.array([-way[1], way[0]])
    half = edge_mm / 2
    offset = discs[:, :2] - middle
    near = discs[:, 2] ** 2 - (offset @ way) ** 2
    hit = near > 0
    centre, reach = (offset @ along)[hit], np.sqrt(near[hit])
    covered: float = 0.0
    at = -half
    low, high = np.clip(centre - reach, -half, half), np.clip(centre + reach, -half, half)
    for k in np.argsort(low, kind="stable"):
        covered += max(0.0, float(high[k]) - max(float(low[k]), at))
        at = max(at, float(high[k]))
    return edge_mm - covered


def _rim_edges(
    cell_layout: CellLayout, pitch_mm: float, sides: int
) -> list[tuple[int, NDArray[np.float64], NDArray[np.float64]]]:
    """Site edges without a neighbour: cell, direction out, middle of the edge."""
    xy = cell_layout.xy_mm
    angles = 2 * math.pi * np.arange(sides) / sides
    ways = np.column_stack([np.cos(angles), np.sin(angles)])
    met = np.zeros((len(xy), sides), dtype=np.bool_)
    for i, j in cell_layout.neighbours.tolist():
        way = (xy[j] - xy[i]) / np.hypot(*(xy[j] - xy[i]))
        met[i] |= ways @ way > SAME_WAY
        met[j] |= ways @ -way > SAME_WAY
    return [
        (int(cell), ways[k], xy[cell] + ways[k] * pitch_mm / 2) for cell, k in np.argwhere(~met)
    ]


def _shadowed(
    xy: NDArray[np.float64],
    cell: int,
    middle: NDArray[np.float64],
    sign: float,
    pitch_mm: float,
) -> bool:
    """Another cell lies beyond the edge on its way along x."""
    beyond = sign * (xy[:, 0] - xy[cell, 0]) > pitch_mm / 4
    return bool(np.any(beyond & (np.abs(xy[:, 1] - middle[1]) < pitch_mm / 2)))


def _from(network: _Network, n: int, cell: int) -> tuple[float, str]:
    """Greatest flow from over a cell's positive end to the outside [mm2], and the cut's kinds."""
    source, outside, size = n + 6, n, n + 7
    start = np.array([*network.start, source], dtype=np.int32)
    end = np.array([*network.end, cell], dtype=np.int32)
    section = np.array([*network.section, ENOUGH], dtype=np.int32)
    kinds = [*network.kind, GAP]
    graph = csr_array((section, (start, end)), shape=(size, size), dtype=np.int32)
    graph.sum_duplicates()
    result = maximum_flow(graph, source, outside)
    left = (graph - result.flow).tocsr()
    left.data = np.maximum(left.data, 0)
    left.eliminate_zeros()
    reached = np.zeros(size, dtype=np.bool_)
    reached[breadth_first_order(left, source, return_predecessors=False)] = True
    cut = {
        kind
        for a, b, kind in zip(start.tolist(), end.tolist(), kinds, strict=True)
        if reached[a] and not reached[b]
    }
    order = [k for k in (GAP, WAY_OUT, ROOM, SLOTS, SKIRT) if k in cut]
    return float(result.flow_value) * UNITS_MM2, " and ".join(order)


def gas_way_checks(way: GasWay) -> tuple[Check, ...]:
    """One cell's gas gets out of its window, and from there out of the enclosure."""
    window_mm2 = vent_area_mm2(way.cell_ah, pressure_pa=WINDOW_PA)
    way_mm2 = vent_area_mm2(way.cell_ah, pressure_pa=ENCLOSURE_PA)
    source = (
        f"orifice formula, {GAS_L_AH:g} l/Ah within {GAS_S:g} s at {{:g}} kPa: judgement from "
        "memory, no source; one cell that vents without ignition"
    )
    remedy = {
        GAP: "a larger enclosure.gas_gap_mm",
        WAY_OUT: "a larger enclosure.gas_gap_mm",
        ROOM: "a smaller bms.board_mm",
    }.get(way.bottleneck.split(" and ")[0], "a longer tub, which has more slots")
    return (
        Check(
            id="gas_window",
            about="free weld window over the most covered positive end, for one venting cell",
            holds=way.window_mm2 >= window_mm2,
            value=way.window_mm2,
            limit=window_mm2,
            unit="mm2",
            source=source.format(WINDOW_PA / 1000.0),
            remedy="narrower strips (strip.link_width_mm, strip.row_width_mm), or a wider "
            "holder.window_mm",
            where=f"cell {way.window_cell + 1}, {way.window_face.value} face",
        ),
        Check(
            id="gas_way",
            about="smallest vent cross-section between a cell's window and the outside",
            holds=way.smallest_mm2 >= way_mm2,
            value=way.smallest_mm2,
            limit=way_mm2,
            unit="mm2",
            source=source.format(ENCLOSURE_PA / 1000.0),
            remedy=f"narrowest: {way.bottleneck}; {remedy}",
            where=f"cell {way.worst_cell + 1}, {way.face.value} face, {way.bottleneck}",
        ),
    )


__all__ = [
    "GasWay",
    "free_windows_mm2",
    "gas_way",
    "gas_way_checks",
    "vent_area_mm2",
]
