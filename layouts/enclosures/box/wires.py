"""The wires of a tub: a way for each through the compartment, and the posts they are tied to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.enclosures.box.sizes import EnclosureDesign, Gland
from layouts.enclosures.box.tie_posts import charge_wire_mm
from layouts.enclosures.box.wire_bodies import (
    CELL_SIDE_MM,
    BayRoom,
    bay_room,
    obstacles_in,
    room_of,
)
from layouts.enclosures.box.wire_ends import (
    NUT_MM,
    TAIL_MM,
    Terminal,
    board_pads,
    gland_pose,
    lug_poses,
    main_terminal,
    plug_pose,
    tap_poses,
)
from layouts.enclosures.wire_checks import FUSE_WITHIN_MM, WIRE_APART_MM, wire_checks
from layouts.pack import Pack
from layouts.parts.shell import Rect
from layouts.ratings.wire import awg_area_mm2, nearest_awg
from layouts.strips.joining import BalanceLead, Interconnect
from layouts.strips.lip import balance_lead_mm
from layouts.wiring.obstacles import Tube, own_reach_mm
from layouts.wiring.search import FoundWay, Search, WirePose
from layouts.wiring.ways import WireEnd, WireWay, middle_radius_mm, sampled_mm

__all__ = ["WiredBay", "tub_wire_checks", "wired"]

APART_MM = WIRE_APART_MM + 0.1  # ways are sampled: the check looks closer
FAR_FUSE_MM = -1.0  # a fuse too far from pack plus counts as a wire so much too near to something
SEEN_MM = 1.0  # between the points that a wire is kept clear of by
SPARE_MM = {"crimped": 10.0, "soldered": 8.0, "plugged": 15.0}  # to strip and to correct


@dataclass(frozen=True, kw_only=True, slots=True)
class WiredBay:
    """Every wire's way, and the least gap of any to anything less ``APART_MM``: negative where one
    has no free way."""

    ways: tuple[WireWay, ...]
    over_mm: float


@dataclass(slots=True)
class _Wiring:
    """The ways found so far."""

    pack: Pack
    interconnect: Interconnect
    cell_layout: CellLayout
    d: BayRoom
    search: Search
    ways: list[WireWay] = field(default_factory=list)
    over_mm: float = np.inf

    def lay(self, way: WireWay, firsts: Sequence[WirePose], lasts: Sequence[WirePose]) -> None:
        """Find a way for a wire whose corners are not known yet."""
        found = self.search.way(
            firsts, lasts, radius_mm=way.radius_mm, need_mm=way.outside_mm / 2 + APART_MM,
            own=way.own, reach_mm=own_reach_mm(way.outside_mm),
        ) or _straight(firsts[0], lasts[0])  # fmt: skip
        self.over_mm = min(self.over_mm, found.over_mm)
        way = with_corners(way, found.corners_mm)
        self.ways.append(way)
        if not way.loom:
            line = sampled_mm(way.line_mm, SEEN_MM)
            self.search.add(Tube(name=way.number, line_mm=line, radius_mm=way.outside_mm / 2))


def _straight(first: WirePose, last: WirePose) -> FoundWay:
    """Where no line has room for its bends: one with corners where they would be needed; its
    bends are too tight, which a check tells."""
    corners = (
        first.at_mm,
        _ahead(first, 12.0),
        _ahead(last, 12.0),
        last.at_mm,
    )
    return FoundWay(corners_mm=corners, first=first, last=last, over_mm=-np.inf)


def _ahead(pose: WirePose, far_mm: float) -> tuple[float, float, float]:
    x, y, z = (
        a + (pose.straight_mm + far_mm) * w for a, w in zip(pose.at_mm, pose.way, strict=True)
    )
    return x, y, z


def with_corners(way: WireWay, corners_mm: tuple[tuple[float, float, float], ...]) -> WireWay:
    """The same wire along a line."""
    return replace(way, corners_mm=corners_mm)


def wired(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, d: BayRoom) -> WiredBay:
    """Main leads first, in the first of a few orders in which all wires find their ways, then a
    charge lead, then the balance leads as a loom."""
    best: _Wiring | None = None
    for order in ORDERS:
        it = _Wiring(
            pack=pack, interconnect=interconnect, cell_layout=cell_layout, d=d,
            search=Search(room=room_of(d), obstacles=obstacles_in(pack, interconnect, d)),
        )  # fmt: skip
        for lay in order:
            lay(it)
        if any(way.number == "M3" and way.cut_mm > FUSE_WITHIN_MM for way in it.ways):
            it.over_mm = min(it.over_mm, FAR_FUSE_MM)
        _charge(it)
        if it.over_mm >= 0.0 or best is None:
            for lead in interconnect.balance_leads:
                _balance(it, lead)
        if best is None or it.over_mm > best.over_mm:
            best = it
        if best.over_mm >= 0.0:
            break
    assert best is not None  # there are orders
    return WiredBay(ways=tuple(best.ways), over_mm=best.over_mm)


def _plus(it: _Wiring) -> None:
    """From pack plus through its gland to the main fuse."""
    pack, d, outside = it.pack, it.d, it.pack.leads.outside_mm
    plus = main_terminal(pack, it.interconnect, minus=False)
    if plus is None:
        return
    gland = next(g for g in d.glands if g.purpose == "pack plus")
    way = _wire(
        "M3", "pack plus to the main fuse", pack.leads.wire_mm2, outside,
        (_at_terminal(plus), WireEnd(told="main fuse, behind the gland", joint="crimped")),
        own=(_bar_of(plus), f"B{pack.series}", f"gland {gland.purpose}", "tie post of pack plus"),
        beyond_mm=_beyond(d, gland), beyond="through the gland to the fuse",
    )  # fmt: skip
    firsts = lug_poses(pack, plus, d.cells.x1 + CELL_SIDE_MM, outside)
    it.lay(way, firsts, [gland_pose(gland, d.cavity)])


def _minus(it: _Wiring) -> None:
    """From pack minus to the board."""
    pack, d, outside = it.pack, it.d, it.pack.leads.outside_mm
    minus = main_terminal(pack, it.interconnect, minus=True)
    if minus is None:
        return
    way = _wire(
        "M1", "pack minus to the board's B-", pack.leads.wire_mm2, outside,
        (_at_terminal(minus), WireEnd(told="board B-", joint="soldered")),
        own=(_bar_of(minus), "board", "B0"), beyond_mm=0.0, beyond="",
    )  # fmt: skip
    firsts = lug_poses(pack, minus, d.cells.x1 + CELL_SIDE_MM, outside)
    it.lay(way, firsts, board_pads(d.bay))


def _out(it: _Wiring) -> None:
    """From the board through the gland of pack minus."""
    pack, d = it.pack, it.d
    gland = next(g for g in d.glands if g.purpose == "pack minus")
    way = _wire(
        "M2", "the board's P- to the connector", pack.leads.wire_mm2, pack.leads.outside_mm,
        (WireEnd(told="board P-", joint="soldered"),
         WireEnd(told="connector -", joint="crimped")),
        own=(f"gland {gland.purpose}", "tie post of pack minus", "board"),
        beyond_mm=_beyond(d, gland) - FUSE_TAIL_MM + pack.leads.length_mm,
        beyond="through the gland to the connector",
    )  # fmt: skip
    it.lay(way, board_pads(d.bay), [gland_pose(gland, d.cavity)])


ORDERS = ((_plus, _minus, _out), (_plus, _out, _minus))
FUSE_TAIL_MM = 20.0  # from a gland's cap to a fuse in the lead's line


def _beyond(d: BayRoom, gland: Gland) -> float:
    """From the nut's inner end through the wall and the gland, and on to a fuse behind it."""
    return NUT_MM + d.wall_mm + gland.gland.long_mm + FUSE_TAIL_MM


def _bar_of(terminal: Terminal) -> str:
    return f"bar of {terminal.name}"


def _at_terminal(terminal: Terminal) -> WireEnd:
    if terminal.lug is None:
        return WireEnd(told=terminal.name, joint="soldered")
    return WireEnd(told=f"{terminal.name}, ring lug {terminal.lug.screw}", joint="crimped")


def _charge(it: _Wiring) -> None:
    """The lead from a board's own charge terminal, through the third gland. On a common port both
    charge leads begin outside, behind the main fuse and at the connector."""
    pack, d = it.pack, it.d
    gland = next((g for g in d.glands if g.purpose == "charge and sense leads"), None)
    outside = charge_wire_mm(pack)
    if gland is None or outside == 0.0 or pack.charger is None or pack.charger.wire_mm2 is None:
        return
    area = pack.charger.wire_mm2
    way = _wire(
        "C2", "the board's C- to the charge port", area, outside,
        (WireEnd(told="board C-", joint="soldered"),
         WireEnd(told="charge port -", joint="crimped")),
        own=(f"gland {gland.purpose}", "tie post of charge and sense leads", "board"),
        beyond_mm=_beyond(d, gland) - FUSE_TAIL_MM + pack.leads.length_mm,
        beyond="through the gland to the charge port",
    )  # fmt: skip
    it.lay(way, board_pads(d.bay), [gland_pose(gland, d.cavity)])


def _balance(it: _Wiring, lead: BalanceLead) -> None:
    """From a joint of the string to its pin of the board's plug."""
    pack, d = it.pack, it.d
    terminal = None
    if lead.number in (0, pack.series):
        terminal = main_terminal(pack, it.interconnect, minus=lead.number == 0)
    outside, awg = balance_lead_mm(pack), pack.taps.awg
    own: tuple[str, ...] = (f"tail of B{lead.number}", "balance plug")
    if terminal is not None:
        own = (*own, _bar_of(terminal), "M1" if lead.number == 0 else "M3")
    y = float(it.cell_layout.xy_mm[lead.cell, 1])
    way = WireWay(
        number=f"B{lead.number}", purpose=f"balance lead {lead.number}",
        area_mm2=awg_area_mm2(awg), gauge=f"AWG {awg}", outside_mm=outside,
        ends=(
            _tap_end(lead, terminal),
            WireEnd(told=f"balance plug, pin {lead.number}", joint="plugged"),
        ),
        corners_mm=(), radius_mm=middle_radius_mm(outside),
        spare_mm=SPARE_MM["soldered"] + SPARE_MM["plugged"] + _over_face(lead, d, it),
        spare="", own=own, loom=True,
    )  # fmt: skip
    firsts = tuple(tap_poses(pack, lead, terminal, d.cells, y, outside))
    it.lay(way, firsts, [plug_pose(pack, d.bay, lead.number)])


def _tap_end(lead: BalanceLead, terminal: Terminal | None) -> WireEnd:
    if terminal is not None and terminal.lug is not None:
        return WireEnd(told=f"{terminal.name}, small ring lug under the nut", joint="crimped")
    face = f"{lead.face.value} face"
    if lead.tail_mm is not None:
        return WireEnd(told=f"tail of joint {lead.number}, {face}", joint="soldered")
    return WireEnd(told=f"strip of joint {lead.number}, {face}", joint="soldered")


def _over_face(lead: BalanceLead, d: BayRoom, it: _Wiring) -> float:
    """How far a lead that begins over the face runs until it is beside the held cells."""
    if lead.tail_mm is not None and lead.tail_mm[0] > d.cells.x1:
        return TAIL_MM
    return max(0.0, d.cells.x1 - float(it.cell_layout.xy_mm[lead.cell, 0]))


def _wire(
    number: str, purpose: str, area_mm2: float, outside_mm: float, ends: tuple[WireEnd, WireEnd], *,
    own: tuple[str, ...], beyond_mm: float, beyond: str,
) -> WireWay:  # fmt: skip
    spare = sum(SPARE_MM[end.joint] for end in ends)
    return WireWay(
        number=number, purpose=purpose, area_mm2=area_mm2, gauge=f"AWG {nearest_awg(area_mm2)}",
        outside_mm=outside_mm, ends=ends, corners_mm=(),
        radius_mm=middle_radius_mm(outside_mm), spare_mm=beyond_mm + spare, spare=beyond, own=own,
    )  # fmt: skip


def tub_wire_checks(
    pack: Pack, interconnect: Interconnect, design: EnclosureDesign, cells: Rect
) -> tuple[Check, ...]:
    """Bends and ways of all its wires; a wire that has none is missed."""
    numbers = {way.number for way in design.ways}
    charge = () if charge_wire_mm(pack) == 0.0 else ("C2",)
    asked = ("M1", "M2", "M3", *charge, *(f"B{lead.number}" for lead in interconnect.balance_leads))
    missing = [f"{number}: nothing of it leaves the held cells" for number in asked
               if number not in numbers]  # fmt: skip
    d = bay_room(design, cells)
    return wire_checks(design.ways, missing, room_of(d), obstacles_in(pack, interconnect, d))
