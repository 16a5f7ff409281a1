"""How freely a vented cell's gas can leave: out of its weld window, and from there to the outside.

A cell vents at its positive end. From there the gas goes through what strips leave free of the weld
window, then along the gap between holder and floor (lid), between all neighbouring cells' sites at
once, over the rim of the cell block, and on by the ways that the enclosure's form leaves open. The
greatest flow through this network, with free sections as capacities, is the section of its
narrowest cut (max-flow min-cut theorem).

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
from layouts.enclosures.form import OUTSIDE, Enclosure, RimEdge, gas_site
from layouts.enclosures.vent import vent_need_mm2
from layouts.pack import Face, GasketSpec, Lattice, Pack
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

GAP, WIDER_GAP = "gap over the cell ends", "a larger enclosure.gas_gap_mm"


@dataclass(frozen=True, kw_only=True, slots=True)
class GasWay:
    """The narrowest vent path of a pack.

    ``smallest_mm2``: free section of the narrowest cut between the window of ``worst_cell`` (index
    into the arrangement), whose positive end lies on ``face``, and the outside. ``bottleneck``:
    what that cut goes through, ``remedy``: what would widen it. ``window_mm2``: the least free weld
    window over a positive end, that of ``window_cell`` on ``window_face``. ``cell_ah``: capacity
    of one cell. ``gasket``: with the gas that the pack file gives, where there is one.
    """

    smallest_mm2: float
    worst_cell: int
    face: Face
    bottleneck: str
    remedy: str
    window_mm2: float
    window_cell: int
    window_face: Face
    cell_ah: float
    gasket: GasketSpec | None = None


@dataclass(slots=True)
class _Network:
    """Directed sections between places, each of a kind; places are numbered as they are named.

    ``remedies``: what would widen a section, by its kind."""

    places: dict[str, int] = field(default_factory=dict)
    start: list[int] = field(default_factory=list)
    end: list[int] = field(default_factory=list)
    section: list[int] = field(default_factory=list)
    kind: list[str] = field(default_factory=list)
    remedies: dict[str, str] = field(default_factory=lambda: {GAP: WIDER_GAP})

    def number(self, place: str) -> int:
        """Of a place."""
        return self.places.setdefault(place, len(self.places))

    def add(self, start: str, end: str, section_mm2: float, kind: str) -> None:
        """A way from a place to another."""
        self.start.append(self.number(start))
        self.end.append(self.number(end))
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
    found: list[tuple[float, int, Face, list[str]]] = []
    narrowest: list[tuple[float, int, Face]] = []
    network = _network(pack, cell_layout, enclosure)
    around = np.bincount(network.start, network.section, minlength=len(network.places))
    for face in (Face.LOWER, Face.UPPER):
        up = cell_layout.positive_up if face is Face.UPPER else ~cell_layout.positive_up
        ends = np.flatnonzero(up)
        if not len(ends):
            continue
        windows = free_windows_mm2(pack, cell_layout, interconnect, face)[ends]
        least = int(np.argmin(windows))
        narrowest.append((float(windows[least]), int(ends[least]), face))
        sites = np.array([network.number(gas_site(face, cell)) for cell in ends.tolist()])
        first = np.argsort(around[sites], kind="stable")[:MOST_STARTS]
        for cell, site in zip(ends[first].tolist(), sites[first].tolist(), strict=True):
            smallest, cut = _from(network, site)
            found.append((smallest, cell, face, cut))
    smallest, cell, face, cut = min(found, key=lambda one: one[0])
    window, window_cell, window_face = min(narrowest, key=lambda one: one[0])
    return GasWay(
        smallest_mm2=smallest, worst_cell=cell, face=face, bottleneck=" and ".join(cut),
        remedy=network.remedies[cut[0]],
        window_mm2=window, window_cell=window_cell, window_face=window_face,
        cell_ah=pack.cell.capacity_ah, gasket=pack.enclosure.gasket,
    )  # fmt: skip


def _network(pack: Pack, cell_layout: CellLayout, enclosure: Enclosure) -> _Network:
    """Sites over both faces, the places of the enclosure's form, and the outside."""
    network = _Network()
    network.number(OUTSIDE)
    xy = cell_layout.xy_mm
    hexagon = pack.lattice is Lattice.HONEYCOMB
    edge = pack.pitch_mm / math.sqrt(3) if hexagon else pack.pitch_mm
    rim: list[RimEdge] = []
    shell = enclosure.shell
    for face in (Face.LOWER, Face.UPPER):
        height = free_height_mm(pack, face, z_floor_mm=shell.z_floor_mm, z_rim_mm=shell.z_rim_mm)
        discs = enclosure.gas_blocked[face]
        for i, j in cell_layout.neighbours.tolist():
            way = (xy[j] - xy[i]) / np.hypot(*(xy[j] - xy[i]))
            section = height * _open_mm((xy[i] + xy[j]) / 2, way, edge, discs)
            network.add(gas_site(face, i), gas_site(face, j), section, GAP)
            network.add(gas_site(face, j), gas_site(face, i), section, GAP)
        for cell, way, middle in _rim_edges(cell_layout, pack.pitch_mm, 6 if hexagon else 4):
            rim.append(
                RimEdge(
                    face=face, cell=cell, way=way, middle_mm=middle, long_mm=edge,
                    section_mm2=height * _open_mm(middle, way, edge, discs),
                )
            )  # fmt: skip
    for link in enclosure.gas_links(pack, cell_layout, rim):
        network.add(link.start, link.end, link.section_mm2, link.kind)
        network.remedies.setdefault(link.kind, link.remedy)
    return network


def outside_mm2(pack: Pack, cell_layout: CellLayout, enclosure: Enclosure) -> float:
    """Free section of all openings that gas leaves an enclosure through [mm2]."""
    network = _network(pack, cell_layout, enclosure)
    outside = network.number(OUTSIDE)
    ends = zip(network.end, network.section, strict=True)
    return UNITS_MM2 * sum(section for end, section in ends if end == outside)


def free_height_mm(pack: Pack, face: Face, *, z_floor_mm: float, z_rim_mm: float) -> float:
    """Between a holder's outer face and the sheet on floor or lid [mm]."""
    if face is Face.UPPER:
        gap = z_rim_mm - pack.lip_to_lip_mm - pack.holder.lip_mm
    else:
        gap = -pack.holder.lip_mm - z_floor_mm
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


def _from(network: _Network, site: int) -> tuple[float, list[str]]:
    """Greatest flow from over a cell's positive end to the outside [mm2], and the cut's kinds."""
    source = len(network.places)
    outside, size = network.number(OUTSIDE), source + 1
    start = np.array([*network.start, source], dtype=np.int32)
    end = np.array([*network.end, site], dtype=np.int32)
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
        kind: None
        for a, b, kind in zip(start.tolist(), end.tolist(), kinds, strict=True)
        if reached[a] and not reached[b]
    }
    return float(result.flow_value) * UNITS_MM2, list(cut)


def gas_way_checks(way: GasWay) -> tuple[Check, ...]:
    """One cell's gas gets out of its window, and from there out of the enclosure."""
    window_mm2 = vent_area_mm2(way.cell_ah, pressure_pa=WINDOW_PA)
    way_mm2, gasket = vent_area_mm2(way.cell_ah, pressure_pa=ENCLOSURE_PA), way.gasket
    source = (
        f"orifice formula, {GAS_L_AH:g} l/Ah within {GAS_S:g} s at {{:g}} kPa: judgement from "
        "memory, no source; one cell that vents without ignition"
    )
    way_source = source.format(ENCLOSURE_PA / 1000.0)
    if gasket is not None:
        way_mm2 = vent_need_mm2(gasket)
        way_source = (
            f"orifice formula, gas and {gasket.opens_at_kpa:g} kPa by enclosure.gasket: as much as "
            "the vent needs; one cell that vents without ignition"
        )
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
            source=way_source,
            remedy=f"narrowest: {way.bottleneck}; {way.remedy}",
            where=f"cell {way.worst_cell + 1}, {way.face.value} face, {way.bottleneck}",
        ),
    )


__all__ = [
    "GasWay",
    "free_height_mm",
    "free_windows_mm2",
    "gas_way",
    "gas_way_checks",
    "outside_mm2",
    "vent_area_mm2",
]
