"""Names of strips, and directions of joints over widened seams."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.pack import Face, Lattice
from layouts.strips.joints import face_joints
from layouts.strips.laying import join
from layouts.strips.leads import lead_exits
from tests.layouts.fields import laid
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack


@pytest.mark.parametrize("lattice", Lattice)
def test_strips_of_a_net_are_numbered_without_a_gap(lattice: Lattice) -> None:
    """Each kind from 1 on, and every name once."""
    pack = sample_pack(5, 4, lattice=lattice)
    strips = join(pack, in_rows(pack, 2)).strips
    numbers: dict[str, list[int]] = defaultdict(list)
    for strip in strips:
        words, _, number = strip.name.rpartition("-")
        assert words.startswith(strip.face.value) and words.endswith(strip.kind.value)
        numbers[words].append(int(number))
    assert all(sorted(found) == list(range(1, len(found) + 1)) for found in numbers.values())
    assert max(map(len, numbers.values())) > 1


def test_a_way_out_needs_as_much_of_an_outline_on_either_side() -> None:
    """The least space beside a row's axis where its strip runs out: as much below as above, and
    more than half the strip with its play."""
    pack = sample_pack(1, 3)
    cells = in_rows(pack)
    joints = face_joints(cells, pack.lattice, Face.LOWER)
    y = float(cells.xy_mm[0, 1])

    def runs_out(below_mm: float, above_mm: float) -> bool:
        room = shapely.box(-200.0, y - below_mm, 200.0, y + above_mm)
        return len(lead_exits(pack, replace(cells, room=room), joints, 0)) == 1

    spaces = np.arange(4.0, 20.0, 0.05).tolist()
    least = []
    for ways in ([runs_out(one, 50.0) for one in spaces], [runs_out(50.0, one) for one in spaces]):
        assert ways == sorted(ways) and not ways[0] and ways[-1]
        least.append(spaces[ways.index(True)])
    assert least[0] == least[1]
    assert least[0] > (pack.strip.lead_width_mm + pack.holder.channel_play_mm) / 2


@pytest.mark.parametrize("growth_mm", [0.05, 0.3, 2.0])
def test_joints_point_where_their_cells_lie(growth_mm: float) -> None:
    """From tail to head, also over a seam that is only a little wider than other webs."""
    pack = sample_pack(6, 4)
    cells = laid(pack, fold=3, growth_mm=growth_mm)
    for face in Face:
        joints = face_joints(cells, pack.lattice, face)
        between = cells.xy_mm[joints.head] - cells.xy_mm[joints.tail]
        true = np.degrees(np.arctan2(between[:, 1], between[:, 0]))
        off = (joints.angle_deg - true + 180.0) % 360.0 - 180.0
        assert np.abs(off).max() < 1e-5
        nominal = joints.axis * 180.0 / joints.axes
        assert np.abs(joints.angle_deg - nominal).max() < 90.0
