"""Laying the strips of both faces: which pairs they join, how wide, where they end."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.pack import STACK_LEAST_MM, Face, Pack
from layouts.strips.free_window import LEAST_FREE_MM2, free_window_mm2
from layouts.strips.joining import Interconnect, Strip, StripKind
from layouts.strips.joints import Joints, components, face_joints, face_of_ends, net_of_group
from layouts.strips.leads import PAST_OUTLINE_MM, LeadExit, blocked, lead_exits
from layouts.strips.lip import (
    LEVEL_MM,
    lip_behind_mm,
    lip_state,
    positive_end,
)
from layouts.strips.sets import Role, Slants, StripSet, joint_roles, lead_sets, link_sets
from layouts.strips.taps import choose_balance_leads

PAST_CENTRE_MM = 5.0  # of strip past the last centre, for both spots of a weld; practice
TOLD_MOST = 6  # nets named one by one in a note
LIP_FAULT = 10_000  # a can that is not held outweighs any number of windows left narrow
STRAIGHT_DEG = 1e-4  # a run that bends by more (at a widened seam) is laid as two strips

_KINDS = {
    Role.ROW: StripKind.ROW,
    Role.LINK: StripKind.LINK,
    Role.CROSSING: StripKind.LINK,
    Role.LEAD: StripKind.LEAD,
    Role.TIE: StripKind.LINK,
}


@dataclass(slots=True)
class _FaceState:
    """What is settled so far on one face: role, width of every joint; lead width of a net."""

    role: NDArray[np.int64]
    width_mm: NDArray[np.float64]
    lead_mm: NDArray[np.float64]
    tried: list[StripSet | None]
    failing: NDArray[np.int64]


def strip_thickness_mm(pack: Pack, role: Role) -> float:
    """Thickness of all layers of a strip [mm]."""
    return pack.strip.thickness_mm * _layers(pack, role)


def _layers(pack: Pack, role: Role) -> int:
    """Rows and ties carry balance current only: one layer."""
    return 1 if role in (Role.NONE, Role.ROW, Role.TIE) else pack.strip.layers


def past_centre_mm(pack: Pack, width_mm: float) -> float:
    """How far a strip goes past its last centre [mm].

    5, but its channel's corners stay within the window: sqrt(r² - h²) less the play.
    """
    half = (width_mm + pack.holder.channel_play_mm) / 2
    inside = np.sqrt(max((pack.holder.window_mm / 2) ** 2 - half**2, 0.0))
    return float(min(PAST_CENTRE_MM, max(inside - pack.holder.channel_play_mm, 0.1)))


def _faults(
    pack: Pack,
    cell_layout: CellLayout,
    joints: Joints,
    ways: Iterable[LeadExit],
    role: NDArray[np.int64],
    widths: NDArray[np.float64],
) -> NDArray[np.int64]:
    """(N,) faults of each cell's end with these roles and role widths, 0 for none.

    ``LIP_FAULT`` where lip or strip stack does not hold; 1 where strips leave less of a
    positive end's window free than a can's own openings.
    """
    count, axes = len(joints.net_of), joints.axes
    used = role > 0
    tail, head, axis = joints.tail[used], joints.head[used], joints.axis[used]
    half = (widths[role[used]] + pack.holder.channel_play_mm) / 2
    thick = np.array([strip_thickness_mm(pack, r) for r in Role])[role[used]]
    half_mm = np.zeros((count, 2 * axes))
    angle = np.zeros((count, 2 * axes))
    layer = np.zeros((count, 2 * axes))
    for cell, way, turn in ((tail, axis, 0.0), (head, axis + axes, 180.0)):
        half_mm[cell, way] = half
        angle[cell, way] = joints.angle_deg[used] + turn
        layer[cell, way] = thick
    ahead, behind = layer[:, :axes], layer[:, axes:]
    bend = np.abs((angle[:, axes:] - angle[:, :axes]) % 360.0 - 180.0) > STRAIGHT_DEG
    stack = np.where(bend, ahead + behind, np.maximum(ahead, behind)).sum(axis=1)
    for out in ways:
        if half_mm[out.cell, axes] == 0:  # a row of one cell: the lead is all of its strip
            stack[out.cell] += strip_thickness_mm(pack, Role.LEAD)
        half_mm[out.cell, 0] = (widths[Role.LEAD] + pack.holder.channel_play_mm) / 2
    positive = positive_end(cell_layout, joints.face)
    state = lip_state(
        angle,
        half_mm,
        can_mm=pack.cell.diameter_mm,
        pocket_mm=pack.pocket_mm,
        depth_mm=pack.holder.depth_mm,
        length_mm=pack.cell.length_mm,
        lip_mm=lip_behind_mm(pack, positive),
    )
    left = pack.holder.lip_mm - np.where(positive, pack.holder.ring_mm, 0.0) - stack
    not_held = ~state.holds | (left < STACK_LEAST_MM - LEVEL_MM)
    bare = np.maximum(half_mm - pack.holder.channel_play_mm / 2, 0.0)
    free = free_window_mm2(angle, bare, window_mm=pack.holder.window_mm, past_mm=PAST_CENTRE_MM)
    narrow = positive & (free < LEAST_FREE_MM2)
    return np.asarray(LIP_FAULT * not_held + narrow, dtype=np.int64)


def _settle(
    laid: _FaceState,
    joints: Joints,
    open_nets: NDArray[np.bool_],
    sets: Iterable[StripSet],
    roles_of: Callable[[Slants], NDArray[np.int64]],
    faults: Callable[[NDArray[np.int64], NDArray[np.float64]], NDArray[np.int64]],
) -> None:
    """Gives each open net the first set without a fault, else the one with the least faults."""
    for tried in sets:
        if not open_nets.any():
            return
        role = roles_of(tried.slants)
        width = tried.width_mm()
        failing = np.bincount(
            joints.net_of, weights=faults(role, width), minlength=joints.nets
        ).astype(np.int64)
        better = open_nets & (failing < laid.failing)
        taken = better[joints.net]
        laid.role[taken] = role[taken]
        laid.width_mm[taken] = width[role[taken]]
        laid.lead_mm[better] = tried.lead_mm
        laid.failing[better] = failing[better]
        for net in np.flatnonzero(better):
            laid.tried[net] = tried
        open_nets = open_nets & (laid.failing > 0)


def _chains(
    cell_layout: CellLayout, joints: Joints, role: NDArray[np.int64]
) -> list[tuple[Role, list[int]]]:
    """Straight chains of joints with a role: (role, joints in order along the axis)."""
    used = np.flatnonzero(role > 0)
    count = len(joints.net_of)
    starts = np.full((count, joints.axes), -1, dtype=np.int64)
    starts[joints.tail[used], joints.axis[used]] = used
    after = starts[joints.head[used], joints.axis[used]]
    turn = np.abs(joints.angle_deg[after] - joints.angle_deg[used])
    turn = np.minimum(turn % 360.0, -turn % 360.0)
    straight = (after >= 0) & (turn <= STRAIGHT_DEG)
    _, piece = components(len(role), used[straight], after[straight])
    nominal = np.radians(joints.axis[used] * 180.0 / joints.axes)
    x, y = cell_layout.xy_mm[joints.tail[used]].T
    place = x * np.cos(nominal) + y * np.sin(nominal)
    order = np.lexsort((place, piece[used]))
    chains: list[tuple[Role, list[int]]] = []
    last = -1
    for joint in used[order].tolist():
        if piece[joint] != last:
            chains.append((Role(int(role[joint])), []))
            last = int(piece[joint])
        chains[-1][1].append(joint)
    return chains


def _face_strips(
    pack: Pack, cell_layout: CellLayout, joints: Joints, laid: _FaceState, ways: Iterable[LeadExit]
) -> list[Strip]:
    """The strips of one face, ordered by net, kind and place."""
    waiting = {way.cell: way for way in ways}
    xy, group = cell_layout.xy_mm, cell_layout.group
    made: list[tuple[int, Strip]] = []

    def add(
        role: Role, width: float, cells: list[int], angle_deg: float, out: LeadExit | None
    ) -> None:
        along = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
        past = past_centre_mm(pack, width)
        start = xy[cells[0]] - past * along
        end = xy[cells[-1]] + past * along if out is None else np.asarray(out.end_mm)
        net = int(joints.net_of[cells[0]])
        made.append(
            (
                net,
                Strip(
                    name="",
                    face=joints.face,
                    kind=_KINDS[role],
                    groups=tuple(sorted({int(g) for g in group[cells]})),
                    cells=tuple(cells),
                    start_mm=(float(start[0]), float(start[1])),
                    end_mm=(float(end[0]), float(end[1])),
                    width_mm=float(width),
                    thickness_mm=pack.strip.thickness_mm,
                    layers=_layers(pack, role),
                    runs_out=out is not None,
                ),
            )
        )

    for role, chain in _chains(cell_layout, joints, laid.role):
        cells = [int(joints.tail[chain[0]]), *(int(joints.head[b]) for b in chain)]
        out = waiting.pop(cells[-1], None) if role is Role.LEAD else None
        add(role, float(laid.width_mm[chain[0]]), cells, float(joints.angle_deg[chain[0]]), out)
    for way in waiting.values():
        add(Role.LEAD, float(laid.lead_mm[way.net]), [way.cell], 0.0, way)
    covered = {cell for _, strip in made for cell in strip.cells}
    for cell in sorted(set(range(len(xy))) - covered):
        # a lone cell that can't run out gets a tab to solder a wire to
        add(Role.LEAD, float(laid.lead_mm[joints.net_of[cell]]), [cell], 0.0, None)

    kinds = list(StripKind)
    made.sort(
        key=lambda m: (
            m[0],
            kinds.index(m[1].kind),
            round(m[1].start_mm[1], 6),
            round(m[1].start_mm[0], 6),
            m[1].cells,
        )
    )
    return _named(made, cell_layout)


def _named(made: list[tuple[int, Strip]], cell_layout: CellLayout) -> list[Strip]:
    """Strips with their names: face, groups of the net, kind, number."""
    named: list[Strip] = []
    counted: dict[tuple[int, StripKind], int] = {}
    of_net = {net: set[int]() for net, _ in made}
    for net, strip in made:
        of_net[net] |= set(strip.groups)
    for net, strip in made:
        number = counted[net, strip.kind] = counted.get((net, strip.kind), 0) + 1
        groups = "-".join(str(g) for g in sorted(of_net[net]))
        named.append(
            Strip(
                name=f"{strip.face.value}-{groups}-{strip.kind.value}-{number}",
                face=strip.face,
                kind=strip.kind,
                groups=strip.groups,
                cells=strip.cells,
                start_mm=strip.start_mm,
                end_mm=strip.end_mm,
                width_mm=strip.width_mm,
                thickness_mm=strip.thickness_mm,
                layers=strip.layers,
                runs_out=strip.runs_out,
            )
        )
    return named


def _given_up(
    pack: Pack, laid: _FaceState, joints: Joints, lone: NDArray[np.bool_], groups_of: list[str]
) -> list[str]:
    """Reductions against the pack file, nets with the same one together."""
    asked = pack.strip
    told: dict[str, list[str]] = {}
    for net, tried in enumerate(laid.tried):
        if tried is None:
            continue
        losses = []
        mine = laid.role[joints.net == net]
        for role, word, width, wanted in (
            (Role.ROW, "rows", tried.row_mm, asked.row_width_mm),
            (Role.CROSSING, "links along a row", tried.crossing_mm, asked.link_width_mm),
            (Role.LINK, "links", tried.link_mm, asked.link_width_mm),
            (Role.TIE, "cross strips", tried.row_mm, asked.row_width_mm),
            (Role.LEAD, "rows with a main lead", tried.lead_mm, asked.lead_width_mm),
        ):
            present = role in mine or (role is Role.LEAD and lone[net])
            if width < wanted and present:
                losses.append(f"{word} {width:g} instead of {wanted:g} mm")
        if not lone[net] and tried.slants is not Slants.TWO:
            losses.append(tried.slants.value)
        loose, narrow = divmod(int(laid.failing[net]), LIP_FAULT)
        if loose:
            losses.append(f"lip or strip stack still fails at {loose} can ends")
        if narrow:
            losses.append(f"strips leave little of {narrow} weld windows open")
        if losses:
            told.setdefault(", ".join(losses), []).append(groups_of[net])
    return [
        f"{joints.face.value} face, groups {_few(nets)}: {loss}, because of the lip, the strip "
        "stack and the vent path"
        for loss, nets in told.items()
    ]


def _few(words: list[str]) -> str:
    """The first few of many words, and how many more there are."""
    shown = ", ".join(words[:TOLD_MOST])
    more = len(words) - TOLD_MOST
    return f"{shown} and {more} more" if more > 0 else shown


def _lay_face(pack: Pack, cell_layout: CellLayout, face: Face) -> tuple[list[Strip], list[str]]:
    """Strips of one face and what is to be said about them."""
    joints = face_joints(cell_layout, pack.lattice, face)
    series = int(cell_layout.group.max())
    of_net: list[list[int]] = [[] for _ in range(joints.nets)]
    for group in range(1, series + 1):
        of_net[int(net_of_group(np.array([group]), face)[0])].append(group)
    lone = np.array([len(groups) == 1 for groups in of_net])
    present = np.array([len(groups) > 0 for groups in of_net])
    words = ["+".join(str(g) for g in groups) for groups in of_net]
    ways = [
        way
        for net in np.flatnonzero(lone).tolist()
        for way in lead_exits(pack, cell_layout, joints, net)
    ]
    blocked_ends = blocked(joints, lone, ways)
    laid = _FaceState(
        role=np.zeros(len(joints.tail), dtype=np.int64),
        width_mm=np.zeros(len(joints.tail)),
        lead_mm=np.full(joints.nets, pack.strip.lead_width_mm),
        tried=[None] * joints.nets,
        failing=np.full(joints.nets, np.iinfo(np.int64).max),
    )
    known: dict[Slants, NDArray[np.int64]] = {}

    def roles_of(slants: Slants) -> NDArray[np.int64]:
        if slants not in known:
            known[slants] = joint_roles(cell_layout, joints, slants, lone, blocked_ends)
        return known[slants]

    def faults(role: NDArray[np.int64], widths: NDArray[np.float64]) -> NDArray[np.int64]:
        return _faults(pack, cell_layout, joints, ways, role, widths)

    _settle(laid, joints, ~lone & present, link_sets(pack.strip, joints.axes), roles_of, faults)
    _settle(laid, joints, lone, lead_sets(pack.strip), roles_of, faults)
    notes = _given_up(pack, laid, joints, lone, words)
    for net in np.flatnonzero(lone):
        if not any(way.net == net for way in ways):
            why = (
                "cells lie to the right of all its rows, so no strip extends to its main lead"
                if cell_layout.room is None
                else "no strip end has space beside the holder: solder the main lead onto the "
                "strip along the group, over its whole length"
            )
            notes.append(f"{face.value} face, group {words[net]}: {why}")
        hanging = [way.free_mm for way in ways if way.net == net]
        if hanging and max(hanging) > PAST_OUTLINE_MM + pack.pitch_mm:
            end = "pack minus" if words[net] == "1" else "pack plus"
            notes.append(
                f"{face.value} face, group {words[net]}: the strips to {end} lie up to "
                f"{max(hanging):.0f} mm outside the holder, beside other lanes: sleeve them there "
                "and fix them to the tub, or solder the wire on where they leave the holder"
            )
    return _face_strips(pack, cell_layout, joints, laid, ways), notes


def join(pack: Pack, cell_layout: CellLayout) -> Interconnect:
    """Strips of both faces: rows, links in as many diagonals as the lip allows, leads.

    Every net (see ``layouts.strips.joints``) is one piece; strips of one net overlap at cells and
    are welded together there. ``notes`` say what was reduced and where."""
    strips: list[Strip] = []
    notes: list[str] = []
    stack = np.zeros((2, len(cell_layout.xy_mm)))
    for row, face in enumerate((Face.LOWER, Face.UPPER)):
        laid, said = _lay_face(pack, cell_layout, face)
        strips += laid
        notes += said
        for strip in laid:
            stack[row, list(strip.cells)] += strip.thickness_mm * strip.layers
    minus, plus = face_of_ends(int(cell_layout.group.max()))
    interconnect = Interconnect(
        strips=tuple(strips), minus_face=minus, plus_face=plus, stack_mm=stack, notes=tuple(notes)
    )
    balance_leads = choose_balance_leads(pack, cell_layout, interconnect)
    over = [
        str(balance_lead.number)
        for balance_lead in balance_leads
        if not balance_lead.notch and len(balance_lead.groups) == 2
    ]
    if over:
        notes.append(
            f"No notch through the holder for balance leads {_few(over)}: route them over the "
            "face, sleeved, away from the can ends."
        )
    return replace(interconnect, balance_leads=balance_leads, notes=tuple(notes))
