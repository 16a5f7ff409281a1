"""Names of strips, and directions of joints over widened seams."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pytest

from layouts.pack import Face, Lattice
from layouts.strips.joints import face_joints
from layouts.strips.laying import join
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
