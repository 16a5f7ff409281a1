"""Where the wires of a tub begin and end: poses of lugs, soldering pads, glands and the plug."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from layouts.enclosures.board_seat import BoardSeat
from layouts.enclosures.box.sizes import Gland
from layouts.pack import Face, Pack
from layouts.parts.shell import Rect
from layouts.strips.joining import BalanceLead, Interconnect
from layouts.strips.plate import LugEnd
from layouts.wiring.search import WirePose

__all__ = [
    "NUT_MM", "Terminal", "board_pads", "gland_pose", "lug_poses", "main_terminal", "plug_block",
    "plug_pose", "tap_poses",
]  # fmt: skip

# All from memory or judged, no source
NUT_MM = 10.0  # a gland's thread and nut behind the wall: the wire is straight in it
BARREL_MM = 14.0  # from a lug's flat to the end of its barrel, which is bent up or straight
BARREL_WIDER = 0.6  # its radius, in outside diameters of the wire
BESIDE_MM = 1.0  # between the barrel and the bar's edge
LUG_REACH_MM = 22.0  # from the screw to the end of a straight lug's barrel
BENT_LUG_MM = 7.0  # of one whose barrel is bent up
FOLDED_MM = 2.0  # a folded tail with its wire lies so far beside the held cells
TAIL_MM = 12.0  # of a folded tail
SMALL_LUG_MM = 12.0  # of a balance lead's lug, from the screw
PAD_IN_MM = 6.0  # soldering pads' places from a board's ends
PADS, PAD_HEIGHTS = 7, (0.8, 0.6, 0.4, 0.2)  # places along the board, and up it in shares
OFF_BOARD_MM = 0.0
PLUG_MM = 8.0  # a balance plug stands out of the board so far
PIN_MM = 2.5  # between its pins
PLUG_HIGH_MM = 6.0
FROM_EDGE_MM = 5.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Terminal:
    """Where a main lead is joined to the held cells.

    ``lug``: the bar's end it is screwed to; None: soldered to a strip's or plate's end at
    ``at_mm``."""

    name: str
    face: Face
    lug: LugEnd | None
    at_mm: tuple[float, float]


def main_terminal(pack: Pack, interconnect: Interconnect, *, minus: bool) -> Terminal | None:
    """Pack minus or pack plus; None where nothing of it runs out."""
    name = "pack minus" if minus else "pack plus"
    face = interconnect.minus_face if minus else interconnect.plus_face
    group = 1 if minus else pack.series
    for plate in interconnect.plates:
        if plate.bar is not None and plate.is_end and plate.is_minus is minus:
            lug = plate.bar.lugs[0] if plate.bar.lugs else None
            return Terminal(name=name, face=plate.face, lug=lug, at_mm=plate.bar.tap_mm)
    for strip in interconnect.strips:
        if strip.runs_out and strip.face is face and group in strip.groups:
            return Terminal(name=name, face=face, lug=None, at_mm=strip.end_mm)
    for lead in interconnect.balance_leads:
        if lead.number == (0 if minus else pack.series) and lead.tail_mm is not None:
            return Terminal(name=name, face=lead.face, lug=None, at_mm=lead.tail_mm)
    return None


def face_z_mm(pack: Pack, face: Face) -> tuple[float, float]:
    """z of a face's can ends, and the sign of z away from the cells."""
    return (pack.lip_to_lip_mm, 1.0) if face is Face.UPPER else (0.0, -1.0)


def lug_poses(
    pack: Pack, terminal: Terminal, cells_x1: float, outside_mm: float
) -> tuple[WirePose, ...]:
    """Ways for a lead off its terminal, each from the crimp on.

    A lug's barrel is bent up beside the bar's end, towards the other face, or straight; a
    soldered lead goes along the folded metal, towards the other face."""
    z, out = face_z_mm(pack, terminal.face)
    x, y = terminal.at_mm
    inward = (0.0, 0.0, -out)
    if terminal.lug is None:
        # beside the held cells, on the outer side of what is folded down
        at = (cells_x1 + FOLDED_MM + outside_mm / 2, y, z)
        return (WirePose(at_mm=at, way=inward, straight_mm=TAIL_MM),)
    lug = terminal.lug
    level = z - out * lug.drop_mm + out * outside_mm / 2
    _, y0, x1, y1 = lug.shape.bounds
    wide = BARREL_WIDER * outside_mm + BESIDE_MM
    found = []
    for dx, dy, edge in ((1.0, 0.0, x1 - x), (0.0, 1.0, y1 - y), (0.0, -1.0, y - y0)):
        far = edge + wide
        at = (x + far * dx, y + far * dy, level)
        found.append(WirePose(at_mm=at, way=inward, straight_mm=BARREL_MM))
    for dx, dy in ((1.0, 0.0), (0.0, 1.0), (0.0, -1.0)):
        at = (x + LUG_REACH_MM * dx / 2, y + LUG_REACH_MM * dy / 2, level)
        found.append(WirePose(at_mm=at, way=(dx, dy, 0.0), straight_mm=LUG_REACH_MM / 2))
    return tuple(found)


def gland_pose(gland: Gland, cavity: Rect) -> WirePose:
    """At the inner end of a gland's nut, where a wire goes in along +x."""
    at = (cavity.x1 - NUT_MM, gland.y_mm, gland.z_mm)
    return WirePose(at_mm=at, way=(-1.0, 0.0, 0.0), straight_mm=0.0)


def board_pads(bay: BoardSeat) -> tuple[WirePose, ...]:
    """Ways for a wire off the board's face, soldered square to it, at several places."""
    board = bay.board
    y0, y1 = board.y0 + PAD_IN_MM, board.y1 - PAD_IN_MM
    high = bay.z1_mm - bay.z0_mm
    return tuple(
        WirePose(
            at_mm=(board.x0 - OFF_BOARD_MM, y, bay.z0_mm + share * high),
            way=(-1.0, 0.0, 0.0),
            straight_mm=0.0,
        )
        for share in PAD_HEIGHTS
        for y in np.linspace(y0, y1, PADS).tolist()
    )


def pin_mm(pack: Pack, bay: BoardSeat) -> float:
    """Between two pins of the balance plug; closer where a board is short."""
    return min(PIN_MM, (bay.board.y1 - bay.board.y0 - 2 * FROM_EDGE_MM) / (pack.series + 1))


def plug_block(pack: Pack, bay: BoardSeat) -> tuple[Rect, float, float]:
    """The balance plug on the board's face: its plan, and its lower and upper side."""
    half = pin_mm(pack, bay) * (pack.series + 2) / 2
    middle = bay.board.centre_mm[1]
    rect = Rect(x0=bay.board.x0 - PLUG_MM, x1=bay.board.x0, y0=middle - half, y1=middle + half)
    z0 = bay.z0_mm + FROM_EDGE_MM
    return rect, z0, z0 + PLUG_HIGH_MM


def plug_pose(pack: Pack, bay: BoardSeat, number: int) -> WirePose:
    """Where balance lead ``number`` leaves the plug: B0 at the end towards -y."""
    rect, z0, z1 = plug_block(pack, bay)
    y = rect.centre_mm[1] + (number - pack.series / 2) * pin_mm(pack, bay)
    at = (rect.x0, y, (z0 + z1) / 2)
    return WirePose(at_mm=at, way=(-1.0, 0.0, 0.0), straight_mm=0.5)


def tap_poses(
    pack: Pack,
    lead: BalanceLead,
    terminal: Terminal | None,
    cells: Rect,
    cell_y: float,
    outside_mm: float,
) -> Iterator[WirePose]:
    """Ways for a balance lead into the room beside the held cells: off a folded tail, off the
    terminal's screw, else out of its notch."""
    z, out = face_z_mm(pack, lead.face)
    if terminal is not None and terminal.lug is not None:
        x, y = terminal.at_mm
        level = z - out * (terminal.lug.drop_mm + 2.0 + outside_mm / 2)
        for turn in np.linspace(-np.pi / 2, np.pi / 2, 5).tolist():
            dx, dy = float(np.cos(turn)), float(np.sin(turn))
            at = (x + SMALL_LUG_MM * dx, y + SMALL_LUG_MM * dy, level)
            yield WirePose(at_mm=at, way=(dx, dy, 0.0), straight_mm=1.0)
            at = (x + BENT_LUG_MM * dx, y + BENT_LUG_MM * dy, level)
            yield WirePose(at_mm=at, way=(0.0, 0.0, -out), straight_mm=4.0)
        return
    if lead.tail_mm is not None and lead.tail_mm[0] > cells.x1:
        at = (cells.x1 + FOLDED_MM + outside_mm / 2, lead.tail_mm[1], z - out * TAIL_MM)
        yield WirePose(at_mm=at, way=(0.0, 0.0, -out), straight_mm=1.0)
        return
    at = (cells.x1 + 1.0, cell_y, z + out * outside_mm / 2)
    yield WirePose(at_mm=at, way=(1.0, 0.0, 0.0), straight_mm=1.0)
