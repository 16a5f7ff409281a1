"""Whether the strips join the right cells, judged by where they lie, not by what they list."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Pack
from layouts.shorts.bare import can_shapes, node_potential, strip_shapes
from layouts.shorts.values import Kind, Spot, can_shape
from layouts.strips.joining import Interconnect, LaidMetal
from layouts.strips.joints import components, net_of_group

__all__ = ["missing_links", "wrong_joins"]

OVER_MM = 1e-6  # float noise in where a strip lies

Covered = set[tuple[int, int]]


def _covered(cell_layout: CellLayout, strips: Sequence[LaidMetal]) -> Covered:
    """(strip, cell) for every cell whose centre a strip lies over."""
    if not strips:
        return set()
    strip, cell = shapely.STRtree(can_shapes(cell_layout)).query(
        strip_shapes(strips), predicate="dwithin", distance=OVER_MM
    )
    return set(zip(strip.tolist(), cell.tolist(), strict=True))


def wrong_joins(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[Spot, ...]:
    """Strips that are to be welded to, or lie over the middle of, cells of two potentials."""
    found = []
    for face in (Face.LOWER, Face.UPPER):
        strips = interconnect.laid(face)
        node = net_of_group(cell_layout.group, face)
        touched = [set(strip.cells) for strip in strips]
        for k, cell in _covered(cell_layout, strips):
            touched[k].add(cell)
        for strip, cells in zip(strips, touched, strict=True):
            nodes = {int(node[cell]) for cell in cells}
            if len(nodes) > 1:
                found.append(_crossing(pack, cell_layout, face, strip, sorted(cells), node))
    return tuple(found)


def _crossing(
    pack: Pack,
    cell_layout: CellLayout,
    face: Face,
    strip: LaidMetal,
    cells: list[int],
    node: NDArray[np.int64],
) -> Spot:
    """A wrong strip and the foremost cell of the potential that is not its first cell's."""
    home = int(node[strip.cells[0]])
    foreign = next(cell for cell in cells if node[cell] != home)
    potential = node_potential(node, face)
    volts = abs(int(potential[foreign] - potential[strip.cells[0]])) * pack.cell.full_v
    groups = sorted({int(cell_layout.group[cell]) for cell in cells})
    told = ", ".join(str(group) for group in groups[:-1]) + f" and {groups[-1]}"
    at = cell_layout.xy_mm[foreign]
    return Spot(
        kind=Kind.JOIN,
        face=face,
        parts=(
            f"strip {strip.name}, over groups {told}",
            f"cell {foreign + 1}, group {int(cell_layout.group[foreign])}",
        ),
        volts=volts,
        gap_mm=0.0,
        need_mm=0.0,
        shapes=(strip.shape, can_shape(at, pack.cell.diameter_mm / 2)),
        ends_mm=np.array([at, at]),
    )


def missing_links(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[Spot, ...]:
    """What no strip joins though it must: consecutive groups, then cells of one potential.

    A length of strip joins the two cells that it lists only where it lies over both. One spot a
    pair of groups or a torn node, given by the two closest cells; then one a strip that does not
    lie over a cell that it is to be welded to, and one a lone cell of its potential without any
    strip."""
    found = []
    for face in (Face.LOWER, Face.UPPER):
        strips = interconnect.laid(face)
        covered = _covered(cell_layout, strips)
        found += _unjoined(pack, cell_layout, face, strips, covered)
        found += [
            _beside(pack, cell_layout, strip, missed[0])
            for k, strip in enumerate(strips)
            if (missed := [cell for cell in strip.cells if (k, cell) not in covered])
        ]
        found += _bare_ends(pack, cell_layout, face, strips)
    return tuple(found)


def _unjoined(
    pack: Pack, cell_layout: CellLayout, face: Face, strips: Sequence[LaidMetal], covered: Covered
) -> list[Spot]:
    """Consecutive groups that no strip joins, then nodes whose cells are not one piece."""
    group, node = cell_layout.group, net_of_group(cell_layout.group, face)
    links = [
        pair
        for k, strip in enumerate(strips)
        for pair in strip.links
        if (k, pair[0]) in covered and (k, pair[1]) in covered
    ]
    pairs = np.array(links, dtype=np.int64).reshape(-1, 2)
    _, piece = components(len(group), pairs[:, 0], pairs[:, 1])
    joined = np.sort(group[pairs], axis=1)
    crossed = set(joined[joined[:, 0] != joined[:, 1], 0].tolist())
    first = 1 if face is Face.UPPER else 2
    loose = set(range(first, int(group.max()), 2)) - crossed
    found = []
    for k in sorted(loose):
        a, b = (np.flatnonzero(group == one) for one in (k, k + 1))
        found.append(_gap(pack, cell_layout, face, a, b, f"groups {k} and {k + 1}"))
    both = np.unique(np.column_stack([node, piece]), axis=0)
    for n in np.flatnonzero(np.bincount(both[:, 0]) > 1).tolist():
        cells = np.flatnonzero(node == n)
        if int(group[cells].min()) not in loose:
            found.append(_torn(pack, cell_layout, face, cells, piece[cells]))
    return found


def _torn(
    pack: Pack,
    cell_layout: CellLayout,
    face: Face,
    cells: NDArray[np.int64],
    piece: NDArray[np.int64],
) -> Spot:
    """The smallest piece of a node that is in several, and the node's other cells."""
    groups = np.unique(cell_layout.group[cells]).tolist()
    sizes = np.bincount(piece)
    small = int(np.argmin(np.where(sizes > 0, sizes, len(cell_layout.group) + 1)))
    inside = piece == small
    told = "group " if len(groups) == 1 else "groups "
    told += " and ".join(str(one) for one in groups)
    what = f"{int(inside.sum())} of {len(cells)} cells of {told}"
    return _gap(pack, cell_layout, face, cells[inside], cells[~inside], what)


def _bare_ends(
    pack: Pack, cell_layout: CellLayout, face: Face, strips: Sequence[LaidMetal]
) -> list[Spot]:
    """Cells alone on their potential that no strip lists."""
    node = net_of_group(cell_layout.group, face)
    stripped = {cell for strip in strips for cell in strip.cells}
    lone = np.bincount(node)[node] == 1
    return [
        _bare_end(pack, cell_layout, face, cell)
        for cell in np.flatnonzero(lone).tolist()
        if cell not in stripped
    ]


def _beside(pack: Pack, cell_layout: CellLayout, strip: LaidMetal, cell: int) -> Spot:
    """A strip and a cell that it lists but does not lie over."""
    at = cell_layout.xy_mm[cell]
    line = shapely.shortest_line(strip.shape, shapely.Point(at))
    return Spot(
        kind=Kind.LINK,
        face=strip.face,
        parts=(
            f"strip {strip.name}",
            f"does not lie over cell {cell + 1}, group {int(cell_layout.group[cell])}",
        ),
        volts=0.0,
        gap_mm=float(line.length),
        need_mm=0.0,
        shapes=(strip.shape, can_shape(at, pack.cell.diameter_mm / 2)),
        ends_mm=shapely.get_coordinates(line),
    )


def _bare_end(pack: Pack, cell_layout: CellLayout, face: Face, cell: int) -> Spot:
    """A cell whose end carries no strip."""
    at = cell_layout.xy_mm[cell]
    rim = can_shape(at, pack.cell.diameter_mm / 2)
    return Spot(
        kind=Kind.LINK,
        face=face,
        parts=(f"cell {cell + 1}, group {int(cell_layout.group[cell])}", "carries no strip"),
        volts=0.0,
        gap_mm=0.0,
        need_mm=0.0,
        shapes=(rim, rim),
        ends_mm=np.array([at, at]),
    )


def _gap(
    pack: Pack,
    cell_layout: CellLayout,
    face: Face,
    a: NDArray[np.int64],
    b: NDArray[np.int64],
    told: str,
) -> Spot:
    """The two nearest cells of two sets that should hang together."""
    xy, can = cell_layout.xy_mm, pack.cell.diameter_mm / 2
    far, other = cKDTree(xy[b]).query(xy[a])
    k = int(np.argmin(far))
    i, j = int(a[k]), int(b[int(other[k])])
    return Spot(
        kind=Kind.LINK,
        face=face,
        parts=(
            told,
            f"not joined by any strip, for instance from cell {i + 1} to cell {j + 1}",
        ),
        volts=0.0,
        gap_mm=float(far[k]),
        need_mm=0.0,
        shapes=(can_shape(xy[i], can), can_shape(xy[j], can)),
        ends_mm=np.array([xy[i], xy[j]]),
    )
