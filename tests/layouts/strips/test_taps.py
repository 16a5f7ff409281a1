"""Balance leads: one tap a net, and a notch where the lip permits it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.holders.channels import notches_mm
from layouts.holders.fastening import fasten, fastening_checks
from layouts.holders.outline import outline_points_mm
from layouts.pack import BalanceLeadSpec, Face, Lattice
from layouts.strips.joints import net_of_group
from layouts.strips.laying import join
from layouts.strips.lip import notch_mm
from layouts.strips.lip_checks import lip_states
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("size", [(1, 3), (2, 2), (5, 1), (7, 4), (10, 4)])
def test_every_joint_has_its_tap_in_order(size: tuple[int, int], lattice: Lattice) -> None:
    """S + 1 of them, tap k between groups k and k + 1, on the face where these are joined."""
    pack = sample_pack(*size, lattice=lattice)
    cell_layout = arrange(pack)
    balance_leads = join(pack, cell_layout).balance_leads
    assert [balance_lead.number for balance_lead in balance_leads] == list(range(pack.series + 1))
    for balance_lead in balance_leads:
        own = {balance_lead.number, balance_lead.number + 1} & set(range(1, pack.series + 1))
        assert set(balance_lead.groups) == own
        assert cell_layout.group[balance_lead.cell] in own
        nets = net_of_group(np.array(balance_lead.groups), balance_lead.face)
        assert len(set(nets.tolist())) == 1


def test_a_notch_leads_from_its_window_straight_out_past_the_rim() -> None:
    """Free of all other pockets, open to the outside, begun within the window."""
    pack = sample_pack(10, 4)
    cell_layout = arrange(pack)
    interconnect = join(pack, cell_layout)
    cell_block = fasten(pack, cell_layout, interconnect)
    rim = shapely.Polygon(outline_points_mm(cell_block.outline, 0.01))
    made = 0
    for face in Face:
        balance_leads = [
            balance_lead
            for balance_lead in interconnect.balance_leads
            if balance_lead.face is face and balance_lead.notch
        ]
        quads = shapely.polygons(
            notches_mm(pack, cell_layout, interconnect, face, cell_block.outline)
        )
        assert len(quads) == len(balance_leads)
        for balance_lead, quad in zip(balance_leads, quads.tolist(), strict=True):
            own = shapely.Point(cell_layout.xy_mm[balance_lead.cell])
            assert own.buffer(pack.holder.window_mm / 2).intersects(quad)
            assert quad.difference(rim).area > 0.5 * notch_mm(pack)
            others = np.delete(cell_layout.xy_mm, balance_lead.cell, axis=0)
            assert shapely.distance(shapely.points(others), quad).min() > pack.pocket_mm / 2
            made += 1
    assert made == 9
    checks = fastening_checks(pack, cell_layout, interconnect, cell_block)
    assert all(check.holds for check in checks)


def test_the_lip_is_checked_with_its_notches() -> None:
    """A notch takes its angle from the lip of its own cell, and from no other."""
    pack = sample_pack(6, 3)
    cell_layout = arrange(pack)
    interconnect = join(pack, cell_layout)
    without = lip_states(pack, cell_layout, replace(interconnect, balance_leads=()))
    made = lip_states(pack, cell_layout, interconnect)
    for face in Face:
        lost = without[face].rim_deg - made[face].rim_deg
        notched = [
            balance_lead.cell
            for balance_lead in interconnect.balance_leads
            if balance_lead.face is face and balance_lead.notch
        ]
        assert (lost[notched] > 8.0).all()
        assert np.delete(lost, notched) == pytest.approx(0.0)


def test_no_notch_where_the_lip_would_not_hold() -> None:
    """Channels as wide as a third of the can leave no space: the lead then lies over the face."""
    pack = sample_pack(6, 3)
    wide = replace(pack, holder=replace(pack.holder, channel_play_mm=2.0))
    cell_layout = arrange(wide)
    interconnect = join(wide, cell_layout)
    none = [
        balance_lead
        for balance_lead in interconnect.balance_leads
        if len(balance_lead.groups) == 2 and not balance_lead.notch
    ]
    states = lip_states(wide, cell_layout, interconnect)
    assert all(states[face].holds.all() for face in Face) or none
    assert bool(none) == any("over the face" in note for note in interconnect.notes)


@pytest.mark.parametrize(("awg", "wire_mm"), [(24, 0.511), (22, 0.644), (16, 1.291), (10, 2.588)])
def test_a_notch_lets_its_lead_through(awg: int, wire_mm: float) -> None:
    """Half a millimetre of insulation each side and a little play, also for the thickest gauge."""
    pack = sample_pack(3, 2, lattice=Lattice.GRID, taps=BalanceLeadSpec(awg=awg))
    cell_layout = arrange(pack)
    interconnect = join(pack, cell_layout)
    outline = fasten(pack, cell_layout, interconnect).outline
    quads = np.concatenate(
        [notches_mm(pack, cell_layout, interconnect, face, outline) for face in Face]
    )
    assert len(quads)
    across = np.ptp(quads[:, :, 1], axis=1)
    assert (across >= wire_mm + 1.0 + 0.3).all() and (across <= wire_mm + 1.0 + 0.8).all()
