"""Whole rows against zigzag columns."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.currents.shapes import shape_sharing
from layouts.pack import Lattice, Load
from tests.samples import sample_pack


def test_rows_lose_least_and_zigzag_columns_share_most_evenly() -> None:
    """12S8P at 60 A: neither is best at both, so both figures are given."""
    shapes = shape_sharing(sample_pack(12, 8, load=Load(continuous_a=60.0)))
    assert shapes.zigzag is not None
    assert shapes.zigzag.spread_ratio < shapes.rows.spread_ratio / 4
    assert shapes.rows.strip_loss_w < shapes.zigzag.strip_loss_w < 1.2 * shapes.rows.strip_loss_w
    assert shapes.rows.load_a == 60.0


def test_on_a_grid_both_are_one() -> None:
    """Columns of a grid are rows turned: even by symmetry."""
    shapes = shape_sharing(sample_pack(12, 8, lattice=Lattice.GRID))
    assert shapes.zigzag is None
    assert shapes.rows.spread_ratio == pytest.approx(0.0, abs=1e-9)


def test_losses_grow_with_the_square_of_the_load() -> None:
    """The network is linear; spread does not change."""
    pack = sample_pack(6, 5, load=Load(continuous_a=10.0))
    one = shape_sharing(pack).rows
    two = shape_sharing(replace(pack, load=Load(continuous_a=20.0))).rows
    assert two.strip_loss_w == pytest.approx(4 * one.strip_loss_w)
    assert two.spread_ratio == pytest.approx(one.spread_ratio)
