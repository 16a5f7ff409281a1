"""Which numbers meet the requirements: volts, energy, current, and bounds on the cells."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layouts.pack import Lattice, Side
from layouts.suggesting.candidates import (
    EARLY_RATIO,
    FAR_RATIO,
    FLOAT,
    NEAR_RATIO,
    candidates,
    energy_wh,
    least_parallel,
    most_cells,
    series_choices,
    steps,
    ways_of,
)
from layouts.suggesting.setting import Asked, Axis, Way
from tests.suggesting_samples import offer, one, setting

CHEMISTRIES = st.sampled_from(["nmc", "lfp", "lto"])


@pytest.mark.parametrize(
    ("chemistry", "volts", "series"),
    [
        ("nmc", 36.0, (10,)),
        ("lfp", 36.0, (11, 12)),
        ("nmc", 48.0, (13, 14)),
        ("nmc", 12.0, (3,)),  # 10.8 V, ten per cent under: the nearest there is
        ("nmc", 1.0, ()),
        ("nmc", 5.4, ()),  # one and a half cells
    ],
)
def test_series_for_nominal_volts(chemistry: str, volts: float, series: tuple[int, ...]) -> None:
    """Numbers near the required voltage; else the closest one, unless it is far."""
    assert series_choices(offer(chemistry=chemistry), Asked(volts_v=volts)) == series


@given(chemistry=CHEMISTRIES, volts=st.floats(1.0, 400.0))
def test_series_keep_near_the_volts(chemistry: str, volts: float) -> None:
    """No number is farther off than said, and none that is near is forgotten."""
    cell = offer(chemistry=chemistry)
    found = series_choices(cell, Asked(volts_v=volts))
    off = {s: abs(s * cell.cell.nominal_v / volts - 1) for s in range(1, 250)}
    assert all(off[s] <= FAR_RATIO + 1e-6 for s in found)
    assert {s for s in off if off[s] < NEAR_RATIO - 1e-6} <= set(found)
    assert found == tuple(sorted(set(found)))


@given(chemistry=CHEMISTRIES, low=st.floats(2.0, 80.0), ratio=st.floats(1.05, 2.0))
def test_series_honour_the_window(chemistry: str, low: float, ratio: float) -> None:
    """Full cells never exceed it, and the machine runs on most of the charge."""
    cell = offer(chemistry=chemistry).cell
    found = series_choices(offer(chemistry=chemistry), Asked(window_v=(low, low * ratio)))
    fits = [
        s
        for s in range(1, 300)
        if s * cell.full_v <= low * ratio * (1 + FLOAT)
        and s * cell.nominal_v >= low * (1 - FLOAT)
        and s * cell.empty_v >= low * (1 - EARLY_RATIO) * (1 - FLOAT)
    ]
    assert set(found) <= set(fits)
    if len(fits) <= 6:
        assert list(found) == fits
    else:
        assert (found[0], found[-1]) == (fits[0], fits[-1])


def test_volts_and_window_both_count() -> None:
    """A window takes numbers away that the nominal volts alone would allow."""
    lfp = offer(chemistry="lfp")
    assert series_choices(lfp, Asked(volts_v=36.0, window_v=(30.0, 42.0))) == (11,)


@given(series=st.integers(1, 20), energy=st.floats(1.0, 5000.0), current=st.floats(0.1, 300.0))
def test_least_parallel_is_the_fewest_that_do(series: int, energy: float, current: float) -> None:
    """It gives energy and current; one less does not."""
    cell = offer()
    least = least_parallel(cell, series, Asked(volts_v=1.0, energy_wh=energy, current_a=current))

    def does(parallel: int) -> bool:
        return energy_wh(cell, series, parallel) >= energy * (
            1 - 1e-6
        ) and parallel * cell.cell.continuous_a >= current * (1 - 1e-6)

    assert does(least)
    assert least == 1 or not does(least - 1) or (least < 3 and does(least))


@given(least=st.integers(1, 50), more=st.integers(-3, 400))
def test_steps_span_the_range(least: int, more: int) -> None:
    """All numbers where they are few, else some with both ends; none where there is no range."""
    found = steps(least, least + more, most=12, few=8)
    if more < 0:
        assert found == ()
    elif more < 12:
        assert found == tuple(range(least, least + more + 1))
    else:
        assert (found[0], found[-1]) == (least, least + more)
        assert 2 < len(found) <= 8


def test_ways_that_look_alike_are_one() -> None:
    """A cube is the same from all sides; a flat square box lies in two more ways."""
    assert len(ways_of(setting((100, 100, 100)))) == 1
    ways = ways_of(setting((240, 240, 105)))
    assert ways[0] == Way(axis=Axis.Z, side=Side.PLUS_X)
    assert len(ways) == 3
    assert len(ways_of(setting((300, 200, 100)))) == 6
    assert len(ways_of(setting((300, 200, 100), axes=(Axis.Z,)))) == 2


def test_most_cells_falls_to_none_where_height_or_board_does_not_fit() -> None:
    """Lower than the stack, or shorter than the board, a space takes no cell at all."""
    way = Way(axis=Axis.Z, side=Side.PLUS_X)
    assert most_cells(one(10, 1), way, setting((400, 400, 70))) == 0
    assert most_cells(one(10, 1), way, setting((400, 100, 200))) == 0
    assert most_cells(one(10, 1), way, setting((400, 300, 200))) > 100


def test_candidates_meet_what_is_asked() -> None:
    """Each gives the energy and the current; both lattices are there."""
    cell = offer()
    asked = setting((300, 260, 110), cell, volts_v=36.0, energy_wh=200.0, current_a=8.0)
    found = candidates(asked)
    assert {one.lattice for one in found} == set(Lattice)
    assert min(one.parallel for one in found) == 4  # 8 A of 2.4 A cells; 200 Wh would be three
    assert all(one.series == 10 for one in found)


def test_a_space_too_small_has_no_candidate() -> None:
    """The bounds alone keep everything out of a matchbox."""
    assert candidates(setting((60, 60, 60), volts_v=36.0)) == ()
