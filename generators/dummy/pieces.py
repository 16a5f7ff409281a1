"""The mock-up's printed pieces: shells, plugs for screw heads, cable outlets; cut to the bed."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.dummy.given import slabs_within
from generators.dummy.outside import (
    BracketSolid,
    MockupOutside,
    head_solid,
    moved,
    outlet_matrix,
    rod,
    screw_matrix,
)
from generators.dummy.sections import slabs_of, united
from generators.dummy.shell import PrintLines, base_shell, bracket_shell, cap_shell
from generators.dummy.touching import joined_where_it_touches
from generators.meshes.mesh import Mesh
from generators.proofs.solids import mesh_solid, placed_points
from layouts.pack import Printer
from layouts.parts.bed import usable_bed_mm
from layouts.parts.given import GivenShape
from layouts.parts.outlet import CableOutlet
from layouts.parts.screw import PlacedScrew

__all__ = ["PrintedPiece", "lines_of", "pieces_of"]

Matrix = NDArray[np.float64]

LAYER_SHARE = 0.75  # of the nozzle: a quick print's layer; common practice, no source
PEG_FREE_MM = 0.15  # a plug's peg in its hole, all round
PLUG_MM = 0.1  # a hole that is filled: its chords stand off its circle by less
PEG_MM = 2.0  # a peg reaches so far behind what its screw passes
SPIGOT_MM = 3.0  # an cable outlet's cross reaches so far through the wall
FIN_MM = 1.2  # thickness of the bend's gauge: three lines of a 0.4 nozzle, or six layers
FIN_FREE_MM = 0.2
TAIL_MM = 12.0  # the gauge stands in its cable outlet so far at most
PRESS_MM = 0.005
CRUMB_MM3 = 0.5  # what a cut leaves below this is no piece


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PrintedPiece:
    """One printed piece: ``mesh`` as it is printed, lowest point on z = 0.

    ``placed``: one (4, 4) matrix a copy, from print to pack. ``measured``: whether it is a part
    of the outside that is held against the assembly (the bends' gauges are not). ``press``:
    the way, in print, in which it is pressed on its neighbours; (0, 0, 0): they on it.
    """

    name: str
    mesh: Mesh
    placed: tuple[Matrix, ...]
    note: str
    volume_mm3: float
    measured: bool = True
    press: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def count(self) -> int:
        """How many are printed."""
        return len(self.placed)

    def pressed_on(self) -> list[manifold3d.Manifold]:
        """All copies in place, pressed on by a few micrometres: faces that meet then join.

        Without, the last digits of two sums of floats decide whether they touch.
        """
        there = self.mesh.vertices_mm + PRESS_MM * np.array(self.press)
        return [mesh_solid(placed_points(there, one), self.mesh.faces) for one in self.placed]


# Printed on its outer face, it is pressed on with the other one: farther than what it sits on
# may itself have been moved.
UPSIDE_DOWN = (0.0, 0.0, 5.0)


def lines_of(printer: Printer) -> PrintLines:
    """One line as wide as the nozzle, in the highest layers that print well."""
    return PrintLines(
        wall_mm=printer.nozzle_mm,
        layer_mm=max(printer.layer_mm, round(LAYER_SHARE * printer.nozzle_mm, 2)),
    )


def pieces_of(
    outside: MockupOutside,
    screws: Sequence[PlacedScrew],
    printer: Printer,
    press: tuple[float, float, float],
) -> tuple[PrintedPiece, ...]:
    """All pieces of the mock-up.

    ``screws``: of the first bracket; ``press``: how its parts are put on, in their coordinates.
    """
    lines = lines_of(printer)
    base = outside.base - base_shell(outside.base_slabs, lines) - _wall_holes(outside, lines)
    rim = outside.base_slabs[-1].plan
    z_rim = outside.base_slabs[-1].z1_mm
    cap = cap_shell(outside.cap, outside.cap_slabs, rim, z_rim, lines)
    found = [
        *_cut(base, "base", "floor down, open at the top", printer),
        *_cut(cap, "cap", "outer face down, drip skirts up", printer),
    ]
    for one in outside.brackets:
        shell = _bracket(one, screws, lines)
        found.append(
            _piece(
                one.part.name,
                shell,
                np.eye(4),
                one.part.placed,
                "on its side, as in the file",
                press=press,
            )
        )
    for number, (head, placed) in enumerate(_kinds(outside.heads), start=1):
        name = f"button-{head.screw.lower()}-{number}"
        put = "to be glued on" if head.in_place else "peg up; or use the screw itself"
        note = f"{head.screw} head ({head.where}), {put}"
        found.append(_piece(name, button(head, lines), _over(), placed, note, press=UPSIDE_DOWN))
    if outside.outlets:
        found += _outlets(outside.outlets, lines)
    return tuple(found)


def _over() -> Matrix:
    """Half a turn about y: from the pack to a piece printed upside down."""
    return np.diag([-1.0, 1.0, -1.0, 1.0])


def _flat() -> Matrix:
    """A quarter turn about y, from the pack's upright gauge to one that lies on the bed."""
    matrix = np.eye(4)
    matrix[:3, :3] = [[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]]
    return matrix


def _piece(
    name: str,
    solid: manifold3d.Manifold,
    turn: Matrix,
    placed: Sequence[Matrix],
    note: str,
    *,
    measured: bool = True,
    press: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> PrintedPiece:
    """A piece turned as it is printed and set down on the bed; ``placed``: of the solid itself."""
    printed = moved(solid, turn)
    x0, y0, z0, x1, y1, _ = printed.bounding_box()
    shift = np.eye(4)
    shift[:3, 3] = -(x0 + x1) / 2, -(y0 + y1) / 2, -z0
    printed = joined_where_it_touches(moved(printed, shift))
    back = np.linalg.inv(shift @ turn)
    out = printed.to_mesh64()
    points = np.array(np.asarray(out.vert_properties)[:, :3], np.float64, order="C")
    return PrintedPiece(
        name=name,
        mesh=Mesh(points, np.array(out.tri_verts, np.int64, order="C")),
        placed=tuple(np.asarray(one @ back) for one in placed),
        note=note,
        volume_mm3=float(printed.volume()),
        measured=measured,
        press=press,
    )


def _wall_holes(outside: MockupOutside, lines: PrintLines) -> manifold3d.Manifold:
    """Holes through the base's wall for cable outlets and pegs."""
    thick = 2 * lines.wall_mm
    holes = [
        moved(rod(one.gland.hole_radius_mm, -thick, 1.0), outlet_matrix(one))
        for one in outside.outlets
    ]
    for head in outside.heads:
        if not head.head_up:
            behind = rod(head.size.clearance_diameter_mm / 2, -head.through_mm - thick, 0.0)
            holes.append(moved(behind, screw_matrix(head)))
    return united(holes)


def _bracket(
    bracket: BracketSolid,
    screws: Sequence[PlacedScrew],
    lines: PrintLines,
) -> manifold3d.Manifold:
    """The shell, solid round its screws' holes right through its box.

    ``screws``: of the first bracket, in the pack's coordinates.
    """
    part = bracket.part
    far = part.drawing.box_mm()[1]
    back = np.linalg.inv(part.placed[0])
    rods = []
    for screw in screws:
        way = np.abs(back[:3, :3] @ screw.out)
        start = back[:3, :3] @ screw.at_mm + back[:3, 3]
        axis = int(np.argmax(way))
        matrix = np.eye(4)
        matrix[:3, :3] = np.column_stack([np.eye(3)[(axis + 1) % 3], np.eye(3)[(axis + 2) % 3],
                                          np.eye(3)[axis]])  # fmt: skip
        matrix[:3, 3] = [0.0 if k == axis else float(v) for k, v in enumerate(start)]
        radius = screw.size.clearance_diameter_mm / 2 + lines.wall_mm
        rods.append(moved(rod(radius, -1.0, far[axis] + 1.0), matrix))
    body = bracket.undrilled
    slabs = slabs_within(body) if isinstance(part.drawing, GivenShape) else slabs_of(body)
    # a clamp's screws end in the open: their heads are glued on, and their holes are left out
    plugs = united(
        moved(rod(one.size.clearance_diameter_mm / 2 + PLUG_MM, -one.through_mm, 0.0),
              back @ screw_matrix(one))
        for one in screws if one.in_place
    )  # fmt: skip
    return bracket_shell(bracket.solid + (plugs ^ body), slabs, united(rods), lines)


def _kinds(heads: Sequence[PlacedScrew]) -> list[tuple[PlacedScrew, list[Matrix]]]:
    """Heads by kind, each with all its places."""
    kinds: dict[tuple[str, bool, float, bool], tuple[PlacedScrew, list[Matrix]]] = {}
    for head in heads:
        kind = (head.screw, head.washer, head.through_mm, head.in_place)
        kinds.setdefault(kind, (head, []))[1].append(screw_matrix(head))
    return list(kinds.values())


def button(head: PlacedScrew, lines: PrintLines) -> manifold3d.Manifold:
    """A screw's head with a hollow peg for its hole, as it stands on its face."""
    if head.in_place:
        return head_solid(head)
    # an upright screw's peg ends in the lid's plate: the base below it is closed
    end = -head.through_mm + (0.5 if head.head_up else -PEG_MM)
    radius = head.size.clearance_diameter_mm / 2 - PEG_FREE_MM
    solid = united([head_solid(head), rod(radius, end, 0.0)])
    bore = radius - 2 * lines.wall_mm
    if bore < lines.wall_mm:
        return solid
    return solid - rod(bore, end - 1.0, solid.bounding_box()[5] - lines.floor_mm)


def _outlets(outlets: Sequence[CableOutlet], lines: PrintLines) -> list[PrintedPiece]:
    """A cap and a bend's gauge for each kind of gland."""
    kinds: dict[tuple[str, float], tuple[CableOutlet, list[Matrix]]] = {}
    for one in outlets:
        kind = (one.gland.size, one.wire_mm)
        kinds.setdefault(kind, (one, []))[1].append(outlet_matrix(one))
    found = []
    for number, (one, placed) in enumerate(kinds.values(), start=1):
        name = f"{one.gland.size.lower()}-{number}"
        note = (
            f"cap of an {one.gland.size} gland, outer end down; its cross goes into the hole "
            "of the wall"
        )
        cup = outlet_cup(one, lines)
        found.append(_piece(f"outlet-{name}", cup, _over(), placed, note, press=UPSIDE_DOWN))
        note = (
            f"bend gauge for a lead of diameter {one.wire_mm:g} mm: insert it in the cap's slot "
            "and turn the cap to where the lead goes"
        )
        found.append(_piece(f"bend-{name}", bend_fin(one), _flat(), placed, note, measured=False))
    return found


def _box(x: float, y: float, z0: float, z1: float) -> manifold3d.Manifold:
    """A box about the z axis, ``x`` by ``y``."""
    return manifold3d.Manifold.cube([x, y, z1 - z0]).translate([-x / 2, -y / 2, z0])


def outlet_cup(outlet: CableOutlet, lines: PrintLines) -> manifold3d.Manifold:
    """A gland's cap: a cup open at the wall, with a cross for its hole and a slit for the gauge."""
    wall, long = lines.wall_mm, outlet.gland.long_mm
    cup = rod(outlet.gland.keep_radius_mm, 0.0, long)
    cup -= rod(outlet.gland.keep_radius_mm - wall, -1.0, long - lines.floor_mm)
    reach = 2 * (outlet.gland.hole_radius_mm - PEG_FREE_MM)
    slit_x, slit_y = FIN_MM + FIN_FREE_MM, outlet.wire_mm + FIN_FREE_MM
    cross = united(
        [
            _box(reach, wall, -SPIGOT_MM, long - lines.floor_mm / 2),
            _box(wall, reach, -SPIGOT_MM, long - lines.floor_mm / 2),
            _box(slit_x + 2 * wall, slit_y + 2 * wall, -SPIGOT_MM, long - lines.floor_mm / 2),
        ]
    )
    deep = min(TAIL_MM, long) + FIN_FREE_MM
    slit = _box(slit_x, slit_y, long - deep, long + 1.0)
    rest = _box(slit_x, slit_y, -SPIGOT_MM - 1.0, long - deep - lines.roof_mm)
    return united([cup, cross]) - slit - rest


def bend_fin(outlet: CableOutlet) -> manifold3d.Manifold:
    """The bent wire as a flat piece in the y-z plane: tail, then a quarter turn to +y."""
    wide, long, bend = outlet.wire_mm, outlet.gland.long_mm, outlet.bend_middle_radius_mm
    sides = max(24, math.ceil(bend))
    turn = np.linspace(0.0, math.pi / 2, sides)
    outer = np.column_stack([-np.cos(turn), np.sin(turn)]) * (bend + wide / 2)
    inner = np.column_stack([-np.cos(turn), np.sin(turn)]) * (bend - wide / 2)
    outline = np.vstack([outer, inner[::-1]]) + [bend, long]
    tail = np.array([[-wide / 2, long - min(TAIL_MM, long)], [wide / 2, long - min(TAIL_MM, long)]])
    outline = np.vstack([tail[1:], tail[:1], outline])
    section = manifold3d.CrossSection([outline], manifold3d.FillRule.NonZero)
    # (u, v, w) -> x = w, y = u, z = v
    flat = section.extrude(FIN_MM).translate([0.0, 0.0, -FIN_MM / 2])
    return flat.transform(np.array([[0.0, 0, 1, 0], [1.0, 0, 0, 0], [0.0, 1, 0, 0]]))


def _cut(solid: manifold3d.Manifold, name: str, note: str, printer: Printer) -> list[PrintedPiece]:
    """Base or cap, or the fewest equal lengths of it that fit the bed; seams are taped."""
    turn, down = (np.eye(4), 0.0) if name == "base" else (_over(), 1.0)
    x0, y0, _, x1, y1, _ = solid.bounding_box()
    wide, deep = x1 - x0, y1 - y0
    options = []
    for bed_x, bed_y in (usable_bed_mm(printer), usable_bed_mm(printer)[::-1]):
        nx, ny = math.ceil(wide / bed_x - 1e-9), math.ceil(deep / bed_y - 1e-9)
        options.append((nx * ny, nx, ny))
    count, nx, ny = min(options)
    if count == 1:
        return [_piece(name, solid, turn, (np.eye(4),), note, press=(0.0, 0.0, down))]
    pieces: list[PrintedPiece] = []
    for j, i in itertools.product(range(ny), range(nx)):
        part = _between(solid, 1, y0 + deep * j / ny, y0 + deep * (j + 1) / ny)
        part = _between(part, 0, x0 + wide * i / nx, x0 + wide * (i + 1) / nx)
        for body in part.decompose():
            if body.volume() > CRUMB_MM3:
                # each a little nearer to the one before it
                press = (i if down else -i, -j, down)
                pieces.append(
                    _piece(f"{name}-{len(pieces) + 1}", body, turn, (np.eye(4),),
                           f"{note}; tape it to the adjoining pieces", press=press)
                )  # fmt: skip
    return pieces


def _between(
    solid: manifold3d.Manifold, axis: int, low_mm: float, high_mm: float
) -> manifold3d.Manifold:
    way = [0.0, 0.0, 0.0]
    way[axis] = 1.0
    back = [-one for one in way]
    return solid.trim_by_plane(way, low_mm).trim_by_plane(back, -high_mm)
