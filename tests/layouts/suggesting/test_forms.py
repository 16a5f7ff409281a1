"""Fitted enclosures and cells alone: estimated, then confirmed by the planner."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import pytest

from generators.packfile.resolve import parse_pack
from layouts.formats import cell_formats
from layouts.pack import EnclosureStyle, Lattice, Pack
from layouts.planning.estimate import enclosed_least_mm2
from layouts.planning.pack_plan import plan_pack
from layouts.suggesting import sweep as sweeping
from layouts.suggesting.candidates import least_parallel, series_choices
from layouts.suggesting.confirming import confirm, confirmed
from layouts.suggesting.estimating import by_estimate, families, free_mm2
from layouts.suggesting.ranking import ranked, without_twins
from layouts.suggesting.rows import Row
from layouts.suggesting.setting import Asked, Axis, Offer, Setting, base_for, pack_of
from layouts.suggesting.sweep import sweep
from tests.layouts.enclosures.fitted.made_spaces import KINDS, pack_text
from tests.suggesting_samples import here, offer, setting

FITTED, NONE = EnclosureStyle.FITTED, EnclosureStyle.NONE


def made_pack(seed: int) -> Pack:
    """A pack with its space, drawn by chance."""
    return parse_pack(pack_text(seed).encode(), f"{KINDS[seed % 7]}.yaml").pack


def wish_of(pack: Pack, *forms: EnclosureStyle) -> Setting:
    """The space, the cell and the requirements that a pack meets exactly."""
    cell = pack.cell
    one = Offer(
        name=cell.format, cell=cell, size=cell_formats()[cell.format], given=(("format", "x"),)
    )
    asked = Asked(
        volts_v=pack.series * cell.nominal_v,
        energy_wh=pack.series * pack.parallel * cell.nominal_v * cell.capacity_ah,
        current_a=2.0 * pack.parallel,
    )
    assert pack.space is not None
    return Setting(
        space=pack.space,
        asked=asked,
        offers=(one,),
        base=base_for(asked),
        axes=(Axis.Z,),
        forms=forms or (EnclosureStyle.TUB, FITTED, NONE),
    )


def estimates(of: Setting, form: EnclosureStyle) -> list[Row]:
    """All rows by estimate of a form."""
    return [row for family in families(of, form, ()) for row in by_estimate(of, family)]


@pytest.mark.one_in(3)
@pytest.mark.parametrize("seed", [0, 4, 5, 1, 2, 3, 6])
def test_an_estimate_leaves_in_what_was_drawn_for_the_space(seed: int) -> None:
    """Of every kind of space, the pack that the space was drawn for; its area by far."""
    pack = made_pack(seed)
    rows = estimates(wish_of(pack, FITTED), FITTED)
    assert (pack.series, pack.parallel) in {
        (row.candidate.series, row.candidate.parallel) for row in rows
    }
    assert all(row.by_estimate and row.failed is None for row in rows)
    assert pack.space is not None
    assert enclosed_least_mm2(pack) < free_mm2(pack.space, pack.cell.length_mm)


def test_an_estimate_leaves_out_what_no_layout_finds_room_for() -> None:
    """A box little wider than two cans and the walls: too small for rooms, too low for any."""
    tight = setting((60.0, 60.0, 100.0), volts_v=14.4, axes=(Axis.Z,), forms=(FITTED,))
    assert estimates(tight, FITTED) == []
    low = setting((300.0, 300.0, 60.0), volts_v=14.4, axes=(Axis.Z,), forms=(FITTED, NONE))
    assert estimates(low, FITTED) == [] == estimates(low, NONE)


def test_cells_alone_go_up_to_what_the_lattice_takes() -> None:
    """In a box of 4 x 4 pitches and a cell's reach: 16 cells on a grid, so four in parallel."""
    cell = offer()
    pack = pack_of(
        replace(families(setting((200, 200, 100), forms=(NONE,)), NONE, ())[0].least),
        setting((200, 200, 100)),
    )
    reach = pack.pocket_mm / 2 + pack.holder.wall_mm + pack.enclosure.side_gap_mm
    side = 3 * pack.pitch_mm + 2 * reach + 0.01
    of = setting((side, side, 100.0), cell, volts_v=14.4, axes=(Axis.Z,), forms=(NONE,))
    grid = [row.candidate for row in estimates(of, NONE) if row.candidate.lattice is Lattice.GRID]
    assert max(one.cells for one in grid if one.series == 4) == 16


def plan_of(limit: int) -> Callable[..., list[Any]]:
    """A runner in whose answers no pack with more than so many cells in parallel stands."""
    asked: list[int] = []

    def run(work: object, of: Setting, jobs: Sequence[Row], stage: str) -> list[Any]:
        assert work is confirmed and stage == "confirming"
        asked.extend(row.candidate.parallel for row in jobs)
        return [
            replace(row, refused="too large")
            if row.candidate.parallel > limit
            else replace(row, by_estimate=False, failed=())
            for row in jobs
        ]

    run.asked = asked  # type: ignore[attr-defined]
    return run


@pytest.mark.parametrize("limit", [0, 1, 4, 9])
def test_the_planner_is_asked_until_enough_stand_or_none_is_left(limit: int) -> None:
    """What it refuses is no row, nor is any that is larger; nothing is asked about twice."""
    of = setting((400, 400, 100), volts_v=14.4, axes=(Axis.Z,), forms=(NONE,))
    rows = [row for row in estimates(of, NONE) if row.candidate.lattice is Lattice.GRID]
    assert len(rows) >= 6
    run = plan_of(limit)
    found = confirm(of, ranked(rows, of.asked), run, wanted=3)
    stand = [row for row in found.rows if not row.by_estimate]
    asked = run.asked  # type: ignore[attr-defined]
    assert len(asked) == len(set(asked))
    assert all(row.candidate.parallel <= limit for row in stand)
    least = min(row.candidate.parallel for row in rows)
    assert bool(stand) == (least <= limit)
    assert {row.refused for row in found.refused} <= {"too large"}
    if found.refused:
        smallest = min(row.candidate.parallel for row in found.refused)
        assert all(row.candidate.parallel < smallest for row in found.rows)
    if limit < least:
        assert (found.rows, found.open) == ((), 0)


def test_twins_are_dropped() -> None:
    """The same pack standing otherwise is no row of its own; more cells are."""
    of = setting((400, 300, 200), volts_v=14.4, forms=(NONE,))
    rows = estimates(of, NONE)
    axes = {row.fit.way.axis for row in rows}
    kept = without_twins(ranked(rows, of.asked))
    packs = [row.candidate for row in kept]
    assert len(axes) > 1
    assert len(packs) == len(set(packs)) == len({row.candidate for row in rows})


def test_charger_and_regeneration_decide_the_numbers() -> None:
    """21 V by the charger is 5S of 4.2 V and no other; 4 A returned to cells that take 0.5C want
    four of 2.5 Ah; with 0.1 V left to the window the cells' resistance wants more."""
    cell = replace(offer(), cell=replace(offer().cell, capacity_ah=2.5, charge_a=None))
    assert series_choices(cell, Asked(charger_v=21.0)) == (5,)
    assert series_choices(cell, Asked(charger_v=20.0)) == ()
    asked = Asked(window_v=(None, 21.0), charger_v=21.0)
    assert series_choices(cell, asked) == (5,)
    # full at 21.0 V, it has no volt left for what the motor returns
    assert series_choices(cell, replace(asked, regeneration_a=4.0)) == ()
    back = Asked(charger_v=21.0, regeneration_a=4.0, window_v=(None, 30.0))
    assert least_parallel(cell, 5, back) == 4
    ohm = 5 * cell.cell.internal_resistance_mohm / 1000
    tight = replace(back, window_v=(None, 21.1))
    assert least_parallel(cell, 5, tight) == -(-4.0 * ohm // 0.1)
    assert least_parallel(cell, 5, Asked(charger_v=21.0, charger_a=5.1)) == 5


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 3])
def test_a_space_with_a_pack_is_offered_one_that_is_planned(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A box and a triangle: what ``make`` plans there is offered, and what is confirmed is planned
    again by it."""
    monkeypatch.setattr(sweeping, "CONFIRMED", 1)  # what takes its time is the same for each
    pack = made_pack(seed)
    found = sweep(wish_of(pack, FITTED), here)
    rows = [one.row for one in found.rows if not one.row.by_estimate]
    assert rows and found.confirmed
    row = rows[0]
    again = pack_of(row.candidate, wish_of(pack, FITTED), space=pack.space, side=row.fit.way.side)
    assert plan_pack(again).enclosure.pose is not None
    assert row.fit.gap_mm >= 0.0
