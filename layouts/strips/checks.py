"""Whether the strips join what they must and nothing else, read off the strips as they lie."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.pack import Face, Pack, Side
from layouts.strips.joining import Interconnect, LaidMetal
from layouts.strips.joints import components, face_of_ends, net_of_group
from layouts.strips.plate import PLATES_REMEDY

STRIP_GAP_LEAST_MM = 1.5  # bare strips of two potentials on one face; common practice
LEAD_OUT_LEAST_MM = 10.0  # of strip outside to hold the lead by; common practice
PRACTICE = "common practice, no source"


def _shapes(metal: tuple[LaidMetal, ...]) -> NDArray[np.object_]:
    return np.array([one.shape for one in metal], dtype=np.object_)


def _nets(strips: tuple[LaidMetal, ...], cell_layout: CellLayout, face: Face) -> NDArray[np.int64]:
    """Node of each strip by its first cell."""
    first = np.array([s.cells[0] for s in strips], dtype=np.int64)
    return net_of_group(cell_layout.group[first], face)


def smallest_strip_gap_mm(
    cell_layout: CellLayout, interconnect: Interconnect, face: Face
) -> tuple[float, str] | None:
    """Smallest distance between strips of different nets on a face, and which two.

    0 where they overlap. None where no two lie within two pitches of each other.
    """
    strips = interconnect.laid(face)
    if not strips:
        return None
    boxes, net = _shapes(strips), _nets(strips, cell_layout, face)
    tree = shapely.STRtree(boxes)
    best: tuple[float, str] | None = None
    for reach in (0.25, 0.5, 1.0, 2.0):  # near ones first: far pairs are many
        a, b = tree.query(boxes, predicate="dwithin", distance=reach * cell_layout.pitch_mm)
        apart = (a < b) & (net[a] != net[b])
        if apart.any():
            a, b = a[apart], b[apart]
            gaps = shapely.distance(boxes[a], boxes[b])
            k = int(np.argmin(gaps))
            best = (float(gaps[k]), f"{strips[a[k]].name} and {strips[b[k]].name}")
            break
    return best


def smallest_foreign_gap_mm(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, face: Face
) -> tuple[float, str] | None:
    """Smallest distance from a strip to the weld window of a cell of another net.

    Negative: it reaches so far into the window. None where none lies within two pitches.
    """
    strips = interconnect.laid(face)
    if not strips:
        return None
    boxes, net = _shapes(strips), _nets(strips, cell_layout, face)
    of_cell = net_of_group(cell_layout.group, face)
    centres = shapely.points(cell_layout.xy_mm)
    s, c = shapely.STRtree(centres).query(
        boxes, predicate="dwithin", distance=2 * cell_layout.pitch_mm
    )
    foreign = net[s] != of_cell[c]
    s, c = s[foreign], c[foreign]
    if not len(s):
        return None
    gaps = shapely.distance(boxes[s], centres[c]) - pack.holder.window_mm / 2
    k = int(np.argmin(gaps))
    x, y = cell_layout.xy_mm[c[k]]
    cell = f"the cell of group {cell_layout.group[c[k]]} at ({x:.1f}, {y:.1f})"
    return float(gaps[k]), f"{strips[s[k]].name} and {cell}"


def loose_nets(cell_layout: CellLayout, interconnect: Interconnect, face: Face) -> tuple[int, ...]:
    """First group of each net whose cells the strips do not join to one piece.

    A strip joins what it lists; a lone cell of a lone group is one piece by itself.
    """
    count = len(cell_layout.xy_mm)
    links = [link for strip in interconnect.laid(face) for link in strip.links]
    pairs = np.array(links, dtype=np.int64).reshape(-1, 2)
    _, piece = components(count, pairs[:, 0], pairs[:, 1])
    net = net_of_group(cell_layout.group, face)
    both = np.unique(np.column_stack([net, piece]), axis=0)
    torn = np.flatnonzero(np.bincount(both[:, 0]) > 1)
    return tuple(int(cell_layout.group[net == n].min()) for n in torn)


def mixed_strips(cell_layout: CellLayout, interconnect: Interconnect) -> tuple[str, ...]:
    """Names of strips that list cells of two nets: a short circuit over the groups between."""
    names = []
    for face in (Face.LOWER, Face.UPPER):
        for strip in interconnect.laid(face):
            nets = net_of_group(cell_layout.group[list(strip.cells)], face)
            if len(set(nets.tolist())) > 1:
                names.append(strip.name)
    return tuple(names)


def leads_out_mm(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> dict[str, float]:
    """How far each main lead's farthest strip reaches past the field's own outline on its side.

    Keys "minus" and "plus". Measured past the wall round the field's last cell, where the wiring
    compartment begins; minus infinity where no strip runs out."""
    series = int(cell_layout.group.max())
    minus, plus = face_of_ends(series)
    wall = pack.pocket_mm / 2 + pack.holder.wall_mm
    reached = {}
    for word, face, group, side in zip(
        ("minus", "plus"), (minus, plus), (1, series), cell_layout.lead_sides, strict=True
    ):
        way = -1.0 if side is Side.MINUS_X else 1.0
        edge = float((way * cell_layout.xy_mm[:, 0]).max()) + wall
        best = -np.inf
        for strip in interconnect.laid(face):
            if not strip.runs_out or group not in strip.groups:
                continue
            x0, _, x1, _ = strip.shape.bounds
            best = max(best, max(way * x0, way * x1) - edge)
        reached[word] = best
    return reached


def strip_checks(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect
) -> tuple[Check, ...]:
    """One piece a net, no strip over two nets, gaps between nets, leads out at +x."""
    found = [
        _one_piece_check(cell_layout, interconnect),
        _potentials_check(cell_layout, interconnect),
    ]
    # in an outline a wire may come to the strip over the cells, where no strip end has space
    if cell_layout.room is None:
        found.append(_lead_out_check(pack, cell_layout, interconnect))
    faces = (Face.LOWER, Face.UPPER)
    between = [g for f in faces if (g := smallest_strip_gap_mm(cell_layout, interconnect, f))]
    if between:
        found.append(_gap_check(*min(between), plates=bool(interconnect.plates)))
    foreign = [
        g for f in faces if (g := smallest_foreign_gap_mm(pack, cell_layout, interconnect, f))
    ]
    if foreign:
        found.append(_window_check(*min(foreign), plates=bool(interconnect.plates)))
    return tuple(found)


def _one_piece_check(cell_layout: CellLayout, interconnect: Interconnect) -> Check:
    torn = [
        f"{face.value} face, group {group}"
        for face in (Face.LOWER, Face.UPPER)
        for group in loose_nets(cell_layout, interconnect, face)
    ]
    return Check(
        id="strip_one_piece",
        about="potentials whose cells are not all connected by strips",
        holds=not torn,
        value=float(len(torn)),
        limit=0.0,
        unit="",
        source="geometry",
        remedy="another cell layout: cells of a group must touch",
        at_least=False,
        where="; ".join(torn[:5]),
    )


def _potentials_check(cell_layout: CellLayout, interconnect: Interconnect) -> Check:
    mixed = mixed_strips(cell_layout, interconnect)
    return Check(
        id="strip_potentials",
        about="strips that join cells of two potentials",
        holds=not mixed,
        value=float(len(mixed)),
        limit=0.0,
        unit="",
        source="geometry",
        remedy="strips may join groups k and k + 1 only, on their own face",
        at_least=False,
        where="; ".join(mixed[:5]),
    )


def _lead_out_check(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> Check:
    out = leads_out_mm(pack, cell_layout, interconnect)
    least = min(out, key=lambda word: out[word])
    return Check(
        id="lead_out_mm",
        about="strips to the main terminals extend beyond the holder at both ends"
        if cell_layout.leads_apart
        else "strips to both main terminals extend beyond the holder on the leads' side",
        holds=out[least] >= LEAD_OUT_LEAST_MM,
        value=out[least] if np.isfinite(out[least]) else None,
        limit=LEAD_OUT_LEAST_MM,
        unit="mm",
        source=PRACTICE,
        remedy="a cell layout whose end groups reach that side (unfolded, or another width)",
        where=f"pack {least}",
    )


def _gap_check(gap: float, where: str, *, plates: bool) -> Check:
    return Check(
        id="strip_gap_mm",
        about="clearance between bare strips of two potentials on one face",
        holds=gap >= STRIP_GAP_LEAST_MM,
        value=gap,
        limit=STRIP_GAP_LEAST_MM,
        unit="mm",
        source=PRACTICE,
        remedy=PLATES_REMEDY if plates else "narrower strips or a larger holder.web_mm",
        where=where,
    )


def _window_check(gap: float, where: str, *, plates: bool) -> Check:
    return Check(
        id="strip_window_mm",
        about="strips clear of the weld windows of cells of another potential",
        holds=gap >= STRIP_GAP_LEAST_MM,
        value=gap,
        limit=STRIP_GAP_LEAST_MM,
        unit="mm",
        source=PRACTICE,
        remedy=PLATES_REMEDY if plates else "narrower strips or a larger holder.web_mm",
        where=where,
    )
