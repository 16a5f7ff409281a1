"""Plan of an enclosure with its compartments, in the space that it was planned for."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from generators.drawings.frame_marks import FRAME_WORDS, frame_marks
from generators.drawings.space_walls import HATCH, rings_path, space_walls, walls_shape
from generators.drawings.svg import number, path_of, picture
from layouts.brackets.kind import MountingPad
from layouts.brackets.scripted import PAD_WIDE_MM
from layouts.enclosures.form import Enclosure
from layouts.fitting.turns import lead_way
from layouts.holders.shape import cell_block_shape
from layouts.parts.part import Part
from layouts.parts.shell import box
from layouts.planning.pack_plan import PackPlan
from layouts.slabs.profile import loop_points_mm
from layouts.spaces.regions import free_region

__all__ = ["enclosed_plan"]

TEXT_MM, SMALL_MM, LINE_MM = 5.0, 4.0, 7.0
ACROSS_MM = 180.0  # printed width at most
CHAR_RATIO = 0.55  # a letter's width over its height
ARROW_MM = 14.0
HEAD_MM = 3.0
GAS_ARROWS = 3
VENT_IN_MM = 4.0  # of the vent's bar, from the wall's foremost point inwards
ARROW_OFF_MM = 8.0  # the vent's arrow begins past the flange
PAD_DEEP_MM = 22.0  # of a mounting pad, from its face into the hollows of the wall


def enclosed_plan(plan: PackPlan) -> str:
    """SVG, seen from above: the space's walls hatched where one is given, the enclosure's walls
    black, held cells, compartments with their names, brackets, glands with the way of their
    wires, cord and vent of a gasket, and where gas leaves. Its enclosure must have compartments."""
    enclosure = plan.enclosure
    turn = _Turn(_upright(enclosure.pose))
    body = [HATCH]
    shapes: list[BaseGeometry] = []
    free = _free(plan)
    if free is not None:
        body += space_walls(free)
        shapes.append(walls_shape(free))
    body += _enclosure(plan, turn, shapes)
    body += _outlets(enclosure, turn, shapes)
    body += _gas(plan, turn, shapes)
    body += frame_marks(plan, shapes)
    x0, y0, x1, y1 = shapely.union_all(shapes).bounds
    lines = _words(plan, free)
    wide = max(x1 - x0, CHAR_RATIO * TEXT_MM * max(len(line) for line in lines))
    for k, line in enumerate(lines):
        body.append(_text(line, x0, y0 - LINE_MM * (k + 1), TEXT_MM, anchor="start"))
    return picture(
        body,
        low=(x0, y0 - LINE_MM * (len(lines) + 0.5)),
        high=(x0 + wide, y1),
        title=f"{plan.pack.name}: the enclosure from above",
        scale=min(1.0, ACROSS_MM / wide),
    )


class _Turn:
    """From the pack's plan to that of the space; the pack's own where no pose is given."""

    def __init__(self, pose: NDArray[np.float64] | None) -> None:
        self.pose = np.eye(4) if pose is None else pose

    def shape(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape of the pack's plan, there."""
        (a, b), (c, d) = self.pose[:2, :2].tolist()
        return affine_transform(shape, [a, b, c, d, *self.pose[:2, 3].tolist()])

    def point(self, at: NDArray[np.float64]) -> tuple[float, float]:
        """A point of the pack, there."""
        x, y = (self.pose[:2, :2] @ at[:2] + self.pose[:2, 3]).tolist()
        return x, y

    def way(self, out: NDArray[np.float64]) -> NDArray[np.float64]:
        """A direction of the pack's plan, there."""
        return np.asarray(self.pose[:2, :2] @ out[:2])


def _upright(pose: NDArray[np.float64] | None) -> NDArray[np.float64] | None:
    """A pose with which the lid looks up: a pack that lies is drawn in its own plan."""
    return pose if pose is not None and pose[2, 2] > 0.5 else None


def _free(plan: PackPlan) -> BaseGeometry | None:
    """What is free in the space over the whole height of the pack; None without a space."""
    space, pose = plan.pack.space, _upright(plan.enclosure.pose)
    if space is None or pose is None:
        return None
    shell = plan.enclosure.shell
    low = min(space.low_mm[2], float(pose[2, 3]) + shell.z_under_mm)
    return free_region(space, low, float(pose[2, 3]) + shell.z_lid_mm)


def _enclosure(plan: PackPlan, turn: _Turn, shapes: list[BaseGeometry]) -> list[str]:
    """Brackets, walls, held cells and compartments, each over what lies beneath."""
    enclosure, shell = plan.enclosure, plan.enclosure.shell
    brackets = [turn.shape(_outside(part)) for part in plan.bracket.parts]
    pads = [turn.shape(_pad(pad)) for pad in enclosure.pads]
    body = [
        _area(one, 'fill="#fff" stroke="#000" stroke-width="0.5"') for one in (*brackets, *pads)
    ]
    walls = turn.shape(shapely.difference(shell.outer, shell.cavity))
    body.append(_area(turn.shape(shell.outer), 'fill="#fff" stroke="none"'))
    body.append(_area(walls, 'fill="#000" stroke="none"'))
    held = turn.shape(cell_block_shape(plan.cell_block.outline))
    body.append(_area(held, 'fill="none" stroke="#000" stroke-width="0.5"'))
    can = plan.pack.cell.diameter_mm / 2
    for at in plan.cell_layout.xy_mm:
        x, y = turn.point(at)
        body.append(
            f'<circle cx="{number(x)}" cy="{number(-y)}" r="{number(can)}" fill="none" '
            'stroke="#000" stroke-width="0.2"/>'
        )
    for room in enclosure.compartments:
        shape = turn.shape(box(room.plan))
        body.append(
            _area(shape, 'fill="none" stroke="#000" stroke-width="0.4" stroke-dasharray="2 1.5"')
        )
        body += _label(room.name, shape)
    shapes += [*brackets, turn.shape(shell.outer)]
    body += _seal(enclosure, turn, shapes)
    return body


def _seal(enclosure: Enclosure, turn: _Turn, shapes: list[BaseGeometry]) -> list[str]:
    """The gasket's cord as wide as it is, and the vent's opening as a bar across its wall, with an
    arrow and its name; nothing of an open enclosure."""
    seal = enclosure.seal
    if seal is None:
        return []
    ring = np.array(loop_points_mm(seal.cord, 0.05))
    cord = turn.shape(shapely.LinearRing(ring))
    path = path_of(shapely.get_coordinates(cord))
    body = [f'<path d="{path}" fill="none" stroke="#888" stroke-width="{number(seal.cord_mm)}"/>']
    shapes.append(cord.buffer(2 * seal.cord_mm))
    out = turn.way(np.array(seal.vent_out))
    at = np.array(turn.point(np.array(seal.vent_at_mm)))
    body.append(_line([at - out * VENT_IN_MM, at + out], seal.vent_mm[0]))
    body += _arrow(at + out * ARROW_OFF_MM, out, dashed=True)
    end = at + out * (ARROW_OFF_MM + ARROW_MM + TEXT_MM)
    body.append(_text("vent", float(end[0]), float(end[1]), SMALL_MM))
    shapes.append(shapely.Point(*end).buffer(TEXT_MM))
    return body


def _pad(pad: MountingPad) -> BaseGeometry:
    """A mounting pad from behind the wall to its face; the walls are drawn over it."""
    half = PAD_WIDE_MM / 2
    corners = [
        pad.at_mm(pad.along_mm + along, pad.face_mm - deep)
        for along, deep in ((-half, 0.0), (half, 0.0), (half, PAD_DEEP_MM), (-half, PAD_DEEP_MM))
    ]
    return shapely.Polygon(corners)


def _outside(part: Part) -> BaseGeometry:
    """All of a part's places in the plan, by its box."""
    low, high = part.drawing.box_mm()
    corners = np.array([(x, y, z, 1.0) for x in (low[0], high[0]) for y in (low[1], high[1])
                        for z in (low[2], high[2])])  # fmt: skip
    return shapely.union_all(
        [shapely.MultiPoint((corners @ matrix.T)[:, :2]).convex_hull for matrix in part.placed]
    )


def _label(name: str, shape: BaseGeometry) -> list[str]:
    """A compartment's name along its longer side, in lines that fit it; none where none does."""
    x0, y0, x1, y1 = shape.bounds
    tall = y1 - y0 > x1 - x0
    long, across = (y1 - y0, x1 - x0) if tall else (x1 - x0, y1 - y0)
    most = int(long / (CHAR_RATIO * SMALL_MM))
    lines: list[str] = []
    for word in name.split():
        if lines and len(lines[-1]) + 1 + len(word) <= most:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    if max(map(len, lines)) > most or len(lines) * SMALL_MM * 1.2 > across:
        return []
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    body = []
    for k, line in enumerate(lines):
        off = (len(lines) - 1) / 2 - k
        dx, dy = (-off * 1.2 * SMALL_MM, 0.0) if tall else (0.0, off * 1.2 * SMALL_MM)
        body.append(_text(line, x + dx, y + dy, SMALL_MM, upright=tall))
    return body


def _outlets(enclosure: Enclosure, turn: _Turn, shapes: list[BaseGeometry]) -> list[str]:
    """Each gland as a bar as long as its cap, with an arrow along its wire."""
    body = []
    told: set[tuple[int, int]] = set()
    for outlet in enclosure.outlets:
        at, out = np.array(turn.point(outlet.at_mm)), turn.way(outlet.out)
        key = (round(float(at[0])), round(float(at[1])))
        if key in told:  # one above another
            continue
        told.add(key)
        end = at + out * outlet.gland.long_mm
        body.append(_line([at, end], 2.0))
        body += _arrow(end, out)
        shapes.append(shapely.LineString([at, end + out * ARROW_MM]).buffer(2.0))
    return body


def _gas(plan: PackPlan, turn: _Turn, shapes: list[BaseGeometry]) -> list[str]:
    """Arrows away from the held cells' side where gas leaves, not by a vent."""
    enclosure = plan.enclosure
    side = enclosure.gas_side
    if side is None or enclosure.seal is not None:
        return []
    out = lead_way(side)[:2]
    outer = enclosure.shell.outer
    edge = float((shapely.get_coordinates(outer) @ out).max())
    along = np.array((-out[1], out[0]))
    reach = shapely.get_coordinates(cell_block_shape(plan.cell_block.outline)) @ along
    low, high = float(reach.min()), float(reach.max())
    body = []
    for k in range(GAS_ARROWS):
        place = low + (high - low) * (k + 1) / (GAS_ARROWS + 1)
        at = np.array(turn.point(out * (edge + 2.0) + along * place))
        body += _arrow(at, turn.way(out), dashed=True)
        shapes.append(shapely.LineString([at, at + turn.way(out) * ARROW_MM]).buffer(2.0))
    return body


def _words(plan: PackPlan, free: BaseGeometry | None) -> list[str]:
    """What the picture shows, below it."""
    lines = ["black: walls of the enclosure; dashed: compartments; arrows: wires, dashed ones gas"]
    seal = plan.enclosure.seal
    if seal is not None:
        wide, high = seal.vent_mm
        lines.append(
            f"grey: cord in the flange's groove, {seal.long_mm:.0f} mm; broad bar: vent {wide:g} x "
            f"{high:g} mm, opens at {seal.opens_at_kpa:g} kPa"
        )
    if plan.pack.mount.frame:
        lines.append(FRAME_WORDS)
    if free is not None:
        lines.append("hatched: the space, where it is not free over the whole height of the pack")
    return lines


def _area(shape: BaseGeometry, style: str) -> str:
    return f'<path d="{rings_path(shape)}" fill-rule="evenodd" {style}/>'


def _line(points: Sequence[NDArray[np.float64]], wide_mm: float, dashed: bool = False) -> str:
    dash = ' stroke-dasharray="2 1.5"' if dashed else ""
    return (
        f'<path d="{path_of(np.array(points))}" fill="none" stroke="#000" '
        f'stroke-width="{number(wide_mm)}"{dash}/>'
    )


def _arrow(at: NDArray[np.float64], out: NDArray[np.float64], *, dashed: bool = False) -> list[str]:
    """From a point outwards."""
    tip, across = at + out * ARROW_MM, np.array((-out[1], out[0])) * HEAD_MM / 2
    back = tip - out * HEAD_MM
    return [_line([at, tip], 0.5, dashed), _line([back + across, tip, back - across], 0.5)]


def _text(
    text: str, x: float, y: float, size: float, *, anchor: str = "middle", upright: bool = False
) -> str:
    turn = f' transform="rotate(-90 {number(x)} {number(-y)})"' if upright else ""
    down = size * 0.36 if anchor == "middle" else 0.0
    return (
        f'<text x="{number(x)}" y="{number(-y + down)}" font-size="{number(size)}" '
        f'font-family="sans-serif" text-anchor="{anchor}"{turn}>{escape(text)}</text>'
    )
