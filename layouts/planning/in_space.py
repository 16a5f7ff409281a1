"""An arrangement from cells that were placed in the outline of a space."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrange import block_seams, cut_into_tiles
from layouts.cells.arrangement import CellLayout, Seam
from layouts.cells.choice import LaidCells
from layouts.cells.placed import place_cells, reach_mm
from layouts.cells.placed_cells import PlacedCells
from layouts.cells.sharing import Sharing
from layouts.cells.spacing import HIGH_VOLTS, pair_volts
from layouts.currents.strips import demand_or_rated_a, sharing, strip_network
from layouts.errors import PlanError
from layouts.pack import EnclosureStyle, Pack
from layouts.placing.values import Effort
from layouts.planning.early import check_rows
from layouts.strips.laying import join

__all__ = ["arrange_in_space", "high_seams", "is_placed"]

ROUNDS = 4  # placed again with space for the lines that a split holder widens
WALL_MM = 1e-6  # float noise of a cell that touches its reach


def is_placed(pack: Pack) -> bool:
    """Whether the pack's cells are placed in its space's outline."""
    return pack.enclosure.style is EnclosureStyle.NONE and pack.space is not None


def arrange_in_space(
    pack: Pack, *, effort: Effort = Effort.QUICK
) -> tuple[Pack, PlacedCells, CellLayout]:
    """The pack with the web that its groups need, its placed cells, and their arrangement.

    Where the holder is cut for the bed the lattice is widened at the cuts: all is then placed with
    that much space to spare. Raises PlanError where the cells don't go in, and for free spacing,
    which leaves no rows for strips."""
    check_rows(pack)
    grown = 0.0
    for _ in range(ROUNDS):
        placed = place_cells(pack, effort=effort, grown_mm=grown, share=_share_as_laid)
        wide = replace(pack, holder=replace(pack.holder, web_mm=placed.web_mm))
        cell_layout = _arranged(wide, placed)
        short = _shortage_mm(wide, placed, cell_layout)
        if short <= WALL_MM:
            return wide, placed, cell_layout
        grown += short
    raise PlanError(
        field="printer.bed_mm",
        why="splits the holders into tiles, and the space is too small for their walls",
        remedy="use a bed that the holders fit in one piece",
    )


def _share_as_laid(pack: Pack, placed: PlacedCells) -> Sharing:
    """How cells share the load through the strips that would be laid, with collector bars."""
    cell_layout = _arranged(pack, placed)
    network = strip_network(pack, cell_layout, join(pack, cell_layout), whole=True)
    return sharing(cell_layout, network, demand_or_rated_a(pack))


def _arranged(pack: Pack, placed: PlacedCells) -> CellLayout:
    assert placed.sites is not None
    laid = LaidCells(
        sites=placed.sites,
        group=placed.group,
        pairs=placed.neighbours,
        fewest_contacts=placed.grouping.fewest_contacts,
        apart_mm={},
    )
    tiled = cut_into_tiles(pack, laid)
    # barriers follow the groups, not the cuts
    tile_seams = (seam for seam in block_seams(pack, laid, tiled) if not seam.barrier)
    return CellLayout(
        pitch_mm=pack.pitch_mm,
        xy_mm=tiled.xy_mm,
        sites=placed.sites,
        group=placed.group,
        positive_up=placed.group % 2 == 1,
        neighbours=placed.neighbours,
        tile=tiled.tile,
        seams=(*tile_seams, *high_seams(pack, laid)),
        empty_sites=0,
        lanes=1,
        rows_per_group=1,
        fewest_contacts=laid.fewest_contacts,
        notes=_notes(pack, placed, int(tiled.tile.max()) + 1),
        room=shapely.transform(placed.cavity, placed.to_pack),
    )


def _shortage_mm(pack: Pack, placed: PlacedCells, cell_layout: CellLayout) -> float:
    """By how much the nearest cell stands too near a wall of the space, after widening."""
    to_space = placed.pose
    there = cell_layout.xy_mm @ to_space[:2, :2].T + to_space[:2, 3]
    points = shapely.points(there)
    apart = shapely.distance(points, placed.cavity.boundary)
    inside = shapely.contains(placed.cavity, points)
    free = np.where(inside, apart, -apart)
    return float((reach_mm(pack) - free).max())


def high_seams(pack: Pack, laid: LaidCells) -> tuple[Seam, ...]:
    """Chains of touching pairs so far apart in volts that a barrier must stand between them.

    Two pairs follow each other where their cells touch each other in turn: there the lines
    half-way between both cells meet. A chain ends at the rim, and where three of them meet.
    """
    pairs = laid.pairs
    volts = pair_volts(laid.group[pairs[:, 0]], laid.group[pairs[:, 1]], full_v=pack.cell.full_v)
    high = np.flatnonzero(volts > HIGH_VOLTS)
    seams = []
    for chain in _chains(laid.sites, pairs, high):
        mine = pairs[chain]
        seams.append(
            Seam(
                reason="volts",
                growth_mm=0.0,
                pairs=mine,
                volts=float(volts[chain].max()),
                barrier=True,
            )
        )
    return tuple(seams)


def _chains(
    sites: NDArray[np.int64], pairs: NDArray[np.int64], high: NDArray[np.int64]
) -> list[list[int]]:
    """High pairs in order along the lines between their cells."""
    # Places where lines between cells meet: between three touching cells, on a grid between four.
    # Both are the corners of the pair's Voronoi side, identified by whole numbers.
    corners: dict[tuple[int, int], list[int]] = defaultdict(list)
    ends: dict[int, list[tuple[int, int]]] = {}
    for pair in high.tolist():
        a, b = sites[pairs[pair]]
        ends[pair] = _side_corners(a, b)
        for corner in ends[pair]:
            corners[corner].append(pair)
    left = set(high.tolist())
    found = []

    def walk(pair: int, corner: tuple[int, int]) -> list[int]:
        way = []
        while len(corners[corner]) == 2:
            following = next(one for one in corners[corner] if one != pair)
            if following not in left:
                break
            left.discard(following)
            way.append(following)
            pair = following
            corner = next(one for one in ends[pair] if one != corner)
        return way

    for pair in high.tolist():
        if pair not in left:
            continue
        left.discard(pair)
        one, other = ends[pair]
        ahead = walk(pair, other)
        behind = walk(pair, one)
        found.append([*behind[::-1], pair, *ahead])
    return found


def _side_corners(a: NDArray[np.int64], b: NDArray[np.int64]) -> list[tuple[int, int]]:
    """Both corners of the line between two touching sites, in sixths of lattice steps."""
    (ax, ay), (bx, by) = a.tolist(), b.tolist()
    dx, dy = bx - ax, by - ay
    if (abs(dx), abs(dy)) in ((1, 0), (0, 1)):  # grid: half a step to either side
        return sorted((3 * (ax + bx) + s * 3 * dy, 3 * (ay + by) + s * 3 * dx) for s in (1, -1))
    # honeycomb: the third cell of the triangle on either side; the corner is their mean
    thirds = {(2, 0): ((1, 1), (1, -1)), (1, 1): ((2, 0), (-1, 1)), (-1, 1): ((-2, 0), (1, 1))}
    sign = 1
    if (dx, dy) not in thirds:
        dx, dy, sign = -dx, -dy, -1
    return sorted(
        (2 * (ax + bx + ax + sign * tx), 2 * (ay + by + ay + sign * ty))
        for tx, ty in thirds[dx, dy]
    )


def _notes(pack: Pack, placed: PlacedCells, tiles: int) -> tuple[str, ...]:
    """What was decided, in sentences for the report."""
    grouping = placed.grouping
    notes = [
        f"{len(placed.group)} cells placed in the space's outline ({placed.method}, rows turned "
        f"by {placed.turn_deg:.1f} degrees); {placed.most} would fit at this pitch, upper bound "
        f"{placed.bound} ({placed.bound_name}).",
    ]
    if placed.decks > 1:
        notes.append(
            f"The space is high enough for {placed.decks} layers; one is used. More layers: one "
            "pack file each."
        )
    if pack.series > 1:
        proof = "proven best for these cells" if grouping.proven else "not proven best"
        notes.append(
            f"At least {grouping.fewest_contacts} touching pairs from group to group, bound "
            f"{grouping.contact_bound} ({grouping.contact_bound_reason}); {proof}."
        )
    if grouping.worst_volts > 0:
        notes.append(f"Highest voltage between two touching cells: {grouping.worst_volts:.1f} V.")
    if placed.web_mm > pack.holder.web_mm - 1e-9 and grouping.worst_volts > HIGH_VOLTS:
        notes.append(
            f"The web is {placed.web_mm:g} mm throughout, so that barriers fit between cells "
            f"with more than {HIGH_VOLTS:g} V between them."
        )
    if tiles > 1:
        notes.append(f"Each holder is split into {tiles} tiles.")
    return (*notes, *grouping.notes)
