"""Balance leads: one tap a joint, and a notch where the lip permits it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.holders.channels import notches_mm
from layouts.holders.fastening import fasten, fastening_checks
from layouts.holders.outline import outline_points_mm
from layouts.pack import Face, Lattice
from layouts.strips.joints import node_of_group
from layouts.strips.laying import join
from layouts.strips.lip import NOTCH_MM, lip_states
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("size", [(1, 3), (2, 2), (5, 1), (7, 4), (10, 4)])
def test_every_joint_has_its_tap_in_order(size: tuple[int, int], lattice: Lattice) -> None:
    """S + 1 of them, tap k between groups k and k + 1, on the face where these are joined."""
    pack = sample_pack(*size, lattice=lattice)
    arrangement = arrange(pack)
    taps = join(pack, arrangement).taps
    assert [tap.number for tap in taps] == list(range(pack.series + 1))
    for tap in taps:
        own = {tap.number, tap.number + 1} & set(range(1, pack.series + 1))
        assert set(tap.groups) == own
        assert arrangement.group[tap.cell] in own
        nodes = node_of_group(np.array(tap.groups), tap.face)
        assert len(set(nodes.tolist())) == 1


def test_a_notch_leads_from_its_window_straight_out_past_the_rim() -> None:
    """Free of all other pockets, open to the outside, begun within the window."""
    pack = sample_pack(10, 4)
    arrangement = arrange(pack)
    joining = join(pack, arrangement)
    core = fasten(pack, arrangement, joining)
    rim = shapely.Polygon(outline_points_mm(core.outline, 0.01))
    made = 0
    for face in Face:
        taps = [tap for tap in joining.taps if tap.face is face and tap.notch]
        quads = shapely.polygons(notches_mm(pack, arrangement, joining, face, core.outline))
        assert len(quads) == len(taps)
        for tap, quad in zip(taps, quads.tolist(), strict=True):
            own = shapely.Point(arrangement.xy_mm[tap.cell])
            assert own.buffer(pack.holder.window_mm / 2).intersects(quad)
            assert quad.difference(rim).area > 0.5 * NOTCH_MM
            others = np.delete(arrangement.xy_mm, tap.cell, axis=0)
            assert shapely.distance(shapely.points(others), quad).min() > pack.pocket_mm / 2
            made += 1
    assert made == 9
    checks = fastening_checks(pack, arrangement, joining, core)
    assert all(check.holds for check in checks)


def test_the_lip_is_checked_with_its_notches() -> None:
    """A notch takes its angle from the lip of its own cell, and from no other."""
    pack = sample_pack(6, 3)
    arrangement = arrange(pack)
    joining = join(pack, arrangement)
    without = lip_states(pack, arrangement, replace(joining, taps=()))
    made = lip_states(pack, arrangement, joining)
    for face in Face:
        lost = without[face].rim_deg - made[face].rim_deg
        notched = [tap.cell for tap in joining.taps if tap.face is face and tap.notch]
        assert (lost[notched] > 8.0).all()
        assert np.delete(lost, notched) == pytest.approx(0.0)


def test_no_notch_where_the_lip_would_not_hold() -> None:
    """Channels as wide as a third of the can leave no space: the lead then lies over the face."""
    pack = sample_pack(6, 3)
    wide = replace(pack, holder=replace(pack.holder, channel_play_mm=2.0))
    arrangement = arrange(wide)
    joining = join(wide, arrangement)
    none = [tap for tap in joining.taps if len(tap.groups) == 2 and not tap.notch]
    states = lip_states(wide, arrangement, joining)
    assert all(states[face].holds.all() for face in Face) or none
    assert bool(none) == any("over the face" in note for note in joining.notes)
