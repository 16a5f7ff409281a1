"""Clearances besides the printed parts."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from layouts.pack import EnclosureStyle
from layouts.parts.clearance import ClearanceKind
from layouts.parts.convex import ConvexPiece, bar, bend, block
from layouts.parts.outlet import BENDS, CableOutlet, bends_across, gland_for
from layouts.planning.clearances import pack_clearances
from layouts.planning.pack_plan import PackPlan, plan_pack
from tests.samples import sample_pack


@cache
def sample_plan() -> PackPlan:
    """Planned once for all tests here."""
    return plan_pack(sample_pack())


def volume_mm3(piece: ConvexPiece) -> float:
    """Volume by the faces' winding; negative where they face inwards."""
    a, b, c = (piece.vertices_mm[piece.faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


def beyond_mm(piece: ConvexPiece, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) how far points lie outside the worst of a piece's face planes."""
    a, b, c = (piece.vertices_mm[piece.faces[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1)
    normal, a = normal[size > 1e-9] / size[size > 1e-9, None], a[size > 1e-9]
    worst: NDArray[np.float64] = (points @ normal.T - (a * normal).sum(axis=1)).max(axis=1)
    return worst


def test_a_bar_holds_its_round_and_little_more() -> None:
    """A bar's volume is that of a circumscribed prism, faces outwards."""
    piece = bar((1.0, 2.0, 3.0), (1.0, 2.0, 13.0), 4.0)
    exact = 10.0 * math.pi * 16.0
    assert exact < volume_mm3(piece) < 1.01 * exact
    angle = np.linspace(0, math.tau, 100)
    rim = np.column_stack([1 + 4 * np.cos(angle), 2 + 4 * np.sin(angle), np.full(100, 3.0)])
    assert beyond_mm(piece, rim).max() < 1e-9


ACROSS_X = {name: way for name, way in BENDS.items() if "x" not in name}


@pytest.mark.parametrize("way", ACROSS_X.values(), ids=ACROSS_X)
def test_a_bend_holds_all_of_its_wire(way: tuple[float, float, float]) -> None:
    """Points all over a bent wire's skin lie in one of its pieces; each piece is convex."""
    wire, inside = 6.0, 24.0
    pieces = bend((10.0, 0.0, 5.0), (1.0, 0.0, 0.0), way, wire_mm=wire, inside_mm=inside)
    rng = np.random.default_rng(4)
    turn, round_ = rng.uniform(0, math.pi / 2, 400), rng.uniform(0, math.tau, 400)
    out, to = np.array((1.0, 0.0, 0.0)), np.array(way)
    spoke = -np.cos(turn)[:, None] * to + np.sin(turn)[:, None] * out
    middle = inside + wire / 2
    far = middle + wire / 2 * np.cos(round_)
    skin = (10.0, 0.0, 5.0) + to * middle + far[:, None] * spoke
    skin += (wire / 2 * np.sin(round_))[:, None] * np.cross(out, to)
    held = np.min([beyond_mm(piece, skin) for piece in pieces], axis=0)
    assert held.max() < 1e-9
    exact = math.pi * wire**2 / 4 * middle * math.pi / 2
    assert exact < sum(volume_mm3(piece) for piece in pieces) < 1.06 * exact
    for piece in pieces:
        assert beyond_mm(piece, piece.vertices_mm).max() < 1e-9


def test_a_block_faces_outwards() -> None:
    """A block has its own volume."""
    assert volume_mm3(block((0, 0, 0), (2, 3, 4))) == pytest.approx(24.0)


def test_outlets_start_on_the_wall_and_reach_past_the_bend() -> None:
    """Every gland has an outlet that begins on the wall's face; its wire's bend lies within."""
    plan = sample_plan()
    wall = plan.enclosure.sizes.outer.x1
    outlets = [
        clearance for clearance in pack_clearances(plan) if clearance.kind is ClearanceKind.OUTLET
    ]
    assert len(outlets) == len(plan.enclosure.sizes.glands)
    wire = plan.pack.leads.outside_mm
    for clearance in outlets:
        points = np.vstack([piece.vertices_mm for piece in clearance.pieces])
        assert points[:, 0].min() == pytest.approx(wall)
        if "pack " in clearance.name:
            # gland, inner radius of 4 outsides, and the wire itself (outer side drawn 0.9 % out)
            assert points[:, 0].max() >= wall + 21.0 + 5 * wire
            assert points[:, 0].max() <= wall + 40.0 + 5 * wire * 1.02


def test_wires_turn_the_way_that_is_asked() -> None:
    """Bending down reaches lower than bending up, by twice the bend."""
    plan = sample_plan()
    low = {}
    for way in ("+z", "-z"):
        outlet = next(
            n for n in pack_clearances(plan, bend_to=way) if n.kind is ClearanceKind.OUTLET
        )
        low[way] = min(piece.vertices_mm[:, 2].min() for piece in outlet.pieces)
    assert low["-z"] < low["+z"] - 2 * plan.pack.leads.outside_mm
    with pytest.raises(KeyError):
        pack_clearances(plan, bend_to="up")


def test_lid_room_and_keys_are_for_servicing_only() -> None:
    """The clearance above the lid holds screw and hex key; heads and outlets always count."""
    plan = sample_plan()
    clearances = pack_clearances(plan)
    assert {clearance.kind for clearance in clearances if clearance.servicing} == {
        ClearanceKind.LID_SERVICE,
        ClearanceKind.DRIVER_SERVICE,
    }
    room = next(
        clearance for clearance in clearances if clearance.kind is ClearanceKind.LID_SERVICE
    )
    top = plan.enclosure.sizes.z_lid_mm
    points = room.pieces[0].vertices_mm
    assert points[:, 2].min() == pytest.approx(top)
    # M3: head 3, screw 6 or more, hex key's short arm 18
    assert points[:, 2].max() >= top + 3.0 + 6.0 + 18.0


def test_every_piece_of_every_need_is_closed_and_faces_outwards() -> None:
    """Each edge of a piece is used once each way, and its volume is positive."""
    plan = sample_plan()
    for clearance in pack_clearances(plan):
        for piece in clearance.pieces:
            edges = piece.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
            there = {tuple(edge) for edge in edges.tolist()}
            assert len(there) == len(edges)
            assert {(b, a) for a, b in there} == there
            assert volume_mm3(piece) > 0


def test_a_pack_without_enclosure_needs_room_for_gas() -> None:
    """Its one need covers every can, and reaches past both faces by lip and gas gap."""
    pack = sample_pack(4, 2)
    pack = replace(pack, enclosure=replace(pack.enclosure, style=EnclosureStyle.NONE))
    plan = plan_pack(pack)
    (clearance,) = pack_clearances(plan)
    points = np.vstack([piece.vertices_mm for piece in clearance.pieces])
    room = pack.holder.lip_mm + pack.enclosure.gas_gap_mm
    assert points[:, 2].min() == pytest.approx(-room)
    assert points[:, 2].max() == pytest.approx(pack.lip_to_lip_mm + room)
    centres = np.column_stack(
        [plan.cell_layout.xy_mm, np.full(len(plan.cell_layout.xy_mm), pack.cell.length_mm / 2)]
    )
    held = np.min([beyond_mm(piece, centres) for piece in clearance.pieces], axis=0)
    assert held.max() < 1e-9


def outlet_towards(out: tuple[float, float, float]) -> CableOutlet:
    """A gland in a wall of that side."""
    return CableOutlet(
        gland=gland_for(6.0), purpose="pack plus", at_mm=np.zeros(3), out=np.array(out),
        wall_mm=2.0, wire_mm=6.0,
    )  # fmt: skip


def test_wires_turn_across_all_their_glands() -> None:
    """None of the two ways along a gland; with glands on two sides up and down are left."""
    x, y = outlet_towards((1.0, 0.0, 0.0)), outlet_towards((0.0, -1.0, 0.0))
    assert bends_across([x]) == ("+z", "-z", "+y", "-y")
    assert bends_across([y]) == ("+z", "-z", "+x", "-x")
    assert bends_across([x, y]) == ("+z", "-z")
    for way in bends_across([y]):
        assert all(len(piece.vertices_mm) for piece in y.pieces(BENDS[way]))
