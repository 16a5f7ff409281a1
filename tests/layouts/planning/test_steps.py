"""A plan in steps: none done twice, and what comes after a stop is left undone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import pytest

from layouts.pack import EnclosureStyle, Pack
from layouts.placing.values import Effort
from layouts.planning import joints, pack_plan, steps
from layouts.planning.pack_plan import completed, plan_pack
from layouts.planning.steps import outside_plan, with_holders
from layouts.suggesting.judging import checked, planned
from layouts.suggesting.rows import Task
from layouts.suggesting.setting import Axis, Way, pack_of
from tests.layouts.placed_packs import placed_pack
from tests.samples import linked_pack, sample_pack
from tests.suggesting_samples import one, setting

OUTSIDE = ("arrange", "joined_by_plates", "fasten", "enclosure", "bracket")
LINKED = ("join", "with_bus_strips")
HOLDERS = ("holder_tiles", "barrier_designs")
INSIDE = ("gas_way", "electrical_plan", "shorts")


@dataclass(frozen=True)
class Designing:
    """A form of enclosure, or a kind of bracket, as the steps ask for it."""

    design: Callable[..., Any]


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each step's work is done from here on."""
    counted: Counter[str] = Counter()

    def counting(name: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def done(*args: Any, **named: Any) -> Any:
            counted[name] += 1
            return work(*args, **named)

        return done

    for name in ("arrange", "arrange_in_space", "fasten", *HOLDERS):
        monkeypatch.setattr(steps, name, counting(name, getattr(steps, name)))
    for name in ("joined_by_plates", *LINKED):
        monkeypatch.setattr(joints, name, counting(name, getattr(joints, name)))
    for name in INSIDE:
        monkeypatch.setattr(pack_plan, name, counting(name, getattr(pack_plan, name)))
    form_of, kind_of = steps.form_of, steps.kind_of

    def form(pack: Pack) -> Designing | None:
        asked = form_of(pack)
        return None if asked is None else Designing(counting("enclosure", asked.design))

    def kind(pack: Pack) -> Designing:
        return Designing(counting("bracket", kind_of(pack).design))

    monkeypatch.setattr(steps, "form_of", form)
    monkeypatch.setattr(steps, "kind_of", kind)
    return counted


def test_a_whole_plan_does_each_step_once(calls: Counter[str]) -> None:
    """From the cells to the shorts."""
    plan_pack(sample_pack(2, 2))
    assert calls == Counter((*OUTSIDE, *HOLDERS, *INSIDE))


@pytest.mark.parametrize("pack", [linked_pack(2, 2), sample_pack(2, 1)], ids=["asked", "2S1P"])
def test_straight_strips_take_two_steps_in_place_of_plates(pack: Pack, calls: Counter[str]) -> None:
    """Where they are asked for, and in a string of single cells."""
    steps.interconnected(steps.laid_out(pack))
    assert calls == Counter(("arrange", *LINKED))


def test_a_plan_goes_on_where_it_stopped(calls: Counter[str]) -> None:
    """After the outside the rest is undone; completing it, also from the holders, repeats none."""
    outside = outside_plan(sample_pack(2, 2))
    assert calls == Counter(OUTSIDE)
    held = with_holders(outside)
    assert calls == Counter((*OUTSIDE, *HOLDERS))
    plan = completed(held)
    assert calls == Counter((*OUTSIDE, *HOLDERS, *INSIDE))
    assert plan.enclosure is outside.enclosure
    assert plan.tiles is held.tiles
    assert completed(outside).cell_block is outside.cell_block
    assert calls == Counter((*OUTSIDE, *HOLDERS, *HOLDERS, *INSIDE, *INSIDE))


def test_it_may_stop_between_any_two_steps(calls: Counter[str]) -> None:
    """Each step does its own work alone."""
    cells = steps.laid_out(sample_pack(2, 2))
    assert set(calls) == {"arrange"}
    joined = steps.interconnected(cells)
    assert set(calls) == {"arrange", "joined_by_plates"}
    block = steps.fastened(joined)
    assert set(calls) == {"arrange", "joined_by_plates", "fasten"}
    enclosed = steps.enclosed(block)
    assert calls["enclosure"] == 1 and not calls["bracket"]
    outside = steps.bracketed(enclosed)
    assert calls == Counter(OUTSIDE)
    assert outside.enclosure is enclosed.enclosure


def test_bare_cells_have_neither_enclosure_nor_gas_way(calls: Counter[str]) -> None:
    """Asking for them says so."""
    pack = sample_pack(2, 2)
    plan = plan_pack(replace(pack, enclosure=replace(pack.enclosure, style=EnclosureStyle.NONE)))
    left_out = {"enclosure", "bracket", "gas_way"}
    assert calls == Counter({*OUTSIDE, *HOLDERS, *INSIDE} - left_out)
    for name in ("enclosure", "bracket", "gas"):
        with pytest.raises(ValueError, match="no enclosure"):
            getattr(plan, name)


@pytest.mark.slow
def test_placed_cells_take_the_same_steps(calls: Counter[str]) -> None:
    """Placing stands for the choice of a field; the pack has the web that its groups need."""
    plan = outside_plan(placed_pack(3, 6), effort=Effort.QUICK)
    assert calls == Counter(("arrange_in_space", "joined_by_plates", "fasten"))
    assert plan.placed is not None and plan.enclosure_set is None
    assert plan.pack.holder.web_mm == plan.placed.web_mm


def test_a_suggestion_is_checked_from_its_outside_on(calls: Counter[str]) -> None:
    """What judging planned is not planned again; a row without it is planned as a whole."""
    asked = setting((300, 300, 200))
    pack = pack_of(one(2, 1), asked)
    outside = ("arrange", *LINKED, *OUTSIDE[2:])
    way = Way(axis=Axis.Z, side=pack.leads.side)
    (row,) = planned(asked, Task(candidate=one(2, 1), ways=(way,), miss_mm=0.0))
    assert calls == Counter(outside)
    found = checked(asked, row)
    assert calls == Counter((*outside, *HOLDERS, *INSIDE))
    assert checked(asked, replace(row, outside=None)) == found
    assert calls == Counter(2 * (*outside, *HOLDERS, *INSIDE))


def test_a_row_that_does_not_fit_keeps_no_plan() -> None:
    """Only what fits is ever checked."""
    small = setting((60, 60, 60))
    way = Way(axis=Axis.Z, side=pack_of(one(2, 1), small).leads.side)
    (row,) = planned(small, Task(candidate=one(2, 1), ways=(way,), miss_mm=100.0))
    assert not row.fits and row.outside is None
