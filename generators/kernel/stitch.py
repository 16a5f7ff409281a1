"""Body to a solid of the CAD kernel: vertices and edges shared by construction.

No boolean and no sewing: one edge per piece and level, one upright edge per vertex and stretch
between levels, one face per level face, wall and cone. Curves on surfaces are given for
cylinders and cones only; planes need none.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from OCP.BRep import BRep_Builder
from OCP.Geom import (
    Geom_Circle,
    Geom_ConicalSurface,
    Geom_Curve,
    Geom_CylindricalSurface,
    Geom_Line,
    Geom_Plane,
    Geom_Surface,
)
from OCP.Geom2d import Geom2d_Line
from OCP.gp import gp_Ax2, gp_Ax3, gp_Dir, gp_Dir2d, gp_Pnt, gp_Pnt2d
from OCP.TopAbs import TopAbs_FORWARD, TopAbs_REVERSED
from OCP.TopLoc import TopLoc_Location
from OCP.TopoDS import (
    TopoDS_Edge,
    TopoDS_Face,
    TopoDS_Shell,
    TopoDS_Solid,
    TopoDS_Vertex,
    TopoDS_Wire,
)

from layouts.slabs.body import Body, ConeWall, WallFace, vertex_levels_mm

__all__ = ["solid"]

# The kernel's own least tolerance (Precision::Confusion).
TOLERANCE_MM = 1e-7
# A vertex that a snap has moved off its curves gets a tolerance this much above the gap.
GAP_MARGIN = 1.5

UP = gp_Dir(0, 0, 1)
ALONG_U = gp_Dir2d(1, 0)
ALONG_V = gp_Dir2d(0, 1)
NO_MOVE = TopLoc_Location()

DirectedEdges = list[tuple[TopoDS_Edge, int]]


def solid(body: Body) -> TopoDS_Solid:
    """The body as one kernel solid with exact planes, cylinders and cones."""
    return _Stitcher(body).solid()


class _Stitcher:
    """Keeps the shared vertices and edges while the faces are made."""

    def __init__(self, body: Body) -> None:
        self.body = body
        self.points = [(float(x), float(y)) for x, y in body.vertices]
        self.ends = [(int(a), int(b)) for a, b in body.ends]
        self.circles = [(float(x), float(y), float(r)) for x, y, r in body.circles]
        self.turns = [(float(a), float(w)) for a, w in body.turns]
        self.levels = vertex_levels_mm(body)
        self.tolerances = _tolerances_mm(self.points, self.ends, self.circles, self.turns)
        self.builder = BRep_Builder()
        self.vertices: dict[tuple[int, float], TopoDS_Vertex] = {}
        self.edges: dict[tuple[int, float], TopoDS_Edge] = {}
        self.uprights: dict[tuple[int, float], TopoDS_Edge] = {}
        self.shell = TopoDS_Shell()
        self.builder.MakeShell(self.shell)

    def solid(self) -> TopoDS_Solid:
        """All faces, closed into one shell."""
        planes: dict[float, Geom_Plane] = {}
        for z, sense, loops in self.body.faces:
            if z not in planes:
                planes[z] = Geom_Plane(gp_Pnt(0, 0, z), UP)
            wires = [[(self._edge(piece, z), sign) for piece, sign in loop] for loop in loops]
            self._add_face(planes[z], wires, sense)
        for wall in self.body.walls:
            self._add_wall(wall)
        for cone in self.body.cones:
            self._add_cone(cone)
        self.shell.Closed(True)
        result = TopoDS_Solid()
        self.builder.MakeSolid(result)
        self.builder.Add(result, self.shell)
        return result

    def _vertex(self, number: int, z: float) -> TopoDS_Vertex:
        key = (number, z)
        vertex = self.vertices.get(key)
        if vertex is None:
            vertex = TopoDS_Vertex()
            tolerance = self.tolerances.get(number, TOLERANCE_MM)
            self.builder.MakeVertex(vertex, gp_Pnt(*self.points[number], z), tolerance)
            self.vertices[key] = vertex
        return vertex

    def _make_edge(
        self,
        curve: Geom_Curve,
        first: TopoDS_Vertex,
        last: TopoDS_Vertex,
        t0: float,
        t1: float,
        tolerance: float = TOLERANCE_MM,
    ) -> TopoDS_Edge:
        edge = TopoDS_Edge()
        self.builder.MakeEdge(edge, curve, tolerance)
        self.builder.Add(edge, first.Oriented(TopAbs_FORWARD))
        self.builder.Add(edge, last.Oriented(TopAbs_REVERSED))
        self.builder.Range(edge, t0, t1)  # before any curve on a surface is given
        return edge

    def _start_direction(self, piece: int) -> gp_Dir:
        """X direction of an arc's own frame: arcs begin at parameter 0, so none crosses it."""
        start = self.turns[piece][0]
        return gp_Dir(math.cos(start), math.sin(start), 0)

    def _edge(self, piece: int, z: float) -> TopoDS_Edge:
        """The edge of a piece at a level."""
        key = (piece, z)
        edge = self.edges.get(key)
        if edge is None:
            a, b = self.ends[piece]
            cx, cy, radius = self.circles[piece]
            if radius:
                frame = gp_Ax2(gp_Pnt(cx, cy, z), UP, self._start_direction(piece))
                curve, t1 = Geom_Circle(frame, radius), self.turns[piece][1]
            else:
                (x0, y0), (x1, y1) = self.points[a], self.points[b]
                curve = Geom_Line(gp_Pnt(x0, y0, z), gp_Dir(x1 - x0, y1 - y0, 0))
                t1 = math.hypot(x1 - x0, y1 - y0)
            edge = self._make_edge(curve, self._vertex(a, z), self._vertex(b, z), 0.0, t1)
            self.edges[key] = edge
        return edge

    def _upright(self, number: int, z0: float, z1: float) -> list[TopoDS_Edge]:
        """Upright edges at a vertex from z0 up to z1, cut at every level met there."""
        found = []
        levels = self.levels[number]
        for low, high in itertools.pairwise(levels):
            if low < z0 or high > z1:
                continue
            key = (number, low)
            edge = self.uprights.get(key)
            if edge is None:
                x, y = self.points[number]
                line = Geom_Line(gp_Pnt(x, y, 0.0), UP)
                ends = self._vertex(number, low), self._vertex(number, high)
                # off its cylinder by as much as its vertex is off the arc
                tolerance = self.tolerances.get(number, TOLERANCE_MM)
                edge = self._make_edge(line, *ends, low, high, tolerance)
                self.uprights[key] = edge
            found.append(edge)
        return found

    def _add_face(self, surface: Geom_Surface, wires: Iterable[DirectedEdges], sense: int) -> None:
        face = TopoDS_Face()
        self.builder.MakeFace(face, surface, TOLERANCE_MM)
        for edges in wires:
            wire = TopoDS_Wire()
            self.builder.MakeWire(wire)
            for edge, sign in edges:
                self.builder.Add(
                    wire, edge.Oriented(TopAbs_FORWARD if sign > 0 else TopAbs_REVERSED)
                )
            wire.Closed(True)
            self.builder.Add(face, wire)
        self.builder.Add(
            self.shell, face.Oriented(TopAbs_FORWARD if sense > 0 else TopAbs_REVERSED)
        )

    def _on(
        self, edge: TopoDS_Edge, surface: Geom_Surface, u: float, v: float, way: gp_Dir2d
    ) -> None:
        """Give an edge its straight curve on a surface."""
        self.builder.UpdateEdge(
            edge, Geom2d_Line(gp_Pnt2d(u, v), way), surface, NO_MOVE, TOLERANCE_MM
        )

    def _seam(self, edge: TopoDS_Edge, surface: Geom_Surface) -> None:
        """Give a seam edge its two curves, at u = 2 pi and u = 0."""
        self.builder.UpdateEdge(
            edge,
            Geom2d_Line(gp_Pnt2d(math.tau, 0.0), ALONG_V),
            Geom2d_Line(gp_Pnt2d(0.0, 0.0), ALONG_V),
            surface,
            NO_MOVE,
            TOLERANCE_MM,
        )

    def _add_wall(self, wall: WallFace) -> None:
        piece, z0, z1, side = wall
        a, b = self.ends[piece]
        cx, cy, radius = self.circles[piece]
        low, high = self._edge(piece, z0), self._edge(piece, z1)
        surface: Geom_Surface
        at_first = self._upright(a, z0, z1)
        if not radius:
            (x0, y0), (x1, y1) = self.points[a], self.points[b]
            normal, along = gp_Dir(y1 - y0, x0 - x1, 0), gp_Dir(x1 - x0, y1 - y0, 0)
            surface = Geom_Plane(gp_Ax3(gp_Pnt(x0, y0, 0), normal, along))
            at_last = self._upright(b, z0, z1)
        else:
            frame = gp_Ax3(gp_Pnt(cx, cy, 0), UP, self._start_direction(piece))
            surface = Geom_CylindricalSurface(frame, radius)
            self._on(low, surface, 0.0, z0, ALONG_U)
            self._on(high, surface, 0.0, z1, ALONG_U)
            if a == b:
                at_last = at_first
                for edge in at_first:
                    self._seam(edge, surface)
            else:
                at_last = self._upright(b, z0, z1)
                for edge in at_first:
                    self._on(edge, surface, 0.0, 0.0, ALONG_V)
                for edge in at_last:
                    self._on(edge, surface, self.turns[piece][1], 0.0, ALONG_V)
        wire: DirectedEdges = [(low, 1), *((edge, 1) for edge in at_last), (high, -1)]
        wire += [(edge, -1) for edge in reversed(at_first)]
        self._add_face(surface, [wire], side)

    def _add_cone(self, cone: ConeWall) -> None:
        first, upper = cone.lower[0], cone.upper
        cx, cy, radius = self.circles[first]
        height, wider = cone.z1_mm - cone.z0_mm, self.circles[upper][2] - radius
        frame = gp_Ax3(gp_Pnt(cx, cy, cone.z0_mm), UP, self._start_direction(first))
        surface = Geom_ConicalSurface(frame, math.atan2(wider, height), radius)
        lower = [self._edge(piece, cone.z0_mm) for piece in cone.lower]
        turned = 0.0
        for piece, edge in zip(cone.lower, lower, strict=True):
            self._on(edge, surface, turned, 0.0, ALONG_U)
            turned += self.turns[piece][1]
        slant = math.hypot(height, wider)
        top = self._edge(upper, cone.z1_mm)
        self._on(top, surface, 0.0, slant, ALONG_U)
        start, end = self.ends[first][0], self.ends[upper][0]
        (x0, y0), (x1, y1) = self.points[start], self.points[end]
        line = Geom_Line(gp_Pnt(x0, y0, cone.z0_mm), gp_Dir(x1 - x0, y1 - y0, height))
        ends = self._vertex(start, cone.z0_mm), self._vertex(end, cone.z1_mm)
        seam = self._make_edge(line, *ends, 0.0, slant, self.tolerances.get(start, TOLERANCE_MM))
        self._seam(seam, surface)
        wire: DirectedEdges = [*((edge, 1) for edge in lower), (seam, 1), (top, -1), (seam, -1)]
        self._add_face(surface, [wire], cone.side)


def _tolerances_mm(
    points: Sequence[tuple[float, float]],
    ends: Sequence[tuple[int, int]],
    circles: Sequence[tuple[float, float, float]],
    turns: Sequence[tuple[float, float]],
) -> dict[int, float]:
    """Tolerances of the vertices that lie off their arcs by more than the kernel's least one."""
    found: dict[int, float] = {}
    for (a, b), (cx, cy, radius), (start, sweep) in zip(ends, circles, turns, strict=True):
        if not radius:
            continue
        for number, angle in ((a, start), (b, start + sweep)):
            x, y = points[number]
            gap = math.hypot(cx + radius * math.cos(angle) - x, cy + radius * math.sin(angle) - y)
            if gap * GAP_MARGIN > TOLERANCE_MM:
                found[number] = max(found.get(number, 0.0), gap * GAP_MARGIN)
    return found
