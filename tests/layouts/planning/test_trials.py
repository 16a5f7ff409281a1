"""Proof pulls and trial runs: balanced with the pack's weight, Ohm's law, and heat's bounds."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from layouts.brackets.kind import Hold, MountingPad
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.pack import Load, Side
from layouts.planning.trials import PROOF_RATIO, proof_pulls, trial_runs
from tests.layouts.electrical.packs import laid
from tests.samples import sample_pack

PADS = tuple(
    MountingPad(side=side, face_mm=84.0, along_mm=along, underside_mm=-8.0)
    for side in (Side.PLUS_X, Side.MINUS_X)
    for along in (-80.0, 80.0)
)


def tried(load: Load | None, pads: tuple[MountingPad, ...] = PADS) -> Any:
    """A plan as far as pulls need it."""
    hold = Hold(out_mm=16.0, below_mm=3.0, apart_mm=20.0)
    return SimpleNamespace(
        pack=sample_pack(load=load),
        enclosure=SimpleNamespace(pads=pads),
        bracket=SimpleNamespace(hold=hold),
    )


def test_pulls_are_a_quarter_more_than_the_jolts() -> None:
    """4 kg at 3 and 4 g level, 5 g together, and 6 g up: 25 and 30 kg; four brackets share it."""
    pulls = proof_pulls(tried(Load(continuous_a=20.0, acceleration_g=(3.0, 4.0, 6.0))), mass_kg=4.0)
    assert pulls is not None
    assert PROOF_RATIO == 1.25
    assert (pulls.level_kg, pulls.upright_kg) == (pytest.approx(25.0), pytest.approx(30.0))
    assert len({(one.off_kg, one.along_kg, one.upright_kg) for one in pulls.brackets}) >= 1
    # upright jolts lift each by a quarter of 30; level ones, above the feet, lift one side more
    assert all(one.upright_kg > 7.5 for one in pulls.brackets)
    flat = proof_pulls(tried(Load(continuous_a=20.0, acceleration_g=(0.0, 0.0, 6.0))), mass_kg=4.0)
    assert flat is not None and flat.level_kg == 0.0
    assert sum(one.upright_kg for one in flat.brackets) == pytest.approx(30.0)


def test_without_a_load_or_brackets_there_is_nothing_to_pull() -> None:
    """No figure is made up."""
    assert proof_pulls(tried(None), mass_kg=4.0) is None
    assert proof_pulls(tried(Load(continuous_a=20.0), ()), mass_kg=4.0) is None


def planned(**changed: Any) -> Electrical:
    """7S3P, 12 Ah."""
    one = laid(7, 3, **changed)
    return electrical_plan(one.pack, one.cell_layout, one.interconnect)


def test_runs_are_ten_minutes_at_half_and_an_hour_at_full_load() -> None:
    """Drops by Ohm's law; a quarter of the heat at half of the current."""
    of = planned(load=Load(continuous_a=8.0, ambient_c=30.0))
    half, full = trial_runs(of, series=7)
    assert (half.current_a, half.seconds) == (4.0, 600.0)
    assert (full.current_a, full.seconds) == (8.0, 3600.0)
    for run in (half, full):
        assert run.sag_v == pytest.approx(run.current_a * (of.shares.ohm + of.leads.ohm))
        assert 7.0 * run.group_sag_v == pytest.approx(run.current_a * of.shares.ohm)
    assert full.cell_rise_k > 4.0 * half.cell_rise_k > 0.0
    assert full.cell_rise_k < of.heat.steady.rise_k
    # no warmer than the hottest cell's own heat without any loss
    model = of.heat.model
    watt = float(model.node_w.max()) / 4.0
    assert half.cell_rise_k < watt * 600.0 / model.can.heat_j_k * 1.05


def test_a_pack_that_is_soon_empty_runs_for_less() -> None:
    """12 Ah at 24 A last half an hour: 24 minutes at full load; ten at half."""
    half, full = trial_runs(planned(load=Load(continuous_a=24.0)), series=7)
    assert (half.seconds, full.seconds) == (600.0, pytest.approx(0.8 * 1800.0))
    without = trial_runs(planned(), series=7)
    assert without[1].current_a == pytest.approx(planned().ratings.pack_continuous_a)


def test_more_resistance_drops_more() -> None:
    """Longer leads: the pack's drop grows, a group's does not."""
    short = planned(load=Load(continuous_a=8.0))
    leads = replace(laid(7, 3).pack.leads, length_mm=2000.0)
    long = planned(load=Load(continuous_a=8.0), leads=leads)
    a, b = trial_runs(short, series=7)[1], trial_runs(long, series=7)[1]
    assert b.sag_v > a.sag_v and b.group_sag_v == pytest.approx(a.group_sag_v)
