"""Widths that are tried for a net's strips, in which order, and what keeps a net in one piece."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from layouts import defaults
from layouts.formats import cell_formats
from layouts.pack import Face, Lattice
from layouts.strips.joints import components, face_joints
from layouts.strips.sets import (
    STOCK_WIDTHS_MM,
    Slants,
    _from_shut_rows,
    _in_one_piece,
    lead_sets,
    link_sets,
)
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack


@pytest.mark.parametrize("lattice", Lattice)
def test_every_default_width_is_a_coil_s(lattice: Lattice) -> None:
    """Of rows, links and leads of every format: what is proposed can be bought."""
    assert list(STOCK_WIDTHS_MM) == sorted(STOCK_WIDTHS_MM, reverse=True)
    for size in cell_formats().values():
        strip = defaults.strip(size, lattice)
        assert {strip.row_width_mm, strip.link_width_mm} <= set(STOCK_WIDTHS_MM)


@pytest.mark.parametrize(("row", "link"), [(8.0, 10.0), (10.0, 8.0), (8.0, 8.0), (7.5, 12.0)])
def test_sets_begin_as_asked_and_never_widen(row: float, link: float) -> None:
    """Rows narrow first, then links; a crossing is as wide as a link, or no wider than both."""
    spec = replace(sample_pack().strip, row_width_mm=row, link_width_mm=link)
    for axes in (2, 3):
        for slants, group in itertools.groupby(link_sets(spec, axes), key=lambda one: one.slants):
            found = list(group)
            assert axes == 3 or slants is Slants.TWO
            first = found[0]
            assert (first.row_mm, first.link_mm, first.crossing_mm) == (row, link, link)
            # crossings between wide links over narrow rows: once as wide as the row, first of all
            asked = [one.crossing_mm for one in found if (one.row_mm, one.link_mm) == (row, link)]
            assert asked == ([link, row] if row < link else [link])
            for a, b in itertools.pairwise(found):
                assert a.row_mm >= b.row_mm and a.link_mm >= b.link_mm and a != b
                assert b.crossing_mm == min(b.row_mm, b.link_mm) or b is first
            assert found[-1].row_mm == found[-1].link_mm == STOCK_WIDTHS_MM[-1]


def test_links_of_end_groups_narrow_before_their_leads() -> None:
    """Leads carry all of the current: they stay as wide as asked until the links are narrowest."""
    spec = replace(sample_pack().strip, lead_width_mm=12.0, link_width_mm=8.0, row_width_mm=7.0)
    found = list(lead_sets(spec))
    assert [one.link_mm for one in found] == sorted((one.link_mm for one in found), reverse=True)
    assert [one.lead_mm for one in found] == sorted((one.lead_mm for one in found), reverse=True)
    for one in found:
        assert one.lead_mm == 12.0 or one.link_mm == STOCK_WIDTHS_MM[-1]
        assert one.row_mm == min(7.0, one.link_mm) and one.crossing_mm == one.link_mm
    assert found[-1].lead_mm == STOCK_WIDTHS_MM[-1]


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("seed", range(4))
def test_the_fewest_joints_are_added_that_keep_nets_together(lattice: Lattice, seed: int) -> None:
    """From any joints that are taken: after it each net hangs together, and none is in vain."""
    pack = sample_pack(4, 6, lattice=lattice)
    cells = in_rows(pack, 2)
    joints = face_joints(cells, lattice, Face.UPPER)
    taken = np.random.default_rng(seed).random(len(joints.tail)) < 0.3
    added = _in_one_piece(cells, joints, taken)
    count = len(joints.net_of)

    def pieces(mask: np.ndarray) -> int:
        return components(count, joints.tail[mask], joints.head[mask])[0]

    assert not (added & taken).any()
    assert pieces(taken | added) == joints.nets == pieces(np.ones(len(taken), dtype=np.bool_))
    assert pieces(taken) - added.sum() == joints.nets


@pytest.mark.parametrize("lattice", Lattice)
def test_rows_that_cannot_run_out_are_brought_to_those_that_do(lattice: Lattice) -> None:
    """By joints of one diagonal, each with an end in a shut row, also where the other is free."""
    pack = sample_pack(2, 8, lattice=lattice)
    cells = in_rows(pack, 2)
    joints = face_joints(cells, lattice, Face.LOWER)
    shut = (cells.group == 1) & (cells.sites[:, 1] == 0)
    found = _from_shut_rows(joints, shut)
    assert found.any()
    ends = shut[joints.tail[found]].astype(int) + shut[joints.head[found]]
    assert (ends == 1).any() and ends.min() >= 1
    assert len(set(joints.axis[found].tolist())) == 1 and 0 not in joints.axis[found]
    reached = set(joints.tail[found]) | set(joints.head[found])
    assert len(set(np.flatnonzero(shut)) - reached) <= 1
