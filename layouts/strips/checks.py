"""Whether the strips join what they must and nothing else, read off the strips as they lie."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import Arrangement
from layouts.checks import Check
from layouts.pack import Face, Pack
from layouts.strips.joining import Joining, Strip
from layouts.strips.joints import components, face_of_ends, node_of_group

STRIP_GAP_LEAST_MM = 1.5  # bare strips of two potentials on one face; common practice
LEAD_OUT_LEAST_MM = 10.0  # of strip outside to hold the lead by; common practice
PRACTICE = "common practice, no source"


def _on_face(joining: Joining, face: Face) -> list[Strip]:
    return [strip for strip in joining.strips if strip.face is face]


def _boxes(strips: list[Strip]) -> NDArray[np.object_]:
    boxes: NDArray[np.object_] = shapely.polygons(
        np.array([s.outline_mm for s in strips]).reshape(-1, 4, 2)
    )
    return boxes


def _nodes(strips: list[Strip], arrangement: Arrangement, face: Face) -> NDArray[np.int64]:
    """Node of each strip by its first cell."""
    first = np.array([s.cells[0] for s in strips], dtype=np.int64)
    return node_of_group(arrangement.group[first], face)


def smallest_strip_gap_mm(
    arrangement: Arrangement, joining: Joining, face: Face
) -> tuple[float, str] | None:
    """Smallest distance between strips of different nodes on a face, and which two.

    0 where they overlap. None where no two lie within two pitches of each other.
    """
    strips = _on_face(joining, face)
    if not strips:
        return None
    boxes, node = _boxes(strips), _nodes(strips, arrangement, face)
    tree = shapely.STRtree(boxes)
    best: tuple[float, str] | None = None
    for reach in (0.25, 0.5, 1.0, 2.0):  # near ones first: far pairs are many
        a, b = tree.query(boxes, predicate="dwithin", distance=reach * arrangement.pitch_mm)
        apart = (a < b) & (node[a] != node[b])
        if apart.any():
            a, b = a[apart], b[apart]
            gaps = shapely.distance(boxes[a], boxes[b])
            k = int(np.argmin(gaps))
            best = (float(gaps[k]), f"{strips[a[k]].name} and {strips[b[k]].name}")
            break
    return best


def smallest_foreign_gap_mm(
    pack: Pack, arrangement: Arrangement, joining: Joining, face: Face
) -> tuple[float, str] | None:
    """Smallest distance from a strip to the weld window of a cell of another node.

    Negative: it reaches so far into the window. None where none lies within two pitches.
    """
    strips = _on_face(joining, face)
    if not strips:
        return None
    boxes, node = _boxes(strips), _nodes(strips, arrangement, face)
    of_cell = node_of_group(arrangement.group, face)
    centres = shapely.points(arrangement.xy_mm)
    s, c = shapely.STRtree(centres).query(
        boxes, predicate="dwithin", distance=2 * arrangement.pitch_mm
    )
    foreign = node[s] != of_cell[c]
    s, c = s[foreign], c[foreign]
    if not len(s):
        return None
    gaps = shapely.distance(boxes[s], centres[c]) - pack.holder.window_mm / 2
    k = int(np.argmin(gaps))
    x, y = arrangement.xy_mm[c[k]]
    cell = f"the cell of group {arrangement.group[c[k]]} at ({x:.1f}, {y:.1f})"
    return float(gaps[k]), f"{strips[s[k]].name} and {cell}"


def loose_nodes(arrangement: Arrangement, joining: Joining, face: Face) -> tuple[int, ...]:
    """First group of each node whose cells the strips do not join to one piece.

    A strip joins what it lists; a lone cell of a lone group is one piece by itself.
    """
    count = len(arrangement.xy_mm)
    links = [link for strip in _on_face(joining, face) for link in strip.links]
    pairs = np.array(links, dtype=np.int64).reshape(-1, 2)
    _, piece = components(count, pairs[:, 0], pairs[:, 1])
    node = node_of_group(arrangement.group, face)
    both = np.unique(np.column_stack([node, piece]), axis=0)
    torn = np.flatnonzero(np.bincount(both[:, 0]) > 1)
    return tuple(int(arrangement.group[node == n].min()) for n in torn)


def mixed_strips(arrangement: Arrangement, joining: Joining) -> tuple[str, ...]:
    """Names of strips that list cells of two nodes: a short circuit over the groups between."""
    names = []
    for strip in joining.strips:
        nodes = node_of_group(arrangement.group[list(strip.cells)], strip.face)
        if len(set(nodes.tolist())) > 1:
            names.append(strip.name)
    return tuple(names)


def leads_out_mm(pack: Pack, arrangement: Arrangement, joining: Joining) -> dict[str, float]:
    """How far each main lead's farthest strip reaches to +x past the field's own outline there.

    Keys "minus" and "plus". Measured past the wall round the field's last cell, where the wiring
    compartment begins; minus infinity where no strip runs out."""
    series = int(arrangement.group.max())
    minus, plus = face_of_ends(series)
    wall = pack.pocket_mm / 2 + pack.holder.wall_mm
    edge = float(arrangement.xy_mm[:, 0].max()) + wall
    reached = {}
    for word, face, group in (("minus", minus, 1), ("plus", plus, series)):
        best = -np.inf
        for strip in _on_face(joining, face):
            if not strip.runs_out or group not in strip.groups:
                continue
            (x0, y0), (x1, y1) = strip.start_mm, strip.end_mm
            if x1 - x0 <= abs(y1 - y0):
                continue  # leaves to another side
            best = max(best, x1 - edge)
        reached[word] = best
    return reached


def strip_checks(pack: Pack, arrangement: Arrangement, joining: Joining) -> tuple[Check, ...]:
    """One piece a node, no strip over two nodes, gaps between nodes, leads out at +x."""
    found = [_one_piece_check(arrangement, joining), _potentials_check(arrangement, joining)]
    # in an outline a wire may come to the strip over the cells, where no strip end has space
    if arrangement.room is None:
        found.append(_lead_out_check(pack, arrangement, joining))
    faces = (Face.LOWER, Face.UPPER)
    between = [g for f in faces if (g := smallest_strip_gap_mm(arrangement, joining, f))]
    if between:
        found.append(_gap_check(*min(between)))
    foreign = [g for f in faces if (g := smallest_foreign_gap_mm(pack, arrangement, joining, f))]
    if foreign:
        found.append(_window_check(*min(foreign)))
    return tuple(found)


def _one_piece_check(arrangement: Arrangement, joining: Joining) -> Check:
    torn = [
        f"{face.value} face, group {group}"
        for face in (Face.LOWER, Face.UPPER)
        for group in loose_nodes(arrangement, joining, face)
    ]
    return Check(
        id="strip_one_piece",
        about="potentials whose cells are not all connected by strips",
        holds=not torn,
        value=float(len(torn)),
        limit=0.0,
        unit="",
        source="geometry",
        how_to_mend="another cell layout: cells of a group must touch",
        at_least=False,
        where="; ".join(torn[:5]),
    )


def _potentials_check(arrangement: Arrangement, joining: Joining) -> Check:
    mixed = mixed_strips(arrangement, joining)
    return Check(
        id="strip_potentials",
        about="strips that join cells of two potentials",
        holds=not mixed,
        value=float(len(mixed)),
        limit=0.0,
        unit="",
        source="geometry",
        how_to_mend="strips may join groups k and k + 1 only, on their own face",
        at_least=False,
        where="; ".join(mixed[:5]),
    )


def _lead_out_check(pack: Pack, arrangement: Arrangement, joining: Joining) -> Check:
    out = leads_out_mm(pack, arrangement, joining)
    least = min(out, key=lambda word: out[word])
    return Check(
        id="lead_out_mm",
        about="strips to both main terminals extend beyond the holder on the leads' side",
        holds=out[least] >= LEAD_OUT_LEAST_MM,
        value=out[least] if np.isfinite(out[least]) else None,
        limit=LEAD_OUT_LEAST_MM,
        unit="mm",
        source=PRACTICE,
        how_to_mend="a cell layout whose end groups reach that side (unfolded, or another width)",
        where=f"pack {least}",
    )


def _gap_check(gap: float, where: str) -> Check:
    return Check(
        id="strip_gap_mm",
        about="clearance between bare strips of two potentials on one face",
        holds=gap >= STRIP_GAP_LEAST_MM,
        value=gap,
        limit=STRIP_GAP_LEAST_MM,
        unit="mm",
        source=PRACTICE,
        how_to_mend="narrower strips or a larger pitch",
        where=where,
    )


def _window_check(gap: float, where: str) -> Check:
    return Check(
        id="strip_window_mm",
        about="strips clear of the weld windows of cells of another potential",
        holds=gap >= STRIP_GAP_LEAST_MM,
        value=gap,
        limit=STRIP_GAP_LEAST_MM,
        unit="mm",
        source=PRACTICE,
        how_to_mend="narrower strips or a larger pitch",
        where=where,
    )
