"""Triangles from a file made a sound solid: closed, facing outwards, leaks located."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
import trimesh
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import breadth_first_order, connected_components
from scipy.spatial import cKDTree

from generators.spaces.errors import UnreadableError
from generators.spaces.units import in_words
from layouts.spaces.space import Solid

__all__ = ["sound_solid"]

SAME_MM = 1e-4  # corners nearer than that are one: files round to that, prints to far more
MEND_MM = 0.01  # the same where repair was requested
FLAT_MM = 1e-5  # volume over area of a body: half of its thickness, far below any sheet
MOST_BODIES = 200
MOST_TOLD = 4  # holes named in a message
RAY = np.array([0.5773502, 0.5773499, 0.5773508])  # slanted, so that it meets no edge by design

Faces = NDArray[np.int64]
Points = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Body:
    """One closed piece of a mesh, facing outwards.

    ``was_outward``: whether the file had it so.
    """

    faces: Faces
    was_outward: bool


def sound_solid(
    vertices_mm: Points,
    faces: Faces,
    *,
    name: str,
    file: str,
    mend: bool,
    least_mm3: float,
) -> tuple[Solid, tuple[str, ...]]:
    """Triangles as a closed solid that faces outwards, and what was done to them, in words.

    ``name``: the solid's, ``file``: how messages call where it comes from. Corners that coincide
    are merged; bodies that overlap are joined; one that lies in another and faces the other way is
    a void. ``mend``: close holes. Raises UnreadableError where the mesh leaks (with the places of
    its holes), can't be repaired, or encloses nothing."""
    notes: list[str] = []
    vertices, faces = _merged(vertices_mm, faces, MEND_MM if mend else SAME_MM)
    open_edges = _open_edges(faces)
    if len(open_edges):
        told = _holes_in_words(vertices, open_edges)
        if not mend:
            raise UnreadableError(
                f"leaks: {told}", "close it where it was drawn, or add mend: true", file
            )
        faces = _filled(vertices, faces)
        left = _open_edges(faces)
        if len(left):
            still = _holes_in_words(vertices, left)
            raise UnreadableError(
                f"can't be repaired, it still leaks: {still}", "close it where it was drawn", file
            )
        notes.append(f"{file}: repaired, closed {told}: check the result")
    bodies = _bodies(vertices, faces, file)
    solid = _assembled(vertices, bodies, name)
    volume = solid_volume_mm3(solid.vertices_mm, solid.faces)
    if volume < least_mm3:
        raise UnreadableError(
            f"encloses less than {least_mm3:g} mm3", "give a solid body in mm", f"{volume:.3g} mm3"
        )
    if len(_open_edges(solid.faces)):
        raise UnreadableError("has bodies that can't be joined", "join them where they were drawn")
    return solid, tuple(notes)


def solid_volume_mm3(vertices_mm: Points, faces: Faces) -> float:
    """Volume of a closed mesh, positive where it faces outwards (divergence theorem)."""
    centred = vertices_mm - vertices_mm.mean(axis=0)
    a, b, c = centred[faces].transpose(1, 0, 2)
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0


def _area_mm2(vertices_mm: Points, faces: Faces) -> float:
    """Area of all triangles."""
    a, b, c = vertices_mm[faces].transpose(1, 0, 2)
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()) / 2.0


def _merged(vertices: Points, faces: Faces, same_mm: float) -> tuple[Points, Faces]:
    """Corners that coincide as one; triangles that lose a corner, or come twice, dropped."""
    exact, index = np.unique(vertices, axis=0, return_inverse=True)
    faces = index.ravel()[faces]
    pairs = cKDTree(exact).query_pairs(same_mm, output_type="ndarray")
    if len(pairs):
        count = len(exact)
        graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(count, count))
        _, label = connected_components(graph, directed=False)
        _, first, index = np.unique(label, return_index=True, return_inverse=True)
        exact, faces = exact[first], index.ravel()[faces]
    whole = (faces != np.roll(faces, 1, axis=1)).all(axis=1)
    faces = faces[whole]
    turn = (faces.argmin(axis=1)[:, None] + np.arange(3)) % 3
    _, first = np.unique(np.take_along_axis(faces, turn, axis=1), axis=0, return_index=True)
    faces = faces[np.sort(first)]
    used, index = np.unique(faces, return_inverse=True)
    return exact[used], index.reshape(-1, 3)


def _edges(faces: Faces) -> Faces:
    """(3 m, 2) directed edges, the three of each triangle one after another."""
    return np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)


def _open_edges(faces: Faces) -> Faces:
    """Edges at which an odd number of triangles meet, directed as a triangle runs them."""
    edges = _edges(faces)
    _, first, count = np.unique(
        np.sort(edges, axis=1), axis=0, return_index=True, return_counts=True
    )
    return np.asarray(edges[first[count % 2 == 1]])


def _holes_in_words(vertices: Points, open_edges: Faces) -> str:
    """How many open edges, round how many holes, and where these are."""
    nodes, index = np.unique(open_edges, return_inverse=True)
    pairs = index.reshape(-1, 2)
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(nodes),) * 2)
    count, label = connected_components(graph, directed=False)
    groups = [vertices[nodes[label == one]] for one in range(count)]
    groups.sort(key=lambda points: -float(np.ptp(points, axis=0).max()))
    places = []
    for points in groups[:MOST_TOLD]:
        low, high = points.min(axis=0), points.max(axis=0)
        middle = ", ".join(f"{value:.4g}" for value in ((low + high) / 2 + 0.0).tolist())
        places.append(f"{in_words((high - low).tolist())} mm about [{middle}]")
    more = f" and {count - MOST_TOLD} more" if count > MOST_TOLD else ""
    holes = "1 hole" if count == 1 else f"{count} holes"
    return f"{len(open_edges)} open edges round {holes}, {'; '.join(places)}{more}"


def _filled(vertices: Points, faces: Faces) -> Faces:
    """Faces with a cover over each hole whose rim is one plain ring in its own plane's view."""
    covers = [_cover(vertices, np.array(ring)) for ring in _rings(_open_edges(faces)[:, ::-1])]
    return np.concatenate([faces, *covers])


def _rings(edges: Faces) -> list[list[int]]:
    """Directed edges (n, 2) as rings that pass no corner twice; runs that don't close left out."""
    ahead: dict[int, list[int]] = {}
    for start, end in edges.tolist():
        ahead.setdefault(start, []).append(end)
    rings = []
    for start in sorted(ahead):
        path = [start]
        while ahead.get(path[-1]):
            corner = ahead[path[-1]].pop()
            if corner in path:
                at = path.index(corner)
                rings.append(path[at:])
                path = path[:at]
            path.append(corner)
    return rings


def _cover(vertices: Points, ring: NDArray[np.int64]) -> Faces:
    """Triangles over a ring of corners, none where it crosses itself as seen along its normal."""
    nothing = np.empty((0, 3), dtype=np.int64)
    points = vertices[ring] - vertices[ring].mean(axis=0)
    normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)  # Newell
    length = float(np.linalg.norm(normal))
    if len(ring) < 3 or length == 0.0:
        return nothing
    normal /= length
    side = np.eye(3)[int(np.abs(normal).argmin())]
    u = np.cross(side, normal)
    u /= np.linalg.norm(u)
    flat = points @ np.column_stack([u, np.cross(normal, u)])
    if not shapely.LinearRing(flat).is_valid:
        return nothing
    index = {(x, y): int(corner) for (x, y), corner in zip(flat.tolist(), ring, strict=True)}
    cut = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.Polygon(flat)))
    corners = shapely.get_coordinates(shapely.orient_polygons(cut)).reshape(-1, 4, 2)[:, :3]
    return np.array([index[x, y] for x, y in corners.reshape(-1, 2).tolist()]).reshape(-1, 3)


def _bodies(vertices: Points, faces: Faces, file: str) -> list[_Body]:
    """The closed pieces of a mesh, each turned outwards."""
    edges = np.sort(_edges(faces), axis=1)
    owner = np.repeat(np.arange(len(faces)), 3)
    _, inverse, count = np.unique(edges, axis=0, return_inverse=True, return_counts=True)
    inverse = inverse.ravel()
    order = np.argsort(inverse, kind="stable")
    order = order[count[inverse[order]] == 2]
    pairs = owner[order].reshape(-1, 2)
    ways = _edges(faces)[order].reshape(-1, 2, 2)
    same_way = (ways[:, 0] == ways[:, 1]).all(axis=1)
    size = len(faces)
    graph = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(size, size)).tocsr()
    number, label = connected_components(graph, directed=False)
    if number > MOST_BODIES:
        raise UnreadableError(
            f"contains more than {MOST_BODIES} bodies",
            "save the one that bounds the free space",
            file,
        )
    if same_way.any():
        faces = _one_way(faces, pairs, same_way, label, number)
    bodies = []
    for one in range(number):
        own = faces[label == one]
        leaks = _open_edges(own)
        if len(leaks):
            told = _holes_in_words(vertices, leaks)
            raise UnreadableError(
                f"has faces that meet three or more at an edge: {told}",
                "draw each body separately",
                file,
            )
        volume = solid_volume_mm3(vertices, own)
        if abs(volume) <= FLAT_MM * _area_mm2(vertices, own):
            low, high = vertices[own].min(axis=(0, 1)), vertices[own].max(axis=(0, 1))
            raise UnreadableError(
                f"has a flat body, which encloses nothing: {in_words((high - low).tolist())} mm",
                "give it a thickness where it was drawn, or delete it there",
                file,
            )
        bodies.append(_Body(faces=own if volume > 0 else own[:, ::-1], was_outward=volume > 0))
    return bodies


def _one_way(
    faces: Faces, pairs: Faces, same_way: NDArray[np.bool_], label: Faces, number: int
) -> Faces:
    """Faces turned so that neighbours run their common edge in opposite ways."""
    size = len(faces)
    differ = coo_matrix((np.where(same_way, 2.0, 1.0), pairs.T), shape=(size, size))
    graph = (differ + differ.T).tocsr()  # weight 1: alike, 2: one of the two is turned
    turned = np.zeros(size, dtype=bool)
    for one in range(number):
        order, before = breadth_first_order(graph, int(np.argmax(label == one)), directed=False)
        for face in order[1:].tolist():
            parent = int(before[face])
            turned[face] = turned[parent] ^ (graph[parent, face] == 2.0)
    return np.where(turned[:, None], faces[:, ::-1], faces)


def _assembled(vertices: Points, bodies: list[_Body], name: str) -> Solid:
    """Bodies as one solid: voids face inwards, those that overlap or touch are joined."""
    inside = [_holder(vertices, bodies, i) for i in range(len(bodies))]
    void = [
        holder is not None and bodies[holder].was_outward is not body.was_outward
        for holder, body in zip(inside, bodies, strict=True)
    ]
    full = [body for body, is_void in zip(bodies, void, strict=True) if not is_void]
    if _boxes_meet(vertices, full):
        holes = [_trimesh(vertices, b) for b, is_void in zip(bodies, void, strict=True) if is_void]
        try:
            join = trimesh.boolean.union([_trimesh(vertices, body) for body in full])
            whole = trimesh.boolean.difference([join, *holes]) if holes else join
        except ValueError as error:  # a body that the library takes for none
            raise UnreadableError(
                "has bodies that can't be joined", "join them where they were drawn", str(error)
            ) from error
        corners, faces = _merged(
            np.asarray(whole.vertices, dtype=np.float64),
            np.asarray(whole.faces, dtype=np.int64),
            SAME_MM,
        )
        return Solid(name=name, vertices_mm=corners, faces=faces)
    turned = [
        body.faces[:, ::-1] if is_void else body.faces
        for body, is_void in zip(bodies, void, strict=True)
    ]
    return Solid(name=name, vertices_mm=vertices, faces=np.concatenate(turned))


def _trimesh(vertices: Points, body: _Body) -> trimesh.Trimesh:
    return trimesh.Trimesh(vertices, body.faces, process=True)


def _boxes_meet(vertices: Points, bodies: list[_Body]) -> bool:
    """Whether the boxes round any two bodies overlap or touch."""
    if len(bodies) < 2:
        return False
    low = np.array([vertices[body.faces].min(axis=(0, 1)) for body in bodies])
    high = np.array([vertices[body.faces].max(axis=(0, 1)) for body in bodies])
    meet = ((low[:, None] <= high[None]) & (low[None] <= high[:, None])).all(axis=2)
    return bool(meet.sum() > len(bodies))


def _holder(vertices: Points, bodies: list[_Body], index: int) -> int | None:
    """The body round another one, None where it stands free."""
    own = vertices[bodies[index].faces]
    low, high = own.min(axis=(0, 1)), own.max(axis=(0, 1))
    for other, body in enumerate(bodies):
        if other == index:
            continue
        corners = vertices[body.faces]
        low_there, high_there = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
        boxed = bool((low_there < low).all() and (high_there > high).all())
        if boxed and _crossings(own[0].mean(axis=0), corners) % 2 == 1:
            return other
    return None


def _crossings(point: Points, triangles: Points) -> int:
    """How often a ray from a point crosses triangles (n, 3, 3) (Moeller and Trumbore, 1997)."""
    first, a, b = (
        triangles[:, 0],
        triangles[:, 1] - triangles[:, 0],
        triangles[:, 2] - triangles[:, 0],
    )
    across = np.cross(RAY, b)
    size = np.einsum("ij,ij->i", a, across)
    size = np.where(size == 0.0, np.inf, size)
    from_first = point - first
    u = np.einsum("ij,ij->i", from_first, across) / size
    turned = np.cross(from_first, a)
    v = turned @ RAY / size
    ahead = np.einsum("ij,ij->i", b, turned) / size
    return int(((u >= 0) & (v >= 0) & (u + v <= 1) & (ahead > 0)).sum())
