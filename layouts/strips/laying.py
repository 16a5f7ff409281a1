"""Laying the strips of both faces: which pairs they join, how wide, where they end."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import Arrangement
from layouts.pack import Face, Pack
from layouts.strips.free_window import LEAST_FREE_MM2, free_window_mm2
from layouts.strips.joining import Joining, Strip, StripKind
from layouts.strips.joints import Bonds, components, face_bonds, face_of_ends, node_of_group
from layouts.strips.leads import PAST_OUTLINE_MM, RunOut, run_outs, shut_in
from layouts.strips.lip import (
    LEVEL_MM,
    STACK_LEAST_MM,
    lip_behind_mm,
    lip_state,
    positive_end,
)
from layouts.strips.sets import Role, Slants, StripSet, bond_roles, lead_sets, link_sets
from layouts.strips.taps import choose_taps

PAST_CENTRE_MM = 5.0  # of strip past the last centre, for both spots of a weld; practice
TOLD_MOST = 6  # nodes named one by one in a note
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
class _Laid:
    """What is settled so far on one face: role, width of every bond; lead width of a node."""

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
    arrangement: Arrangement,
    bonds: Bonds,
    ways: Iterable[RunOut],
    role: NDArray[np.int64],
    widths: NDArray[np.float64],
) -> NDArray[np.int64]:
    """(N,) faults of each cell's end with these roles and role widths, 0 for none.

    ``LIP_FAULT`` where lip or strip stack does not hold; 1 where strips leave less of a
    positive end's window free than a can's own openings.
    """
    count, axes = len(bonds.node_of), bonds.axes
    used = role > 0
    tail, head, axis = bonds.tail[used], bonds.head[used], bonds.axis[used]
    half = (widths[role[used]] + pack.holder.channel_play_mm) / 2
    thick = np.array([strip_thickness_mm(pack, r) for r in Role])[role[used]]
    half_mm = np.zeros((count, 2 * axes))
    angle = np.zeros((count, 2 * axes))
    layer = np.zeros((count, 2 * axes))
    for cell, way, turn in ((tail, axis, 0.0), (head, axis + axes, 180.0)):
        half_mm[cell, way] = half
        angle[cell, way] = bonds.angle_deg[used] + turn
        layer[cell, way] = thick
    ahead, behind = layer[:, :axes], layer[:, axes:]
    bend = np.abs((angle[:, axes:] - angle[:, :axes]) % 360.0 - 180.0) > STRAIGHT_DEG
    stack = np.where(bend, ahead + behind, np.maximum(ahead, behind)).sum(axis=1)
    for out in ways:
        if half_mm[out.cell, axes] == 0:  # a row of one cell: the lead is all of its strip
            stack[out.cell] += strip_thickness_mm(pack, Role.LEAD)
        half_mm[out.cell, 0] = (widths[Role.LEAD] + pack.holder.channel_play_mm) / 2
    positive = positive_end(arrangement, bonds.face)
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
    laid: _Laid,
    bonds: Bonds,
    open_nodes: NDArray[np.bool_],
    sets: Iterable[StripSet],
    roles_of: Callable[[Slants], NDArray[np.int64]],
    faults: Callable[[NDArray[np.int64], NDArray[np.float64]], NDArray[np.int64]],
) -> None:
    """Gives each open node the first set without a fault, else the one with the least faults."""
    for tried in sets:
        if not open_nodes.any():
            return
        role = roles_of(tried.slants)
        width = tried.width_mm()
        failing = np.bincount(
            bonds.node_of, weights=faults(role, width), minlength=bonds.nodes
        ).astype(np.int64)
        better = open_nodes & (failing < laid.failing)
        taken = better[bonds.node]
        laid.role[taken] = role[taken]
        laid.width_mm[taken] = width[role[taken]]
        laid.lead_mm[better] = tried.lead_mm
        laid.failing[better] = failing[better]
        for node in np.flatnonzero(better):
            laid.tried[node] = tried
        open_nodes = open_nodes & (laid.failing > 0)


def _chains(
    arrangement: Arrangement, bonds: Bonds, role: NDArray[np.int64]
) -> list[tuple[Role, list[int]]]:
    """Straight chains of bonds with a role: (role, bonds in order along the axis)."""
    used = np.flatnonzero(role > 0)
    count = len(bonds.node_of)
    starts = np.full((count, bonds.axes), -1, dtype=np.int64)
    starts[bonds.tail[used], bonds.axis[used]] = used
    after = starts[bonds.head[used], bonds.axis[used]]
    turn = np.abs(bonds.angle_deg[after] - bonds.angle_deg[used])
    turn = np.minimum(turn % 360.0, -turn % 360.0)
    straight = (after >= 0) & (turn <= STRAIGHT_DEG)
    _, piece = components(len(role), used[straight], after[straight])
    nominal = np.radians(bonds.axis[used] * 180.0 / bonds.axes)
    x, y = arrangement.xy_mm[bonds.tail[used]].T
    place = x * np.cos(nominal) + y * np.sin(nominal)
    order = np.lexsort((place, piece[used]))
    chains: list[tuple[Role, list[int]]] = []
    last = -1
    for bond in used[order].tolist():
        if piece[bond] != last:
            chains.append((Role(int(role[bond])), []))
            last = int(piece[bond])
        chains[-1][1].append(bond)
    return chains


def _face_strips(
    pack: Pack, arrangement: Arrangement, bonds: Bonds, laid: _Laid, ways: Iterable[RunOut]
) -> list[Strip]:
    """The strips of one face, ordered by node, kind and place."""
    waiting = {way.cell: way for way in ways}
    xy, group = arrangement.xy_mm, arrangement.group
    made: list[tuple[int, Strip]] = []

    def add(
        role: Role, width: float, cells: list[int], angle_deg: float, out: RunOut | None
    ) -> None:
        along = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
        past = past_centre_mm(pack, width)
        start = xy[cells[0]] - past * along
        end = xy[cells[-1]] + past * along if out is None else np.asarray(out.end_mm)
        node = int(bonds.node_of[cells[0]])
        made.append(
            (
                node,
                Strip(
                    name="",
                    face=bonds.face,
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

    for role, chain in _chains(arrangement, bonds, laid.role):
        cells = [int(bonds.tail[chain[0]]), *(int(bonds.head[b]) for b in chain)]
        out = waiting.pop(cells[-1], None) if role is Role.LEAD else None
        add(role, float(laid.width_mm[chain[0]]), cells, float(bonds.angle_deg[chain[0]]), out)
    for way in waiting.values():
        add(Role.LEAD, float(laid.lead_mm[way.node]), [way.cell], 0.0, way)
    covered = {cell for _, strip in made for cell in strip.cells}
    for cell in sorted(set(range(len(xy))) - covered):
        # a lone cell that can't run out gets a tab to solder a wire to
        add(Role.LEAD, float(laid.lead_mm[bonds.node_of[cell]]), [cell], 0.0, None)

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
    return _named(made, arrangement)


def _named(made: list[tuple[int, Strip]], arrangement: Arrangement) -> list[Strip]:
    """Strips with their names: face, groups of the node, kind, number."""
    named: list[Strip] = []
    counted: dict[tuple[int, StripKind], int] = {}
    of_node = {node: set[int]() for node, _ in made}
    for node, strip in made:
        of_node[node] |= set(strip.groups)
    for node, strip in made:
        number = counted[node, strip.kind] = counted.get((node, strip.kind), 0) + 1
        groups = "-".join(str(g) for g in sorted(of_node[node]))
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
    pack: Pack, laid: _Laid, bonds: Bonds, lone: NDArray[np.bool_], groups_of: list[str]
) -> list[str]:
    """Reductions against the pack file, nodes with the same one together."""
    asked = pack.strip
    told: dict[str, list[str]] = {}
    for node, tried in enumerate(laid.tried):
        if tried is None:
            continue
        losses = []
        mine = laid.role[bonds.node == node]
        for role, word, width, wanted in (
            (Role.ROW, "rows", tried.row_mm, asked.row_width_mm),
            (Role.CROSSING, "links along a row", tried.crossing_mm, asked.link_width_mm),
            (Role.LINK, "links", tried.link_mm, asked.link_width_mm),
            (Role.TIE, "cross strips", tried.row_mm, asked.row_width_mm),
            (Role.LEAD, "rows with a main lead", tried.lead_mm, asked.lead_width_mm),
        ):
            present = role in mine or (role is Role.LEAD and lone[node])
            if width < wanted and present:
                losses.append(f"{word} {width:g} instead of {wanted:g} mm")
        if not lone[node] and tried.slants is not Slants.TWO:
            losses.append(tried.slants.value)
        loose, narrow = divmod(int(laid.failing[node]), LIP_FAULT)
        if loose:
            losses.append(f"lip or strip stack still fails at {loose} can ends")
        if narrow:
            losses.append(f"strips leave little of {narrow} weld windows open")
        if losses:
            told.setdefault(", ".join(losses), []).append(groups_of[node])
    return [
        f"{bonds.face.value} face, groups {_few(nodes)}: {loss}, because of the lip, the strip "
        "stack and the vent path"
        for loss, nodes in told.items()
    ]


def _few(words: list[str]) -> str:
    """The first few of many words, and how many more there are."""
    shown = ", ".join(words[:TOLD_MOST])
    more = len(words) - TOLD_MOST
    return f"{shown} and {more} more" if more > 0 else shown


def _lay_face(pack: Pack, arrangement: Arrangement, face: Face) -> tuple[list[Strip], list[str]]:
    """Strips of one face and what is to be said about them."""
    bonds = face_bonds(arrangement, pack.lattice, face)
    series = int(arrangement.group.max())
    of_node: list[list[int]] = [[] for _ in range(bonds.nodes)]
    for group in range(1, series + 1):
        of_node[int(node_of_group(np.array([group]), face)[0])].append(group)
    lone = np.array([len(groups) == 1 for groups in of_node])
    present = np.array([len(groups) > 0 for groups in of_node])
    words = ["+".join(str(g) for g in groups) for groups in of_node]
    ways = [
        way
        for node in np.flatnonzero(lone).tolist()
        for way in run_outs(pack, arrangement, bonds, node)
    ]
    shut = shut_in(bonds, lone, ways)
    laid = _Laid(
        role=np.zeros(len(bonds.tail), dtype=np.int64),
        width_mm=np.zeros(len(bonds.tail)),
        lead_mm=np.full(bonds.nodes, pack.strip.lead_width_mm),
        tried=[None] * bonds.nodes,
        failing=np.full(bonds.nodes, np.iinfo(np.int64).max),
    )
    known: dict[Slants, NDArray[np.int64]] = {}

    def roles_of(slants: Slants) -> NDArray[np.int64]:
        if slants not in known:
            known[slants] = bond_roles(arrangement, bonds, slants, lone, shut)
        return known[slants]

    def faults(role: NDArray[np.int64], widths: NDArray[np.float64]) -> NDArray[np.int64]:
        return _faults(pack, arrangement, bonds, ways, role, widths)

    _settle(laid, bonds, ~lone & present, link_sets(pack.strip, bonds.axes), roles_of, faults)
    _settle(laid, bonds, lone, lead_sets(pack.strip), roles_of, faults)
    notes = _given_up(pack, laid, bonds, lone, words)
    for node in np.flatnonzero(lone):
        if not any(way.node == node for way in ways):
            why = (
                "cells lie to the right of all its rows, so no strip extends to its main lead"
                if arrangement.room is None
                else "no strip end has space beside the holder: solder the main lead onto the "
                "strip along the group, over its whole length"
            )
            notes.append(f"{face.value} face, group {words[node]}: {why}")
        hanging = [way.free_mm for way in ways if way.node == node]
        if hanging and max(hanging) > PAST_OUTLINE_MM + pack.pitch_mm:
            end = "pack minus" if words[node] == "1" else "pack plus"
            notes.append(
                f"{face.value} face, group {words[node]}: the strips to {end} lie up to "
                f"{max(hanging):.0f} mm outside the holder, beside other lanes: sleeve them there "
                "and fix them to the tub, or solder the wire on where they leave the holder"
            )
    return _face_strips(pack, arrangement, bonds, laid, ways), notes


def join(pack: Pack, arrangement: Arrangement) -> Joining:
    """Strips of both faces: rows, links in as many diagonals as the lip allows, leads.

    Every node (see ``layouts.strips.joints``) is one piece; strips of one node overlap at cells and
    are welded together there. ``notes`` say what was reduced and where."""
    strips: list[Strip] = []
    notes: list[str] = []
    stack = np.zeros((2, len(arrangement.xy_mm)))
    for row, face in enumerate((Face.LOWER, Face.UPPER)):
        laid, said = _lay_face(pack, arrangement, face)
        strips += laid
        notes += said
        for strip in laid:
            stack[row, list(strip.cells)] += strip.thickness_mm * strip.layers
    minus, plus = face_of_ends(int(arrangement.group.max()))
    joining = Joining(
        strips=tuple(strips), minus_face=minus, plus_face=plus, stack_mm=stack, notes=tuple(notes)
    )
    taps = choose_taps(pack, arrangement, joining)
    over = [str(tap.number) for tap in taps if not tap.notch and len(tap.groups) == 2]
    if over:
        notes.append(
            f"No notch through the holder for balance leads {_few(over)}: route them over the "
            "face, sleeved, away from the can ends."
        )
    return replace(joining, taps=taps, notes=tuple(notes))
