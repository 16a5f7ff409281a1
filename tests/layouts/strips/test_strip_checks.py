"""Checks of the strips: each fails for what it is there to find."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Lattice, Pack
from layouts.strips.checks import strip_checks
from layouts.strips.joining import Interconnect, StripKind
from layouts.strips.laying import join
from tests.layouts.hand_made import in_rows
from tests.layouts.strips.joinings import of
from tests.samples import sample_pack


def checks_of(pack: Pack, cell_layout: CellLayout, interconnect: Interconnect) -> dict[str, bool]:
    """Each strip check's verdict."""
    return {c.id: c.holds for c in strip_checks(pack, cell_layout, interconnect)}


def test_one_piece_check_fails_when_a_strip_is_missing() -> None:
    """Without the row of group 10's lead, or without a junction's links, a net is torn."""
    pack = sample_pack(10, 4)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    for drop in (
        lambda s: s.kind is StripKind.LEAD,
        lambda s: s.kind is StripKind.LINK and s.groups == (3, 4),
    ):
        torn = dataclasses.replace(
            interconnect, strips=tuple(s for s in interconnect.strips if not drop(s))
        )
        assert not checks_of(pack, cell_layout, torn)["strip_one_piece"]
    assert checks_of(pack, cell_layout, interconnect)["strip_one_piece"]


def test_potentials_check_fails_for_a_strip_over_two_nodes() -> None:
    """A strip that joins groups 2 and 3 on the upper face shorts two junctions."""
    pack = sample_pack(4, 3)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    bad = dataclasses.replace(interconnect.strips[-1], cells=(3, 6), groups=(2, 3), face=Face.UPPER)
    held = checks_of(
        pack, cell_layout, dataclasses.replace(interconnect, strips=(*interconnect.strips, bad))
    )
    assert not held["strip_potentials"]


def test_gap_and_window_checks_fail_for_a_strip_that_strays() -> None:
    """A row strip that goes on over the next group's cells is too near to strip and window."""
    pack = sample_pack(4, 3)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    rows = of(interconnect, Face.UPPER, StripKind.ROW)
    strayed = dataclasses.replace(
        rows[1],
        end_mm=tuple(
            float(v) for v in cell_layout.xy_mm[np.flatnonzero(cell_layout.group == 3)[0]]
        ),
    )
    held = checks_of(
        pack,
        cell_layout,
        dataclasses.replace(
            interconnect, strips=tuple(strayed if s is rows[1] else s for s in interconnect.strips)
        ),
    )
    assert not held["strip_gap_mm"]
    assert not held["strip_window_mm"]
    assert checks_of(pack, cell_layout, interconnect) == {
        "strip_one_piece": True,
        "strip_potentials": True,
        "lead_out_mm": True,
        "strip_gap_mm": True,
        "strip_window_mm": True,
    }


def test_smallest_gap_is_the_one_measured_by_hand() -> None:
    """Grid 4S6P: leads 10 wide beside rows 10 wide, one pitch apart, links end 5 past a centre."""
    pack = sample_pack(4, 6, lattice=Lattice.GRID)
    cell_layout = in_rows(pack)
    check = {c.id: c for c in strip_checks(pack, cell_layout, join(pack, cell_layout))}[
        "strip_gap_mm"
    ]
    assert check.value == pytest.approx(pack.pitch_mm - 10.0)
