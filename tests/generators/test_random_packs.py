"""Packs drawn at random are planned, or refused by the field that must change: never a fault."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from layouts.errors import LibraryError, PlanError
from layouts.placing.values import Effort
from layouts.planning.pack_plan import plan_checks, plan_pack
from tests.random_packs import random_box_pack, random_outline_pack

Draw = Callable[[Random, int], str]


@dataclass(slots=True)
class Outcomes:
    """Packs planned, refusals by field, and faults with the seed that gives them again."""

    planned: int = 0
    refused: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def outcomes(draw: Draw, seeds: range, *, most_cells: int) -> Outcomes:
    """Plan the packs of some seeds, with all checks of the plan."""
    found = Outcomes()
    for seed in seeds:
        text = draw(Random(seed), most_cells)
        try:
            pack = parse_pack(text.encode(), "pack.yaml").pack
            plan_checks(plan_pack(pack, effort=Effort.QUICK), mass_kg=3.0)
            found.planned += 1
        except PackFileError as error:
            found.refused[error.faults[0].field] += 1
        except PlanError as error:
            if isinstance(error, LibraryError):
                found.faults.append(f"{seed}: {error}")
            else:
                found.refused[error.field] += 1
        except Exception as error:  # whatever else comes out is what this test looks for
            found.faults.append(f"{seed}: {type(error).__name__}: {error}")
    return found


@pytest.mark.one_in(6)
@pytest.mark.parametrize("first", range(0, 150, 25))  # side by side on several processors
def test_150_packs_with_an_enclosure_are_planned(first: int) -> None:
    """Any cell, size, strips, load and bed: nearly all are planned, no fault in any."""
    found = outcomes(random_box_pack, range(first, first + 25), most_cells=6)
    assert found.faults == []
    assert found.planned >= 0.85 * 25, found.refused


def test_5_packs_in_odd_outlines_are_planned_or_refused_by_field() -> None:
    """Cells placed in an L, a C, a triangle, two rooms, a trapezium or round an obstacle."""
    found = outcomes(random_outline_pack, range(5), most_cells=20)
    assert found.faults == []
    assert found.planned + found.refused.total() == 5
    assert found.planned >= 2, found.refused


@pytest.mark.slow
@pytest.mark.parametrize("first", range(1000, 1200, 100))
def test_larger_packs_are_planned(first: int) -> None:
    """Many more, up to 80 cells."""
    found = outcomes(random_box_pack, range(first, first + 25), most_cells=80)
    assert found.faults == []
    found = outcomes(random_outline_pack, range(first, first + 10), most_cells=60)
    assert found.faults == []


def test_a_fault_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The count tells a fault of ours from a refusal."""
    for error, faults in (
        (ValueError("one disc lies in another"), 1),
        (LibraryError(field="holder", why="broke", remedy="use 3"), 1),
        (PlanError(field="holder", why="is odd", remedy="use 3"), 0),
    ):

        def broken(*_: object, error: Exception = error, **__: object) -> None:
            raise error

        monkeypatch.setattr(f"{__name__}.plan_pack", broken)
        found = outcomes(random_box_pack, range(1), most_cells=4)
        assert (len(found.faults), found.refused.total()) == (faults, 1 - faults)
