"""The order of rows, and the words for it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layouts.pack import Side
from layouts.suggesting.ranking import ranked, score
from layouts.suggesting.rows import Fit, Row, Task
from layouts.suggesting.setting import Asked, Axis, Way
from tests.suggesting_samples import one

ASKED = Asked(volts_v=36.0)


def row(
    energy: float,
    mass: float,
    *,
    gap: float = 5.0,
    current: float = 20.0,
    cost: float | None = None,
    failed: tuple[str, ...] | None = (),
    parallel: int = 1,
    way: Way | None = None,
) -> Row:
    """A row with figures of its own."""
    way = way or Way(axis=Axis.Z, side=Side.PLUS_X)
    return Row(
        task=Task(candidate=one(10, parallel), ways=(way,), miss_mm=0.0),
        fit=Fit(way=way, gap_mm=gap, spare_mm=(2 * gap, 2 * gap, gap)),
        energy_wh=energy,
        nominal_v=36.0,
        empty_v=28.0,
        full_v=42.0,
        current_a=current,
        mass_kg=mass,
        size_mm=(100.0, 100.0, 90.0),
        cost=cost,
        failed=failed,
    )


def test_a_beaten_row_comes_after_those_that_none_beats() -> None:
    """Heavier with less energy: beaten, and by which row."""
    rows = [row(400, 5.0), row(500, 4.0), row(100, 1.0)]
    found = ranked(rows, ASKED)
    assert found[-1].row is rows[0]
    assert found[-1].beaten_by == 1
    assert "row 1 is better or equal in every respect" in found[-1].reasons
    assert [one.beaten_by for one in found[:2]] == [None, None]
    assert [one.number for one in found] == [1, 2, 3]


def test_what_fails_a_check_comes_last_and_says_so() -> None:
    """Even the best figures don't help."""
    found = ranked([row(900, 1.0, gap=20, failed=("tile_keys",)), row(100, 3.0)], ASKED)
    assert found[-1].row.failed == ("tile_keys",)
    assert "failed checks: tile_keys" in found[-1].reasons
    assert found[0].beaten_by is None  # what fails beats nothing that holds
    assert "most energy" in found[0].reasons


def test_reasons_name_the_firsts_and_the_margins() -> None:
    """Most energy, lightest, room, cost, and how much more current than required."""
    asked = Asked(volts_v=36.0, current_a=15.0, energy_wh=90.0)
    rows = [
        row(500, 4.2, current=43, cost=80.0),
        row(300, 2.8, current=20, cost=40.0),
        row(100, 1.2, gap=12.0, current=15, cost=90.0),
        row(90, 2.9, gap=1.0, current=15, cost=95.0),
    ]
    told = {id(one.row): one.reasons for one in ranked(rows, asked)}
    assert "most energy" in told[id(rows[0])]
    assert "28 A above the required 15 A" in told[id(rows[0])]
    assert "most energy of those under 3 kg" in told[id(rows[1])]
    assert "cheapest cells" in told[id(rows[1])]
    assert "210 Wh above the required 90" in told[id(rows[1])]
    assert {"lightest", "most clearance", "12.0 mm spare", "exactly the required 15 A"} <= set(
        told[id(rows[2])]
    )


def test_of_ways_that_are_alike_the_first_comes_first() -> None:
    """One pack standing two ways with the same room: the second is reported as no better."""
    other = Way(axis=Axis.Z, side=Side.MINUS_X)
    found = ranked([row(300, 3.0, way=other), row(300, 3.0), row(200, 2.0)], ASKED)
    assert [one.beaten_by for one in found] == [None, None, 1]
    assert found[-1].row.fit.way == other


def test_standing_and_volts_are_told() -> None:
    """Lying cells, the leads' side, volts off the mark, an early stop, dangerous volts."""
    way = Way(axis=Axis.X, side=Side.PLUS_Y)
    odd = replace(row(300, 3.0, way=way), nominal_v=64.8, full_v=75.6, empty_v=50.4, current_a=1.0)
    (only,) = ranked([odd], Asked(volts_v=60.0, window_v=(54.0, 80.0)))
    text = "; ".join(only.reasons)
    for words in (
        "the only one that fits",
        "cells lie along the space's x",
        "leads exit towards +y",
        "64.8 V nominal, 8% over 60",
        "the machine stops at 54 V, before the cells reach 50.4 V (cut-off)",
        "75.6 V at full charge: dangerous to touch",
    ):
        assert words in text


@given(
    st.lists(
        st.tuples(st.floats(10, 900), st.floats(0.5, 9), st.floats(0, 30), st.floats(1, 90)),
        min_size=1,
        max_size=9,
    )
)
def test_order_is_the_same_whatever_the_order_of_the_answers(
    figures: list[tuple[float, float, float, float]],
) -> None:
    """Ranks hang on figures alone, and beaten rows never come before unbeaten ones."""
    rows = [
        row(energy, mass, gap=gap, current=current, parallel=k + 1)
        for k, (energy, mass, gap, current) in enumerate(figures)
    ]
    found = [one.row.candidate.parallel for one in ranked(rows, ASKED)]
    assert found == [one.row.candidate.parallel for one in ranked(rows[::-1], ASKED)]
    beaten = [one.beaten_by is not None for one in ranked(rows, ASKED)]
    assert beaten == sorted(beaten)


@pytest.mark.parametrize("better", [{"mass": 2.0}, {"gap": 9.0}, {"current": 40.0}])
def test_the_score_grows_with_what_is_better(better: dict[str, float]) -> None:
    """Less mass, more room or more current alone raise the score."""
    plain = row(300, 3.0)
    other = row(300, better.pop("mass", 3.0), **better)
    both = [plain, other]
    assert score(other, both, ASKED) > score(plain, both, ASKED)
